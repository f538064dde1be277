"""Prints of one container with one printed date, as photo laboratories put them on borders and backs ("JUL 61"): a
*batch*, mostly from one film or a few, so of about the same time. All constants are *ours*.

A batch is a strip of film (`model/strips`) in all but this: with the chance `ANOTHER_FILM` a print is from another film
than the others, or was ordered again; and the batch has one printed date, which counts once. So what is known of each
print by itself, l_j, is there without its printed date. Of the film it is known that its frames, taken evenly within
sqrt(3) s on either side of m, were finished when it was brought to be printed. With W the wait from then to the printed
date, exponential with a mean of `SHOP` years or, with the chance `AGAIN` that all of it was ordered again, of `LATER`,

    P(m, s) ~ FILMS[s] * the density of W at (the printed date) - m - sqrt(3) s,

and any m alike with the chance that the date is wrong. Of a print that is not from that film the date is known all the
same: with d(y) what it by itself makes of the time of a picture (`density.printed`), adding up to 1 over Y cells, the
message of its container, M_j, is then Y d(y) M_j(y). The message to a print of all this, M', includes the date.

In their container, prints of one batch are off by the same wait. With v and v_0 the variances of what is known of print
j with the date and without, the errors of j and k that have no birth and judge in common correlate by
IN_COMMON sqrt((1 - v_j / v_0j) (1 - v_k / v_0k)).
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Mapping
from typing import NamedTuple

import numpy as np

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import SMALLEST, Array
from kinphoto.reason.model.containers import QUARTER_YEAR, Width
from kinphoto.reason.model.density import mixture
from kinphoto.reason.model.subjects import Photograph
from kinphoto.reason.model.themes import box_of

SHOP, AGAIN, LATER = 0.12, 0.1, 20.0
"""Years from the last frame of a film to its printing, in the mean; the chance that all of it was ordered again, and
the mean wait then."""
ANOTHER_FILM = 0.1
"""Chance that a print of a batch has nothing to do with the film of the others."""
IN_COMMON = 0.6
"""Share of the variance of the wait from picture to print that prints of one batch have in common: films of the widths
of `strips.FILMS`, s, whose frames are spread evenly up to the day of printing, wait sqrt(3) s in the mean, with the
variance s^2 about that."""
EXACT = 31
"""The most days that a printed date may span to show what was printed together: a month."""


class PrintedDate(NamedTuple):
    """The date of a batch: d, adding up to 1; the day, in quarter-years from where d begins; and the chance that it is
    wrong."""

    density: Array
    day: float
    wrong: float

    @property
    def after(self) -> int:
        """The first quarter-year that is wholly after it."""
        return int(self.day) + 1


def film_printed(width: Width, date: PrintedDate) -> Array:
    """P(m, s) of every centre of one width, but for FILMS, adding up to 1."""
    edges = np.arange(-(-len(date.density) // width.stride) + 1) * width.stride
    wait = np.maximum((date.day - edges) * QUARTER_YEAR - 3**0.5 * width.years, 0.0)
    within = mixture(AGAIN, -np.expm1(-wait / SHOP), -np.expm1(-wait / LATER))
    found = within[:-1] - within[1:]
    return mixture(date.wrong, found / max(found.sum(), SMALLEST), 1 / len(found))


def printed_together(
    photographs: Mapping[str, Photograph], claims: Iterable[ev.DateClaim]
) -> list[dict[str, ev.DateClaim]]:
    """The batches: of each the printed date on every photograph. Of a photograph with two printed dates the earlier one
    counts, since the later is of a print that was ordered again."""
    dates: dict[str, ev.DateClaim] = {}
    for claim in claims:
        if claim.claim is ev.Claim.PRINT_STAMP and claim.photograph in photographs and _days(claim) <= EXACT:
            other = dates.setdefault(claim.photograph, claim)
            if (claim.date.span.first or 0) < (other.date.span.first or 0):
                dates[claim.photograph] = claim
    found: dict[object, dict[str, ev.DateClaim]] = defaultdict(dict)
    for photograph, claim in dates.items():
        if (box := photographs[photograph].container) is not None:
            found[box_of(box), claim.date.span][photograph] = claim
    return [batch for batch in found.values() if len(batch) > 1]


def _days(claim: ev.DateClaim) -> float:
    first, last = claim.date.span.first, claim.date.span.last
    return float("inf") if first is None or last is None else last + 1 - first
