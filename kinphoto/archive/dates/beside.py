"""The messages of a changed photograph to the others in its container, in an archive that is too large to be dated as a
whole meanwhile: from what was kept of the container (`one_container`), and written back to it.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Collection, Mapping
from dataclasses import replace
from typing import TYPE_CHECKING

import numpy as np
from sqlalchemy import Connection, select

from kinphoto.archive.catalogue.scan_numbers import number_of, scan_numbers
from kinphoto.archive.dates.estimates import as_estimate
from kinphoto.archive.dates.stored import Told
from kinphoto.reason.model.arrays import Ints
from kinphoto.reason.model.findings import Estimate
from kinphoto.reason.model.sequences import of_one_series
from kinphoto.reason.soft.summary import inferred_edtf
from kinphoto.store import tables as t
from kinphoto.store.among import among

if TYPE_CHECKING:
    from kinphoto.reason.dating import Inference
    from kinphoto.reason.soft.container_messages import ContainerMessages
    from kinphoto.reason.soft.one_container import OneContainer
    from kinphoto.reason.soft.own_likelihoods import OwnLikelihoods

CHANGED, FAR = 0.01, 0.05
"""By how much the likelihood of a photograph must move (`one_container.moved_by`) for the others in its container to be
dated again; and where it was moved by births only, since that mostly moves hardly anything (*ours*)."""


class Beside:
    """The containers of photographs that were dated again: what each consists of now (`containers`) and its messages to
    photographs (`told`; both by row ids), for keeping."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.containers: dict[int, bytes] = {}
        self.told: dict[int, Told] = {}
        self._dates: dict[str, tuple[int, int, int]] = {}
        """Best date and likely range of photographs (codes) that moved."""

    def told_by(self, inference: Inference, photographs: Collection[str], changed: str) -> dict[str, bytes]:
        """The messages of their containers to these photographs now (codes), as far as something in these has moved:
        the one that was `changed`, and others by births."""
        p = t.photograph.c
        query = select(p.code, p.container_id, p.position).where(among(self.connection, p.code, photographs))
        place = {code: (box, position) for code, box, position in self.connection.execute(query) if box is not None}
        if not place:
            return {}
        said, lying = inference.own_likelihoods(photographs), defaultdict[int, list[int]](list)
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
            here = said.take(np.array(lying[box], dtype=np.int64))
            found |= self._in(box, here, position, gone[box], least, changed)
        return {code: found[code] for code in photographs if code in found}

    def _in(
        self, box: int, said: OwnLikelihoods, position: Mapping[str, int], gone: Collection[str], least: float,
        changed: str,
    ) -> dict[str, bytes]:  # fmt: skip
        """The messages of this container to everything in it, where some likelihoods are different now and some
        photographs are gone."""
        from kinphoto.reason.soft.one_container import OneContainer, moved_by, with_themes_apart

        c = t.one_container.c
        kept = self.containers.get(box) or self.connection.scalar(select(c.kept).where(c.container_id == box)) or b""
        parts, told = list(with_themes_apart(kept)), dict[str, bytes]()
        for k, (there, part) in enumerate(parts):
            here, away = said, gone
            if len(parts) > 1:  # of a photograph that is new nobody knows the theme
                rows = [i for i, some in enumerate(said.photographs) if not there.isdisjoint(some)]
                here, away = said.take(np.array(rows, dtype=np.int64)), there.intersection(gone)
            one = OneContainer.unpacked(part) if changed in there else None
            numbers = None if one is None else self._numbers(box, one, changed)
            if numbers is None and moved_by(part, here, away) <= least:
                continue
            one = OneContainer.unpacked(part) if one is None else one
            kept_now, told_now = self._in_part(
                one if numbers is None else replace(one, number=numbers), here, position, away
            )
            parts[k] = there, kept_now
            told |= told_now
        if told:
            self.containers[box] = b"".join(part for _, part in parts)
        return told

    def _in_part(
        self, one: OneContainer, said: OwnLikelihoods, position: Mapping[str, int], gone: Collection[str]
    ) -> tuple[bytes, dict[str, bytes]]:
        """The same of what is not in a theme, or of a theme; and what is to be kept of it now."""
        p, f = t.photograph.c, t.from_container.c
        now = one.changed(said, position, gone)
        messages = now.messages()
        query = select(p.id, p.code, f.told, f.alone).outerjoin(t.from_container, f.photograph_id == p.id)
        there = self.connection.execute(query.where(among(self.connection, p.code, now.own.row_of))).all()
        then = {code: self.told.get(i, (told, alone)) for i, code, told, alone in there}
        packed = dict(zip(now.own.photographs, messages.packed(messages.rows), strict=True))
        told = {code: one for some, one in packed.items() for code in some}
        anew = self._note(now, then, messages) | said.row_of.keys()
        self.told |= {i: (told[code], then[code][1]) for i, code, *_ in there if code in anew}
        return now.packed(), told

    def _numbers(self, box: int, one: OneContainer, changed: str) -> Ints | None:
        """The numbers of what is in this part of a container, if that of the `changed` photograph is another now, or
        was withdrawn; None if not."""
        if changed not in one.own.row_of:
            return None
        p = t.photograph.c
        i, withdrawn = self.connection.execute(select(p.id, p.number_withdrawn).where(p.code == changed)).one()
        number = None if withdrawn else number_of(self.connection, i)
        if (-1 if number is None else number.value) == one.number[one.own.row_of[changed]]:
            return None
        named = scan_numbers(self.connection, box)
        here = select(p.code, p.id).where(p.container_id == box)
        numbers = {code: named[i].number for code, i in self.connection.execute(here) if i in named}
        firsts = (next((code for code in some if code in numbers), "") for some in one.own.photographs)
        now = np.array(of_one_series([numbers.get(code) for code in firsts]), dtype=np.int64)
        return None if np.array_equal(now, one.number) else now

    def _note(
        self, now: OneContainer, then: Mapping[str, tuple[bytes | None, bytes | None]], messages: ContainerMessages
    ) -> set[str]:
        """Note the dates that move when messages are no longer what they were `then`; whose (codes) they are. The
        others keep their messages, so that tiny changes add up."""
        from kinphoto.reason.soft.container_messages import ContainerMessages
        from kinphoto.reason.soft.one_container import dates_from

        kept = [then[some[0]] for some in now.own.photographs]
        known = ContainerMessages.unpacked({i: told for i, (told, _) in enumerate(kept) if told is not None})
        if known is None:
            return set()
        rows = [row for row in now.moved(known, messages).tolist() if kept[row][1] is not None]
        dates = dates_from([kept[row][1] or b"" for row in rows], np.array(rows, dtype=np.int64), messages)
        for row, date in zip(rows, dates, strict=True):
            self._dates |= dict.fromkeys(now.own.photographs[row], date)
        return {code for row in rows for code in now.own.photographs[row]}

    def keep_alone(self, alone: Mapping[str, bytes]) -> None:
        """Note also the dates of photographs (codes) without the messages of their containers."""
        p, f = t.photograph.c, t.from_container.c
        query = select(p.id, p.code, f.told).join(t.from_container, f.photograph_id == p.id)
        for i, code, told in self.connection.execute(query.where(among(self.connection, p.code, alone))):
            self.told[i] = self.told.get(i, (told, None))[0], alone[code]

    def moved(self) -> dict[str, Estimate]:
        """The estimates (by code) of photographs that were not dated again themselves, as far as they move."""
        p, e = t.photograph.c, t.estimate.c
        query = select(p.code, *e).join(t.photograph, p.id == e.photograph_id)
        if not self._dates:
            return {}
        rows = self.connection.execute(query.where(among(self.connection, p.code, self._dates))).mappings()
        found = (as_estimate(row) for row in rows)
        return {e.photograph: _dated(e, *self._dates[e.photograph]) for e in found if e.best is not None}


def _dated(estimate: Estimate, best: int, first: int, last: int) -> Estimate:
    """The same with another best date and likely range, as far as is possible."""
    low = min(estimate.earliest, estimate.likely_from or estimate.earliest)
    high = max(estimate.latest, estimate.likely_to or estimate.latest)
    first, last, best = (min(max(day, low), high) for day in (first, last, best))
    edtf = inferred_edtf(first, last) if estimate.inferred else estimate.edtf
    return replace(estimate, likely_from=first, likely_to=last, best=best, edtf=edtf)
