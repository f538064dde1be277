"""People: found by name and year, added outside the tree, and identified with somebody else."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace
from typing import Annotated, Any

from sqlalchemy import Connection, RowMapping, func, select

from kinphoto.archive.catalogue.codes import formerly, row_of, with_code, with_id
from kinphoto.archive.catalogue.finding_people import find_person, life_words, relatives_called
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import lives
from kinphoto.archive.catalogue.name_search import Match, Matches, search
from kinphoto.archive.catalogue.person_cards import PersonCard, person_cards
from kinphoto.archive.catalogue.privacy import Public, photographs_shown, public_view
from kinphoto.archive.catalogue.recorded_dates import date_columns
from kinphoto.archive.statements.appearances import Link, Linked, record_link
from kinphoto.documents import OR_NULL
from kinphoto.errors import InvalidValueError
from kinphoto.gedcom.dates import parse_date
from kinphoto.reason.model.findings import BirthEstimate
from kinphoto.reason.model.span import Dated
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class FoundPerson(PersonCard):
    """Somebody who was found."""

    found_as: Annotated[
        str,
        OR_NULL,
        ("the other name, nickname or married surname by which they were found; null when it was the name they go by"),
    ] = ""
    kin: Annotated[
        str | None,
        "what they are to the proband, in short; null when there is no proband, no kinship was found, or more than a "
        "hundred people are listed",
    ] = None
    suggested_birth: Annotated[
        BirthEstimate | None,
        "the birth that photographs suggest, as of the newest estimates, where the tree leaves it open; null "
        "otherwise. It is no proof, for whoever judged the ages may have known the tree",
    ] = None


@dataclass(frozen=True, slots=True)
class FoundPeople:
    """Who was found, best first; `similar` when there was no exact match and these have similar names."""

    people: tuple[FoundPerson, ...]
    similar: bool


@dataclass(frozen=True, slots=True)
class AddedPerson:
    """Somebody new outside the tree."""

    id: Annotated[str, "the id of the new person, `X7`"]
    name: Annotated[str, "the name as kept"]
    namesakes: Annotated[tuple[str, ...], "others of the very same name, with their life years and ids"]


@dataclass(frozen=True, slots=True)
class SamePerson:
    """Who somebody turned out to be."""

    id: Annotated[str, "who it turned out to be"]
    was: Annotated[str, "the id of the person outside the tree, which still works"]
    name: Annotated[str, "the name of the person it turned out to be"]
    moved: Annotated[int, "how many pictures moved to that person"]


def find(connection: Connection, text: str = "", most: int | None = None, *, for_anybody: bool = False) -> FoundPeople:
    """The people whose names and years fit a line such as "Ada Marsh 1890", or who are that to the proband, as "my
    grandmother", where nobody has that name; everybody for an empty one. With `most`, no more than that: for an empty
    line those who are in the most pictures. With `for_anybody` as if there were only what anybody may see."""
    public = public_view(connection, for_anybody)
    if most is not None and not text.strip():
        return _most_pictured(connection, most, public)
    matches = search(connection, text, most, public)
    unknown = public is None and (matches.similar or not matches.people)
    if unknown and (kin := relatives_called(connection, text)) and kin.people:
        matches = Matches(tuple(map(Match, kin.people)), lives(connection, set(kin.people), read_identity(connection)))
    return _described(connection, matches, most, public)


def _most_pictured(connection: Connection, most: int, public: Public | None) -> FoundPeople:
    a, p = t.appearance.c, t.person.c
    pictures = func.count(a.photograph_id.distinct())
    counts = select(a.person_id).where(a.denied == 0, a.withdrawn == 0, a.person_id.is_not(None)).group_by(a.person_id)
    identity = read_identity(connection)
    more = select(p.id).where(p.same_as_id.is_(None), p.gone == 0)
    if public is not None:
        counts = counts.where(*photographs_shown(connection, a.photograph_id, public))
        more = more.where(among(connection, p.id, public.people))
    ids = [identity.of(i) for i in connection.scalars(counts.order_by(pictures.desc(), a.person_id).limit(most))]
    if len(ids) < most:
        ids += connection.scalars(more.order_by(p.id).limit(most)).all()
    ids = list(dict.fromkeys(ids))[:most]
    matches = Matches(tuple(Match(id_) for id_ in ids), lives(connection, set(ids), identity))
    return _described(connection, matches, most, public)


def _described(connection: Connection, matches: Matches, most: int | None, public: Public | None) -> FoundPeople:
    """The people of these matches with what is known of them."""
    shown = matches.people[:most]
    found = person_cards(connection, [match.person_id for match in shown], FoundPerson, public, matches.lives)
    for match in shown:
        if match.found_as:
            found[match.person_id] = replace(found[match.person_id], found_as=match.found_as)
    return FoundPeople(tuple(found[match.person_id] for match in shown), matches.similar)


def add(work: Work, name: str, born: str | None = None, died: str | None = None, note: str = "") -> AddedPerson:
    """Add somebody who is not in the tree. Slashes may set off the surname: "Ada /Marsh/".

    Raises InvalidValueError for an empty name, a date that cannot be understood, or a death before the birth.
    """
    text = " ".join(name.replace("/", " ").split())
    if not fold(text):
        raise InvalidValueError("a person needs a name", remedy='Give one, such as "Mrs Holm from next door".')
    dates = {tag: parse_date(date) for tag, date in (("BIRT", born), ("DEAT", died)) if date is not None}
    _check_order(dates)
    n = t.name.c
    alike = work.connection.scalars(select(n.person_id).where(n.folded == fold(text)).order_by(n.person_id))
    namesakes = tuple(life_words(work.connection, list(dict.fromkeys(alike))[:5]).values())
    code = _new_code(work)
    id_ = work.insert_one(
        t.person, code=code, name=text, outside=1, sex="U", living=0 if died else None, note=note.strip()
    )
    given, _, surname = name.partition("/")
    surname = " ".join(surname.replace("/", " ").split())
    work.insert_one(
        t.name, person_id=id_, text=text, given=given.strip() if surname else "", surname=surname, folded=fold(text)
    )
    for tag, dated in dates.items():
        work.insert_one(t.event, person_id=id_, tag=tag, date_text=dated.words, **date_columns(dated))
    work.what = f"added {text} ({code}), who is not in the tree"
    return AddedPerson(code, text, namesakes)


def link_newcomer(work: Work, said: Link, name: str) -> tuple[Linked, list[str]]:
    """Record that somebody of this name, who is in no tree, is in a photograph. Raises what adding and linking them
    raise; then nobody was added."""
    return record_link(work, replace(said, person=add(work, name).id))


def identify(work: Work, somebody: str, turned_out: str) -> SamePerson:
    """Somebody outside the tree turned out to be another person: their pictures become that person's.

    Raises NotFoundError or AmbiguousError when it is unclear who is meant, InvalidValueError when the first is in the
    tree (and not gone from it), both are one already, or both are in one photograph at different places.
    """
    x, who = find_person(work.connection, somebody), find_person(work.connection, turned_out)
    if x["id"] == who["id"]:
        raise InvalidValueError(f"{somebody} and {turned_out} are the same person already: {with_id(who)}")
    if not x["outside"] and not x["gone"]:
        raise InvalidValueError(
            f"{with_id(x)} is in the tree",
            remedy="Name the person outside the tree first: kinphoto people same X7 I12.",
        )
    moved = _move_appearances(work, x, who)
    work.update(t.person, [x["id"]], same_as_id=who["id"])
    work.what = f"{with_id(x)} turned out to be {with_id(who)}"
    return SamePerson(who["code"], x["code"], who["name"], moved)


def take_over(work: Work, gone: int, into: int) -> int:
    """Somebody who is gone from the tree (row id) was merged into another: their pictures become that person's. Counts
    them.

    Raises InvalidValueError when both are in one photograph at different places.
    """
    moved = _move_appearances(work, *(row_of(work.connection, t.person, id_) for id_ in (gone, into)))
    work.update(t.person, [gone], same_as_id=into)
    return moved


def _check_order(dates: dict[str, Dated]) -> None:
    born, died = dates.get("BIRT"), dates.get("DEAT")
    if born is None or died is None or born.span.first is None or died.span.last is None:
        return
    if died.span.last < born.span.first:
        raise InvalidValueError(
            f"the death ({died.words}) comes before the birth ({born.words})", remedy="Give --born and --died again."
        )


def _new_code(work: Work) -> str:
    """The next X-number; a tree that has such ids itself, or had them, keeps them."""
    while True:
        code = f"X{work.take('person.outside').start}"
        if with_code(work.connection, t.person, code) is None and not formerly(work.connection, t.person, code):
            return code


def _move_appearances(work: Work, x: RowMapping, who: RowMapping) -> int:
    """Make one person's appearances another's; where both are on one photograph they become one. Counts the moved."""
    a = t.appearance.c
    theirs: dict[int, list[dict[str, Any]]] = {}
    for row in work.connection.execute(select(t.appearance).where(a.person_id == who["id"]).order_by(a.id)).mappings():
        theirs.setdefault(row["photograph_id"], []).append(dict(row))
    mine = work.connection.execute(select(t.appearance).where(a.person_id == x["id"]).order_by(a.id)).mappings().all()
    for row in mine:
        present = theirs.get(row["photograph_id"], [])
        _refuse_two_places(work.connection, row, present, x, who)
        twin = next((other for other in present if _is_one(row, other)), None)
        if twin is None:
            work.update(t.appearance, [row["id"]], person_id=who["id"])
        else:
            _merge(work, row, twin)
    return len({row["photograph_id"] for row in mine if not row["denied"] and not row["withdrawn"]})


def _refuse_two_places(
    connection: Connection, row: RowMapping, present: list[dict[str, Any]], x: RowMapping, who: RowMapping
) -> None:
    """Two people next to each other are not one."""
    for other in present:
        regions = {row["region_id"], other["region_id"]}
        if _counts(row) and _counts(other) and len(regions) == 2 and None not in regions:
            code = row_of(connection, t.photograph, row["photograph_id"])["code"]
            raise InvalidValueError(
                f"{with_id(x)} and {with_id(who)} are both in {code}, at different places",
                remedy=f"Withdraw one of the two links first: kinphoto withdraw A{row['id']}, or A{other['id']}.",
            )


def _counts(row: Mapping[Any, Any]) -> bool:
    return row["role"] != "likeness" and not row["denied"] and not row["withdrawn"]


def _is_one(row: RowMapping, other: dict[str, Any]) -> bool:
    """Whether two appearances on one photograph say the same."""
    alike = all(row[key] == other[key] for key in ("role", "denied", "withdrawn"))
    return alike and (row["region_id"] == other["region_id"] or None in (row["region_id"], other["region_id"]))


def _merge(work: Work, row: RowMapping, twin: dict[str, Any]) -> None:
    """Make two appearances one: `twin` takes what it lacks, and the ages that were judged."""
    keep = {key: twin[key] or row[key] for key in ("region_id", "trust", "informant_id", "why")}
    if any(twin[key] != value for key, value in keep.items()):
        work.update(t.appearance, [twin["id"]], **keep)
        twin.update(keep)
    s = t.statement.c
    ages = work.connection.scalars(select(s.id).where(s.appearance_id == row["id"])).all()
    work.update(t.statement, ages, appearance_id=twin["id"])
    work.delete(t.appearance, [row["id"]])
