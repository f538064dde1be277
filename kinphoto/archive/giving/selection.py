"""What goes to an audience: the photographs that somebody wants to give, each with what may be said of it, and what
stays with the reason why.

Every output is made of `Gift` and of nothing else, so that what the gate (`catalogue/privacy.py`) holds back can get
into none of them. `given.py` has what may be said of one photograph.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.consents import branch_of
from kinphoto.archive.catalogue.containers import within
from kinphoto.archive.catalogue.finding import find_container, find_photograph
from kinphoto.archive.catalogue.finding_people import find_relative
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.lives import rows_of
from kinphoto.archive.catalogue.person_cards import Named
from kinphoto.archive.catalogue.privacy import Reason, View, Withholding, view
from kinphoto.archive.giving.given import Given, GivenReader
from kinphoto.archive.giving.stories import GivenStory, HeldStory, select_stories
from kinphoto.archive.people.pictures import with_any_of
from kinphoto.archive.statements.consenting import find_audience
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import counted, listed
from kinphoto.store import tables as t


class Wanted(NamedTuple):
    """What somebody wants to give; nothing at all means every photograph."""

    photographs: tuple[str, ...] = ()
    of: str = ""
    branch: str = ""
    box: str = ""


@dataclass(frozen=True, slots=True)
class HeldBack:
    """A photograph that is held back."""

    photograph: Annotated[str, "the code of a photograph that stays"]
    reason: Annotated[str, "`private`, `living`, `face` (without a name), `nobody` (is named), or `same-picture`"]
    why: Annotated[str, "the same in words, with who has not agreed"]
    people: Annotated[tuple[Named, ...], "with `living`: who may be living and has not agreed"] = ()


@dataclass(frozen=True, slots=True)
class Report:
    """What would go to an audience, and what is held back and why: what every output says before it writes anything."""

    audience: Annotated[str, "who it is for"]
    going: Annotated[tuple[str, ...], "codes of the photographs that would go"]
    held_back: tuple[HeldBack, ...]
    words_held: Annotated[
        tuple[str, ...],
        "codes of photographs that would go without what is written on them or about them, because nobody has looked "
        "through it for this audience",
    ]
    names_left_out: Annotated[int, "names left out because they are disputed: rivals, denied, weak or in a conflict"]
    missing: Annotated[tuple[str, ...], "codes of photographs that cannot go because their scans are missing"]
    people: Annotated[tuple[str, ...], "the names that would go"]
    asked: Annotated[tuple[str, ...], "the living among them who agreed, by name"]
    stories: Annotated[tuple[str, ...], "ids of the stories that would go"] = ()
    stories_held: tuple[HeldStory, ...] = ()

    @property
    def reasons(self) -> dict[str, int]:
        """How many are held back for each reason."""
        return dict(Counter(one.reason for one in self.held_back))

    @property
    def to_ask(self) -> list[tuple[Named, int]]:
        """Who could be asked, with how many photographs are held back for them, those of the most first."""
        return Counter(who for one in self.held_back for who in one.people).most_common()

    @property
    def lines(self) -> Iterator[str]:
        """The report in words, a line each."""
        to = {"household": "the household", "public": "the public"}.get(self.audience, f"'{self.audience}'")
        named = counted(len(self.people), "person", "people")
        yield f"{counted(len(self.going), 'photograph')} would go to {to}, naming {named}."
        if self.asked:
            yield f"Of the living, these agreed: {listed(self.asked)}."
        if self.held_back:
            yield f"{counted(len(self.held_back), 'photograph')} would stay:"
            for reason, count in self.reasons.items():
                yield f"  {count:,} because {_REASONS[Reason(reason)]}"
        if self.words_held:
            yield (
                f"{counted(len(self.words_held), 'photograph')} would go without what is written on them or about "
                "them, because nobody has looked through it: kinphoto give clear PHOTO... --words."
            )
        if self.stories:
            yield f"{counted(len(self.stories), 'story', 'stories')} would go with them on a site."
        for one in self.stories_held:
            yield f"{one.story}, a story, would stay: {one.why}."
        if self.names_left_out:
            yield f"{counted(self.names_left_out, 'name')} left out because somebody disputes them or is not sure."
        if self.missing:
            yield f"{counted(len(self.missing), 'scan is', 'scans are')} missing: {listed(self.missing[:8])}."


_REASONS = {
    Reason.PRIVATE: "you marked them private",
    Reason.LIVING: "somebody in them may be living and has not agreed",
    Reason.FACE: "somebody in them without a name may be living",
    Reason.NOBODY: "nobody is named in them, and they may show somebody living",
    Reason.SAME_PICTURE: "they show the same picture as one that stays",
}


@dataclass(frozen=True, slots=True)
class Gift:
    """All that may go to an audience of what somebody wants to give."""

    report: Report
    photographs: tuple[Given, ...]
    view: View
    stories: tuple[GivenStory, ...] = ()


def report(connection: Connection, audience: str, wanted: Wanted = Wanted()) -> Report:
    """What would go to an audience, and what is held back and why. Raises NotFoundError, AmbiguousError."""
    return gift(connection, audience, wanted).report


def gift(connection: Connection, audience: str, wanted: Wanted = Wanted()) -> Gift:
    """What may go to an audience of what is wanted, in the order of their codes. The caller makes sure that the dates
    are up to date. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    seen = view(connection, find_audience(connection, audience))
    ids = _wanted(connection, wanted)
    reader = GivenReader(connection, seen, seen.photographs & ids)
    given = reader.given()
    names = {one.id: one.name for each in given for one in each.names if one.id}
    stories, stories_held = select_stories(connection, seen, None if wanted == Wanted() else ids, names.keys())
    return Gift(
        Report(
            audience=seen.audience,
            going=tuple(each.code for each in given),
            held_back=tuple(_held(connection, {id_: why for id_, why in seen.held.items() if id_ in ids})),
            words_held=tuple(each.code for each in given if each.id in reader.speechless),
            names_left_out=reader.disputed,
            missing=tuple(sorted(reader.missing)),
            people=tuple(sorted(names.values(), key=fold)),
            asked=tuple(sorted((names[code] for code in names.keys() & reader.living), key=fold)),
            stories=tuple(one.id for one in stories),
            stories_held=stories_held,
        ),
        tuple(given),
        seen,
        stories,
    )


def _wanted(connection: Connection, wanted: Wanted) -> set[int]:
    """The photographs somebody wants to give (row ids), whether they may go or not."""
    p = t.photograph.c
    found: list[set[int]] = []
    if wanted.photographs:
        found.append({find_photograph(connection, text)["id"] for text in wanted.photographs})
    if wanted.of:
        found.append(with_any_of(connection, {find_relative(connection, wanted.of)["id"]}))
    if wanted.branch:
        identity = read_identity(connection)
        who = find_relative(connection, wanted.branch)["id"]
        found.append(with_any_of(connection, identity.names(branch_of(connection, who, identity))))
    if wanted.box:
        found.append(_in_box(connection, wanted.box))
    if not found:
        return set(connection.scalars(select(p.id)))
    return set.intersection(*found)


def _in_box(connection: Connection, name: str) -> set[int]:
    row, c, p = find_container(connection, name), t.container.c, t.photograph.c
    if row is None:
        raise NotFoundError(f"there is no box called '{name}'", remedy="To see them all: kinphoto container list.")
    parents = {each.id: each.parent_id for each in connection.execute(select(c.id, c.parent_id))}
    inside = within(parents, {row["id"]})
    return {each.id for each in rows_of(connection, select(p.id), p.container_id, inside)}


def _held(connection: Connection, held: Mapping[int, Withholding]) -> Iterator[HeldBack]:
    p = t.photograph.c
    others = {why.other for why in held.values() if why.other is not None}
    codes = {row[0]: row[1] for row in rows_of(connection, select(p.id, p.code), p.id, held.keys() | others)}
    people = {id_ for why in held.values() for id_ in why.people}
    q = t.person.c
    named = {
        row[0]: Named(row[1], row[2] or row[1])
        for row in rows_of(connection, select(q.id, q.code, q.name), q.id, people)
    }
    for id_, why in sorted(held.items(), key=lambda pair: codes[pair[0]]):
        missing = tuple(sorted((named[who] for who in why.people), key=lambda who: fold(who.name)))
        words = {
            Reason.PRIVATE: "you marked it private",
            Reason.LIVING: (
                f"{listed([who.name for who in missing])} may be living and "
                f"{'has' if len(why.people) == 1 else 'have'} not agreed"
            ),
            Reason.FACE: "somebody in it without a name may be living",
            Reason.NOBODY: "nobody is named in it, and it may show somebody living",
            Reason.SAME_PICTURE: f"it shows the same picture as {codes.get(why.other or 0, '')}, which stays",
        }[why.reason]
        yield HeldBack(codes[id_], str(why.reason), words, missing)


def of_studios(connection: Connection, found: Gift) -> frozenset[str]:
    """Photographs (codes) that somebody outside the household may hold the copyright of, who has to be asked before
    they go: a maker is recorded, and nothing about the rights. None for the household itself."""
    if found.view.at_home:
        return frozenset()
    p = t.photograph.c
    codes = {one.id: one.code for one in found.photographs}
    query = select(p.id).where(p.maker != "", p.rights == "")
    return frozenset(codes[row.id] for row in rows_of(connection, query, p.id, codes))


def refuse_empty(found: Gift) -> None:
    """Raise InvalidValueError where nothing may go."""
    if not found.photographs:
        raise InvalidValueError(
            f"none of it may go to {found.report.audience}",
            remedy=f"To see why: kinphoto give report {found.report.audience}.",
        )
