"""How good the estimates are on this archive's own photographs, in words that can be read aloud."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from kinphoto.archive.dates.evidence import gather

if TYPE_CHECKING:
    from kinphoto.reason.advice.hindsight import Hindsight, Judge, Score

FEW = 30
"""Known dates below which chance alone explains much (common practice)."""
ALIKE = 0.5
"""Years of bias that nobody would speak of."""


def hindsight(connection: Connection) -> Hindsight:
    """Hide every known date, estimate it from everything else, and compare."""
    from kinphoto.reason.advice import hindsight as reasoned

    return reasoned.hindsight(gather(connection))


def told(found: Hindsight) -> Iterator[str]:
    """The comparison in sentences."""
    from kinphoto.reason.advice.hindsight import by_chance

    score = found.score
    if score.coverage is None and found.undated:
        yield f"Nothing but the known date tells when {', '.join(found.undated)} was taken: nothing can be compared."
        yield "Say who is in such a photograph, and how old they look: kinphoto link PHOTO PERSON --age AGE"
        return
    if score.coverage is None:
        yield "No photograph's date is known to within a year yet, so there is nothing to compare the estimates with."
        yield "A date on the back, a stamp, a postmark or a known event would do: kinphoto state PHOTO KIND DATE"
        return
    yield f"{_photographs(score.photographs)} with a known date. Each was hidden, and estimated from everything else."
    right = score.coverage * score.photographs
    yield f"The likely range was right {_times(right, score.photographs)}; it is meant to be, nine times out of ten."
    yield f"The best date was off by {_years(score.median)} in the middle case, {_years(score.mean)} on average."
    if score.photographs < FEW:
        low, high = by_chance(score.photographs)
        yield (
            f"Take care: so few say little. With an honest range, chance alone gives {low} to {high} right of "
            f"{score.photographs}."
        )
    if found.undated:
        yield f"Of {', '.join(found.undated)} nothing but that date tells when it was taken."
    for words, part in (("before the date was seen", found.of(True)), ("after it, or perhaps so", found.of(False))):
        yield from _apart(words, part)
    yield from _judges(found.judges)


def _apart(words: str, part: Score) -> Iterator[str]:
    if part.coverage is not None:
        right = _times(part.coverage * part.photographs, part.photographs)
        yield f"Where ages were judged {words}: right {right}, off by {_years(part.mean)} on average."


def _judges(judges: tuple[Judge, ...]) -> Iterator[str]:
    from kinphoto.reason.model.perception import TAU

    if judges:
        yield "How ages were judged, beside the true ones:"
    for judge in judges:
        seen = "before seeing the date" if judge.blind else "with the date at hand"
        spread = "" if judge.spread is None else f"; spread {judge.spread:.2f} where {TAU} is usual"
        who = f"{judge.informant or 'Nobody in particular'}, {judge.judgements} judged {seen}"
        yield f"  {who}: {_bias(judge.bias_years)} ({judge.bias:+.2f} on the scale{spread})"


def _bias(years: float) -> str:
    if abs(years) < ALIKE:
        return "neither too old nor too young"
    return f"{_years(abs(years))} too {'old' if years > 0 else 'young'} on average"


def _photographs(count: int) -> str:
    return "There is one photograph" if count == 1 else f"There are {count} photographs"


def _times(right: float, of: int) -> str:
    count = round(right)
    return f"{'about ' if abs(right - count) > 0.05 else ''}{count} times out of {of}"


def _years(years: float | None) -> str:
    value = f"{years or 0:.1f}"
    return "1 year" if value == "1.0" else f"{value} years"
