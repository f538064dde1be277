"""The posterior of an exposure: factors multiplied on cells, and messages along orders.

The layout is that of a factor graph (Kschischang, Frey and Loeliger, "Factor graphs and the sum-product algorithm",
IEEE Transactions on Information Theory 47, 2001):

    statements  --->  unary factors  --->  groups  <--- messages --->  groups  --->  read-out
                      claims, faces       belief       orders                        readout

- A **group** is one variable: photographs with one exposure (copies, prints from one negative, one occasion). Its prior
  is flat inside the bounds of all its members.
- **Unary factors** come from `claims` (what is said of the photograph) and `faces` (its people). Births and deaths are
  summed out inside a factor. The faces that one informant judged in one group share the informant's bias and spread:
  their matrices (points by cells) are multiplied, and the points summed out afterwards. Everything is held as the
  logarithm of its mean over each cell.
- **Messages** join groups in `orders.py`. A birth that several groups share would become a variable of the same kind:
  its factor is then no longer summed out in `faces`, and messages between births and groups are added to `Belief.log`
  exactly as those of orders are.

A posterior that has drawn together is worked out again on finer cells (`grid`), without the tails that hold less than a
hundred-thousandth.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

import numpy as np

from kinphoto.reason import evidence as ev
from kinphoto.reason import perception
from kinphoto.reason.claims import About, about
from kinphoto.reason.faces import SMALLEST, Lives, Region, Sight, regions
from kinphoto.reason.findings import Unlikely
from kinphoto.reason.grid import Array, Cells, between, step
from kinphoto.reason.lookup import Lookup
from kinphoto.reason.span import DAYS_PER_YEAR

TAIL = 1e-5
"""Probability that may be cut off at the ends when a posterior is worked out on finer cells."""
SHARING = (ev.Related.COPY_OF, ev.Related.SAME_NEGATIVE, ev.Related.SAME_OCCASION)


@dataclass(frozen=True)
class Group:
    """Photographs that share one exposure, the bounds of it, and what bears on it."""

    photographs: tuple[str, ...]
    start: float
    end: float
    said: tuple[About, ...]
    regions: tuple[Region, ...]


@dataclass(frozen=True)
class Belief:
    """What the factors say of one group: `log` is the logarithm of their product in each cell, up to a constant.

    `faces` are the regions on these cells, those that one informant judged together.
    """

    group: Group
    cells: Cells
    log: Array
    faces: tuple[tuple[Sight, ...], ...] = ()

    @property
    def mass(self) -> Array:
        """The probability of each cell."""
        return masses(self.log, self.cells)


def masses(log: Array, cells: Cells) -> Array:
    """Probabilities from the logarithms of densities."""
    weight = np.exp(log - log.max()) * cells.width
    return np.asarray(weight / weight.sum())


def group_up(lives: Lives, wanted: Iterable[str] | None = None) -> list[Group]:
    """The groups of all photographs that have a date (pages have none), in the order of their first members; or those
    of the photographs `wanted`."""
    known = lives.known
    copies = {r.photograph for r in known.relations if r.related is ev.Related.COPY_OF}
    wanted = None if wanted is None else set(wanted)
    sets = together([p.id for p in known.photographs.values() if not p.page], known)
    return [_group(members, copies, lives) for members in sets if wanted is None or not wanted.isdisjoint(members)]


def together(photographs: list[str], known: Lookup) -> list[tuple[str, ...]]:
    """Photographs that share an exposure, by the relations between them."""
    near: dict[str, list[str]] = defaultdict(list)
    for r in known.relations:
        if r.related in SHARING:
            near[r.photograph].append(r.other)
            near[r.other].append(r.photograph)
    present, done, found = set(photographs), set(), []
    for photograph in photographs:
        if photograph in done:
            continue
        reached, edge = [photograph], [photograph]
        done.add(photograph)
        while edge:
            for other in near[edge.pop()]:
                if other not in done and other in present:
                    done.add(other)
                    reached.append(other)
                    edge.append(other)
        found.append(tuple(reached))
    return found


def _group(members: tuple[str, ...], copies: set[str], lives: Lives) -> Group:
    spans = [lives.walls.of_exposure(p, lives.known) for p in members]
    first, last = max(s.first or 0 for s in spans), min(s.last or 0 for s in spans)
    first, last = min(first, last), max(first, last)  # one occasion can take two days
    said = tuple(about(p, lives.known, lives.walls, copied=p in copies) for p in members)
    return Group(members, float(first), last + 1.0, said, tuple(regions(members, lives.known)))


def believe(group: Group, lives: Lives, *, finer: bool = True) -> Belief:
    """The product of a group's unary factors. `finer` allows cutting the tails off and working on finer cells."""
    breaks = list(_breaks(group, lives))
    start, end = group.start, group.end
    while True:
        cells = between(start, end, breaks)
        belief = _product(group, cells, lives)
        inner = _inner(belief)
        if not finer or step(*inner) >= step(start, end):
            return belief
        start, end = inner


def _breaks(group: Group, lives: Lives) -> Iterator[float]:
    """Days on which a factor jumps."""
    for said in group.said:
        yield from said.breaks()
    for name in (n for region in group.regions for n in region.names):
        for part in lives.birth(name.person).parts:
            if len(part.weight) == 1:
                yield part.first
                yield from (part.first + years * DAYS_PER_YEAR for age in name.stated for years in stated_edges(age))
        dated = lives.death(name.person).dated
        if dated is not None:
            yield float(dated.span.first or 0)
            yield (dated.span.last or 0) + 1.0


def stated_edges(age: ev.Age) -> tuple[float, ...]:
    """Ages (years) at which the likelihood of a stated age jumps."""
    end = perception.after(age.high)
    return (age.low, end) if age.trust is ev.Trust.CERTAIN else (age.low - 1, age.low, end, end + 1)


def _inner(belief: Belief) -> tuple[float, float]:
    """The cells that hold all but the tails, as an interval."""
    below = np.cumsum(belief.mass)
    first = int(np.searchsorted(below, TAIL / 2))
    last = int(np.searchsorted(below, 1 - TAIL / 2))
    edges = belief.cells.edges
    return float(edges[first]), float(edges[min(last, len(belief.cells) - 1) + 1])


def _product(group: Group, cells: Cells, lives: Lives) -> Belief:
    total = np.zeros(len(cells))
    for said in group.said:
        total += _log(said.likelihood(cells, lives.known, lives.walls))
    faces = []
    for regions_ in _by_informant(group.regions):
        sights = tuple(lives.region(r, cells, shared=len(regions_) > 1) for r in regions_)
        total += _over_points(sights)[1]
        faces.append(sights)
    return Belief(group, cells, total, tuple(faces))


def _by_informant(found: Iterable[Region]) -> list[list[Region]]:
    """Regions whose ages one informant judged, together; any other alone."""
    judged: dict[object, list[Region]] = defaultdict(list)
    for i, region in enumerate(found):
        one = region.age is not None and len(region.informants) == 1
        judged[("by", *region.informants) if one else i].append(region)
    return list(judged.values())


def _over_points(sights: tuple[Sight, ...]) -> tuple[Array, Array]:
    """The faces that one informant judged, together: the logarithm at each point over bias and spread, weights included
    (15, cells), or (1, cells) for a single face; and the points summed out (cells,)."""
    points = np.sum([s.log for s in sights], axis=0)
    if len(points) > 1:
        points = points + np.log(perception.WEIGHTS)[:, None]
    return points, np.asarray(np.logaddexp.reduce(points))


def _log(likelihood: Array) -> Array:
    return np.log(np.maximum(likelihood, SMALLEST))


def careless(belief: Belief, lives: Lives) -> Iterator[Unlikely]:
    """For every judged age of somebody alone on a region: the chance that it has nothing to do with the age,

        eps f0 / (eps f0 + (1 - eps) * predictive),

    where f0 is its likelihood under a careless judge and `predictive` the one under a careful judge, given everything
    else but the ages judged on that region.
    """
    for sights in belief.faces:
        points, summed = _over_points(sights)
        for sight in sights:
            if sight.rows is not None and sight.region.age is not None and lives.tells(sight.region.names[0].person):
                logs = points - sight.log + belief.log - summed
                weight = np.exp(logs - logs.max()) * belief.cells.width
                yield from _careless(sight, sight.rows, weight, belief.cells, lives)


def _careless(sight: Sight, rows: Array, weight: Array, cells: Cells, lives: Lives) -> Iterator[Unlikely]:
    """`weight` (points, cells): the joint probability, up to a factor, of points and exposure without this region."""
    region = sight.region
    name = region.names[0]
    present = max(float((weight @ rows[0]).sum()), SMALLEST)
    for age, judged in region.judged:
        seen = rows if len(region.judged) == 1 else lives.name(name, judged, cells, shared=len(weight) > 1)
        predictive = float((weight * seen[1:]).sum()) / present
        doubt = judged.doubt * judged.careless
        probability = doubt / (doubt + (1 - judged.doubt) * predictive)
        yield Unlikely(age_photograph(age, region, lives.known), name.person, age.id, probability)


def age_photograph(age: ev.Age, region: Region, known: Lookup) -> str:
    """The photograph on which an age was judged (a group has several)."""
    seen = known.statements.get(age.appearance)
    return seen.photograph if isinstance(seen, ev.Appearance) else region.photograph
