"""Which person somebody means: `I12` or `@I12@` in the tree, `X7` outside it, a name that only one person has, or an
id in an earlier version of the tree. And the words that tell namesakes apart."""

from __future__ import annotations

import re
from collections.abc import Sequence
from typing import TYPE_CHECKING

from sqlalchemy import ColumnElement, Connection, RowMapping, func, select

from kinphoto.archive.catalogue.by_kinship import Relatives, by_kinship
from kinphoto.archive.catalogue.codes import formerly, row_of, with_code
from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import read_identity
from kinphoto.archive.catalogue.name_search import known_as, without_address
from kinphoto.errors import AmbiguousError, NotFoundError
from kinphoto.reason.model.span import year_of
from kinphoto.store import tables as t

if TYPE_CHECKING:
    from kinphoto.archive.catalogue.privacy import Public

_NAMESAKE = re.compile(r"(?P<name>[^()]+?) *\((?P<years>[^()]+)\)")

_MOST_WORDS = 60  # of a name; a database answers no question about a thousand

_MOST_NAMED = 3  # people who may have been meant

_MANY = 500  # names, beyond which the rest of them need not be looked at


def find_person(connection: Connection, text: str, public: Public | None = None) -> RowMapping:
    """The row of the person meant by `text`; one who turned out to be somebody else is that other.

    A name matches when it is the same, letter case and accents aside; otherwise when all its words are in a person's
    name; otherwise when they are in their names, nicknames and husbands' surnames taken together; otherwise when it is
    the same but for spaces. Somebody no longer in the tree is found only when nobody else matches. A namesake may have
    the years that they are shown with; and an id in an earlier version of the tree when nobody has the name. With
    `public` as if there were only the people it holds. Raises NotFoundError (with the nearest names) when nobody
    matches, AmbiguousError (with life years) when several do.
    """
    row = _called(connection, text, public)
    if row is None:
        raise _nobody(connection, text, public)
    return row


def find_relative(connection: Connection, text: str, public: Public | None = None) -> RowMapping:
    """As `find_person`; where nobody has that name, the one who is that to the proband: "my mother's father". For
    questions only: whoever records something may quote somebody else's "my mother".

    Raises NotFoundError, AmbiguousError.
    """
    row = _called(connection, text, public)
    if row is not None:
        return row
    meant = None if public is not None else relatives_called(connection, text)
    if meant is None:
        raise _nobody(connection, text, public)
    if meant.seen_from is None:
        raise NotFoundError(
            f"it is not clear whose '{text}' is meant", remedy="Say who you are: kinphoto proband PERSON."
        )
    whose = f"seen from {life_words(connection, [meant.seen_from])[meant.seen_from]}"
    if not meant.people:
        raise NotFoundError(
            f"the tree has nobody who is '{text}', {whose}", remedy="To see everybody: kinphoto people."
        )
    if len(meant.people) > 1:
        raise several_people(connection, f"{len(meant.people)} people are '{text}', {whose}", meant.people)
    return row_of(connection, t.person, meant.people[0])


def _called(connection: Connection, text: str, public: Public | None) -> RowMapping | None:
    """The one who has this name or id; None for nobody. Raises AmbiguousError."""
    row = with_code(connection, t.person, text)
    if row is not None and (public is None or row["id"] in public.people):
        return resolved(connection, row)
    ids = _people_named(connection, text, public) or _with_years(connection, text, public)
    if len(ids) > 1:
        count = len(ids) if len(ids) < _MANY else "very many"
        raise several_people(connection, f"{count} people match '{text}'", ids)
    if not ids:
        once = {resolved(connection, row)["id"]: None for row in formerly(connection, t.person, text)}
        ids = [id_ for id_ in once if public is None or id_ in public.people]
    if len(ids) > 1:
        raise several_people(
            connection, f"'{text}' was the id of {len(ids)} people in earlier versions of the tree", ids
        )
    return resolved(connection, row_of(connection, t.person, ids[0])) if ids else None


def _nobody(connection: Connection, text: str, public: Public | None) -> NotFoundError:
    if public is None:
        return nobody_called(connection, text)
    return NotFoundError(
        f"there is nobody to show called '{text}'", remedy="Try more of the name, or a different spelling."
    )


def relatives_called(connection: Connection, text: str) -> Relatives | None:
    """Whom words of kinship mean, "my mother's father" or "Ada's aunt"; None where they are other words."""

    def named(name: str) -> list[int]:
        return _people_named(connection, name, None) or _people_named(connection, without_address(name), None)

    return by_kinship(connection, text, named)


def life_words(connection: Connection, ids: Sequence[int]) -> dict[int, str]:
    """For each person (by row id) "Ada Marsh (1850-1920), I12": the words that tell namesakes apart."""
    p = t.person.c
    years = event_years(connection, t.event.c.person_id, ("BIRT", "DEAT"), ids)
    found = {}
    for id_, name, code in connection.execute(select(p.id, p.name, p.code).where(p.id.in_(ids))):
        life = [years.get((id_, tag), "") for tag in ("BIRT", "DEAT")]
        when = f" ({'–'.join(life)})" if any(life) else ""
        found[id_] = f"{name or 'no name'}{when}, {code}"
    return {i: found[i] for i in ids if i in found}


def resolved(connection: Connection, row: RowMapping) -> RowMapping:
    """The person this one turned out to be."""
    return row if row["same_as_id"] is None else row_of(connection, t.person, read_identity(connection).of(row["id"]))


def _people_named(connection: Connection, text: str, public: Public | None) -> list[int]:
    """The people of this very name; else those whose names have all its words; else those who once had the name;
    else those whose name differs in its spaces alone: Annemarie, Anne Marie."""
    words = list(dict.fromkeys(fold(text).split()))
    if not words:
        return []
    folded = t.name.c.folded
    exact = people_where(connection, with_name(folded == fold(text)), public)
    if exact or len(words) > _MOST_WORDS:
        return exact
    rows = connection.execute(select(t.name.c.id, folded).where(*(folded.contains(w, autoescape=True) for w in words)))
    whole = [row.id for row in rows if set(words) <= set(row.folded.split())]
    named = people_where(connection, with_name(t.name.c.id.in_(whole[:_MANY])), public)
    if named:
        return named
    known = people_where(connection, t.person.c.id.in_(known_as(connection, text, public)[:_MANY]), public)
    together = func.replace(folded, " ", "") == fold(text).replace(" ", "")
    return known or people_where(connection, with_name(together), public)


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


def several_people(connection: Connection, what: str, ids: Sequence[int]) -> AmbiguousError:
    people = life_words(connection, ids[: AmbiguousError.NAMED]).values()
    return AmbiguousError.of_many(what, people, len(ids), "Give the id of the one you mean.")


def with_name(which: ColumnElement[bool]) -> ColumnElement[bool]:
    return t.person.c.id.in_(select(t.name.c.person_id).where(which))


def people_where(connection: Connection, which: ColumnElement[bool], public: Public | None = None) -> list[int]:
    """Who these people are in the end, each once; those no longer in the tree only when there is nobody else."""
    rows = connection.execute(select(t.person).where(which).order_by(t.person.c.id)).mappings()
    shown = (row for row in rows if public is None or row["id"] in public.people)
    people = {found["id"]: found for found in (resolved(connection, row) for row in shown)}
    here = [id_ for id_, found in people.items() if not found["gone"]]
    return here or list(people)


def nobody_called(connection: Connection, text: str) -> NotFoundError:
    from rapidfuzz import fuzz, process

    names = {row.id: row.folded for row in connection.execute(select(t.name.c.id, t.name.c.folded))}
    near = process.extract(fold(text), names, scorer=fuzz.WRatio, limit=_MOST_NAMED, score_cutoff=75)
    ids = connection.scalars(select(t.name.c.person_id).where(t.name.c.id.in_([key for _, _, key in near]))).all()
    called = known_as(connection, without_address(text))[:_MOST_NAMED]  # Oma Lusia, who is Lusia in the tree
    related = relatives_called(connection, text)
    meant = related.people[:_MOST_NAMED] if related else ()
    people = "; ".join(life_words(connection, list(dict.fromkeys([*meant, *called, *ids]))).values())
    suggestion = f"Did you mean {people}?" if people else ""
    hint = suggestion or "To see everybody: kinphoto people."
    remedy = f'{hint} To add somebody new: kinphoto people add "NAME".'
    return NotFoundError(f"there is nobody called '{text}'", remedy=remedy, suggestion=suggestion)


def event_years(
    connection: Connection, owner: ColumnElement[int], tags: Sequence[str], ids: Sequence[int]
) -> dict[tuple[int, str], str]:
    """The years of the preferred events of these kinds, by whose they are and the kind."""
    e = t.event.c
    query = select(owner, e.tag, e.first, e.last).where(owner.in_(ids), e.tag.in_(tags), e.withdrawn == 0)
    rows = connection.execute(query.order_by(e.position.desc()))  # so that the preferred one comes last, and stays
    return {(id_, tag): _year_words(first, last) for id_, tag, first, last in rows}


def _year_words(first: int | None, last: int | None) -> str:
    """ "1850", "about 1850" for a span of years, "" for none."""
    days = [day for day in (first, last) if day is not None]
    if not days:
        return ""
    years = [year_of(day) for day in days]
    return str(years[0]) if years[0] == years[-1] and len(days) == 2 else f"c. {sum(years) // len(years)}"
