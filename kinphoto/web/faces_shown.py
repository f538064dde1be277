"""The faces of one photograph in the words of its page: who it is, who says so, how old they look, how they are related
to the keeper, and how old they were then."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

from kinphoto.archive.catalogue.lives import Life
from kinphoto.archive.faces.offers import FrameOffered
from kinphoto.archive.statements.recorded_faces import NameOnFace, PhotographFaces, RecordedFace
from kinphoto.archive.words.ages import age_words
from kinphoto.archive.words.dates import life_years
from kinphoto.reason.model.evidence import Role
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.span import DAYS_PER_YEAR

MOST_YEARS = 9
"""Between the youngest and the oldest somebody can have been, for it to be worth showing."""


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
    source: str
    kin: str = ""
    then: str = ""


@dataclass(frozen=True, slots=True)
class FaceShown:
    """A face, or somebody who is on none; `key` names it in addresses, `region` is what a form sends to mean it."""

    key: str
    number: int
    region: str | None
    box: tuple[float, float, float, float] | None
    names: tuple[NameShown, ...]
    denied: tuple[str, ...]
    chosen: bool
    hidden: bool = False
    offered: bool = False

    @property
    def named(self) -> bool:
        """Whether somebody is named on it."""
        return any(one.person for one in self.names)

    @property
    def aged(self) -> bool:
        """Whether somebody has said how old they look."""
        return any(one.ages for one in self.names)

    @property
    def disputed(self) -> bool:
        """Whether one of its names does not fit with the rest."""
        return any(one.aside for one in self.names)


@dataclass(frozen=True, slots=True)
class FaceContext:
    """What is known beside the faces: what is set aside, kinship by person, and the estimate (None while covered)."""

    aside: frozenset[str]
    kin: Mapping[str, str]
    estimate: Estimate | None


def to_be_judged(recorded: PhotographFaces, judged: frozenset[str]) -> bool:
    """Whether ages are to be asked here: a face has no name or no age, there is no face yet, or this visitor has begun
    to judge, and may frame more faces."""
    complete = all(any(n.person for n in f.names) and any(n.ages for n in f.names) for f in recorded.faces)
    nobody = not recorded.faces and not any(one.person for one in recorded.elsewhere)
    return nobody or not complete or bool(judged)


def faces_shown(
    recorded: PhotographFaces, wanted: str | None, naming: bool, context: FaceContext, judged: frozenset[str] | None
) -> list[FaceShown]:
    """The faces with their numbers. Chosen is the one asked for, or when naming the first that nobody is named on or
    that has no age. With `judged` given, only the names on those faces are shown."""
    chosen = wanted or (_first_open(recorded, judged) if naming else None)
    shown = [_face(face, number, chosen, context) for number, face in enumerate(recorded.faces, 1)]
    start = len(shown) + 1
    for number, one in enumerate(recorded.elsewhere, start):
        shown.append(FaceShown(one.id, number, None, None, (_name(one, 1, context),), (), one.id == chosen))
    return shown if judged is None else [replace(face, hidden=face.key not in judged) for face in shown]


def offers_shown(offered: Sequence[FrameOffered], after: int, wanted: str | None) -> list[FaceShown]:
    """Frames where a face was found, numbered after the faces that are recorded: to be named like these, by the place
    itself, since there is no region yet."""
    return [
        FaceShown(one.id, number, ",".join(f"{side:.5f}" for side in one.box), one.box, (), (), one.id == wanted,
                  offered=True)
        for number, one in enumerate(offered, after + 1)
    ]  # fmt: skip


def _first_open(recorded: PhotographFaces, judged: frozenset[str] | None) -> str | None:
    unnamed = [f.region for f in recorded.faces if not any(n.person for n in f.names)]
    ageless = [f.region for f in recorded.faces if not any(n.ages for n in f.names) and f.region not in (judged or ())]
    return next(iter(unnamed + ageless), None)


def _face(face: RecordedFace, number: int, chosen: str | None, context: FaceContext) -> FaceShown:
    named = sum(1 for one in face.names if one.person)
    return FaceShown(
        face.region, number, face.region, face.box,
        tuple(_name(one, named, context) for one in face.names),
        tuple(_denial(one) for one in face.denied), face.region == chosen,
    )  # fmt: skip


def _name(one: NameOnFace, rivals: int, context: FaceContext) -> NameShown:
    return NameShown(
        one.id, one.person, one.name, str(one.role), one.rival, rivals, one.id in context.aside,
        tuple(age.words for age in one.ages), life_years(one.life.begin, one.life.end),
        "; ".join(filter(None, (one.source, one.why, "somebody says it is not" if one.contested else ""))),
        context.kin.get(one.person or "", ""),
        _then(one.life, context.estimate) if one.role is Role.PRESENT and one.id not in context.aside else "",
    )  # fmt: skip


def _then(life: Life, estimate: Estimate | None) -> str:
    """How old somebody probably was in it: "was 34 to 38 at the time"; "" where that says little."""
    ages = ages_then(life, estimate)
    return f"was {age_words(*ages)} at the time" if ages else ""


def ages_then(life: Life, estimate: Estimate | None) -> tuple[int, int] | None:
    """The least and the greatest age that somebody probably had when a photograph was taken; None where they are too
    far apart to say much."""
    born = life.begin.date.span if life.begin and life.begin.verb == "born" else None
    if born is None or born.first is None or born.last is None or estimate is None:
        return None
    if estimate.likely_from is None or estimate.likely_to is None:
        return None
    low = int(max(estimate.likely_from - born.last, 0) / DAYS_PER_YEAR)
    high = int(max(estimate.likely_to - born.first, 0) / DAYS_PER_YEAR)
    return (low, high) if high - low <= MOST_YEARS else None


def people_named(recorded: PhotographFaces) -> list[str]:
    """Everybody who is named in it, by id."""
    names = [*(one for face in recorded.faces for one in face.names), *recorded.elsewhere]
    return list(dict.fromkeys(one.person for one in names if one.person))


def _denial(one: NameOnFace) -> str:
    return f"{one.name} (says {one.informant})" if one.informant else one.name
