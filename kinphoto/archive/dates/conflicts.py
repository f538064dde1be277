"""Conflicts for reading, and settling one by one of its ways out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from string import ascii_lowercase, ascii_uppercase
from typing import Annotated

from sqlalchemy import Connection, and_, or_, select

from kinphoto.archive.catalogue.freshness import freshness, kept_entry
from kinphoto.archive.dates.estimates import read_stories
from kinphoto.archive.statements.withdrawing import FLAGS, Withdrawn, standing, withdraw_all
from kinphoto.archive.words.conflict_stories import ConflictStory, Misplaced, StoryBook
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model import evidence as ev
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.session import Work

_AT_LARGE = (t.person.name, t.photograph.name, t.partner.name)
"""Tables that statements depend on beside their own rows: who is who, what is one photograph, who is a couple."""


@dataclass(frozen=True, slots=True)
class SettledConflict:
    """A conflict that was settled."""

    conflict: Annotated[str, "the id of the conflict settled"]
    headline: Annotated[str, "the question it raised"]
    withdrawn: Annotated[tuple[Withdrawn, ...], "what was withdrawn"]
    change: Annotated[int | None, "the number of this change, for `undo`"]
    cautions: Annotated[tuple[str, ...], "what to take care of"]


def conflicts(connection: Connection) -> StoryBook:
    """The conflicts of the whole archive as they were last found, without those since resolved by a withdrawal."""
    book = read_stories(connection)
    if freshness(connection).fresh:
        return book
    named = [s.id for story in book.stories for s in story.statements]
    stand = standing(connection, [*named, *book.aside, *(u.statement for u in book.unlikely)])
    return replace(
        book,
        stories=tuple(story for story in book.stories if stand.issuperset(s.id for s in story.statements)),
        aside=tuple(each for each in book.aside if each in stand),
        unlikely=tuple(u for u in book.unlikely if u.statement in stand),
        out_of_place=_still_there(connection, book.out_of_place),
        current=False,
    )


def _still_there(connection: Connection, misplaced: tuple[Misplaced, ...]) -> tuple[Misplaced, ...]:
    """Those that were not moved or removed meanwhile, and that are still said to be on a strip."""
    p = t.photograph.c
    query = select(p.code, p.container_id).where(among(connection, p.code, {one.photograph for one in misplaced}))
    lies_in = {row.code: row.container_id for row in connection.execute(query)} if misplaced else {}
    s = t.statement.c
    ends = or_(s.photograph_id == p.id, s.other_id == p.id)
    tied = select(p.code).join(t.statement, ends).where(s.kind == ev.Related.SAME_STRIP, s.withdrawn == 0)
    frames = set(connection.scalars(tied)) if any(one.container is None for one in misplaced) else set()
    return tuple(
        one
        for one in misplaced
        if (one.photograph in frames if one.container is None else lies_in.get(one.photograph) == one.container)
    )


def settle(work: Work, conflict: str, way: Sequence[str]) -> SettledConflict:
    """Withdraw all statements of one way out of a conflict, in one change.

    Conflicts are only looked for again if something this one rests on was changed, so that several can be settled one
    after the other. Raises InvalidValueError when there is no such conflict (any more) or it has no such way out.
    """
    story = _find(work.connection, conflict)
    if story is None:
        raise InvalidValueError(
            f"there is no conflict '{conflict.strip()}' any more",
            remedy="Something has changed since, or the id is mistyped. See what does not fit now: kinphoto conflicts.",
        )
    done = withdraw_all(work, _fitting(story, way))
    cautions = tuple(dict.fromkeys(caution for each in done for caution in each.cautions))
    work.what = f"settled {story.id} ({story.headline}): {work.what}"
    return SettledConflict(story.id, story.headline, done, work.id, cautions)


def has_to_be_found_again(connection: Connection, conflict: str, way: Sequence[str]) -> bool:
    """Whether something this conflict rests on was changed, or there is no such conflict."""
    return _find(connection, conflict) is None


def _find(connection: Connection, conflict: str) -> ConflictStory | None:
    """The conflict with this id, if nothing it rests on was changed since it was found."""
    plain = conflict.strip().upper()
    story = next((each for each in read_stories(connection).stories if each.id == plain), None)
    return story if story is not None and (freshness(connection).fresh or _untouched(connection, story)) else None


def _untouched(connection: Connection, story: ConflictStory) -> bool:
    """Whether nothing that changed since the conflicts were found concerns this one.

    The statements of a conflict cannot all be true, whatever else is recorded. So it is enough that none of them was
    touched, nor any of its ways out, nor who is who.
    """
    named = {s.id for s in story.statements}.union(*story.ways_out)
    if not standing(connection, sorted(named)).issuperset(named):
        return False
    r = t.change_row.c
    since = r.id > kept_entry(connection)
    rows = [
        and_(r.table_name == FLAGS[each[0]].table.name, r.first_id <= int(each[1:]), r.last_id >= int(each[1:]))
        for each in named
    ]
    at_large = r.table_name.in_(_AT_LARGE)
    return connection.scalar(select(r.id).where(since, or_(at_large, *rows)).limit(1)) is None


def _fitting(story: ConflictStory, way: Sequence[str]) -> tuple[str, ...]:
    """The statements of the way meant, given by their ids or by the letter of the way."""
    wanted = {each.strip().upper() for each in way}
    for letter, known_way in zip(ascii_uppercase, story.ways, strict=False):
        if wanted == {letter}:
            return known_way.statements
    for known in story.ways_out:
        if wanted == set(known):
            return known
    ways = zip(ascii_lowercase, story.ways, strict=False)
    choice = "; or ".join(f"{letter} ({' '.join(known.statements)})" for letter, known in ways)
    raise InvalidValueError(
        f"{' '.join(sorted(wanted)) or 'an empty choice'} is not a way to settle {story.id}",
        remedy=f"Choose one of: {choice}. To withdraw something else: kinphoto withdraw ID.",
    )
