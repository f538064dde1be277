"""What was done to keep the archive, noted in it: when it was last copied, how far the scans were read again."""

from __future__ import annotations

import json
from typing import Any

from sqlalchemy import Connection

from kinphoto.archive.catalogue.settings import keep_setting, setting

BACKUP, DAILY, PACKAGE = "keep_backup", "keep_daily", "keep_package"


def read_note(connection: Connection, key: str) -> dict[str, Any] | None:
    """What was noted under this key."""
    found = setting(connection, key)
    return None if found is None else dict(json.loads(found))


def write_note(connection: Connection, key: str, note: dict[str, Any] | None) -> None:
    """Note this in place of what was noted."""
    keep_setting(connection, key, None if note is None else json.dumps(note, ensure_ascii=False))
