"""Who is in which photograph: names on faces, rivals, "it is not her", ages."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from kinphoto.archive.ages import parse_age
from kinphoto.archive.desk import Desk, Row, parse_trust
from kinphoto.archive.sentences import age_words
from kinphoto.errors import InvalidValueError
from kinphoto.reason.evidence import Role
from kinphoto.store import tables as t

Region = tuple[float, float, float, float]
SAME = 0.5
"""Two regions that share this much (intersection over union) frame the same face."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What somebody says of one person in one photograph. `person` "-" is somebody not identified yet."""

    photograph: str
    person: str
    region: str | None = None
    age: str | None = None
    stated_age: str | None = None
    role: str | None = None
    denied: bool = False
    trust: str | None = None
    by: str | None = None
    why: str | None = None


@dataclass(frozen=True, slots=True)
class Linked:
    """What was recorded. `changed` is False when all of it had been recorded before."""

    photograph: str
    person: str | None
    appearance: str
    statements: tuple[str, ...]
    rivals: tuple[str, ...]
    changed: bool


def link(desk: Desk, said: Link) -> Linked:
    """Record one appearance with its ages.

    Raises NotFoundError, AmbiguousError, or InvalidValueError for a region, age, role or trust that cannot be, and for
    a second appearance of one person in one photograph.
    """
    photograph = desk.photograph(said.photograph)
    person = None if said.person.strip() == "-" else desk.person(said.person)
    region = None if said.region is None else parse_region(said.region)
    role, trust = _role(said.role), parse_trust(said.trust)
    ages = [(k, *parse_age(a)) for k, a in (("apparent-age", said.age), ("stated-age", said.stated_age)) if a]
    if said.denied and (person is None or ages):
        raise InvalidValueError("--not needs a person and takes no age", remedy="Say who it is not.")
    seat = _Seat(desk, photograph, None if person is None else person["id"], region, role, said.denied)
    seat.check()
    informant = desk.informant(said.by)
    row, changed = seat.take(trust, informant, (said.why or "").strip(), said)
    made = [_age(desk, row, informant, trust, *age) for age in ages]
    rivals = () if said.denied else _rivals(desk, row)
    who = "somebody not identified yet" if person is None else f"{person['name']} ({person['code']})"
    looks = "".join(f", {k.partition('-')[0]} age {age_words(a, b)}" for k, a, b in ages)
    desk.work.what = f"linked {photograph['code']} to {'not ' if said.denied else ''}{who}{looks}"
    return Linked(
        photograph["code"],
        None if person is None else person["code"],
        f"A{row['id']}",
        tuple(f"S{id_}" for id_, _ in made),
        rivals,
        changed or any(new for _, new in made),
    )


class _Seat:
    """The place in the picture that a link is about, and the appearance that has it already, if any."""

    def __init__(
        self, desk: Desk, photograph: Any, person: int | None, region: Region | None, role: str, denied: bool
    ) -> None:
        self.desk, self.photograph, self.person = desk, photograph, person
        self.region, self.role, self.denied = region, role, denied
        self.face = None if region is None else _face(desk, photograph["id"], region)
        self.present = desk.of(t.appearance, photograph["id"])
        self.taken = self._taken()

    def check(self) -> None:
        """Refuse what cannot be: two bodies of one person, nobody where somebody is named."""
        place = None if self.taken is None or self.region is None else self.taken["region_id"]
        if self.taken is not None and place is not None and (self.face is None or place != self.face["id"]):
            raise InvalidValueError(
                f"this person is in {self.photograph['code']} already, at another place (A{self.taken['id']})",
                remedy=f"Withdraw that first (kinphoto withdraw A{self.taken['id']}), or record a likeness.",
            )
        if self.person is None and self.face is not None and self.taken is None and self._on_face():
            raise InvalidValueError(
                f"somebody is named on this region of {self.photograph['code']} already",
                remedy="Record another name as a rival, or say with --not who it is not.",
            )

    def take(self, trust: str | None, informant: int | None, why: str, said: Link) -> tuple[Row, bool]:
        """The row of the appearance, made or brought up to date, and whether anything changed."""
        row = self.taken or self._unnamed()
        given = {"trust": trust, "why": why or None}
        fresh: dict[str, Any] = {key: value for key, value in given.items() if value is not None}
        if row is None:
            new = {"trust": trust, "informant_id": informant, "why": why, "role": self.role}
            id_ = self.desk.add(
                t.appearance,
                photograph_id=self.photograph["id"],
                person_id=self.person,
                region_id=self._region_id(),
                denied=int(self.denied),
                said_at=self.desk.work.at,
                withdrawn=0,
                **new,
            )
            return next(a for a in self.present if a["id"] == id_), True
        if self.person is not None:
            fresh["person_id"] = self.person
        if row["informant_id"] is None and informant is not None:  # the first to say so stays the one who said so
            fresh["informant_id"] = informant
        if said.role is not None:
            fresh["role"] = self.role
        if self.region is not None and row["region_id"] is None:
            fresh["region_id"] = self._region_id()
        return row, self.desk.change(t.appearance, row, **fresh)

    def _taken(self) -> Row | None:
        """The appearance this link repeats."""
        for row in self.present:
            if row["person_id"] != self.person or bool(row["denied"]) != self.denied:
                continue
            here = self.face is not None and row["region_id"] == self.face["id"]
            if self.person is None and not here:
                continue  # two people nobody knows are two people
            if self.denied and self.region is not None and not here:
                continue
            if here or row["role"] == self.role or self.role == Role.PRESENT == row["role"]:
                return row
        return None

    def _unnamed(self) -> Row | None:
        """An appearance on this face that waits for its name; not for a name that is denied."""
        if self.face is None or self.denied:
            return None
        return next((row for row in self._on_face() if row["person_id"] is None), None)

    def _on_face(self) -> list[Row]:
        return [row for row in self.present if self.face is not None and row["region_id"] == self.face["id"]]

    def _region_id(self) -> int | None:
        if self.region is None:
            return None
        if self.face is not None:
            return int(self.face["id"])
        left, top, width, height = self.region
        return self.desk.add(
            t.region, photograph_id=self.photograph["id"], left=left, top=top, width=width, height=height
        )


def parse_region(text: str) -> Region:
    """ "0.42,0.30,0.08,0.12": left, top, width, height of the upright image. Raises InvalidValueError."""
    remedy = "Give left,top,width,height as parts of the upright image, such as 0.42,0.30,0.08,0.12."
    try:
        left, top, width, height = (float(part) for part in text.replace(";", ",").split(","))
    except ValueError:
        raise InvalidValueError("this is no region", where=f"region '{text}'", remedy=remedy) from None
    if not (
        0 <= left < 1 and 0 <= top < 1 and width > 0 and height > 0 and left + width <= 1.001 and top + height <= 1.001
    ):
        if max(left, top, width, height) > 1:
            remedy = f"Divide pixels by the picture's width and height. {remedy}"
        raise InvalidValueError("the region is not inside the picture", where=f"region '{text}'", remedy=remedy)
    return left, top, min(width, 1 - left), min(height, 1 - top)


def overlap(one: Region, other: Region) -> float:
    """Intersection over union of two regions, 0 to 1."""
    across = min(one[0] + one[2], other[0] + other[2]) - max(one[0], other[0])
    down = min(one[1] + one[3], other[1] + other[3]) - max(one[1], other[1])
    shared = max(across, 0.0) * max(down, 0.0)
    return shared / (one[2] * one[3] + other[2] * other[3] - shared)


def _face(desk: Desk, photograph_id: int, region: Region) -> Row | None:
    """The region of this photograph that frames the same face, the closest one."""
    found = [(overlap(region, (r["left"], r["top"], r["width"], r["height"])), r["id"], r)
             for r in desk.of(t.region, photograph_id)]  # fmt: skip
    best = max(found, default=None, key=lambda triple: triple[:2])
    return best[2] if best is not None and best[0] >= SAME else None


def _role(text: str | None) -> str:
    plain = (text or "").strip().casefold() or "present"
    if plain not in list(Role):
        raise InvalidValueError(f"'{text}' is no role", remedy=f"Use one of {', '.join(Role)}.")
    return plain


def _age(
    desk: Desk, seen: Row, informant: int | None, trust: str | None, kind: str, low: float, high: float
) -> tuple[int, bool]:
    """Record an age; one that the same informant gave earlier for the same person is withdrawn."""
    for row in list(desk.of(t.statement, seen["photograph_id"])):
        if (row["appearance_id"], row["kind"], row["informant_id"]) == (seen["id"], kind, informant):
            if (row["age_low"], row["age_high"]) == (low, high):
                return row["id"], desk.change(t.statement, row, trust=trust) if trust else False
            desk.withdraw(t.statement, row)
    return (
        desk.add(
            t.statement,
            photograph_id=seen["photograph_id"],
            appearance_id=seen["id"],
            kind=kind,
            age_low=low,
            age_high=high,
            trust=trust if kind == "stated-age" else None,
            informant_id=informant,
            said_at=desk.work.at,
            withdrawn=0,
        ),
        True,
    )


def _rivals(desk: Desk, seen: Row) -> tuple[str, ...]:
    """The appearances that name somebody else on the same face."""
    if seen["region_id"] is None or seen["person_id"] is None:
        return ()
    same = (a for a in desk.of(t.appearance, seen["photograph_id"]) if a["region_id"] == seen["region_id"])
    return tuple(f"A{a['id']}" for a in same if a["person_id"] not in (None, seen["person_id"]) and not a["denied"])
