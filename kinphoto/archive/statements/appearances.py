"""Who is in which photograph: names on faces, rivals, "it is not her", ages."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated, Any, NamedTuple

from kinphoto.archive.catalogue.ages import parse_age
from kinphoto.archive.catalogue.regions import SIDES, Region, box, parse_region, same_face
from kinphoto.archive.catalogue.vocabulary import ROLES
from kinphoto.archive.statements.recorder import ID, Recorder, Row, parse_trust, recorded_with_warnings
from kinphoto.archive.words.sentences import UNSEEN, aged
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.evidence import Role
from kinphoto.store import tables as t
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True, kw_only=True)
class Link:
    """What somebody says of one person in one photograph. `person` "-" is somebody not identified yet.

    `region` is left,top,width,height, or the id of a face (R3) or of an appearance (A7) that is there already; so a
    name can be given to somebody who has no region yet. `blind`: the ages given with it were judged before any name
    or date was seen.
    `called` is what a file calls somebody whom nobody has identified yet.
    """

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
    blind: bool = False
    called: str = ""


@dataclass(frozen=True, slots=True)
class Linked:
    """What was recorded."""

    photograph: Annotated[str, "the photograph's code"]
    person: Annotated[str | None, "the person's id, or null for somebody not identified yet"]
    appearance: Annotated[str, "the id of the appearance, `A7`"]
    statements: Annotated[tuple[str, ...], "ids of the ages recorded with it"]
    rivals: Annotated[tuple[str, ...], "other names on the same face"]
    changed: Annotated[bool, "false when all of it had been recorded before"]
    words: Annotated[str, "what was recorded, in words"] = ""
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None
    replaced: Annotated[
        tuple[str, ...], "ages that the same person had given before, which this one takes the place of"
    ] = ()


def link(recorder: Recorder, said: Link) -> Linked:
    """Record who is in a photograph: one appearance with its ages.

    Raises NotFoundError, AmbiguousError, or InvalidValueError for a region, age, role or trust that cannot be, and for
    a second appearance of one person in one photograph.
    """
    photograph = recorder.photograph(said.photograph)
    person = None if said.person.strip() == "-" else recorder.person(said.person)
    region, about = _place(recorder, photograph, said.region)
    role, trust = ROLES.read(said.role) if said.role and said.role.strip() else None, parse_trust(said.trust)
    ages = [(k, *parse_age(a)) for k, a in (("apparent-age", said.age), ("stated-age", said.stated_age)) if a]
    if said.denied and (person is None or ages):
        raise InvalidValueError("--not needs a person and takes no age", remedy="Say who it is not.")
    position = _Position(
        recorder, photograph, None if person is None else person["id"], region, about, role, said.denied
    )
    position.check()
    row, changed = position.take(trust, recorder.informant(said.by), said)
    made = [_age(recorder, row, recorder.informant(said.by), trust, *age, blind=said.blind) for age in ages]
    who = "somebody not identified yet" if person is None else f"{person['name']} ({person['code']})"
    looks = "".join(f", {aged(*age)}" for age in ages) + (f" ({UNSEEN})" if ages and said.blind else "")
    did = "said it is not" if said.denied else "marked" if person is None else "named"
    recorder.work.what = f"{did} {who} in {photograph['code']}{looks}"
    return Linked(
        photograph["code"],
        None if person is None else person["code"],
        f"A{row['id']}",
        tuple(f"S{age.id}" for age in made),
        () if said.denied else tuple(f"A{rival['id']}" for rival in position.rivals(row)),
        changed or any(age.changed for age in made),
        f"{'not ' if said.denied else ''}{who}{looks}",
        replaced=tuple(each for age in made for each in age.replaced),
    )


record_link = recorded_with_warnings(link)


def link_all(work: Work, links: Sequence[Link]) -> tuple[Linked, ...]:
    """Record several links, all of them or none. Raises the same."""
    recorder = Recorder(work)
    done = [link(recorder, one) for one in links]
    if len(done) > 1:
        work.what += f" (and in {len(done) - 1} more)"
    return recorder.finish(done)


class _Position:
    """The place in the picture that a link is about, and the appearance that has it already, if any."""

    def __init__(
        self, recorder: Recorder, photograph: Any, person: int | None, region: Region | None, about: Row | None,
        role: str | None, denied: bool,
    ) -> None:  # fmt: skip
        self.recorder, self.photograph, self.person = recorder, photograph, person
        self.region, self.role, self.denied = region, role, denied
        self.face = None if region is None else same_face(region, recorder.of(t.region, photograph["id"]))
        self.present = recorder.of(t.appearance, photograph["id"])
        self.mine = [
            row
            for row in self.present
            if recorder.identity.of(row["person_id"]) == person and bool(row["denied"]) == denied
        ]
        self.on_face = [row for row in self.present if self.face is not None and row["region_id"] == self.face["id"]]
        if about is not None and region is None:
            self.on_face = [about]
        self.unnamed = next((row for row in self.on_face if row["person_id"] is None), None)
        self.taken = self._taken()

    def check(self) -> None:
        """Refuse a second appearance of one person, unless it is open which of two faces is whose; and a second name
        where no face is framed that could have both."""
        others = [r for r in self.on_face if self.recorder.identity.of(r["person_id"]) not in (None, self.person)]
        if self.region is None and self.person is not None and others:
            (row,) = others
            raise InvalidValueError(
                f"A{row['id']} names somebody else and has no frame, so it cannot have a second name",
                remedy=f"Frame the face first, or withdraw that name: kinphoto withdraw A{row['id']}.",
            )
        if self.taken is not None or self.denied or self.person is None or self.role not in (None, Role.PRESENT):
            return
        elsewhere = [row for row in self.mine if row["role"] == Role.PRESENT]
        contested = any(self.rivals(row) for row in elsewhere) or any(row["person_id"] for row in self.on_face)
        if elsewhere and not contested:
            raise InvalidValueError(
                f"this person is already in {self.photograph['code']}, at a different place (A{elsewhere[0]['id']})",
                remedy=f"Withdraw that first (kinphoto withdraw A{elsewhere[0]['id']}), or record a likeness.",
            )

    def take(self, trust: str | None, informant: int | None, said: Link) -> tuple[Row, bool]:
        """The row of the appearance, made or brought up to date, and whether anything changed."""
        row, why = self.taken, (said.why or "").strip()
        if row is None and not self.denied:
            row = self.unnamed
        if row is None:
            row = self._create_appearance(trust, informant, why, said.called)
            if self.denied and self.region is not None and not self.on_face:  # a new face is somebody's all the same
                alike = {key: row[key] for key in ("photograph_id", "region_id", "role", "informant_id", "said_at")}
                self.recorder.add(t.appearance, **alike)
            return row, True
        if self.person is None and row["person_id"] is not None:
            return row, False  # somebody is named on this face already
        fresh: dict[str, Any] = {"person_id": self.person}
        if row["person_id"] is None and self.person is not None:  # who names somebody is the one who said so
            fresh |= {"informant_id": informant, "said_at": self.recorder.work.at, "why": why or row["why"]}
        else:  # whoever said it first stays its informant
            fresh |= {"informant_id": row["informant_id"] or informant, "why": _reasons(row, informant, why, said.by)}
        if said.called and not row["called"]:
            fresh["called"] = said.called
        if self.recorder.identity.of(row["person_id"]) == self.person:
            del fresh["person_id"]
        fresh |= {key: value for key, value in (("trust", trust), ("role", self.role)) if value is not None}
        if self.region is not None and row["region_id"] is None:
            fresh["region_id"] = self._region_id()
        changed = self.recorder.change(t.appearance, row, **fresh)
        if self.unnamed is not None and self.unnamed is not row and not self.denied:
            self._absorb(self.unnamed, row)
        return row, changed

    def rivals(self, seen: Row) -> list[Row]:
        """The appearances that name somebody else on the same face."""
        if seen["region_id"] is None or seen["person_id"] is None:
            return []
        ours = (None, self.recorder.identity.of(seen["person_id"]))
        others = [row for row in self.present if row["region_id"] == seen["region_id"] and not row["denied"]]
        return [row for row in others if self.recorder.identity.of(row["person_id"]) not in ours]

    def _taken(self) -> Row | None:
        """The appearance this link is about already: on the same face, else one that has no place yet."""
        if self.person is None:
            return self.unnamed or next((row for row in self.on_face if not row["denied"]), None)
        here = [row for row in self.mine if row in self.on_face]
        if here or (self.denied and self.region is not None):
            return here[0] if here else None
        free = [row for row in self.mine if self.region is None or row["region_id"] is None]
        alike = [row for row in free if row["role"] == (self.role or Role.PRESENT)]
        if self.region is not None and self.role is not None:
            return alike[0] if alike else None  # a likeness is a different appearance from the sitter's
        return next(iter(alike + free), None)

    def _create_appearance(self, trust: str | None, informant: int | None, why: str, called: str) -> Row:
        self.recorder.add(
            t.appearance,
            photograph_id=self.photograph["id"],
            person_id=self.person,
            region_id=self._region_id(),
            role=self.role or str(Role.PRESENT),
            denied=int(self.denied),
            trust=trust,
            informant_id=informant,
            why=why,
            said_at=self.recorder.work.at,
            called=called,
        )
        return self.present[-1]

    def _absorb(self, unnamed: Row, row: Row) -> None:
        """Give a person who is known to be in the picture the ages of the unnamed face that turned out to be theirs."""
        for age in self.recorder.of(t.statement, self.photograph["id"]):
            if age["appearance_id"] == unnamed["id"]:
                self.recorder.change(t.statement, age, appearance_id=row["id"])
        if unnamed["called"] and not row["called"]:
            self.recorder.change(t.appearance, row, called=unnamed["called"])
        self.recorder.withdraw(t.appearance, unnamed)

    def _region_id(self) -> int | None:
        if self.region is None:
            return None
        frame = dict(zip(SIDES, self.region, strict=True))
        if self.face is None:
            return self.recorder.add(t.region, photograph_id=self.photograph["id"], **frame)
        if not self.on_face:  # everything on it was withdrawn: it is drawn again
            self.recorder.change(t.region, self.face, **frame)
        return int(self.face["id"])


def _reasons(row: Row, informant: int | None, why: str, by: str | None) -> str:
    """The reasons for a name, with what another informant adds to them."""
    if informant is None or row["informant_id"] in (None, informant):
        return why or str(row["why"])
    more = f"{by}: {why}" if why else f"{by} says so too"
    return str(row["why"]) if more in row["why"] else "; ".join(filter(None, (row["why"], more)))


def _place(recorder: Recorder, photograph: Row, text: str | None) -> tuple[Region | None, Row | None]:
    """The region that is meant, and the appearance where one was named by its id.

    Raises InvalidValueError for something else, NotFoundError for an id that is not in this photograph.
    """
    if text is None or ID.fullmatch(text.strip().upper()) is None:
        return (None if text is None else parse_region(text)), None
    face, appearance = recorder.meant(photograph, text)
    return (None if face is None else box(face)), appearance


class _AgeRecorded(NamedTuple):
    """An age that was recorded: its row's id, whether anything changed, and which ones it took the place of."""

    id: int
    changed: bool
    replaced: tuple[str, ...] = ()


def _age(
    recorder: Recorder,
    seen: Row,
    informant: int | None,
    trust: str | None,
    kind: str,
    low: float,
    high: float,
    *,
    blind: bool,
) -> _AgeRecorded:
    """Record an age; one that the same informant gave earlier for the same person is withdrawn.

    One that was given blind stays so when it is merely repeated: whoever gives a different one has seen more since.
    """
    level = trust if kind == "stated-age" else None  # a guess by the eye has its own measure of doubt
    replaced: list[str] = []
    for row in list(recorder.of(t.statement, seen["photograph_id"])):
        if (row["appearance_id"], row["kind"], row["informant_id"]) == (seen["id"], kind, informant):
            if (row["age_low"], row["age_high"]) == (low, high):
                fresh = {"trust": level} if level is not None else {}
                return _AgeRecorded(
                    row["id"], recorder.change(t.statement, row, **fresh, **({"blind": 1} if blind else {}))
                )
            recorder.withdraw(t.statement, row)
            replaced.append(f"{aged(kind, row['age_low'], row['age_high'])} (S{row['id']})")
    made = recorder.add(
        t.statement,
        photograph_id=seen["photograph_id"],
        appearance_id=seen["id"],
        kind=kind,
        age_low=low,
        age_high=high,
        trust=level,
        informant_id=informant,
        said_at=recorder.work.at,
        blind=int(blind),
    )
    return _AgeRecorded(made, True, tuple(replaced))
