"""Which couple or event of the tree somebody means: `F3`, "Lambert and Agnes", `F3:MARR`, "wedding of Lambert and
Agnes", "Ada's christening"."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import formerly, row_of, with_code
from kinphoto.archive.catalogue.finding_people import (
    event_years,
    find_person,
    life_words,
    nobody_called,
    people_where,
    resolved,
    with_name,
)
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.name_search import known_as
from kinphoto.archive.catalogue.vocabulary import EVENTS, OF_COUPLES, nearest
from kinphoto.errors import AmbiguousError, InvalidValueError, NotFoundError
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    pass

_AND = re.compile(r"\s+(?:and|with|to)\s+|\s*[&+]\s*", re.IGNORECASE)

_EVENT = "|".join(sorted(EVENTS, key=len, reverse=True))

_EVENT_OF = re.compile(rf"(?:the\s+)?({_EVENT})(?:\s+(?:day|party))?(?:\s+of)?\s+(.+)", re.IGNORECASE)

_ONES_EVENT = re.compile(rf"(.+?)(?:['’]s?)?\s+({_EVENT})(?:\s+(?:day|party))?", re.IGNORECASE)

_ARTICLE = re.compile(r"(?:the|a|an|our|their)\s+", re.IGNORECASE)


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
        couples = couple_words(connection, found[: AmbiguousError.NAMED]).values()
        remedy = "Give the id of the one you mean, such as F3."
        raise AmbiguousError.of_many(f"{len(found)} couples match '{text}'", couples, len(found), remedy)
    return row_of(connection, t.family, found[0])


def find_event(connection: Connection, text: str) -> str:
    """The key of an event of the tree (`F3:MARR`), from the key itself, from words such as "wedding of Lambert and
    Agnes" or "Ada's christening", or from a couple alone, whose wedding is meant.

    Raises InvalidValueError for something that names no event, NotFoundError when that person or family has no such
    event, AmbiguousError (with years) when several people or couples have the name.
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
    if what.casefold() in OF_COUPLES:
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
    F1": words that set couples apart."""
    m, f = t.partner.c, t.family.c
    partners: dict[int, list[int]] = {id_: [] for id_ in ids}
    for family_id, person_id in connection.execute(
        select(m.family_id, m.person_id).where(m.family_id.in_(ids)).order_by(m.position, m.id)
    ):
        partners[family_id].append(person_id)
    lives = life_words(connection, [person for people in partners.values() for person in people])
    years = event_years(connection, t.event.c.family_id, ("MARR",), ids)
    married = {id_: f", married {words}" for (id_, _), words in years.items() if words}
    codes = {row.id: row.code for row in connection.execute(select(f.id, f.code).where(f.id.in_(ids)))}
    return {
        id_: f"{', and '.join(lives[person] for person in partners[id_] if person in lives) or 'nobody'}"
        f"{married.get(id_, '')}: {codes[id_]}"
        for id_ in ids
        if id_ in codes
    }


def _called(connection: Connection, name: str, *, whole: bool) -> set[int]:
    """The people of this id or name: of this very name, or with `whole` False everybody who ever had it.

    Raises NotFoundError when nobody did.
    """
    row = with_code(connection, t.person, name)
    if row is not None:
        return {int(resolved(connection, row)["id"])}
    if whole:
        return set(people_where(connection, with_name(t.name.c.folded == " ".join(fold(name).split()))))
    found = set(known_as(connection, name))
    if not found:
        raise nobody_called(connection, name)
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
