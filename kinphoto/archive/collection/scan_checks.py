"""Checking scans: what follows from what was measured (`kept_measures.py`) is worked out when asked.

So a floor that somebody sets, or what is found out about the print, counts at once. A finding that somebody accepted
stays quiet.
"""

from __future__ import annotations

import os
import time
from collections import defaultdict
from collections.abc import Callable, Iterator, Mapping, Sequence
from contextlib import nullcontext
from dataclasses import dataclass
from typing import Annotated, Any

from sqlalchemy import Connection, Engine, RowMapping, select

from kinphoto.archive.catalogue.finding import find_container, find_scan, find_scans
from kinphoto.archive.catalogue.vocabulary import nearest
from kinphoto.archive.collection.captured import captured, print_size
from kinphoto.archive.collection.images import shown_size, source_of
from kinphoto.archive.collection.kept_measures import compare_specks, keep, known_hashes, read_measures
from kinphoto.archive.collection.resolution_floors import floors_set
from kinphoto.documents import INTERNAL
from kinphoto.errors import InvalidValueError, NotFoundError, UnreadableFileError
from kinphoto.scans import thumbnails, upright
from kinphoto.scans.checks.findings import findings, largest_good_print
from kinphoto.scans.checks.limits import BY_KIND, Limit, Weight
from kinphoto.scans.checks.measures import VERSION, Measures
from kinphoto.scans.checks.originals import Original
from kinphoto.scans.pages import file_path
from kinphoto.scans.walk import Refused, shown
from kinphoto.scans.workers import Workers, cores
from kinphoto.store import tables as t
from kinphoto.store.among import among
from kinphoto.store.opening import folder_of
from kinphoto.store.roots import below as below_folder
from kinphoto.store.session import Work, reading

Progress = Callable[[int, int], None]

_BATCH_SECONDS = 0.5
_FILM = frozenset(("slide-35mm", "colour-slide", "autochrome", "nitrate-negative", "safety-negative", "glass-negative"))
_COLOURED = frozenset(
    "salted-paper albumen collodion-printing-out gelatin-printing-out cyanotype autochrome colour-slide chromogenic "
    "chromogenic-fibre resin-coated-colour instant-peel-apart instant-integral".split()
)
"""Processes whose prints have a tone or colours of their own."""


@dataclass(frozen=True, slots=True)
class Finding:
    """Something that was found about a scan."""

    kind: Annotated[str, "which check it is of, as docs/checks.md lists them"]
    title: Annotated[str, "what is the matter"]
    weight: Annotated[str, "`redo` (scan it again), `look` (look at it) or `note` (about the print; nothing to do)"]
    measured: Annotated[str, "what was measured, in words"]
    value: Annotated[float, "the same as a number"]
    limit: Annotated[str, "the limit, in words"]
    source: Annotated[str, "where the limit comes from"]
    remedy: Annotated[str, "what to do"]
    accepted: Annotated[bool, "true when somebody accepted it"] = False
    why: Annotated[str, "why it was accepted, in their words"] = ""


@dataclass(frozen=True, slots=True)
class CheckedScan:
    """A scan and what was found about it, the most important first."""

    photograph: Annotated[str, "the photograph's code"]
    scan: Annotated[str, "the scan's path"]
    side: Annotated[str, "`recto`, `verso` or `detail`"]
    findings: Annotated[tuple[Finding, ...], "what was found"]
    largest_print: Annotated[tuple[float, float], "centimetres, across and up, of the largest good print (300 ppi)"]
    up: Annotated[
        str, "`upright`, or how to turn it to be so (`left`, `right`, `over`); `unsure` when it does not show"
    ]
    negative: Annotated[bool, "true for what is sure to be a negative"]
    id: Annotated[int, INTERNAL] = 0
    version: Annotated[str, INTERNAL] = ""

    @property
    def verdict(self) -> Annotated[str, "`redo`, `look`, `good` (nothing but notes, or accepted)"]:
        """What is to be done, in a word."""
        weights = {each.weight for each in self.findings if not each.accepted}
        return "redo" if Weight.REDO in weights else "look" if Weight.LOOK in weights else "good"


@dataclass(frozen=True, slots=True)
class ScansChecked:
    """What the checks found."""

    checked: Annotated[int, "scans that were looked at"]
    measured: Annotated[int, "how many of them had to be measured now; the others have not changed since"]
    redo: Annotated[int, "scans to be made again"]
    look: Annotated[int, "scans to look at"]
    good: Annotated[int, "scans with nothing but notes, or whose findings were accepted"]
    waiting: Annotated[int, "scans that were not measured yet"]
    unreadable: Annotated[tuple[Refused, ...], "scans that cannot be read: damaged, cut off, or not there"]
    scans: Annotated[tuple[CheckedScan, ...], "those with findings, the ones to be made again first"]


@dataclass(frozen=True, slots=True)
class AcceptedFinding:
    """A finding that stays quiet from now on, or one that no longer does."""

    photograph: Annotated[str, "the photograph's code"]
    scan: Annotated[str, "the scan's path"]
    kind: Annotated[str, "which check it is of"]
    title: Annotated[str, "what is the matter"]
    accepted: Annotated[bool, "false when it is brought up again"]
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


# Measuring -----------------------------------------------------------------------------------------------------


def check(
    engine: Engine, what: Sequence[str] = (), progress: Progress | None = None, *, again: bool = False,
    workers: Workers | None = None,
) -> ScansChecked:  # fmt: skip
    """Measure the scans meant by `what` (codes, paths, folders, containers; all for none) that were not measured as
    they are now, and say what is found about all of them. With `again` all are measured, with `workers` by these.

    Kept as it goes: one that is interrupted goes on from there. Raises NotFoundError, AmbiguousError.
    """
    with reading(engine) as connection:
        rows = _meant(connection, what)
        known = set() if again else known_hashes(connection)
    wanted = list({row["sha256"]: row for row in rows if row["sha256"] not in known}.values())
    unreadable = _measure(engine, wanted, progress or (lambda _done, _total: None), workers) if wanted else []
    with reading(engine) as connection:
        return _report(connection, rows, len(wanted) - len(unreadable), tuple(unreadable))


def found(connection: Connection, what: Sequence[str] = ()) -> ScansChecked:
    """What is known of these scans from earlier checks, without reading any. Raises as `check` does."""
    return _report(connection, _meant(connection, what), 0, ())


def _meant(connection: Connection, what: Sequence[str]) -> list[RowMapping]:
    """The scans meant, each once; superseded ones only where they are named."""
    s, p = t.scan.c, t.photograph.c
    query = select(t.scan, p.code, p.page.label("album_page"), p.container_id).join(
        t.photograph, p.id == s.photograph_id
    )
    query = query.order_by(s.id)
    if not what:
        return list(connection.execute(query.where(s.superseded == 0)).mappings())
    wanted: dict[int, None] = {}
    for text in what:
        wanted.update(dict.fromkeys(_ids(connection, text)))
    return list(connection.execute(query.where(among(connection, s.id, set(wanted)))).mappings())


def _ids(connection: Connection, text: str) -> list[int]:
    s, p = t.scan.c, t.photograph.c
    if os.path.isdir(text):  # noqa: PTH112 (Path.is_dir raises for a name that is too long)
        folder = os.path.realpath(text) + os.sep
        below = select(s.id).where(below_folder(connection, s.path, folder), s.superseded == 0)
        ids = list(connection.scalars(below))
        if not ids:
            raise NotFoundError(
                "the archive has no scans in this folder",
                where=shown(text),
                remedy="Add them: kinphoto scans add FOLDER.",
            )
        return ids
    try:
        return [row["id"] for row in find_scans(connection, text)]
    except NotFoundError:
        container = find_container(connection, text) if text.strip() else None
        if container is None:
            raise
        inside = select(s.id).join(t.photograph, p.id == s.photograph_id).where(p.container_id == container["id"])
        return list(connection.scalars(inside.where(s.superseded == 0)))


def _measure(
    engine: Engine, rows: Sequence[RowMapping], progress: Progress, given: Workers | None = None
) -> list[Refused]:
    """Measure these scans on all cores and keep what is found as it comes; those that cannot be read."""
    unreadable: list[Refused] = []
    batch: list[tuple[str, dict[str, Any]]] = []
    since = time.monotonic()
    own = Workers(folder_of(engine) / thumbnails.FOLDER, min(cores(), len(rows))) if given is None else None
    with own or nullcontext(given) as workers:
        assert workers is not None
        answers = workers.check([(file_path(row["path"], row["page"]), row["page"]) for row in rows])
        try:
            for number, (row, answer) in enumerate(zip(rows, answers, strict=True), 1):
                if isinstance(answer, UnreadableFileError):
                    unreadable.append(Refused(answer.where, answer.what))
                else:
                    batch.append((row["sha256"], answer))
                if time.monotonic() - since > _BATCH_SECONDS:
                    ready, batch, since = batch, [], time.monotonic()
                    keep(engine, ready)
                progress(number, len(rows))
        finally:
            keep(engine, batch)
    compare_specks(engine, rows)
    return unreadable


# What follows --------------------------------------------------------------------------------------------------


def _report(
    connection: Connection, rows: Sequence[RowMapping], measured: int, unreadable: tuple[Refused, ...]
) -> ScansChecked:
    scans = list(checked_scans(connection, rows))
    verdicts = [scan.verdict for scan in scans]
    order = ("redo", "look", "good")
    listed = sorted((scan for scan in scans if scan.findings), key=lambda scan: order.index(scan.verdict))
    waiting = len(rows) - len(scans) - len(unreadable)
    counts = {verdict: verdicts.count(verdict) for verdict in order}
    return ScansChecked(
        len(rows), measured, counts["redo"], counts["look"], counts["good"], max(waiting, 0), unreadable, tuple(listed)
    )


def checked_scans(connection: Connection, rows: Sequence[RowMapping]) -> Iterator[CheckedScan]:
    """Those of these scans that were measured, each with its findings."""
    c = t.scan_check.c
    query = select(c.sha256, c.measures, c.shared).where(c.version == VERSION)
    query = query.where(among(connection, c.sha256, {row["sha256"] for row in rows}))
    kept = {row.sha256: row for row in connection.execute(query)}
    accepted = _accepted(connection, [row["id"] for row in rows])
    originals = _originals(connection, {row["photograph_id"] for row in rows})
    floors = floors_set(connection)
    for row in rows:
        entry = kept.get(row["sha256"])
        if entry is not None:
            measured = _upright(read_measures(entry.measures), row)
            kind, coloured = originals.get(row["photograph_id"], ("", False))
            capture = captured(row, measured)
            original = Original("page" if row["album_page"] else kind, coloured, floors, capture)
            yield _checked(row, measured, original, entry.shared, accepted.get(row["id"], {}))


def _checked(
    row: RowMapping, measured: Measures, original: Original, marks: int, accepted: Mapping[str, str]
) -> CheckedScan:
    back = row["side"] == "verso"
    size = shown_size(row)
    listed = []
    for each in findings(row["width"], row["height"], measured, original, back=back, marks=marks):
        if each.kind == "negative-perhaps" and row["turn"] & upright.POSITIVE:
            continue  # somebody has said that it is one
        limit = BY_KIND[each.kind]
        listed.append(
            Finding(
                each.kind, limit.title, each.weight, each.measured, each.value, each.limit, each.source, each.remedy,
                each.kind in accepted, accepted.get(each.kind, ""),
            )
        )  # fmt: skip
    if original.capture is not None:
        size = print_size(row, measured)
    negative = any(each.kind == "negative" for each in listed)
    return CheckedScan(
        row["code"], row["path"], row["side"], tuple(sorted(listed, key=lambda each: each.accepted)),
        largest_good_print(*size, measured), measured.up, negative, row["id"], source_of(row).version,
    )  # fmt: skip


def _orientation(row: RowMapping) -> int:
    return upright.turned(row["orientation"], row["turn"])


_QUARTERS = {"upright": 0, "right": 1, "over": 2, "left": 3}
_THIRDS = {"top": (1, 0, 2, 1), "right": (2, 1, 3, 2), "bottom": (1, 2, 2, 3), "left": (0, 1, 1, 2)}
"""The place of the middle third of each side in a square of three by three."""


def _upright(measured: Measures, row: RowMapping) -> Measures:
    """What was measured on the stored picture, for the picture as it is shown."""
    from dataclasses import replace

    orientation = _orientation(row)
    stored = {box: side for side, box in _THIRDS.items()}
    as_shown = {stored[upright.stored_box(box, (3, 3), orientation)]: side for side, box in _THIRDS.items()}
    up = measured.up
    if up in _QUARTERS:
        turned = next((k for k in range(4) if upright.turned(1, k) == orientation), None)
        names = {quarters: name for name, quarters in _QUARTERS.items()}
        up = "unsure" if turned is None else names[(_QUARTERS[up] - turned) % 4]
    return replace(measured, cut=tuple(as_shown[side] for side in measured.cut), up=up)


def _accepted(connection: Connection, scans: Sequence[int]) -> dict[int, dict[str, str]]:
    """For each of these scans the kinds of findings that were accepted, and why."""
    f = t.accepted_finding.c
    kept: dict[int, dict[str, str]] = defaultdict(dict)
    for row in connection.execute(select(f.scan_id, f.kind, f.why).where(among(connection, f.scan_id, set(scans)))):
        kept[row.scan_id][row.kind] = row.why
    return kept


def _originals(connection: Connection, photographs: set[int]) -> dict[int, tuple[str, bool]]:
    """What is stated of each of these photographs: film or not, and whether it is toned or coloured."""
    s = t.statement.c
    query = select(s.photograph_id, s.value).where(s.kind.in_(("process", "format")), s.withdrawn == 0)
    stated: dict[int, set[str]] = defaultdict(set)
    for photograph, value in connection.execute(query):
        if photograph in photographs:
            stated[photograph].add(value)
    return {
        photograph: (
            "film-35mm" if "slide-35mm" in values else "film" if values & _FILM else "",
            bool(values & _COLOURED),
        )
        for photograph, values in stated.items()
    }


# What a person decides -----------------------------------------------------------------------------------------


def accept(work: Work, scan: str, kind: str, why: str = "", *, take_back: bool = False) -> AcceptedFinding:
    """Accept a finding about a scan, so that it stays quiet; or `take_back` that it was.

    Raises NotFoundError, AmbiguousError, InvalidValueError for a kind that there is not.
    """
    return _accept(work, find_scan(work.connection, scan), _limit(kind), why, take_back)


def accept_on(work: Work, scan_id: int, kind: str, why: str = "", *, take_back: bool = False) -> AcceptedFinding:
    """The same for the scan with this row id. Raises NotFoundError, InvalidValueError."""
    row = work.connection.execute(select(t.scan).where(t.scan.c.id == scan_id)).mappings().first()
    if row is None:
        raise NotFoundError(f"there is no scan {scan_id}", remedy="Reload the page.")
    return _accept(work, row, _limit(kind), why, take_back)


def _accept(work: Work, row: RowMapping, limit: Limit, why: str, take_back: bool) -> AcceptedFinding:
    f = t.accepted_finding.c
    already = select(f.id).where(f.scan_id == row["id"], f.kind == limit.kind)
    standing = list(work.connection.scalars(already))
    code = work.connection.scalar(select(t.photograph.c.code).where(t.photograph.c.id == row["photograph_id"]))
    if take_back and standing:
        work.delete(t.accepted_finding, standing)
        work.what = f"no longer accepted for {code}: {limit.title}"
    elif not take_back and not standing:
        work.insert_one(t.accepted_finding, scan_id=row["id"], kind=limit.kind, why=why.strip(), said_at=work.at)
        work.what = f"accepted for {code}: {limit.title}"
    return AcceptedFinding(str(code), row["path"], limit.kind, limit.title, not take_back, work.id)


def _limit(kind: str) -> Limit:
    found = BY_KIND.get(kind.strip().casefold().strip("[]"))
    if found is None:
        near = nearest(kind, {each: each for each in BY_KIND})
        raise InvalidValueError(
            f"there is no finding called '{shown(kind)}'",
            remedy=f"Did you mean {' or '.join(near)}?" if near else f"There are: {', '.join(BY_KIND)}.",
        )
    return found
