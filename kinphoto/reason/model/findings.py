"""What the reasoner answers with, as plain values. Days are ordinals as in `span.py`."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from typing import Annotated

from kinphoto.reason.model.span import DAYS_PER_YEAR

HOLDS = 0.9
"""What a likely range holds."""
HOLDS_SD = 1.645
"""Standard deviations of a normal distribution to either side that hold as much."""
KNOWN = 2 * DAYS_PER_YEAR
"""A birth known to within this many days takes nothing from the family, and is not estimated."""


class State(StrEnum):
    """What kind of answer an estimate is."""

    DATED = "dated"
    """At least one statement of the photograph's own bears on it."""
    OPEN = "open"
    """Only the laws bound it: it has no likely range."""
    DISPUTED = "disputed"
    """It bears on a conflict; the bounds are those with what was set aside left out."""


@dataclass(frozen=True, slots=True)
class Estimate:
    """What is concluded for one photograph.

    `earliest` to `latest`: possible, from laws and strong or certain statements. `likely_from` to `likely_to`: the
    shortest interval that holds 90 % of the posterior; where a name surprises, it may pass what is possible, which
    takes all names to be right. `best`: the posterior median. The last three are None, and `edtf` is "", when the state
    is OPEN; then `collection_from` to `collection_to` is the range of the others in its container alone, which is shown
    but is not a date, and must not be exported as one. `inferred` is False only when a person stated the date and
    nothing narrower was concluded.
    """

    photograph: str
    earliest: int
    latest: int
    likely_from: int | None
    likely_to: int | None
    best: int | None
    edtf: str
    state: State
    inferred: bool = True
    collection_from: int | None = None
    collection_to: int | None = None

    @property
    def shown_range(self) -> tuple[int, int]:
        """The days a reader sees: those that are likely, or all that are possible where none is."""
        if self.likely_from is None or self.likely_to is None:
            return self.earliest, self.latest
        return self.likely_from, self.likely_to

    @property
    def doubts_a_name(self) -> bool:
        """Whether the likely range passes what is possible, as a name may be wrong."""
        if self.likely_from is None or self.likely_to is None:
            return False
        return self.likely_from < self.earliest or self.likely_to > self.latest


@dataclass(frozen=True, slots=True)
class Conflict:
    """An irreducible set of statements that cannot all be true together.

    `aside` are those of them in the optimal set to set aside. `photographs` are those that the statements are about,
    and after them others that what is set aside does not fit with either. `ways_out` are the alternatives: each a set
    of statements whose removal settles this conflict, cheapest first, ties included.
    """

    id: str
    statements: tuple[str, ...]
    aside: tuple[str, ...]
    photographs: tuple[str, ...]
    people: tuple[str, ...]
    ways_out: tuple[tuple[str, ...], ...] = ()
    tie: bool = False


@dataclass(frozen=True, slots=True)
class Unlikely:
    """A judged age that probably does not belong to its appearance (possible, but unlikely)."""

    photograph: str
    person: str
    statement: str
    probability: float


@dataclass(frozen=True, slots=True)
class OutOfPlace:
    """A photograph that probably does not belong in its container or, where that is None, on its strip of film
    (possible, but unlikely).

    By what is known of itself it is of `own_from` to `own_to`, and by the others there one more is of
    `others_from` to `others_to`: each the shortest range that holds 90 %. They do not overlap. Where the others are
    those of one theme in the container (`model/themes`), `theme` is that.
    """

    photograph: str
    container: str | None
    probability: float
    own_from: int
    own_to: int
    others_from: int
    others_to: int
    theme: str = ""


@dataclass(frozen=True, slots=True)
class BirthEstimate:
    """When somebody with a vague or unknown birth was born.

    `likely_from` to `likely_to` is the shortest interval that holds 90 %, `best` the median; they rest on the family
    and on the number of `photographs` in which the person is. Always show the caveat: whoever judged the ages may have
    known the tree, and then the photographs add nothing to it.
    """

    person: str
    likely_from: int
    likely_to: int
    best: int
    photographs: int
    possible: tuple[int, int, int, int] | None = None
    """First and last possible day of the birth, and of the death."""


@dataclass(frozen=True, slots=True)
class InformantEstimate:
    """How an informant judges ages, learned from `judgements` of known people in photographs dated by something else.

    `bias` is on the scale of `perception` (0.1 is a tenth of the age and two years too old), `log_spread` the logarithm
    of how many times as loosely as others they judge; each with its standard deviation.
    """

    informant: str
    judgements: int
    bias: float
    bias_sd: float
    log_spread: float
    log_spread_sd: float
    pull: float = 0.0
    """The share of its distance from the middle by which they draw an age towards it; 0 where it is not learned."""
    pull_sd: float = 0.0


@dataclass(frozen=True, slots=True)
class FittedAges:
    """How often ages that were not given unseen were fitted to a date."""

    share: Annotated[
        float, "how often the ages of a photograph, judged with the date in view, were fitted to one, 0 to 1 (the mean)"
    ]
    photographs: Annotated[int, "undated photographs with several ages judged so, whose agreement was counted"]
    unseen: Annotated[int, "the same with ages judged before the date was seen, with which these were compared"]


@dataclass(frozen=True, slots=True)
class Findings:
    """The whole answer: estimates in the order of the evidence's photographs, conflicts, and what was set aside.

    `births` are of people in photographs whose birth is not known to within two years; `informants` are
    those with judgements to learn from; `unconverged` are photographs whose messages did not converge, so that their
    likely ranges are not reliable.
    """

    estimates: tuple[Estimate, ...]
    conflicts: tuple[Conflict, ...]
    aside: tuple[str, ...]
    unlikely: tuple[Unlikely, ...]
    expected_false_alarms: float
    births: tuple[BirthEstimate, ...] = ()
    informants: tuple[InformantEstimate, ...] = ()
    unconverged: tuple[str, ...] = ()
    from_containers: Mapping[str, bytes] = field(default_factory=dict)
    """The messages of containers to each dated photograph (`Evidence.from_containers`)."""
    out_of_place: tuple[OutOfPlace, ...] = ()
    containers: Mapping[str, bytes] = field(default_factory=dict)
    """What each container with several dated photographs is to be worked out from by itself, by its id
    (`soft/one_container.OneContainer`)."""
    alone: Mapping[str, bytes] = field(default_factory=dict)
    """The posterior of each dated photograph without the messages of containers (`soft/one_container.packed_alone`)."""
    fitted: FittedAges | None = None
    """None where nobody has worked it out yet."""
