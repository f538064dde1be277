"""Everything about one thing that somebody names: a photograph with its files, faces, words and date; a person's life;
or a box with what lies in it.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from kinphoto.archive.catalogue.finding import find_person, find_photograph, is_code
from kinphoto.archive.collection import arranging, container_pages
from kinphoto.archive.collection import photograph_page as mount
from kinphoto.archive.collection.container_pages import ContainerPage
from kinphoto.archive.collection.photograph_page import PhotographPage
from kinphoto.archive.dates.estimates import read_settlement
from kinphoto.archive.dates.explain import Explanation, explain
from kinphoto.archive.people import lifeline
from kinphoto.archive.people.lifeline import Lifeline
from kinphoto.archive.statements import faces as seated
from kinphoto.archive.statements.faces import PhotographFaces
from kinphoto.errors import InvalidValueError, KinphotoError, NotFoundError

if TYPE_CHECKING:
    from kinphoto.archive import Archive

REASONS = 3
"""Lines that tell why a photograph is dated as it is; `explain` has the rest."""


@dataclass(frozen=True, slots=True)
class AboutPhotograph:
    """A photograph as an object, who is in it, and why it is dated as it is (None for an album page)."""

    mount: PhotographPage
    faces: PhotographFaces
    explanation: Explanation | None

    @property
    def reasons(self) -> tuple[str, ...]:
        """The weightiest reasons for its date."""
        return tuple(clue.text for clue in self.explanation.clues[:REASONS]) if self.explanation else ()


def about(archive: Archive, text: str) -> AboutPhotograph | Lifeline | ContainerPage:
    """The photograph, else the person, else the container that is meant.

    Raises NotFoundError when it is none of them, AmbiguousError when several photographs or people fit,
    InvalidValueError when nothing was named.
    """
    if not text.strip():
        raise InvalidValueError("nothing was named", remedy="Give a code such as K00042, a person or a box.")
    with archive.reading() as connection:
        code = _photograph(connection, text)
        if code is None:
            return _person_or_box(connection, text)
        row = find_photograph(connection, code)
    explanation = None if row["page"] else explain(archive, code, everything=False)
    with archive.reading() as connection:
        return AboutPhotograph(mount.read_page(connection, code), seated.faces(connection, code), explanation)


def _photograph(connection: Connection, text: str) -> str | None:
    try:
        return str(find_photograph(connection, text)["code"])
    except NotFoundError:
        if is_code(text):
            raise
        return None


def _person_or_box(connection: Connection, text: str) -> Lifeline | ContainerPage:
    try:
        person = find_person(connection, text)
    except NotFoundError as nobody:
        try:
            box = arranging.find(connection, text)
        except KinphotoError:
            raise NotFoundError(
                f"no photograph, person or box fits '{text}'",
                remedy=f"{_suggestion(nobody)} To look for it: kinphoto find {text}.".strip(),
            ) from nobody
        return container_pages.container_page(connection, box["id"])
    return lifeline.lifeline(connection, person["code"], read_settlement(connection).aside)


def _suggestion(nobody: NotFoundError) -> str:
    """The nearest names, if there are any."""
    return nobody.remedy.partition("?")[0] + "?" if nobody.remedy.startswith("Did you mean") else ""
