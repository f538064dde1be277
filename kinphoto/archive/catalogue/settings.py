"""Small facts about the archive, each under a key of its own."""

from __future__ import annotations

from sqlalchemy import Connection, bindparam, delete, insert, select

from kinphoto.store import tables as t

_KEPT = select(t.setting.c.value).where(t.setting.c.key == bindparam("wanted"))


def setting(connection: Connection, key: str) -> str | None:
    """What is kept under this key; None where nothing is."""
    found = connection.scalar(_KEPT, {"wanted": key})
    return None if found is None else str(found)


def keep_setting(connection: Connection, key: str, value: str | None) -> None:
    """Keep this under its key, in place of what was kept there; None for nothing."""
    connection.execute(delete(t.setting).where(t.setting.c.key == key))
    if value is not None:
        connection.execute(insert(t.setting).values(key=key, value=value))
