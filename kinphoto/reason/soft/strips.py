"""Messages from strips of film to their frames, and from batches of prints to each of them (`model/strips` and
`model/batches` have the formulas), all together.

Only for speed: the sums over centres and widths are done by convolution (`years.Years`), some hundred frames at a
time, each strip whole.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field

import numpy as np
from scipy import sparse

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.batches import ANOTHER_FILM, PrintedDate, film_printed, printed_together
from kinphoto.reason.model.lookup import Lookup
from kinphoto.reason.model.strips import FILMS
from kinphoto.reason.soft.common_errors import LEAST, Sharing, correlation_with_others, in_parts, summed_by
from kinphoto.reason.soft.container_messages import Boxes
from kinphoto.reason.soft.groups import Groups, adjacency, reached
from kinphoto.reason.soft.orders import Pair, orders
from kinphoto.reason.soft.strays import Stray, surprising
from kinphoto.reason.soft.strip_orders import Frames, ordered
from kinphoto.reason.soft.years import Years, normal

TOGETHER = 500
"""Frames that are worked out together."""


@dataclass(frozen=True)
class Strips:
    """Frames of strips, and prints of batches, which are like strips: `rows` (of `Groups`, ascending), the strip that
    each is of, the chance that this is wrong, and the container of each (the same number in the same container)."""

    rows: Ints
    of: Ints
    wrong: Array
    container: Ints
    orders: Mapping[Pair, float] = field(default_factory=dict)
    """Which of two frames of one strip was said to be the earlier (by their places in `rows`), and the chance that this
    is wrong."""
    printed: Mapping[int, ev.DateClaim] = field(default_factory=dict)
    """The printed date of each strip that is a batch."""

    @classmethod
    def read(cls, groups: Groups, known: Lookup, dated: Ints) -> Strips | None:
        """From relations and printed dates; None where these make no strip. Of groups only the `dated` ones count. A
        frame is as surely of its strip as the surest such statement. What is of a strip is of no batch."""
        can_be = set(dated.tolist())
        strip, wrong = _of_strips(groups, known, can_be)
        number, printed = len(set(strip.values())), dict[int, ev.DateClaim]()
        for batch in printed_together(known.photographs, (c for some in known.claims.values() for c in some)):
            together = {groups.of[p]: claim for p, claim in batch.items() if p in groups.of}
            together = {row: together[row] for row in sorted(together.keys() & can_be - strip.keys())}
            if len(together) > 1:
                printed[number] = next(iter(together.values()))
                for row, claim in together.items():
                    strip[row] = number
                    wrong[row] = 1 - (1 - ANOTHER_FILM) * (1 - ev.CHANCE_WRONG[claim.trust])
                number += 1
        if not strip:
            return None
        rows = sorted(strip)
        lies = [next((c for p in groups.members[row] if (c := known.photographs[p].container)), "") for row in rows]
        place = {row: i for i, row in enumerate(rows)}
        pairs = {pair: p for pair, p in orders(groups.of, known).items() if place.keys() >= {*pair}}
        number_of = {name: i for i, name in enumerate(dict.fromkeys(lies))}
        return cls(
            np.array(rows, dtype=np.int64),
            np.array([strip[row] for row in rows], dtype=np.int64),
            np.array([wrong[row] for row in rows]),
            np.array([number_of[name] for name in lies], dtype=np.int64),
            {(place[a], place[b]): p for (a, b), p in pairs.items() if strip[a] == strip[b]},
            printed,
        )

    @property
    def in_batches(self) -> Ints:
        """The rows that are of a batch."""
        return self.rows[self._printed]

    @property
    def of_batches(self) -> Ints:
        """The batch of each of these."""
        return self.of[self._printed]

    @property
    def _printed(self) -> Ints:
        return np.flatnonzero(np.isin(self.of, list(self.printed)))

    @property
    def ordered(self) -> set[Pair]:
        """The pairs of rows (of `Groups`) whose order comes from their strip."""
        rows = self.rows.tolist()
        return {(rows[a], rows[b]) for a, b in self.orders}

    def together(self, rows: Ints) -> sparse.csr_array:
        """The strip of each of these rows (ascending), where they are frames of one: (rows, strips)."""
        place = np.minimum(np.searchsorted(self.rows, rows), len(self.rows) - 1)
        there = np.flatnonzero(self.rows[place] == rows)
        ones = np.ones(len(there), dtype=np.float32)
        return sparse.csr_array((ones, (there, self.of[place[there]])), (len(rows), int(self.of.max()) + 1))


def _of_strips(groups: Groups, known: Lookup, can_be: set[int]) -> tuple[dict[int, int], dict[int, float]]:
    """The number of the strip of each row that is a frame of one, and the chance that this is wrong."""
    wrong: dict[int, float] = {}
    ties: list[tuple[int, int]] = []
    for r in known.relations:
        if r.related is not ev.Related.SAME_STRIP:
            continue
        one, other = (groups.of.get(p, -1) for p in (r.photograph, r.other))
        if one != other and can_be >= {one, other}:
            ties.append((one, other))
            for row in (one, other):
                wrong[row] = min(wrong.get(row, 1.0), ev.CHANCE_WRONG[r.trust])
    near, strip, number = adjacency(ties), dict[int, int](), 0
    for row in wrong:
        if row not in strip:
            strip |= dict.fromkeys(reached([row], near), number)
            number += 1
    return strip, wrong


@dataclass(frozen=True)
class StripMessages:
    """The `message` of strips to each frame, adding up to 1 (frames, quarter-years), to a print of a batch beside
    its printed date; the frames that hardly belong
    on theirs; and what is `known` of the strips, as of containers."""

    message: Array
    strays: list[Stray]
    known: Boxes


def messages_to_frames(
    strips: Strips, likelihood: Array, by_container: Array, sharing: Sharing, first: int = 0,
    printed: Mapping[int, PrintedDate] | None = None,
) -> StripMessages:  # fmt: skip
    """The messages of the strips. `likelihood` and `by_container`, the messages of containers to each frame without the
    others of its strip, have a row for each of `strips.rows` and a column for each quarter-year from `first` on.
    `printed` has d of each that is a batch, of whose prints `likelihood` is without their printed date."""
    years, found, strays = Years(likelihood.shape[1]), np.empty_like(likelihood), list[Stray]()
    many = int(strips.of.max()) + 1
    whole = np.empty((many, years.points), dtype=np.float32)
    by_container = np.maximum(by_container, LEAST)
    by_container = by_container / by_container.sum(axis=1, keepdims=True)
    before, dates = np.repeat(_before_seen(years)[None], many, axis=0), np.ones((many, years.cells), dtype=np.float32)
    for number, date in (printed or {}).items():
        dates[number] = years.cells * date.density
        before[number] = _before_seen(years, date)
    counted = dates.copy()  # of a print by itself already, but for what is after it, which it forbids
    for number, date in (printed or {}).items():
        counted[number, date.after :] = 1.0
    for part in in_parts(strips.of, TOGETHER):
        centred, wrong, whole[np.unique(strips.of[part])] = _messages(
            years, strips, part, likelihood[part], by_container[part], sharing, before, dates
        )
        found[part] = (centred + wrong) / counted[strips.of[part]]
        here, elsewhere = (np.einsum("ij,ij->i", likelihood[part], some) for some in (centred, wrong))
        own = likelihood[part] * by_container[part]
        chance = elsewhere / (here + elsewhere + LEAST) * ~np.isin(strips.of[part], list(strips.printed))
        strays += surprising(part, strips.of[part], chance, own, centred)
    rate = summed_by(strips.of, many, (1 / np.bincount(strips.of))[strips.of]) @ by_container
    names = tuple(str(number) for number in range(many))
    known = Boxes(names, years, whole, rate, np.ones(many, dtype=bool), first)
    return StripMessages(found / found.sum(axis=1, keepdims=True), strays, known)


def _messages(
    years: Years,
    strips: Strips,
    part: Ints,
    like: Array,
    by_container: Array,
    sharing: Sharing,
    before: Array,
    dates: Array,
) -> tuple[Array, Array, Array]:
    """The two parts of M', of a frame that is of its strip and of one that is not; and P(m, s) of the strips."""
    names, of = np.unique(strips.of[part], return_inverse=True)
    wrong, cells = strips.wrong[part].astype(np.float32)[:, None], like.shape[1]
    births, loads = sharing.births[part], sharing.loads[part]
    weight = (1 / (1 + correlation_with_others(loads, of, len(names)))).astype(np.float32)
    elsewhere = dates[strips.of[part]] * by_container
    away = wrong * elsewhere.sum(axis=1, keepdims=True)
    belongs = years.seen(by_container)
    belongs *= cells
    belongs **= _share(of, strips.container[part])[:, None]
    nothing = np.log((1 - wrong) * belongs + away)
    own = np.log(
        (1 - wrong) * belongs * years.seen(like) + wrong * np.einsum("ij,ij->i", like, elsewhere)[:, None] + LEAST
    ) - nothing  # fmt: skip
    whole = before[names] + summed_by(of, len(names)) @ nothing + summed_by(of, len(names), weight) @ own
    i, j = ((births @ births.T) + sparse.eye_array(len(part))).tocoo().coords
    keep = of[i] == of[j]
    left_out = sparse.csr_array((weight[j[keep]], (i[keep], j[keep])), (len(part), len(part)))
    chance = normal(whole[of] - nothing - left_out @ own)
    centred, apart = years.spread(chance * belongs), wrong * elsewhere
    place = {row: k for k, row in enumerate(part.tolist())}
    if pairs := {(place[a], place[b]): p for (a, b), p in strips.orders.items() if a in place}:
        frames = Frames(like, elsewhere, belongs, chance, wrong[:, 0], weight)
        silent = np.split(left_out.indices, left_out.indptr[1:-1])
        for row, inside, less in ordered(years, frames, of, pairs, silent):
            centred[row], apart[row] = inside, apart[row] * less
    return np.asarray((1 - wrong) * centred), np.asarray(apart), whole


def _share(of: Ints, container: Ints) -> Array:
    """1 over how many frames of its strip are in the container of each."""
    place = np.unique(of * (container.max() + 1) + container, return_inverse=True)[1]
    return np.asarray(1 / np.bincount(place)[place], dtype=np.float32)


def _before_seen(years: Years, date: PrintedDate | None = None) -> Array:
    """The logarithm of P(m, s), of a batch with its printed date."""
    found = np.empty(years.points, dtype=np.float32)
    for share, width, part in zip(FILMS, years.widths, years.parts, strict=True):
        centres = np.full(part.stop - part.start, 1 / (part.stop - part.start))
        found[part] = np.log(np.maximum(share * (centres if date is None else film_printed(width, date)), LEAST))
    return found
