"""How good the estimates are on this archive's own photographs, in words."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import replace
from typing import TYPE_CHECKING

from sqlalchemy import Connection

from kinphoto.archive.dates.estimates import kept_findings
from kinphoto.archive.dates.evidence import gather
from kinphoto.phrases import counted, listed

if TYPE_CHECKING:
    from kinphoto.reason.advice.hindsight import Hindsight
    from kinphoto.reason.model.findings import FittedAges

FEW = 30
"""Known dates below which chance alone explains much (common practice)."""
ALIKE = 0.5
"""Years of bias too small to mention."""


def hindsight(connection: Connection) -> Hindsight:
    """Hide every known date, estimate it from everything else, and compare."""
    from kinphoto.reason.advice import hindsight as reasoned

    return replace(reasoned.hindsight(gather(connection)), fitted=kept_findings(connection).fitted)


def in_words(found: Hindsight) -> Iterator[str]:
    """The comparison in sentences."""
    from kinphoto.reason.advice.hindsight import by_chance

    score = found.score
    if score.coverage is None and found.undated:
        yield f"Nothing but its own date shows when {listed(found.undated)} was taken, so there is nothing to compare."
        yield "Name somebody in a photograph and say how old they look: kinphoto link PHOTO PERSON --age AGE"
    elif score.coverage is None:
        yield "No photograph's date is known to within a year yet, so there is nothing to compare the estimates with."
        yield "A date on the back, a stamp, a postmark or a known event would do: kinphoto state PHOTO KIND DATE"
    if score.coverage is None:
        return
    there = "is one photograph" if score.photographs == 1 else f"are {score.photographs} photographs"
    yield f"There {there} with a known date. Each was hidden, then estimated from everything else."
    right = _times(score.coverage * score.photographs, score.photographs)
    yield f"The likely range was right {right}; it should be right nine times out of ten."
    yield f"The best date was typically off by {_years(score.median)}, and by {_years(score.mean)} on average."
    if score.photographs < FEW:
        low, high = by_chance(score.photographs)
        yield f"These are too few to be sure: even perfect ranges would be right between {low} and {high} times."
    if found.undated:
        yield f"For {listed(found.undated)} there is nothing to go by but that date."
    for words, part in (("before seeing the date", found.of(True)), ("with the date in view", found.of(False))):
        if part.coverage is not None:
            right = _times(part.coverage * part.photographs, part.photographs)
            yield f"Where ages were judged {words}: right {right}, off by {_years(part.mean)} on average."
    if found.judges:
        yield "How well people judged ages:"
    for judge in found.judges:
        seen = "before seeing the date" if judge.blind else "with the date in view"
        who = judge.informant or "Nobody in particular"
        yield f"  {who}, {counted(judge.judgements, 'age')} judged {seen}: {_bias(judge.bias_years)}"
    if found.judges:
        yield "Only ages judged before seeing the date show how well somebody judges; others may be fitted to it."
    if found.fitted is not None and found.fitted.photographs:
        yield from _fitted(found.fitted)


def _fitted(found: FittedAges) -> Iterator[str]:
    """What is counted for how often ages are fitted."""
    many = counted(found.photographs, "undated photograph")
    yield f"How often that happens shows where several people's ages were judged with the date in view, in {many}."
    compared = f", compared with {found.unseen} where they were judged before" if found.unseen else ""
    yield (
        f"By how closely these agree with each other and with the births{compared}, about {100 * found.share:.0f} % of "
        "such photographs have ages that were fitted to a date. Likely ranges allow for that."
    )


def _bias(years: float) -> str:
    if abs(years) < ALIKE:
        return "neither too old nor too young"
    return f"{_years(abs(years))} too {'old' if years > 0 else 'young'} on average"


def _times(right: float, of: int) -> str:
    count = round(right)
    return f"{'about ' if abs(right - count) > 0.05 else ''}{count} times out of {of}"


def _years(years: float | None) -> str:
    value = f"{years or 0:.1f}"
    return "1 year" if value == "1.0" else f"{value} years"
