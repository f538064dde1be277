"""Which photograph, scan, container or person somebody means by a code, a path, the end of one, or a name.

All commands look things up here, so that all understand the same words. A photograph: `K00042` in any case and with or
without its zeros, the code of one that was joined into another, the path of a scan, enough of the end of a path, or
its title. A person: `I12` or `@I12@` in the tree, `X7` outside it, a name that only one person has, or an id in an
earlier version of the tree. A couple or an event of the tree: `F3`, "Lambert and Agnes", `F3:MARR`, "wedding of
Lambert and Agnes", "Ada's christening".
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable, Sequence
from itertools import islice
from pathlib import Path
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, RowMapping, Table, func, or_, select

from kinphoto.archive.catalogue.codes import formerly, row_of, with_code
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.name_search import known_as
from kinphoto.archive.catalogue.vocabulary import EVENTS, nearest
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError, UnreadableFileError
from kinphoto.reason.model.span import year_of
from kinphoto.scans.fixity import sha256_at
from kinphoto.scans.pages import file_path, page_path, parsed
from kinphoto.scans.walk import is_text, plain_name, shown
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.privacy import Public

_LARGEST = 2**63  # one more than a database can hold
_CODE = re.compile(r"[Kk]([0-9]{1,15})")
_NAMESAKE = re.compile(r"(?P<name>[^()]+?) *\((?P<years>[^()]+)\)")
_AND = re.compile(r"\s+(?:and|with|to)\s+|\s*[&+]\s*", re.IGNORECASE)
_COUPLES = ("MARR", "ENGA", "DIV")  # events of two
_EVENT = "|".join(sorted(EVENTS, key=len, reverse=True))
_EVENT_OF = re.compile(rf"(?:the\s+)?({_EVENT})(?:\s+(?:day|party))?(?:\s+of)?\s+(.+)", re.IGNORECASE)
_ONES_EVENT = re.compile(rf"(.+?)(?:['’]s?)?\s+({_EVENT})(?:\s+(?:day|party))?", re.IGNORECASE)
_MOST_WORDS = 60  # of a name; a database answers no question about a thousand
_ARTICLE = re.compile(r"(?:the|a|an|our|their)\s+", re.IGNORECASE)
_SHOWN = 8  # candidates named in a message
_MANY = 500  # names, beyond which the rest of them need not be looked at


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
        raise _ambiguous(what, each, len(found), "Give more of the title, or the code.")
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


def find_person(connection: Connection, text: str, public: Public | None = None) -> RowMapping:
    """The row of the person meant by `text`; one who turned out to be somebody else is that other.

    A name matches when it is the same, letter case and accents aside; otherwise when all its words are in a person's
    name; otherwise when they are in their names, nicknames and husbands' surnames taken together. Somebody no longer
    in the tree is found only when nobody else matches. A namesake may have the years that they are shown with; and an
    id in an earlier version of the tree when nobody has the name. With `public` as if there were only the people it
    holds. Raises NotFoundError (with the nearest names) when nobody matches, AmbiguousError (with life years) when
    several do.
    """
    row = with_code(connection, t.person, text)
    if row is not None and public is not None and row["id"] not in public.people:
        row = None
    if row is None:
        ids = _people_named(connection, text, public) or _with_years(connection, text, public)
        if len(ids) > 1:
            count = len(ids) if len(ids) < _MANY else "very many"
            raise _several(connection, f"{count} people match '{text}'", ids)
        if not ids:
            once = {_resolved(connection, row)["id"]: None for row in formerly(connection, t.person, text)}
            ids = [id_ for id_ in once if public is None or id_ in public.people]
        if len(ids) > 1:
            raise _several(connection, f"'{text}' was the id of {len(ids)} people in earlier versions of the tree", ids)
        row = row_of(connection, t.person, ids[0]) if ids else None
    if row is None and public is not None:
        raise NotFoundError(
            f"there is nobody to show called '{text}'", remedy="Try more of the name, or a different spelling."
        )
    if row is None:
        raise _nobody(connection, text)
    return _resolved(connection, row)


def find_families(connection: Connection, text: str) -> list[int]:
    """The families (row ids) of a couple by their names, by one partner's, or by the family's id; those no longer in
    the tree only when there is no other.

    Where both names are somebody's whole name, only those people are meant. Raises NotFoundError (with the nearest
    names) when a name is nobody's.
    """
    family = with_code(connection, t.family, text)
    if family is not None:
        return [family["id"]]
    if once := formerly(connection, t.family, text):
        return [row["id"] for row in once]
    names = [name for name in _AND.split(text.strip()) if name]
    exactly = [_called(connection, name, whole=True) for name in names]
    found = _families_of(connection, exactly) if all(exactly) else []
    return found or _families_of(connection, [_called(connection, name, whole=False) for name in names])


def find_family(connection: Connection, text: str) -> RowMapping:
    """The row of the one family meant. Raises NotFoundError, or AmbiguousError (with years) when several fit."""
    found = find_families(connection, text)
    if not found:
        apart = len(_AND.split(text.strip())) > 1
        raise NotFoundError(
            f"there is no couple '{text}' in the tree" if apart else f"'{text}' has no partner in the tree",
            remedy="To look for couples: kinphoto families NAME.",
        )
    if len(found) > 1:
        couples = couple_words(connection, found[:_SHOWN]).values()
        remedy = "Give the id of the one you mean, such as F3."
        raise _ambiguous(f"{len(found)} couples match '{text}'", couples, len(found), remedy)
    return row_of(connection, t.family, found[0])


def find_event(connection: Connection, text: str) -> str:
    """The key of an event of the tree (`F3:MARR`), from the key itself, from words such as "wedding of Lambert and
    Agnes" or "Ada's christening", or from a couple alone, whose wedding is meant.

    Raises InvalidValueError for something that names no event, NotFoundError when that person or family has no such
    event, AmbiguousError (with years) when several people or couples are called so.
    """
    code, colon, tag = (part.strip() for part in text.replace("@", "").partition(":"))
    if colon and code and tag:
        return _event_by_key(connection, code, tag)
    plain = " ".join(text.split())
    if _ARTICLE.sub("", plain).casefold() in EVENTS:
        raise _no_event(plain)
    if match := _EVENT_OF.fullmatch(plain):
        what, who = match[1], match[2]
    elif match := _ONES_EVENT.fullmatch(plain):
        who, what = match[1], match[2]
    elif (
        plain and not _near_event(plain) and (_AND.search(plain) or with_code(connection, t.family, plain) is not None)
    ):
        what, who = "wedding", plain
    else:
        raise _no_event(plain)
    tags = EVENTS[what.casefold()]
    if tags[0] in _COUPLES:
        row = find_family(connection, who)
        column, called = t.event.c.family_id, couple_words(connection, [row["id"]])[row["id"]]
    else:
        row = find_person(connection, who)
        column, called = t.event.c.person_id, life_words(connection, [row["id"]])[row["id"]]
    there = set(connection.scalars(select(t.event.c.tag).where(column == row["id"])))
    found = next((tag for tag in tags if tag in there), None)
    if found is None:
        known = ", ".join(f"{row['code']}:{other}" for other in sorted(there)) or "none"
        raise NotFoundError(
            f"the tree has no {what.casefold()} of {called}",
            remedy=f"Its events: {known}. If you know when it was: kinphoto state PHOTO taken DATE.",
        )
    return f"{row['code']}:{found}"


def couple_words(connection: Connection, ids: Sequence[int]) -> dict[int, str]:
    """For each family (by row id) "Lambert Quillern (1861–1938), I3, and Agnes Ombry (1864–1940), I4, married 1887:
    F1": the words that tell couples apart."""
    m, f = t.partner.c, t.family.c
    partners: dict[int, list[int]] = {id_: [] for id_ in ids}
    for family_id, person_id in connection.execute(
        select(m.family_id, m.person_id).where(m.family_id.in_(ids)).order_by(m.position, m.id)
    ):
        partners[family_id].append(person_id)
    lives = life_words(connection, [person for people in partners.values() for person in people])
    years = _years(connection, t.event.c.family_id, ("MARR",), ids)
    married = {id_: f", married {words}" for (id_, _), words in years.items() if words}
    codes = {row.id: row.code for row in connection.execute(select(f.id, f.code).where(f.id.in_(ids)))}
    return {
        id_: f"{', and '.join(lives[person] for person in partners[id_] if person in lives) or 'nobody'}"
        f"{married.get(id_, '')}: {codes[id_]}"
        for id_ in ids
        if id_ in codes
    }


def life_words(connection: Connection, ids: Sequence[int]) -> dict[int, str]:
    """For each person (by row id) "Ada Marsh (1850-1920), I12": the words that tell namesakes apart."""
    p = t.person.c
    years = _years(connection, t.event.c.person_id, ("BIRT", "DEAT"), ids)
    found = {}
    for id_, name, code in connection.execute(select(p.id, p.name, p.code).where(p.id.in_(ids))):
        life = [years.get((id_, tag), "") for tag in ("BIRT", "DEAT")]
        when = f" ({'–'.join(life)})" if any(life) else ""
        found[id_] = f"{name or 'no name'}{when}, {code}"
    return {i: found[i] for i in ids if i in found}


def _years(
    connection: Connection, owner: ColumnElement[int], tags: Sequence[str], ids: Sequence[int]
) -> dict[tuple[int, str], str]:
    """The years of the preferred events of these kinds, by whose they are and the kind."""
    e = t.event.c
    query = select(owner, e.tag, e.first, e.last).where(owner.in_(ids), e.tag.in_(tags), e.withdrawn == 0)
    rows = connection.execute(query.order_by(e.position.desc()))  # so that the preferred one comes last, and stays
    return {(id_, tag): _year_words(first, last) for id_, tag, first, last in rows}


def _by_code(connection: Connection, text: str) -> RowMapping | None:
    """The photograph with this code, its own or one it took over."""
    match = _CODE.fullmatch(text.strip())
    if match is None:
        return None
    code = photograph_code(int(match[1]))
    row = connection.execute(select(t.photograph).where(t.photograph.c.code == code)).mappings().first()
    if row is None:
        owner = connection.scalar(select(t.alias.c.photograph_id).where(t.alias.c.code == code))
        row = None if owner is None else row_of(connection, t.photograph, owner)
    return row


def _scans_with_path(connection: Connection, text: str) -> Sequence[RowMapping]:
    """The scan at this path; else those whose path ends in these folders and names; else in these letters.

    A page may be named as "album.pdf#page=3" or "album.pdf page 3"; the file alone means all its pages. A file that is
    there and was not indexed because its bytes are those of another is that other one, and so is the plain name of a
    file of which only the copy (`harbour (1).jpg`) was indexed.
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
    """The scan with the same bytes as the file at this path, or of which a copy's name would be this one's."""
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
    return NotFoundError(
        f"there is no photograph or scan called '{shown(text)}'",
        remedy="Give a title, a code such as K00042, or the path of a scan or the end of it; `kinphoto list` shows "
        "every photograph.",
    )


def _ambiguous(what: str, candidates: Iterable[str], count: int, remedy: str) -> AmbiguousError:
    """Several match: the first of them, and how many more there are."""
    more = [f"and {count - _SHOWN} more"] if count > _SHOWN else []
    return AmbiguousError(what, [*islice(candidates, _SHOWN), *more], remedy=remedy)


def _several_scans(text: str, scans: Sequence[RowMapping]) -> AmbiguousError:
    what, paths = f"{len(scans)} scans match '{text}'", (scan["path"] for scan in scans)
    return _ambiguous(what, paths, len(scans), "Give more of the path, or a code.")


def added_in(connection: Connection, table: Table, id_: int) -> int:
    """The newest change that added this row; 0 when none did."""
    c = t.change_row.c
    adding = select(func.max(c.change_id)).where(c.table_name == table.name, c.before.is_(None))
    return connection.scalar(adding.where(c.first_id <= id_, c.last_id >= id_)) or 0


def _removed_in(connection: Connection, code: str) -> int:
    """The newest change that remembered a scan of the photograph with this code as removed; 0 when none did."""
    removed = connection.scalars(select(t.removed_scan.c.id).where(t.removed_scan.c.code == code)).all()
    return max((added_in(connection, t.removed_scan, id_) for id_ in removed), default=0)


def _resolved(connection: Connection, row: RowMapping) -> RowMapping:
    """The person this one turned out to be."""
    return row if row["same_as_id"] is None else row_of(connection, t.person, read_identity(connection).of(row["id"]))


def _people_named(connection: Connection, text: str, public: Public | None) -> list[int]:
    """The people of this very name; else those in whose names all its words stand; else those who were called so."""
    words = list(dict.fromkeys(fold(text).split()))
    if not words:
        return []
    folded = t.name.c.folded
    exact = _named(connection, _with_name(folded == fold(text)), public)
    if exact or len(words) > _MOST_WORDS:
        return exact
    rows = connection.execute(select(t.name.c.id, folded).where(*(folded.contains(w, autoescape=True) for w in words)))
    whole = [row.id for row in rows if set(words) <= set(row.folded.split())]
    named = _named(connection, _with_name(t.name.c.id.in_(whole[:_MANY])), public)
    return named or _named(connection, t.person.c.id.in_(known_as(connection, text, public)[:_MANY]), public)


def _with_years(connection: Connection, text: str, public: Public | None) -> list[int]:
    """The people of a name with the years that tell them from their namesakes, as both are shown: "Ada Marsh
    (1850–1920)", or "(1850 to 1920)"."""
    found = _NAMESAKE.fullmatch(text.strip())
    if found is None:
        return []
    lives = life_words(connection, _people_named(connection, found["name"], public)[:_MANY])
    return [id_ for id_, words in lives.items() if f"({_years_alone(found['years'])})" in _years_alone(words)]


def _years_alone(words: str) -> str:
    """Years, however from one to the other is written."""
    return re.sub(r" *(?:-|–|\bto\b) *", "–", words).strip()


def _several(connection: Connection, what: str, ids: Sequence[int]) -> AmbiguousError:
    people = life_words(connection, ids[:_SHOWN]).values()
    return _ambiguous(what, people, len(ids), "Give the id of the one you mean.")


def _with_name(which: ColumnElement[bool]) -> ColumnElement[bool]:
    return t.person.c.id.in_(select(t.name.c.person_id).where(which))


def _named(connection: Connection, which: ColumnElement[bool], public: Public | None = None) -> list[int]:
    """Who these people are in the end, each once; those no longer in the tree only when there is nobody else."""
    rows = connection.execute(select(t.person).where(which).order_by(t.person.c.id)).mappings()
    shown = (row for row in rows if public is None or row["id"] in public.people)
    people = {found["id"]: found for found in (_resolved(connection, row) for row in shown)}
    here = [id_ for id_, found in people.items() if not found["gone"]]
    return here or list(people)


def _called(connection: Connection, name: str, *, whole: bool) -> set[int]:
    """The people of this id or name: of this very name, or with `whole` False everybody who was ever called so.

    Raises NotFoundError when nobody was called so.
    """
    row = with_code(connection, t.person, name)
    if row is not None:
        return {int(_resolved(connection, row)["id"])}
    if whole:
        return set(_named(connection, _with_name(t.name.c.folded == " ".join(fold(name).split()))))
    found = set(known_as(connection, name))
    if not found:
        raise _nobody(connection, name)
    return found


def _families_of(connection: Connection, people: Sequence[set[int]]) -> list[int]:
    """The families that have a partner, each another one, out of each of these groups of people."""
    m, f = t.partner.c, t.family.c
    if not people:
        return []
    identity = read_identity(connection)
    few = min(people, key=len)
    theirs = select(m.family_id).where(among(connection, m.person_id, identity.names(few)))
    partners: dict[int, set[int]] = {}
    gone: dict[int, int] = {}
    for family_id, person_id, is_gone in connection.execute(
        select(m.family_id, m.person_id, f.gone).join(t.family, f.id == m.family_id).where(m.family_id.in_(theirs))
    ):
        partners.setdefault(family_id, set()).add(identity.of(person_id))
        gone[family_id] = is_gone
    fitting = [id_ for id_, couple in partners.items() if _are_partners(couple, people)]
    return sorted([id_ for id_ in fitting if not gone[id_]] or fitting)


def _are_partners(couple: set[int], people: Sequence[set[int]]) -> bool:
    if not people:
        return True
    return any(_are_partners(couple - {one}, people[1:]) for one in couple & people[0])


def _event_by_key(connection: Connection, code: str, tag: str) -> str:
    """The key with the code and tag as they stand in the tree."""
    owner, column = _owner_of_events(connection, code)
    if owner is not None:
        tags = sorted(connection.scalars(select(t.event.c.tag).where(column == owner["id"]).distinct()))
        found = next((other for other in tags if other.upper() == tag.upper()), None)
        if found is not None:
            return f"{owner['code']}:{found}"
        known = ", ".join(f"{owner['code']}:{other}" for other in tags) or "none"
        raise NotFoundError(f"{owner['code']} has no event {tag} in the tree", remedy=f"Its events: {known}.")
    raise NotFoundError(
        f"the tree has no person or family {code}",
        remedy="To look them up: kinphoto families, or kinphoto people.",
    )


def _owner_of_events(connection: Connection, code: str) -> tuple[RowMapping | None, ColumnElement[int]]:
    """The family or person of this id, or who had it in an earlier file of the tree, and the column that says whose an
    event is."""
    columns = ((t.family, t.event.c.family_id), (t.person, t.event.c.person_id))
    for table, column in columns:
        if (row := with_code(connection, table, code)) is not None:
            return row, column
    once = [(row, column) for table, column in columns for row in formerly(connection, table, code)]
    if len(once) > 1:
        raise AmbiguousError(
            f"{code} was the id of {len(once)} in earlier versions of the tree",
            [row["code"] for row, _ in once],
            remedy="Give the id that the one you mean has now.",
        )
    return once[0] if once else (None, t.event.c.person_id)


def _no_event(text: str) -> InvalidValueError:
    """The error for words that do not name an event: the name that was probably meant, or how to name one."""
    near = _near_event(text)
    hint = f"Did you mean “{near[0]} {text.split(None, 1)[1]}”? " if near else ""
    return InvalidValueError(
        f"'{text}' does not name an event",
        remedy=f'{hint}Name it like "wedding of Lambert and Agnes", or by its key such as F3:MARR or I12:GRAD; '
        "`kinphoto families` lists the couples.",
    )


def _near_event(text: str) -> list[str]:
    """The event whose name is nearly the first of these words, if more follow."""
    first, _, rest = text.partition(" ")
    return nearest(first.casefold(), {word: word for word in EVENTS}, 1) if rest else []


def _nobody(connection: Connection, text: str) -> NotFoundError:
    from rapidfuzz import fuzz, process

    names = {row.id: row.folded for row in connection.execute(select(t.name.c.id, t.name.c.folded))}
    near = process.extract(fold(text), names, scorer=fuzz.WRatio, limit=3, score_cutoff=75)
    ids = connection.scalars(select(t.name.c.person_id).where(t.name.c.id.in_([key for _, _, key in near]))).all()
    people = "; ".join(life_words(connection, list(dict.fromkeys(ids))).values())
    suggestion = f"Did you mean {people}?" if people else ""
    hint = suggestion or "To see everybody: kinphoto people."
    remedy = f'{hint} To add somebody new: kinphoto people add "NAME".'
    return NotFoundError(f"there is nobody called '{text}'", remedy=remedy, suggestion=suggestion)


def _year_words(first: int | None, last: int | None) -> str:
    """ "1850", "about 1850" for a span of years, "" for none."""
    days = [day for day in (first, last) if day is not None]
    if not days:
        return ""
    years = [year_of(day) for day in days]
    return str(years[0]) if years[0] == years[-1] and len(days) == 2 else f"c. {sum(years) // len(years)}"
