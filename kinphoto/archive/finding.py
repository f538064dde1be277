"""Which photograph, scan or container somebody means by a code, a path, or the end of one.

Every command that names a photograph asks here, so that all understand the same words: `K00042` in any case and
with or without its zeros, the code of a photograph that was joined into another, the path of a scan, and as much
of the end of a path as tells it from all others.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence

from sqlalchemy import Connection, RowMapping, select

from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t

_CODE = re.compile(r"[Kk]([0-9]{1,15})")
_SHOWN = 8  # candidates named in a message


def photograph_code(number: int) -> str:
    """The code of the photograph with this number: `K00042`."""
    return f"K{number:05d}"


def find_photograph(connection: Connection, text: str) -> RowMapping:
    """The row of the photograph meant by `text`.

    Raises NotFoundError when none fits, AmbiguousError when several do.
    """
    row = _by_code(connection, text)
    if row is None:
        scans = _scans_with_path(connection, text)
        owners = list(dict.fromkeys(scan["photograph_id"] for scan in scans))
        if len(owners) > 1:
            raise _ambiguous(text, scans)
        row = _photograph(connection, owners[0]) if owners else None
    if row is None:
        raise _not_found(text)
    return row


def find_scan(connection: Connection, text: str) -> RowMapping:
    """The row of the scan meant by `text`; a photograph's code will do when it has one scan only.

    Raises NotFoundError when none fits, AmbiguousError when several do.
    """
    photograph = _by_code(connection, text)
    scans = scans_of(connection, photograph["id"]) if photograph else _scans_with_path(connection, text)
    if not scans:
        raise _not_found(text)
    if len(scans) > 1:
        raise _ambiguous(text, scans)
    return scans[0]


def scans_of(connection: Connection, photograph_id: int) -> Sequence[RowMapping]:
    """The scans of a photograph, in their order."""
    s = t.scan.c
    return (
        connection.execute(select(t.scan).where(s.photograph_id == photograph_id).order_by(s.position, s.id))
        .mappings()
        .all()
    )


def find_container(connection: Connection, name: str) -> RowMapping | None:
    """The container of this name (one that a person named, before one that stands for a folder), or None.

    Raises InvalidValueError for an empty name, AmbiguousError when several folders are called so.
    """
    if not name.strip():
        raise InvalidValueError("a container needs a name", remedy="Give one, such as 'Blue album'.")
    c = t.container.c
    found = connection.execute(select(t.container).where(c.name == name.strip()).order_by(c.id)).mappings().all()
    found = [row for row in found if row["folder"] is None][:1] or found
    if len(found) > 1:
        raise AmbiguousError(f"'{name}' is the name of {len(found)} containers", [row["folder"] for row in found])
    return found[0] if found else None


def _by_code(connection: Connection, text: str) -> RowMapping | None:
    """The photograph with this code, its own or one it took over."""
    match = _CODE.fullmatch(text.strip())
    if match is None:
        return None
    code = photograph_code(int(match[1]))
    row = connection.execute(select(t.photograph).where(t.photograph.c.code == code)).mappings().first()
    if row is None:
        owner = connection.scalar(select(t.alias.c.photograph_id).where(t.alias.c.code == code))
        row = None if owner is None else _photograph(connection, owner)
    return row


def _photograph(connection: Connection, id_: int) -> RowMapping:
    return connection.execute(select(t.photograph).where(t.photograph.c.id == id_)).mappings().one()


def _scans_with_path(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scan at this path; else those whose path ends in these folders and names; else in these letters."""
    if not text.strip() or not _is_text(text):
        return []
    path = t.scan.c.path
    whole = [os.path.abspath(text), os.path.realpath(text)]  # noqa: PTH100 (Path.absolute keeps `..`)
    exact = connection.execute(select(t.scan).where(path.in_(whole))).mappings().all()
    if exact:
        return exact[:1]
    end = os.path.normpath(text)
    # LIKE disregards case on SQLite, hence the second look.
    rows = connection.execute(select(t.scan).where(path.endswith(end, autoescape=True)).order_by(path)).mappings()
    ending = [row for row in rows if row["path"].endswith(end)]
    return [row for row in ending if row["path"].endswith(os.sep + end)] or ending


def _is_text(text: str) -> bool:
    """False for a file name that is not UTF-8: no scan in an archive has one."""
    try:
        text.encode()
    except UnicodeEncodeError:
        return False
    return True


def _not_found(text: str) -> NotFoundError:
    shown = text.encode(errors="backslashreplace").decode()
    return NotFoundError(
        f"no photograph or scan fits '{shown}'",
        remedy="Give its code (K00042), the path of a scan, or the end of one; `kinphoto dates` lists all.",
    )


def _ambiguous(text: str, scans: Sequence[RowMapping]) -> AmbiguousError:
    candidates = [scan["path"] for scan in scans[:_SHOWN]]
    if len(scans) > _SHOWN:
        candidates.append(f"and {len(scans) - _SHOWN} more")
    return AmbiguousError(f"'{text}' fits {len(scans)} scans", candidates, remedy="Give more of the path, or a code.")
