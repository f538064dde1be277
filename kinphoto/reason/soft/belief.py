"""Where the posterior of each exposure, and with it a photograph's likely range, is computed.

    claims, known_faces, faces  --->  groups  <--- messages, orders --->  births, other groups
                                        |
                                        v
                              posterior  --->  summary

- A **group** is one variable: photographs that share an exposure. Its prior is flat inside the bounds of its members.
- What is stated about it (`claims`) and its faces (`known_faces`, `uncertain_faces`) are factors on its cells. For
  seven photographs in ten these are all there is.
- Groups that show people with vague births, or that are ordered, also exchange messages (`messages`, `orders`).
- `shared_exposure` allows for the relations that hold a group together being wrong.

Some thousand groups are worked out together, on ragged arrays (`grid`). A narrow posterior is computed again on finer
cells, without the tails that hold less than a hundred-thousandth.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import log as log_

import numpy as np
from scipy import sparse

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.arrays import Array, Ints, starts
from kinphoto.reason.model.batches import PrintedDate
from kinphoto.reason.model.fitted_ages import FittedShare
from kinphoto.reason.model.limits import FIRST_PHOTOGRAPH
from kinphoto.reason.model.lookup import look_up
from kinphoto.reason.model.subjects import Container
from kinphoto.reason.soft.appearances import Appearances
from kinphoto.reason.soft.births import Lives
from kinphoto.reason.soft.claims import GroupStatements
from kinphoto.reason.soft.common_errors import Sharing, shared
from kinphoto.reason.soft.container_messages import Boxes, ContainerMessages, with_others
from kinphoto.reason.soft.containers import Lying, pass_messages, without_tails
from kinphoto.reason.soft.fitted_ages import Wide, learned_share, to_a_date, wide
from kinphoto.reason.soft.grid import QUARTERS, Grid, grid, matching, steps
from kinphoto.reason.soft.groups import Groups
from kinphoto.reason.soft.informants import Informants
from kinphoto.reason.soft.known_faces import FaceFactors, JudgementDoubt, KnownFaces
from kinphoto.reason.soft.neighbours import Neighbours
from kinphoto.reason.soft.one_container import each_by_itself
from kinphoto.reason.soft.orders import Pair
from kinphoto.reason.soft.own_likelihoods import OwnLikelihoods
from kinphoto.reason.soft.shared_exposure import UncertainGroups, cases, mixed, uncertain_groups
from kinphoto.reason.soft.strays import Stray
from kinphoto.reason.soft.strips import Strips, messages_to_frames
from kinphoto.reason.soft.summary import Posterior, posterior, summaries
from kinphoto.reason.soft.uncertain_faces import FaceLikelihood
from kinphoto.reason.soft.workers import parallel_map

TAIL = 1e-5
"""Probability that may be cut off at the ends when a posterior is worked out on finer cells."""
CELLS = 60_000
"""Cells that are worked out together: what a processor keeps at hand."""


@dataclass(frozen=True)
class PosteriorBlock:
    """The posteriors of some photographs: `rows` of `Groups`, a row of `cells` each, and the probability of each cell.

    `members` are the photographs that each is of: all of a group, or one of them where its relations are in doubt.
    `doubts` are the judged ages of known people that may be careless, with their chance.
    """

    rows: Ints
    cells: Grid
    mass: Array
    members: tuple[tuple[str, ...], ...]
    doubts: tuple[JudgementDoubt, ...] = ()

    @cached_property
    def summaries(self) -> tuple[Array, Array, Array]:
        """Median, and start and end of the likely range, of each group."""
        return summaries(self.cells, self.mass)


class Beliefs:
    """What is believed of the exposures of all groups that something bears on."""

    def __init__(
        self, groups: Groups, lives: Lives, informants: Informants | None = None, *, isolated: bool = False,
        by_strips: Collection[Pair] = (), fitted: FittedShare | None = None,
    ) -> None:  # fmt: skip
        """`isolated`: groups without messages, whose relations are certain. `by_strips`: the pairs of groups whose
        order comes from their strip of film. `fitted`: how often ages are fitted to a date, if it is not to be learned
        from these."""
        self.groups, self.lives = groups, lives
        self.start, self.end = groups.first, groups.last
        """Days between which the posteriors are worked out: beyond them is nothing, or hardly anything."""
        self.statements = GroupStatements(groups.members, lives.known, lives.bounds)
        self.appearances = Appearances(groups, lives, isolated=isolated)
        self.informants = informants or Informants.learned(self.statements, self.appearances)
        points = [self.informants.points(name) for name in self.appearances.informants]
        well_known = [self.informants.well_known(name) for name in self.appearances.informants]
        self.known_faces = KnownFaces(
            self.appearances.known_faces, self.appearances.numbers, points, well_known, groups.first, groups.last
        )
        known, numbers = self.appearances.known_faces, self.appearances.numbers
        if fitted is None:
            undated = np.setdiff1d(np.arange(len(groups.members)), self.statements.dated)
            fitted = learned_share(known, undated, numbers, points, well_known, groups)
        self.fitted = fitted
        self.to_a_date = to_a_date([face for face in known if face.fitted], numbers, groups)
        """The faces whose ages may have been fitted to a date, as they are if these were."""
        self.unusual = FaceLikelihood(lives)
        self.shift = self.appearances.shifts()
        self.break_row, self.breaks = self._breaks()
        self.neighbours = Neighbours(self, by_strips)
        self.uncertain = UncertainGroups({}, {}, groups) if isolated else uncertain_groups(groups, lives)
        self.from_containers: ContainerMessages | None = None
        """The messages of containers."""
        self.incoming: ContainerMessages | None = None
        """The messages of containers and strips of film."""
        self.containers: dict[str, bytes] = {}
        """What is to be kept of each container (`OneContainer`), by id."""
        self.strips: Boxes | None = None
        """What is known of the strips, by their numbers in `Strips`."""
        self.off_strips: list[Stray] = []
        """The frames (by their rows of `Groups`) that hardly belong on their strips."""

    def pass_container_messages(
        self, rows: Ints, containers: Sequence[Container], strips: Strips | None = None, *, lasting: bool = False
    ) -> None:
        """Pass messages between the containers of these groups (ascending) and the groups. Frames of one strip receive
        nothing of each other by their containers. `lasting`: keep what each container is worked out from."""
        likelihood, first = self.by_quarter(rows)
        lying = Lying.read(rows, self.groups.members, self.lives.known.photographs, containers)
        sharing = shared(self, rows, first, likelihood)
        if strips is not None:
            sharing = replace(sharing, strips=strips.together(rows))
            if len(batches := strips.in_batches):
                alone = self._without_printed_dates(batches, first, likelihood.shape[1])
                sharing = sharing.with_waits(np.searchsorted(rows, batches), strips.of_batches, likelihood, alone)
        messages, inner, outer, trees = pass_messages(lying, first, likelihood, sharing, TAIL)
        self.from_containers = self.incoming = messages
        if lasting:
            self.containers = each_by_itself(trees, first, self.groups.members)
        self._bound(rows, self.start[rows], self.end[rows], inner, outer)

    def own_likelihoods(self, rows: Ints) -> OwnLikelihoods:
        """The likelihoods of these groups (ascending) by themselves and by births."""
        if not len(rows):
            none = sparse.csr_array((0, 1), dtype=np.float32)
            return OwnLikelihoods.of((), 0, np.zeros((0, 1), dtype=np.float32), Sharing(none, none))
        likelihood, first = self.by_quarter(rows)
        members = [self.groups.members[row] for row in rows.tolist()]
        return OwnLikelihoods.of(members, first, likelihood, shared(self, rows, first, likelihood))

    def pass_strip_messages(self, strips: Strips) -> None:
        """Pass messages between strips of film and their frames."""
        rows = strips.rows
        likelihood, first = self.by_quarter(rows, orders=False)
        cells = likelihood.shape[1]
        if len(batches := strips.in_batches):
            likelihood[np.searchsorted(rows, batches)] = self._without_printed_dates(batches, first, cells)
        messages = np.ones_like(likelihood)
        if self.from_containers is not None:
            messages = self.from_containers.between(rows, first, cells)
        printed = dict(
            zip(strips.printed, self._printed_dates(list(strips.printed.values()), first, cells), strict=True)
        )
        found = messages_to_frames(strips, likelihood, messages, shared(self, rows, first, likelihood), first, printed)
        self.incoming = with_others(self.from_containers, rows, first, found.message)
        self.off_strips = [stray.later(first - self.incoming.first, int(rows[stray.place])) for stray in found.strays]
        self.strips = found.known
        inner, outer = without_tails(found.message * likelihood, TAIL)
        self._bound(rows, self.groups.first[rows], self.groups.last[rows], first + inner, first + outer)

    def _without_printed_dates(self, rows: Ints, first: int, cells: int) -> Array:
        """The posteriors of these groups without the messages of orders and without their printed dates, on `cells`
        quarter-years from `first` on."""
        known, members = self.lives.known, [self.groups.members[row] for row in rows.tolist()]
        claims = defaultdict[str, list[ev.DateClaim]](list)
        for p in {p for some in members for p in some} & known.claims.keys():
            claims[p] = [claim for claim in known.claims[p] if claim.claim is not ev.Claim.PRINT_STAMP]
        bare = GroupStatements(members, replace(known, claims=claims), self.lives.bounds)
        found = np.zeros((len(rows), cells), dtype=np.float32)
        for some in self.chunks(rows):
            grid, place = self.cells(some, self.groups.first[some], self.groups.last[some]), np.searchsorted(rows, some)
            log = self._local(some, grid, self.known_faces.factors(grid, some))[0]
            log += bare.likelihood(grid, place) - self.statements.likelihood(grid, some)
            found[place] = _by_quarter(grid, grid.masses(log - self.neighbours.from_orders(some, grid)), first, cells)
        return found

    def _printed_dates(self, claims: Sequence[ev.DateClaim], first: int, cells: int) -> list[PrintedDate]:
        """Printed dates, and the density of the time of a picture by each alone, on `cells` quarter-years."""
        if not claims:
            return []
        photographs = tuple(self.lives.known.photographs[claim.photograph] for claim in claims)
        alone = look_up(ev.Evidence(photographs=photographs, statements=tuple(claims)))
        statements = GroupStatements([(p.id,) for p in photographs], alone, self.lives.bounds)
        rows = np.arange(len(claims))
        start, end = (np.full(len(claims), float(QUARTERS[edge])) for edge in (first, first + cells))
        line = grid(start, end, *statements.breaks_of(rows))
        found = _by_quarter(line, line.masses(statements.likelihood(line, rows)), first, cells)
        spans = [claim.date.span for claim in claims]
        middles = np.array([((span.first or 0) + (span.last or 0) + 1) / 2 for span in spans])
        days = np.interp(middles, QUARTERS[first : first + cells + 1], np.arange(cells + 1)).tolist()
        wrong = (ev.CHANCE_WRONG[claim.trust] for claim in claims)
        return [PrintedDate(*one) for one in zip(found, days, wrong, strict=True)]

    def _bound(self, rows: Ints, start: Array, end: Array, inner: Ints, outer: Ints) -> None:
        """Leave out what is before the quarter-year `inner` and after `outer`."""
        self.start, self.end = self.start.copy(), self.end.copy()
        self.start[rows] = np.maximum(start, QUARTERS[inner])
        self.end[rows] = np.minimum(end, QUARTERS[outer + 1])

    def by_quarter(self, rows: Ints, *, orders: bool = True) -> tuple[Array, int]:
        """The posteriors of these groups without the messages of containers, by quarter-year (float32); and the first
        one. Without `orders` by relations no message returns to where it came from.

        Those that exchange messages have been worked out for that, unless their ages may suit another date."""
        ends = np.searchsorted(QUARTERS, [self.groups.first[rows].min(), self.groups.last[rows].max()], side="right")
        first, cells = int(ends[0]) - 1, int(ends[1] - ends[0]) + 1

        def chunk(some: Ints) -> tuple[Ints, Array]:
            grid = self.cells(some, self.groups.first[some], self.groups.last[some])
            log = self._local(some, grid, self.known_faces.factors(grid, some))[0]
            mass = grid.masses(log if orders else log - self.neighbours.from_orders(some, grid))
            return some, _by_quarter(grid, mass, first, cells)

        found = np.zeros((len(rows), cells), dtype=np.float32)
        known = np.intersect1d(rows, self.neighbours.rows)
        known = known[self.shift[known] == 0]
        if not orders:
            known = np.setdiff1d(known, self.neighbours.ordered)
        for some, part in parallel_map(chunk, self.chunks(np.setdiff1d(rows, known))):
            found[np.searchsorted(rows, some)] = part
        at = np.searchsorted(rows, known)
        for places, quarters, mass in self.neighbours.by_quarter(known):
            found[at[places], quarters - first] = mass
        return found, first

    def posteriors(self, rows: Ints, above: float = 1.0) -> Iterator[PosteriorBlock]:
        """The posteriors of all photographs of these groups (ascending), in parts of some thousand.

        Doubts are included where their chance is greater than `above`.
        """
        apart = np.array([row for row in rows.tolist() if row in self.uncertain.splits], dtype=np.int64)
        for parts in parallel_map(
            lambda chunk: self._posterior_blocks(chunk, above), self.chunks(np.setdiff1d(rows, apart))
        ):
            yield from parts
        if len(apart):
            yield from self._mixed_over_splits(apart, above)

    def _mixed_over_splits(self, rows: Ints, above: float) -> Iterator[PosteriorBlock]:
        """The posteriors of photographs whose shared exposure is uncertain."""
        sides = Beliefs(
            self.uncertain.sides, self.lives, self.informants, isolated=True, fitted=FittedShare(self.fitted.mean)
        )
        begin = {row: self.uncertain.first[row] for row in rows.tolist()}
        rows_of_sides = np.array([
            first + i for row, first in begin.items() for i in range(1 + 2 * len(self.uncertain.splits[row]))
        ], dtype=np.int64)  # fmt: skip
        evidence = sides.log_evidence(rows_of_sides)
        of_sides: dict[int, Posterior] = {}
        for chunk in sides.chunks(rows_of_sides):
            for part in sides._posterior_blocks(chunk, 1.0):
                of_sides |= {row: posterior(part.cells, part.mass, i) for i, row in enumerate(part.rows.tolist())}
        for chunk in self.chunks(rows):
            for part in self._posterior_blocks(chunk, above):
                together = {row: posterior(part.cells, part.mass, i) for i, row in enumerate(part.rows.tolist())}
                yield _mixed(part, [
                    (row, member, mixed(self._cases(row, member, whole, evidence, of_sides)))
                    for row, whole in together.items() for member in self.groups.members[row]
                ])  # fmt: skip

    def _cases(
        self, row: int, member: str, whole: Posterior, evidence: dict[int, float], of_sides: dict[int, Posterior]
    ) -> list[tuple[float, Posterior]]:
        """The mixture of a photograph: its posterior in the whole group and in each split, with their weights."""
        some, first = self.uncertain.splits[row], self.uncertain.first[row]
        chance = cases(some, np.array([evidence[first + i] for i in range(1 + 2 * len(some))])).tolist()
        side = [first + 1 + 2 * i + (member not in split.sides[0]) for i, split in enumerate(some)]
        return [(chance[0], whole), *((c, of_sides[s]) for c, s in zip(chance[1:], side, strict=True))]

    def log_evidence(self, rows: Ints) -> dict[int, float]:
        """log Z of `shared_exposure`, for each of these groups."""
        found = {}
        for chunk in self.chunks(rows):
            cells = self.cells(chunk, self.groups.first[chunk], self.groups.last[chunk])
            log = self._local(chunk, cells, self.known_faces.factors(cells, chunk))[0] + np.log(cells.width)
            top = cells.per_row(log, np.maximum)
            total = top + np.log(cells.per_row(np.exp(log - np.repeat(top, cells.sizes))))
            for row, value in zip(chunk.tolist(), total.tolist(), strict=True):
                indexed = min(self.lives.known.photographs[m].indexed for m in self.groups.members[row])
                found[row] = value - log_(indexed + 1 - FIRST_PHOTOGRAPH)
        return found

    def _posterior_blocks(self, rows: Ints, above: float) -> list[PosteriorBlock]:
        """The posteriors of a chunk, each on cells as fine as it wants."""
        # Where ages suit another date, that may be outside of what the container left of the range.
        fitted, whole = self.shift[rows] > 0, (self.groups.first[rows], self.groups.last[rows])
        found, start, end = [], np.where(fitted, whole[0], self.start[rows]), np.where(fitted, whole[1], self.end[rows])
        shifted: Wide | None = None
        while len(rows):
            cells = self.cells(rows, start, end)
            face_factors = self.known_faces.factors(cells, rows)
            log, by_ages, shifted = self._local(rows, cells, face_factors, shifted)
            if self.incoming is not None:
                log += self.incoming.on(rows, cells)
            mass = cells.masses(log)
            inner = _inner(cells, mass)
            done = steps(*inner) >= steps(start, end)
            at, begin = cells.of(np.flatnonzero(done))
            wanted = above < 1 and done.any()
            suits = cells.masses(log + by_ages) if wanted else mass  # the dates that the ages suit
            doubts = tuple(
                d for some in face_factors if wanted
                for d in some.doubts(suits if some.arrays.fitted else mass, done, above)
            )  # fmt: skip
            members = tuple(self.groups.members[row] for row in rows[done].tolist())
            part = PosteriorBlock(rows[done], Grid(begin, cells.left[at], cells.right[at]), mass[at], members, doubts)
            if len(part.rows):
                _ = part.summaries  # here, where other threads can work meanwhile
                found.append(part)
            shifted = shifted.take(np.flatnonzero(~done[self.shift[rows] > 0]))
            rows, start, end = rows[~done], inner[0][~done], inner[1][~done]
        return found

    def chunks(self, rows: Ints) -> Iterable[Ints]:
        """These groups in chunks of about CELLS cells."""
        sizes = (self.end - self.start)[rows] / 91 + 1
        return np.split(rows, np.flatnonzero(np.diff(np.cumsum(sizes) // CELLS)) + 1) if len(rows) else []

    def unary(self, rows: Ints, cells: Grid, fitted: Array) -> Array:
        """The logarithm of all factors but messages, in each cell. Of the flagged rows it is of the date that their
        ages suit, which messages to births are about."""
        face_factors = self.known_faces.factors(cells, rows)
        (total, there), some = self._of_exposure(rows, cells, face_factors), np.flatnonzero(fitted)
        shifted = self._wide(total, rows, some, cells).times(self._to_a_date(rows, cells)[cells.of(some)[0]])
        total -= there
        for one in face_factors:
            if one.arrays.fitted:
                total += one.likelihood()
        return shifted.mixed(total, some, cells)

    def _local(
        self, rows: Ints, cells: Grid, face_factors: list[FaceFactors], shifted: Wide | None = None
    ) -> tuple[Array, Array, Wide]:
        """The logarithm of everything but the messages of containers, in each cell; how much of that is lost where ages
        are taken as they are; and the part in which they suit another date, worked out here if it is not given."""
        (total, there), orders = self._of_exposure(rows, cells, face_factors), self.neighbours.from_orders(rows, cells)
        ages, some_rows = self.neighbours.from_births(rows, cells), np.flatnonzero(self.shift[rows] > 0)
        if shifted is None:
            shifted = self._wide(ages + self._to_a_date(rows, cells), rows, some_rows, cells)
        for some in face_factors:
            if some.arrays.fitted:
                ages += some.likelihood()
        ages -= there
        mixed = shifted.mixed(ages, some_rows, cells)
        return total + orders + mixed, ages - mixed, shifted

    def _wide(self, log: Array, rows: Ints, some: Ints, cells: Grid) -> Wide:
        """What of this (in the cells of `rows`) is shifted in `some` of these rows."""
        return wide(log, some, cells, self.shift[rows[some]], self.fitted.of(rows[some].tolist()))

    def _to_a_date(self, rows: Ints, cells: Grid) -> Array:
        """The logarithm of the likelihood of ages that may have been fitted to a date, if they were, in each cell."""
        return sum((one.likelihood() for one in self.to_a_date.factors(cells, rows)), np.zeros(len(cells.left)))

    def _of_exposure(self, rows: Ints, cells: Grid, face_factors: list[FaceFactors]) -> tuple[Array, Array]:
        """The logarithm of the factors of the exposure itself: not the ages that may suit another date. And what of it
        those ages have in them too (that they lived then), so that it counts once where both dates are the same."""
        total, there = self.statements.likelihood(cells, rows), np.zeros(len(cells.left))
        for some in face_factors:
            if some.arrays.fitted:
                there += some.alive()
            else:
                total += some.likelihood()
        total += there
        for i, row in enumerate(rows.tolist() if self.appearances.unusual else ()):
            for region in self.appearances.unusual.get(row, ()):
                total[cells.start[i] : cells.start[i + 1]] += self.unusual.likelihood(region, cells.cells(i))
        return total, there

    def cells(self, rows: Ints, start: Array, end: Array) -> Grid:
        """Cells for these groups, cut where their factors jump."""
        mine, place = matching(self.break_row, rows)
        return grid(start, end, place, self.breaks[mine])

    def _breaks(self) -> tuple[Ints, Array]:
        """Days on which a factor jumps, by group in ascending order."""
        unusual = [
            (row, day)
            for row, regions in self.appearances.unusual.items()
            for region in regions
            for day in self.unusual.breaks(region)
        ]
        rows, days = (np.array([one[k] for one in unusual]) for k in (0, 1))
        row = np.concatenate(
            [self.statements.break_row, *(c.break_row for c in self.known_faces.arrays), rows.astype(np.int64)]
        )
        day = np.concatenate([self.statements.breaks, *(c.breaks for c in self.known_faces.arrays), days])
        order = np.argsort(row, kind="stable")
        return row[order], day[order]


def _by_quarter(grid: Grid, mass: Array, first: int, cells: int) -> Array:
    """The masses of each row added up by quarter-year, `cells` of them from `first` on (float32)."""
    at = grid.row * cells + grid.quarter - first
    return np.asarray(np.bincount(at, mass, minlength=grid.rows * cells).reshape(-1, cells), dtype=np.float32)


def _mixed(part: PosteriorBlock, found: list[tuple[int, str, Posterior]]) -> PosteriorBlock:
    """A part with other posteriors, one for each photograph."""
    edges = [one.edges for *_, one in found]
    cells = Grid(
        starts(np.array([len(e) - 1 for e in edges], dtype=np.int64)),
        np.concatenate([e[:-1] for e in edges]),
        np.concatenate([e[1:] for e in edges]),
    )
    rows = np.array([row for row, *_ in found], dtype=np.int64)
    mass = np.concatenate([one.mass for *_, one in found])
    return PosteriorBlock(rows, cells, mass, tuple((member,) for _, member, _ in found), part.doubts)


def _inner(cells: Grid, mass: Array) -> tuple[Array, Array]:
    """The cells that hold all but the tails of each row, as intervals."""
    rising = np.cumsum(mass)
    before = np.concatenate([[0.0], rising])[cells.start[:-1]]
    first = np.clip(np.searchsorted(rising, before + TAIL / 2), cells.start[:-1], cells.start[1:] - 1)
    last = np.clip(np.searchsorted(rising, before + 1 - TAIL / 2), first, cells.start[1:] - 1)
    return cells.left[first], cells.right[last]
