"""Messages between photographs of one occasion in a container (`model/containers.with_occasions`), worked out fast.

The message to a photograph is linear in its chances P_i(t) of the container's parameters, so those of all photographs
of a container go through one table by t and quarter-year: p(y | t) times the sum of l_j(y) / e_j(t). With L the
loadings of the errors (c = L L^T), the sum over all others with 1 - c_ij is the sum over all, less one for each
column of L, less the photograph itself.

Only for speed: parameters that no photograph gives a noticeable chance are left out (`NEGLIGIBLE`).
"""

from __future__ import annotations

from collections import defaultdict
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from scipy import sparse

from kinphoto.reason.model.arrays import Array, Ints
from kinphoto.reason.model.containers import STRAY, same_occasion
from kinphoto.reason.soft.common_errors import LEAST

NEGLIGIBLE = 1e-4
"""Parameters that no photograph of a container gives more chance are left out."""


@dataclass(frozen=True)
class Occasions:
    """Photographs of some containers: the number of the container of each (`of`, ascending), their likelihoods l_j(y)
    (photographs, quarter-years) and ln e_j(t) (photographs, points); N(y; t) of all points; the archive's rate by
    container; the loadings of their errors, which photographs of different containers do not share; and 1 - c_ij of
    those between which nothing is passed (None: there are none)."""

    of: Ints
    likelihood: Array
    own: Array
    bells: Array
    rates: Array
    loads: sparse.csr_array
    silent: sparse.csr_array | None = None

    def gained(self, at: slice, chance: Array, message: Array) -> Array:
        """The messages of the others' occasions to these photographs (`at`), less the part of their `message` M_i that
        these replace: rows that add up to 0. `chance` (photographs, points) is P_i(t)."""
        found = np.zeros_like(message)
        for container in np.unique(self.of[at]).tolist():
            begin, end = np.searchsorted(self.of, [container, container + 1]).tolist()
            if end - begin > 1:
                whom = np.arange(max(begin, at.start), min(end, at.stop))
                mine = slice(whom[0] - at.start, whom[-1] + 1 - at.start)
                by_others = self._by_others(slice(begin, end), whom - begin, chance[mine])
                found[mine] = by_others - by_others.sum(axis=1, keepdims=True) * message[mine]
        return found

    @cached_property
    def _shared(self) -> dict[int, list[tuple[Ints, Array]]]:
        """For each judge or birth of several photographs of a container their places in it, and their loadings."""
        columns = self.loads.tocsc()
        columns.sort_indices()
        found: dict[int, list[tuple[Ints, Array]]] = defaultdict(list)
        for k in np.flatnonzero(np.diff(columns.indptr) > 1).tolist():
            some = slice(columns.indptr[k], columns.indptr[k + 1])
            rows = columns.indices[some]
            container = int(self.of[rows[0]])
            found[container].append((rows - np.searchsorted(self.of, container), columns.data[some]))
        return found

    def _by_others(self, here: slice, whom: Ints, chance: Array) -> Array:
        """The sum over j of a_ij P_j(y) for some photographs i of a container (`here`; `whom` are their places in it),
        with P_j what is known of the time of j without i: rows that add up to the sum of a_ij."""
        likelihood, n = self.likelihood[here], here.stop - here.start
        some = np.flatnonzero(chance.max(axis=0) > NEGLIGIBLE)
        p, seen = chance[:, some], np.exp(-self.own[here, some])
        p /= p.sum(axis=1, keepdims=True)
        density = (1 - STRAY) * self.bells[some] + STRAY * self.rates[self.of[here.start]]
        by_others = p @ (density * (seen.T @ likelihood))
        many, alone = np.full(len(p), n, dtype=np.float32), np.ones(len(p), dtype=np.float32)
        for rows, load in self._shared.get(int(self.of[here.start]), ()):
            mine = (rows >= whom[0]) & (rows <= whom[-1])
            place, by = rows[mine] - whom[0], load[mine]
            table = density * ((seen[rows] * load[:, None]).T @ likelihood[rows])
            by_others[place] -= by[:, None] * (p[place] @ table)
            many[place] -= by * load.sum()
            alone[place] -= by * by
        by_others -= alone[:, None] * ((p * seen[whom]) @ density) * likelihood[whom]
        many -= alone
        if self.silent is not None:
            left = self.silent[here.start + whom, here]
            i, j = left.tocoo().coords
            np.subtract.at(by_others, i, left.data[:, None] * ((p[i] * seen[j]) @ density) * likelihood[j])
            many -= left.sum(axis=1)
        np.maximum(by_others, 0.0, out=by_others)  # what rounding leaves
        by_others *= (same_occasion(n) * np.maximum(many, 0.0) / np.maximum(by_others.sum(axis=1), LEAST))[:, None]
        return np.asarray(by_others)
