"""The evidence: people, photographs and statements, as plain values.

Nothing here computes a date. A result depends on its `Evidence` alone: no clock, no files, no database. Identifiers are
strings chosen by the caller and are only compared.

A `Statement` is anything somebody or something claims that bears on a date or an identity. It has a `trust` and can be
set aside. What can never be set aside (nobody is photographed alive after death) is a law, in `hard/laws.py`. The kinds
of dated statement are the members of `Claim`.
"""

from __future__ import annotations

from collections.abc import Mapping, Set
from dataclasses import dataclass, field, replace
from enum import Flag, StrEnum, auto
from typing import ClassVar, Self

from kinphoto.reason.model.span import Dated, Span
from kinphoto.reason.model.subjects import Container, Person, Photograph


class Trust(StrEnum):
    """How reliable a statement is."""

    CERTAIN = "certain"
    STRONG = "strong"
    FAIR = "fair"
    WEAK = "weak"

    @property
    def one_less(self) -> Trust:
        """One step less (weak stays weak)."""
        order = list(Trust)
        return order[min(order.index(self) + 1, len(order) - 1)]


CHANCE_WRONG: dict[Trust, float] = {
    Trust.CERTAIN: 0.0005,
    Trust.STRONG: 0.01,
    Trust.FAIR: 0.05,
    Trust.WEAK: 0.2,
}
"""Chance that a statement of each trust is wrong. A judgement of the project (docs/method.md)."""


class Role(StrEnum):
    """How somebody is in a picture."""

    PRESENT = "present"
    LIKENESS = "likeness"
    """A picture in the picture, a gravestone: the person had been born; nothing else follows."""
    LAID_OUT = "laid-out"
    """A post-mortem portrait."""


Thing = tuple[str, str]
"""("person", id), ("photograph", id) or ("event", key)."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Statement:
    """What every statement has. `order` counts up with time: among equals the later is set aside first.
    `text` are its words for a reader; `informant` is the id of who made it, or None.
    `hearsay` is True where it is about a time before the informant was born. `CALLED` makes its `kind`."""

    CALLED: ClassVar[str]
    id: str
    trust: Trust
    order: int = 0
    text: str = ""
    informant: str | None = None
    hearsay: bool = False

    @property
    def firmness(self) -> Trust:
        """Its trust where bounds are made or it may be set aside: one step less for hearsay and "1931?".

        The chance that it is altogether wrong stays that of its trust: such a date is wider instead (`span.doubted`).
        """
        date = getattr(self, "date", None)
        hesitant = self.hearsay or (isinstance(date, Dated) and date.doubtful)
        return self.trust.one_less if hesitant else self.trust

    @property
    def kind(self) -> str:
        """What it is called by scripts and tables: `appearance`, `stated-age`, `inscription`, `birth` ..."""
        return self.CALLED.format(self)

    def about(self) -> tuple[str, ...]:
        """The people (ids) it is about; those of an age are its appearance's."""
        return ()

    def photographs(self) -> tuple[str, ...]:
        """The photographs (ids) it is about; that of an age is its appearance's."""
        return ()

    def touches(self) -> tuple[Thing, ...]:
        """What it connects: information about one of these can bear on the others."""
        return tuple([("person", person) for person in self.about()])


@dataclass(frozen=True, slots=True, kw_only=True)
class OfPhotograph(Statement):
    """A statement about one photograph."""

    photograph: str

    def photographs(self) -> tuple[str, ...]:
        """The one."""
        return (self.photograph,)

    def touches(self) -> tuple[Thing, ...]:
        """The photograph and whoever it is about."""
        return ("photograph", self.photograph), *[("person", person) for person in self.about()]


class LifeEvent(StrEnum):
    """An event that bounds a life."""

    BIRTH = "birth"
    CHRISTENING = "christening"
    DEATH = "death"
    BURIAL = "burial"
    ALIVE = "alive"
    """Anything that only the living do: being counted in a census, dwelling, emigrating, taking a degree."""


LIFE_TAGS = {LifeEvent.BIRTH: "BIRT", LifeEvent.DEATH: "DEAT"}
"""How the key of an event names somebody's birth or death: `I12:BIRT`."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LifeDate(Statement):
    """The tree says when somebody was born, christened, died or was buried, or that they were alive some time."""

    CALLED = "{0.event}"
    person: str
    event: LifeEvent
    date: Dated

    @property
    def key(self) -> str:
        """The key of the event, a birth's or a death's; "" of what has none."""
        return f"{self.person}:{LIFE_TAGS[self.event]}" if self.event in LIFE_TAGS else ""

    def about(self) -> tuple[str, ...]:
        """Whose life it is."""
        return (self.person,)


@dataclass(frozen=True, slots=True, kw_only=True)
class EventDate(Statement):
    """The tree dates another event (a marriage, a graduation). `event` is its key, such as `F3:MARR`."""

    CALLED = "event-date"
    event: str
    date: Dated

    @property
    def key(self) -> str:
        """The key of the event."""
        return self.event

    def touches(self) -> tuple[Thing, ...]:
        """The event, and whose birth or death it is."""
        return _of_event(self.event)


@dataclass(frozen=True, slots=True, kw_only=True)
class ParentLink(Statement):
    """`parent` is a birth parent of `child`. `parent_sex` picks the law: "F" mother, "M" father, "U" the looser
    of the two."""

    CALLED = "parent-link"
    child: str
    parent: str
    parent_sex: str = "U"

    def about(self) -> tuple[str, ...]:
        """Both."""
        return (self.child, self.parent)


@dataclass(frozen=True, slots=True, kw_only=True)
class Marriage(Statement):
    """These people married at the event `event` (`F3:MARR`), dated or not."""

    CALLED = "marriage"
    event: str
    spouses: tuple[str, ...]

    def about(self) -> tuple[str, ...]:
        """The couple."""
        return self.spouses

    def touches(self) -> tuple[Thing, ...]:
        """The wedding and the couple."""
        return ("event", self.event), *[("person", person) for person in self.spouses]


@dataclass(frozen=True, slots=True, kw_only=True)
class Appearance(OfPhotograph):
    """`person` is in `photograph`; `person` is None for somebody not identified yet.

    Appearances of one photograph with the same `region` (not None) are rivals: one of them is right. `denied`
    records that it is *not* this person: not on that region, or, without a region, nowhere in the photograph.
    """

    CALLED = "appearance"
    person: str | None
    role: Role = Role.PRESENT
    region: str | None = None
    denied: bool = False

    def about(self) -> tuple[str, ...]:
        """Who it is, if that is known."""
        return (self.person,) if self.person else ()


class AgeBasis(StrEnum):
    """Where an age comes from."""

    APPARENT = "apparent"
    """Judged from the picture."""
    STATED = "stated"
    """Known: "she was seven that summer"."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Age(Statement):
    """The person of `appearance` (a statement id) is `low` to `high` completed years old, both inclusive.

    Half a year is 0.5; for somebody of seven exactly, low = high = 7. `blind` says that it was given before any name
    or date was seen, so that it cannot have been fitted to one.
    """

    CALLED = "{0.basis}-age"
    appearance: str
    low: float
    high: float
    basis: AgeBasis = AgeBasis.APPARENT
    blind: bool = False


class Trait(Flag):
    """What is so of every statement of a dated kind."""

    NONE = 0
    OF_EXPOSURE = auto()
    """It dates the picture itself, not the object."""
    FROM_MEMORY = auto()
    """An informant knows it; other kinds are written on the object, and the informant read them."""
    KNOWN = auto()
    """Its date is good enough to compare an estimate with."""


class Claim(StrEnum):
    """The kinds of dated statement about a photograph: the word for each, its default `trust`, its traits."""

    trust: Trust
    of_exposure: bool
    from_memory: bool
    known: bool

    TAKEN = "taken", Trust.STRONG, Trait.OF_EXPOSURE | Trait.FROM_MEMORY | Trait.KNOWN
    INSCRIPTION = "inscription", Trust.FAIR, Trait.OF_EXPOSURE | Trait.KNOWN
    WRITTEN = "written"
    RECOLLECTION = "recollection", Trust.FAIR, Trait.OF_EXPOSURE | Trait.FROM_MEMORY
    IMPRINT = "imprint"
    PRINT_STAMP = "print-stamp", Trust.STRONG, Trait.KNOWN
    POSTMARK = "postmark", Trust.STRONG, Trait.KNOWN

    def __new__(cls, word: str, trust: Trust = Trust.FAIR, traits: Trait = Trait.NONE) -> Self:
        """A kind of this name."""
        kind = str.__new__(cls, word)
        kind._value_ = word
        kind.trust = trust
        kind.of_exposure = Trait.OF_EXPOSURE in traits
        kind.from_memory = Trait.FROM_MEMORY in traits
        kind.known = Trait.KNOWN in traits
        return kind


@dataclass(frozen=True, slots=True, kw_only=True)
class DateClaim(OfPhotograph):
    """Something on or about the object gives a date."""

    CALLED = "{0.claim}"
    claim: Claim
    date: Dated


@dataclass(frozen=True, slots=True, kw_only=True)
class EventClaim(OfPhotograph):
    """The photograph shows an event of the tree (`F3:MARR`)."""

    CALLED = "event"
    event: str

    def touches(self) -> tuple[Thing, ...]:
        """The photograph, the event, and whose birth or death it is."""
        return ("photograph", self.photograph), *_of_event(self.event)


@dataclass(frozen=True, slots=True, kw_only=True)
class RelativeDate(OfPhotograph):
    """Something on or about the object dates it by an event of the tree: "before Ada was born", "Ada's 7th birthday".

    It was taken `lapse.first` to `lapse.last` days after the event (negative: before it); an end may be open, and
    `SAME_YEAR` is the calendar year of the event. `claim` is a kind that dates the picture itself.
    """

    CALLED = "{0.claim}"
    claim: Claim
    event: str
    lapse: Span
    words: str = ""
    """As somebody said it."""

    def touches(self) -> tuple[Thing, ...]:
        """The photograph, the event, and whose birth or death it is."""
        return ("photograph", self.photograph), *_of_event(self.event)


@dataclass(frozen=True, slots=True, kw_only=True)
class Made(OfPhotograph):
    """How it was made, or what kind of object it is: a window of years outside which that is not known.

    `common` is the narrower window of common use (None where no source gives one). `original` is True when the
    window bounds the exposure itself (a camera original), False when it bounds the making of the print.
    """

    CALLED = "{0.what}"
    what: str
    name: str
    window: Span
    common: Span | None = None
    original: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class LiesIn(OfPhotograph):
    """Where the photograph is kept, for a reader; its `id` is that of the container. What that implies for its date is
    not here but in `Evidence.containers` or `from_containers`, and is left out together with this."""

    CALLED = "container"


@dataclass(frozen=True, slots=True, kw_only=True)
class Numbered(OfPhotograph):
    """The number of the photograph in its container, for a reader; its `id` is that of the `Number`, and it means
    nothing without the `container` (id). What it implies for the date is not here but in `Photograph.number` or
    `Evidence.messages_without`, and is left out together with this."""

    CALLED = "number"
    number: int
    container: str


class Related(StrEnum):
    """How two photographs are related."""

    BEFORE = "before"
    AFTER = "after"
    SAME_OCCASION = "same-occasion"
    COPY_OF = "copy-of"
    SAME_NEGATIVE = "same-negative"
    SAME_STRIP = "same-strip"
    """Frames of one strip or roll of film, so of about the same time."""
    PART_OF = "part-of"


@dataclass(frozen=True, slots=True, kw_only=True)
class Relation(OfPhotograph):
    """`photograph` is `related` `other`: K00007 before K00009; K00012 copy-of K00003."""

    CALLED = "{0.related}"
    related: Related
    other: str

    def photographs(self) -> tuple[str, ...]:
        """Both."""
        return (self.photograph, self.other)

    def touches(self) -> tuple[Thing, ...]:
        """Both photographs; an album page has no date and connects nothing."""
        here = ("photograph", self.photograph)
        return (here,) if self.related is Related.PART_OF else (here, ("photograph", self.other))


DEFAULT_TRUST: dict[str, Trust] = {claim: claim.trust for claim in Claim} | {
    "appearance": Trust.STRONG, "stated-age": Trust.STRONG, "same-strip": Trust.STRONG
}  # fmt: skip
"""The default trust of each kind of statement; fair for kinds not listed (judgements of the project)."""


def _of_event(event: str) -> tuple[Thing, ...]:
    """An event and, where it is somebody's birth or death (`I12:BIRT`), the person."""
    code, _, tag = event.partition(":")
    return (("event", event), ("person", code)) if tag in LIFE_TAGS.values() else (("event", event),)


@dataclass(frozen=True, slots=True)
class Evidence:
    """Everything known at one moment.

    Of a part of the evidence, in which most of a container is missing, `from_containers` has the messages of the
    containers to its photographs when everything was last dated (`soft/container_messages`), and `containers` is empty;
    `messages_without` has, by the id of a number, the messages without that; and `fitted` is how often ages were fitted
    to a date, as was learned from everything (`fitted_ages.FittedShare.mean`).
    """

    people: tuple[Person, ...] = ()
    photographs: tuple[Photograph, ...] = ()
    statements: tuple[Statement, ...] = field(default=())
    containers: tuple[Container, ...] = ()
    from_containers: Mapping[str, bytes] = field(default_factory=dict)
    fitted: float | None = None
    messages_without: Mapping[str, Mapping[str, bytes]] = field(default_factory=dict)

    def without(self, aside: Set[str]) -> Evidence:
        """The same evidence with the statements of these ids left out, and without the messages of containers and the
        numbers of these ids."""
        if not aside:
            return self
        kept = tuple(s for s in self.statements if s.id not in aside)
        boxes = tuple(c for c in self.containers if c.id not in aside)
        photographs = self.photographs
        if any(p.number is not None and p.number.id in aside for p in photographs):
            photographs = tuple(
                replace(p, number=None) if p.number is not None and p.number.id in aside else p for p in photographs
            )
        messages = self.from_containers
        if messages:
            for number in self.messages_without.keys() & aside:
                messages = {**messages, **self.messages_without[number]}
            silent = {p.id for p in photographs if p.container in aside}
            messages = {p: value for p, value in messages.items() if p not in silent}
        return Evidence(self.people, photographs, kept, boxes, messages, self.fitted, self.messages_without)
