"""How any two people are related, in words, with their faces and through whom."""

from __future__ import annotations

from dataclasses import dataclass
from functools import partial
from typing import TYPE_CHECKING

from starlette.requests import Request
from starlette.responses import Response

from kinphoto.archive.people.kin_sentences import how, sentences
from kinphoto.errors import AmbiguousError, KinphotoError
from kinphoto.phrases import opening
from kinphoto.web.access import archive_of, keepers_only
from kinphoto.web.refusal import FieldSuggestion, suggestions
from kinphoto.web.render import get_route, page

if TYPE_CHECKING:
    from kinphoto.archive import Archive
    from kinphoto.archive.people.kinship import KinPath, Kinship, Somebody

LONGEST = 200
"""Letters of a name."""
OFFERED = 200
"""Names to choose from while one is typed: of those who are in the most pictures."""


@dataclass(frozen=True, slots=True)
class PersonTyped:
    """One of the two: what was typed, why that is nobody (None where it is somebody), and who may be meant."""

    typed: str
    problem: KinphotoError | None = None
    suggestions: tuple[FieldSuggestion, ...] = ()


@keepers_only
def kinship(request: Request) -> Response:
    """The page; `one` and `other` are ids, or names as they are typed."""
    archive = archive_of(request)
    one, other = (_asked(archive, request.query_params.get(name, "")[:LONGEST].strip()) for name in ("one", "other"))
    found = None
    if one.typed and other.typed and one.problem is None and other.problem is None:
        found = archive.people.kinship(one.typed, other.typed)
    return page(
        request, "kinship.html", one=one, other=other, found=found,
        sentences=list(sentences(found, _called)) if found else (),
        paths=[(opening(path.words), "; ".join(how(path, _called)), _others(found, path))
               for path in found.paths] if found else (),
        faces=archive.people.portraits([found.one.id, found.other.id]) if found else {},
        proband=archive.people.proband(),
        shown_as=partial(_shown_as, archive, found),
        known=list(dict.fromkeys(each.name for each in archive.people.find(most=OFFERED).people if each.name)),
    )  # fmt: skip


def _asked(archive: Archive, typed: str) -> PersonTyped:
    """What was typed for one of the two, looked up."""
    if not typed:
        return PersonTyped(typed)
    try:
        archive.people.kinship(typed, typed)
    except AmbiguousError as problem:
        return PersonTyped(typed, problem, suggestions(problem))
    except KinphotoError as problem:
        alike = archive.people.find(typed, most=6).people
        return PersonTyped(typed, problem, tuple(FieldSuggestion(each.name, each.id) for each in alike))
    return PersonTyped(typed)


def _shown_as(archive: Archive, found: Kinship | None, typed: str) -> str:
    """What is in the field: a name in place of an id; with the years where there are namesakes."""
    name = next((one.name for one in (found.one, found.other) if one.id == typed), "") if found else ""
    if not name:
        return typed
    asked = _asked(archive, name)
    if asked.problem is None:
        return name
    return next((one.words for one in asked.suggestions if one.value == typed), typed)


def _others(found: Kinship, path: KinPath) -> tuple[Somebody, ...]:
    """The people through whom a relation leads, but for the two themselves."""
    return tuple(one for one in (*path.through, *path.ancestors) if one.id not in (found.one.id, found.other.id))


def _called(one: Somebody) -> str:
    return one.name or one.id


routes = [get_route("/kinship", kinship)]
