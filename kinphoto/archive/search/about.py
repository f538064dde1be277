"""Everything about one thing: a photograph with its files, faces, words and date; a person's life; or a box with what
is in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Annotated, NamedTuple

from sqlalchemy import Connection, RowMapping

from kinphoto.archive.catalogue.finding import find_photograph, is_code, with_number
from kinphoto.archive.catalogue.finding_people import find_relative
from kinphoto.archive.collection import arranging, container_pages, photograph_page
from kinphoto.archive.collection.container_pages import ContainerPage
from kinphoto.archive.collection.photograph_page import PhotographPage
from kinphoto.archive.dates.explain import Explanation, explain
from kinphoto.archive.people import lifeline
from kinphoto.archive.people.lifeline import Lifeline
from kinphoto.archive.statements import recorded_faces
from kinphoto.archive.statements.recorded_faces import NameOnFace, PhotographFaces
from kinphoto.documents import INLINE, INTERNAL, Key
from kinphoto.errors import InvalidValueError, KinphotoError, NotFoundError
from kinphoto.reason.model.findings import Estimate

REASONS = 3
"""Lines that say why a photograph is dated as it is; `explain` has the rest."""


class NamedFace(NamedTuple):
    """A name and where it is on the photograph."""

    name: Annotated[NameOnFace, INLINE]
    region: Annotated[str | None, "the face it is on, `R3`; null for no place in the picture"]
    denied: Annotated[bool, "true when somebody says that it is not this person"]


@dataclass(frozen=True, slots=True)
class AboutPhotograph:
    """A photograph as an object, who is in it, and why it is dated as it is (None for an album page)."""

    page: Annotated[PhotographPage, INLINE]
    faces: Annotated[PhotographFaces, INTERNAL]
    explanation: Annotated[Explanation | None, INTERNAL]

    @property
    def named(self) -> Annotated[list[NamedFace], Key("faces"), "the names on it"]:
        """Every name on it, face by face, the denied after the others."""
        return [
            *(
                NamedFace(name, face.region, denied)
                for face in self.faces.faces
                for names, denied in ((face.names, False), (face.denied, True))
                for name in names
            ),
            *(NamedFace(name, None, False) for name in self.faces.elsewhere),
            *(NamedFace(name, None, True) for name in self.faces.denied),
        ]

    @property
    def estimate(self) -> Annotated[Estimate | None, INLINE]:
        """The date that was explained."""
        return self.explanation.dated.estimate if self.explanation else None

    @property
    def conflicts(self) -> Annotated[tuple[str, ...], "ids of the conflicts it is part of"]:
        """The conflicts it is part of."""
        return self.explanation.conflicts if self.explanation else ()

    @property
    def reasons(
        self,
    ) -> Annotated[tuple[str, ...], Key("why"), "the three weightiest reasons for the date, in words"]:
        """The weightiest reasons for its date."""
        return tuple(clue.text for clue in self.explanation.clues[:REASONS]) if self.explanation else ()


def about(connection: Connection, text: str) -> AboutPhotograph | Lifeline | ContainerPage:
    """The photograph, else the person, else the container that is meant.

    Raises NotFoundError when it is none of them, AmbiguousError when several photographs or people fit,
    InvalidValueError when nothing was named.
    """
    if not text.strip():
        raise InvalidValueError("nothing was named", remedy="Give a code such as K00042, a person or a box.")
    photograph = _photograph(connection, text)
    if photograph is None:
        return _person_or_box(connection, text)
    code = str(photograph["code"])
    explanation = None if photograph["page"] else explain(connection, code, everything=False)
    return AboutPhotograph(
        photograph_page.read_page(connection, code), recorded_faces.faces(connection, code), explanation
    )


def is_dated(connection: Connection, text: str) -> bool:
    """Whether a photograph is meant that is not an album page: then the estimates are needed."""
    photograph = _photograph(connection, text) if text.strip() else None
    return photograph is not None and not photograph["page"]


def _photograph(connection: Connection, text: str) -> RowMapping | None:
    """The photograph of this code, path or title (but not where a person or a box has it for a name)."""
    try:
        return find_photograph(connection, text, by_title=False)
    except NotFoundError:
        if is_code(text):
            raise
    try:
        return None if _is_person_or_box(connection, text) else find_photograph(connection, text)
    except NotFoundError:
        return None


def _is_person_or_box(connection: Connection, text: str) -> bool:
    for find in (find_relative, arranging.find):
        try:
            find(connection, text)
        except NotFoundError:
            continue
        except KinphotoError:
            pass  # several have the title
        return True
    return False


def _person_or_box(connection: Connection, text: str) -> Lifeline | ContainerPage:
    try:
        person = find_relative(connection, text)
    except NotFoundError as nobody:
        try:
            box = arranging.find(connection, text)
        except KinphotoError:
            meant = with_number(connection, text) or nobody.suggestion
            raise NotFoundError(
                f"there is no photograph, person or box called '{text}'",
                remedy=f"{meant} To look for it: kinphoto find {text}.".strip(),
            ) from nobody
        return container_pages.container_page(connection, box["id"])
    return lifeline.lifeline(connection, person["code"])
