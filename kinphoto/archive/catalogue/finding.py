"""Which photograph, scan or container somebody means by a code, a path, the end of one, a title or a name.

All commands look things up here and in `finding_people.py` and `finding_events.py`, so that all understand the same
words. A photograph: `K00042` in any case and with or without its zeros, the code of one that was joined into another,
the path of a scan, enough of the end of a path, or its title.
"""

from __future__ import annotations

import os
import re
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import Connection, RowMapping, Table, bindparam, func, or_, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.folding import fold
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError, UnreadableFileError
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.pages import file_path, page_path, parsed
from kinphoto.scans.walk import is_text, plain_name, shown
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.privacy import Public

_LARGEST = 2**63  # one more than a database can hold
_CODE = re.compile(r"[Kk]([0-9]{1,15})")
_NUMBER = re.compile(r"#?([0-9]{1,15})")
# Every page and command begins with these, so they are put together once.
_WITH_CODE = select(t.photograph).where(t.photograph.c.code == bindparam("code"))
_JOINED_FROM = select(t.alias.c.photograph_id).where(t.alias.c.code == bindparam("code"))


def is_row_id(number: int) -> bool:
    """Whether a number can be that of a row: others cannot even be asked for."""
    return 0 < number < _LARGEST


def photograph_code(number: int) -> str:
    """The code of the photograph with this number: `K00042`."""
    return f"K{number:05d}"


def find_photograph(
    connection: Connection, text: str, public: Public | None = None, *, by_title: bool = True
) -> RowMapping:
    """The row of the photograph meant by `text`: a code, a path, or without either (`by_title`) words of its title.

    Raises NotFoundError when none matches, AmbiguousError when several do. With `public` as if there were only the
    photographs it holds, and by their codes alone: the names of files are not revealed.
    """
    row = _by_code(connection, text)
    if public is not None:
        if row is None or row["id"] not in public.photographs:
            raise NotFoundError(
                f"no photograph that can be shown is called '{shown(text)}'", remedy="Look in the boxes."
            )
        return row
    if row is None:
        scans = _scans_with_path(connection, text)
        owners = list(dict.fromkeys(scan["photograph_id"] for scan in scans))
        if len(owners) > 1:
            raise _several_scans(text, scans)
        row = row_of(connection, t.photograph, owners[0]) if owners else None
    if row is None and by_title:
        row = _titled(connection, text)
    if row is None:
        raise _not_found(connection, text)
    return row


def _titled(connection: Connection, text: str) -> RowMapping | None:
    """The photograph of this title, or the only one with these words in its title; None when there is none.

    Raises AmbiguousError when there are several.
    """
    wanted, p = fold(text), t.photograph.c
    if not wanted:
        return None
    with_titles = connection.execute(select(p.id, p.code, p.title).where(p.title != "").order_by(p.id)).all()
    titles = [(row, f" {fold(row.title)} ") for row in with_titles]
    found = [row for row, title in titles if title.strip() == wanted]
    found = found or [row for row, title in titles if f" {wanted} " in title]
    if len(found) > 1:
        each = (f"{row.code} ({row.title})" for row in found)
        what = f"{len(found)} photographs have '{shown(text)}' in their titles"
        raise AmbiguousError.of_many(what, each, len(found), "Give more of the title, or the code.")
    return row_of(connection, t.photograph, found[0].id) if found else None


def is_code(text: str) -> bool:
    """Whether this is written like a photograph's code."""
    return _CODE.fullmatch(text.strip()) is not None


def find_scans(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scans meant by `text`: all of a photograph whose code it is, or the one whose path it matches.

    Raises NotFoundError when none matches, AmbiguousError when several paths do.
    """
    photograph = _by_code(connection, text)
    if photograph is not None:
        return scans_of(connection, photograph["id"])
    return [_only(connection, text, _scans_with_path(connection, text))]


def find_scan(connection: Connection, text: str) -> RowMapping:
    """The row of the scan meant by `text`; a photograph's code will do when it has one scan only.

    Raises NotFoundError when none matches, AmbiguousError when several do.
    """
    return _only(connection, text, find_scans(connection, text))


def _only(connection: Connection, text: str, scans: Sequence[RowMapping]) -> RowMapping:
    if not scans:
        raise _not_found(connection, text)
    if len(scans) > 1:
        raise _several_scans(text, scans)
    return scans[0]


def scans_of(connection: Connection, photograph_id: int) -> Sequence[RowMapping]:
    """The scans of a photograph, in their order."""
    s = t.scan.c
    query = select(t.scan).where(s.photograph_id == photograph_id).order_by(s.position, s.id)
    return connection.execute(query).mappings().all()


def find_container(connection: Connection, name: str) -> RowMapping | None:
    """The container of this name (one that a person named, before one that stands for a folder), or None. Letter case
    matters only where several differ by it.

    Raises InvalidValueError for an empty name, AmbiguousError when several folders have it.
    """
    if not name.strip():
        raise InvalidValueError("a box needs a name", remedy="Give one, such as 'Blue album'.")
    c = t.container.c
    wanted = name.strip()
    found = connection.execute(select(t.container).where(c.name == wanted).order_by(c.id)).mappings().all()
    if not found:
        every = connection.execute(select(t.container).order_by(c.id)).mappings()
        found = [row for row in every if row["name"].casefold() == wanted.casefold()]
    found = [row for row in found if row["folder"] is None][:1] or found
    if len(found) > 1:
        raise AmbiguousError(f"{len(found)} boxes are called '{name}'", [row["folder"] for row in found])
    return found[0] if found else None


def _by_code(connection: Connection, text: str) -> RowMapping | None:
    """The photograph with this code, its own or one it took over."""
    match = _CODE.fullmatch(text.strip())
    if match is None:
        return None
    code = photograph_code(int(match[1]))
    row = connection.execute(_WITH_CODE, {"code": code}).mappings().first()
    if row is None:
        owner = connection.scalar(_JOINED_FROM, {"code": code})
        row = None if owner is None else row_of(connection, t.photograph, owner)
    return row


def _scans_with_path(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scan at this path; else those whose path ends in these folders and names; else in these letters.

    A page may be named as "album.pdf#page=3" or "album.pdf page 3"; the file alone means all its pages. A file that is
    there and was not indexed because its bytes are those of another is that other one, and so is the plain name of a
    file if only its copy (`harbour (1).jpg`) was indexed.
    """
    if not text.strip() or not is_text(text):
        return []
    named = parsed(text)
    if named is not None:
        found = _with_path(connection, page_path(*named))
        if found:
            return found
    return (
        _with_path(connection, text)
        or _pages(connection, text)
        or _copied(connection, text)
        or _formerly_at(connection, text)
    )


def _formerly_at(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scans that were renamed from this path, or from one that ends so, with or without its suffix."""
    f, end = t.former_name.c, os.path.normpath(text)
    query = select(f.path, f.scan_id).where(f.path.contains(end, autoescape=True)).order_by(f.path)
    rows = connection.execute(query).all()
    whole = {row.scan_id for row in rows if f"{os.sep}{row.path}".endswith(os.sep + end)}
    ids = whole or {row.scan_id for row in rows if f"{os.sep}{Path(row.path).with_suffix('')}".endswith(os.sep + end)}
    return connection.execute(select(t.scan).where(among(connection, t.scan.c.id, ids))).mappings().all()


def _with_path(connection: Connection, text: str) -> Sequence[RowMapping]:
    path = t.scan.c.path
    whole = [os.path.abspath(text), os.path.realpath(text)]  # noqa: PTH100 (Path.absolute keeps `..`)
    exact = connection.execute(select(t.scan).where(path.in_(whole))).mappings().all()
    if exact:
        return exact[:1]
    end = os.path.normpath(text)
    # LIKE disregards case on SQLite and does not see the folder that paths are relative to, hence the second look.
    name = os.path.basename(end)  # noqa: PTH119 (a string is meant)
    rows = connection.execute(select(t.scan).where(path.endswith(name, autoescape=True)).order_by(path)).mappings()
    ending = [row for row in rows if row["path"].endswith(end)]
    return [row for row in ending if row["path"].endswith(os.sep + end)] or ending


def _pages(connection: Connection, text: str) -> Sequence[RowMapping]:
    """All pages of the file that is meant."""
    s = t.scan.c
    file, whole = os.path.normpath(text), os.path.realpath(text)
    rows = connection.execute(select(t.scan).where(s.page > 0).order_by(s.page, s.id)).mappings()
    found = [row for row in rows if file_path(row["path"], row["page"]).endswith((os.sep + file, whole))]
    return found if len({file_path(row["path"], row["page"]) for row in found}) == 1 else []


def _copied(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scan with the same bytes as the file at this path, or whose copy would have this name."""
    s = t.scan.c
    try:
        size = Path(text).stat().st_size if Path(text).is_file() else -1
        alike = size >= 0 and connection.scalar(select(s.id).where(s.size == size).limit(1)) is not None
        sha256 = sha256_at(text) if alike else ""
    except (OSError, ValueError, UnreadableFileError):
        sha256 = ""
    if sha256:
        same = select(t.scan).where(or_(s.sha256 == sha256, s.file_sha256 == sha256)).order_by(s.id)
        return connection.execute(same).mappings().all()
    end = os.path.normpath(text)
    stem, dot, ending = os.path.basename(end).rpartition(".")  # noqa: PTH119 (a string is meant)
    rows = connection.execute(select(t.scan).where(s.path.contains(stem or ending, autoescape=True))).mappings()
    folder = os.path.dirname(end)  # noqa: PTH120
    named = os.path.join(folder, f"{stem}{dot}{ending}")  # noqa: PTH118
    return [row for row in rows if f"{os.sep}{plain_name(row['path'])}".endswith(os.sep + named)]


def _not_found(connection: Connection, text: str) -> NotFoundError:
    match = _CODE.fullmatch(text.strip())
    change = _removed_in(connection, photograph_code(int(match[1]))) if match else 0
    if change:
        return NotFoundError(f"{shown(text)} was removed", remedy=f"To bring it back: kinphoto undo {change}.")
    meant = with_number(connection, text)
    return NotFoundError(
        f"there is no photograph or scan called '{shown(text)}'",
        remedy=meant
        or "Give a title, a code such as K00042, or the path of a scan or the end of it; `kinphoto list` shows "
        "every photograph.",
        suggestion=meant,
    )


def with_number(connection: Connection, text: str) -> str:
    """Whether the photograph with this bare number is meant, as a question; "" where there is none. A number alone is
    never taken for a code: it may be that of a file, of a box or on a back."""
    match = _NUMBER.fullmatch(text.strip())
    row = _by_code(connection, f"K{match[1]}") if match else None
    if row is None:
        return ""
    return f"Did you mean {row['code']} ({row['title']})?" if row["title"] else f"Did you mean {row['code']}?"


def _several_scans(text: str, scans: Sequence[RowMapping]) -> AmbiguousError:
    what, paths = f"{len(scans)} scans match '{text}'", (scan["path"] for scan in scans)
    return AmbiguousError.of_many(what, paths, len(scans), "Give more of the path, or a code.")


def added_in(connection: Connection, table: Table, id_: int) -> int:
    """The newest change that added this row; 0 when none did."""
    c = t.change_row.c
    adding = select(func.max(c.change_id)).where(c.table_name == table.name, c.before.is_(None))
    return connection.scalar(adding.where(c.first_id <= id_, c.last_id >= id_)) or 0


def _removed_in(connection: Connection, code: str) -> int:
    """The newest change that remembered a scan of the photograph with this code as removed; 0 when none did."""
    removed = connection.scalars(select(t.removed_scan.c.id).where(t.removed_scan.c.code == code)).all()
    return max((added_in(connection, t.removed_scan, id_) for id_ in removed), default=0)
