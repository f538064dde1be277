"""The faces of one photograph in the words of its page: who is on each, who says so, how old they look, what they are
to the one kinship is told from, and how old they were then."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, replace

from kinphoto.archive.catalogue.lives import Life
from kinphoto.archive.statements.faces import Face, NameOnFace, PhotographFaces
from kinphoto.archive.words.dates import life_years
from kinphoto.archive.words.sentences import age_words
from kinphoto.reason.model.evidence import Role
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.span import DAYS_PER_YEAR

MOST_YEARS = 9
"""Between the youngest and the oldest somebody can have been, for it to be worth telling."""


@dataclass(frozen=True, slots=True)
class NameShown:
    """A name on a face, in the words of the page."""

    id: str
    person: str | None
    name: str
    role: str
    rival: bool
    rivals: int
    aside: bool
    ages: tuple[str, ...]
    years: str
    said: str
    kin: str = ""
    then: str = ""


@dataclass(frozen=True, slots=True)
class FaceShown:
    """A face, or somebody who is on none; `key` names it in addresses, `region` is what a form sends to mean it."""

    key: str
    number: int
    region: str | None
    box: tuple[float, float, float, float] | None
    seats: tuple[NameShown, ...]
    denied: tuple[str, ...]
    chosen: bool
    hidden: bool = False

    @property
    def named(self) -> bool:
        """Whether somebody is named on it."""
        return any(seat.person for seat in self.seats)

    @property
    def aged(self) -> bool:
        """Whether somebody has said how old they look."""
        return any(seat.ages for seat in self.seats)

    @property
    def disputed(self) -> bool:
        """Whether one of its names does not fit with the rest."""
        return any(seat.aside for seat in self.seats)


@dataclass(frozen=True, slots=True)
class Around:
    """What is known beside the faces: what is set aside, kinship by person, and the estimate (None while covered)."""

    aside: frozenset[str]
    kin: Mapping[str, str]
    estimate: Estimate | None


def to_be_judged(seated: PhotographFaces, judged: frozenset[str]) -> bool:
    """Whether ages are to be asked here: a face has no name or no age, there is no face yet, or this visitor has begun
    to judge, and may frame another."""
    complete = all(any(n.person for n in f.names) and any(n.ages for n in f.names) for f in seated.faces)
    nobody = not seated.faces and not any(seat.person for seat in seated.elsewhere)
    return nobody or not complete or bool(judged)


def numbered(
    seated: PhotographFaces, wanted: str | None, naming: bool, around: Around, judged: frozenset[str] | None
) -> list[FaceShown]:
    """The faces with their numbers. Chosen is the one asked for, or when naming the first that nobody is named on or
    that has no age. With `judged` given, only the names on those faces are shown."""
    chosen = wanted or (_first_open(seated, judged) if naming else None)
    shown = [_face(face, number, chosen, around) for number, face in enumerate(seated.faces, 1)]
    start = len(shown) + 1
    for number, seat in enumerate(seated.elsewhere, start):
        shown.append(FaceShown(seat.id, number, None, None, (_seat(seat, 1, around),), (), seat.id == chosen))
    return shown if judged is None else [replace(face, hidden=face.key not in judged) for face in shown]


def _first_open(seated: PhotographFaces, judged: frozenset[str] | None) -> str | None:
    unnamed = [f.region for f in seated.faces if not any(n.person for n in f.names)]
    ageless = [f.region for f in seated.faces if not any(n.ages for n in f.names) and f.region not in (judged or ())]
    return next(iter(unnamed + ageless), None)


def _face(face: Face, number: int, chosen: str | None, around: Around) -> FaceShown:
    named = sum(1 for seat in face.names if seat.person)
    return FaceShown(
        face.region, number, face.region, face.box,
        tuple(_seat(seat, named, around) for seat in face.names),
        tuple(_denial(seat) for seat in face.denied), face.region == chosen,
    )  # fmt: skip


def _seat(seat: NameOnFace, rivals: int, around: Around) -> NameShown:
    said = f"says {seat.informant}" if seat.informant else ""
    return NameShown(
        seat.id, seat.person, seat.name, str(seat.role), seat.rival, rivals, seat.id in around.aside,
        tuple(age.words for age in seat.ages), life_years(seat.life.begin, seat.life.end),
        "; ".join(filter(None, (said, seat.why, "somebody says it is not" if seat.contested else ""))),
        around.kin.get(seat.person or "", ""),
        _then(seat.life, around.estimate) if seat.role is Role.PRESENT and seat.id not in around.aside else "",
    )  # fmt: skip


def _then(life: Life, estimate: Estimate | None) -> str:
    """How old somebody probably was in it: "was 34 to 38 at the time"; "" where that says little."""
    born = life.begin.date.span if life.begin and life.begin.verb == "born" else None
    if born is None or born.first is None or born.last is None or estimate is None:
        return ""
    if estimate.likely_from is None or estimate.likely_to is None:
        return ""
    low = int(max(estimate.likely_from - born.last, 0) / DAYS_PER_YEAR)
    high = int(max(estimate.likely_to - born.first, 0) / DAYS_PER_YEAR)
    return f"was {age_words(low, high)} at the time" if high - low <= MOST_YEARS else ""


def people_in(seated: PhotographFaces) -> list[str]:
    """Everybody who is named in it, by id."""
    seats = [*(seat for face in seated.faces for seat in face.names), *seated.elsewhere]
    return list(dict.fromkeys(seat.person for seat in seats if seat.person))


def _denial(seat: NameOnFace) -> str:
    return f"{seat.name} (says {seat.informant})" if seat.informant else seat.name
