"""What a change of a photograph tells the others in its container, in an archive that is too large to be dated as a
whole meanwhile: from what was kept of the container (`one_container`), and written back to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import Connection, select

from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.soft.summary import inferred_edtf
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.reason.dating import Inference
    from kinphoto.reason.soft.containers import Heard
    from kinphoto.reason.soft.one_container import OneContainer, Said

CHANGED, FAR = 0.003, 0.01
"""By how much what a photograph says of its years must move (total variation) for the others in its container to be
dated again; and where it was moved by births only, since that mostly moves next to nothing (*ours*)."""


class Beside:
    """The containers of photographs that were dated again: what each is `containers` made of now and has `told`
    photographs (both by row ids), for keeping."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.containers: dict[int, bytes] = {}
        self.told: dict[int, bytes] = {}
        self._days: dict[str, tuple[int, ...]] = {}
        """By how many days the best date and the ends of the likely range of photographs (codes) move."""

    def told_by(self, inference: Inference, photographs: Collection[str], changed: str) -> dict[str, bytes]:
        """What their containers tell these photographs now (codes), as far as something in these has moved: the one
        that was `changed`, and others by births."""
        p = t.photograph.c
        query = select(p.code, p.container_id, p.position).where(among(self.connection, p.code, photographs))
        place = {code: (box, position) for code, box, position in self.connection.execute(query) if box is not None}
        if not place:
            return {}
        said, lying = inference.said(photographs), defaultdict[int, list[int]](list)
        for row, group in enumerate(said.photographs):
            first = next((code for code in group if code in place), None)
            if first is not None:
                lying[place[first][0]].append(row)
        found: dict[str, bytes] = {}
        position = {group[0]: next((place[c][1] for c in group if c in place), 0) for group in said.photographs}
        gone = defaultdict[int, list[str]](list)
        for code, (box, _) in place.items():
            if code not in said.row_of:
                gone[box].append(code)
        for box in lying.keys() | gone.keys():
            least = CHANGED if box == place.get(changed, (None, 0))[0] else FAR
            found |= self._in(box, said.take(np.array(lying[box], dtype=np.int64)), position, gone[box], least)
        return {code: found[code] for code in photographs if code in found}

    def _in(
        self, box: int, said: Said, position: Mapping[str, int], gone: Collection[str], least: float
    ) -> dict[str, bytes]:
        """What this container tells all in it, where some of them say something else now and some nothing more."""
        from kinphoto.reason.soft.one_container import OneContainer

        c, p, f = t.one_container.c, t.photograph.c, t.from_container.c
        kept = self.containers.get(box) or self.connection.scalar(select(c.kept).where(c.container_id == box))
        now = None if kept is None else OneContainer.unpacked(kept).changed(said, position, gone, least)
        if now is None:
            return {}
        heard = now.heard()
        query = select(p.id, p.code, f.told).outerjoin(t.from_container, f.photograph_id == p.id)
        there = list(self.connection.execute(query.where(among(self.connection, p.code, now.said.row_of))))
        then = {code: self.told.get(i, told) for i, code, told in there}
        packed = dict(zip(now.said.photographs, heard.packed(heard.rows), strict=True))
        told = {code: one for some, one in packed.items() for code in some}
        self._note(now, then, heard)
        self.told |= {i: told[code] for i, code, _ in there if told[code] != then[code]}
        self.containers[box] = now.packed()
        return told

    def _note(self, now: OneContainer, then: Mapping[str, bytes | None], heard: Heard) -> None:
        """Note by how much dates move when what is heard is no longer what it was `then`."""
        from kinphoto.reason.soft.containers import Heard

        before = {i: told for i, some in enumerate(now.said.photographs) if (told := then.get(some[0])) is not None}
        if (known := Heard.unpacked(before)) is None:
            return
        for row, days in now.moved(known, heard).items():
            for code in now.said.photographs[row]:
                already = self._days.get(code, (0, 0, 0))
                self._days[code] = tuple(one + more for one, more in zip(already, days, strict=True))

    def moved(self) -> dict[str, Estimate]:
        """The estimates (by code) of photographs that were not dated again themselves, as far as they move."""
        p, e = t.photograph.c, t.estimate.c
        query = select(p.code, *e).join(t.photograph, p.id == e.photograph_id)
        if not self._days:
            return {}
        rows = self.connection.execute(query.where(among(self.connection, p.code, self._days))).mappings()
        found = (as_estimate(row) for row in rows)
        return {e.photograph: _later(e, *self._days[e.photograph]) for e in found if e.best is not None}


def _later(estimate: Estimate, best: int, start: int, end: int) -> Estimate:
    """The same, with its best date and the ends of its likely range moved by so many days, as far as is possible."""
    likely_from, likely_to, middle = estimate.likely_from or 0, estimate.likely_to or 0, estimate.best or 0
    low, high = min(estimate.earliest, likely_from), max(estimate.latest, likely_to)
    first, last, middle = (min(max(day, low), high) for day in (likely_from + start, likely_to + end, middle + best))
    first, last = min(first, middle), max(last, middle)
    edtf = inferred_edtf(first, last) if estimate.inferred else estimate.edtf
    return replace(estimate, likely_from=first, likely_to=last, best=middle, edtf=edtf)
