"""Arranging containers by hand: naming them, putting them into each other, filling them and ordering what is inside.

What is arranged here stays so when scans are added again, also where a container stands for a folder of scans: folders
say how objects were scanned, and a person says where they are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Annotated

from sqlalchemy import Connection, RowMapping, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.containers import Containers
from kinphoto.archive.catalogue.finding import find_container, find_photograph, is_row_id
from kinphoto.errors import InvalidValueError, NotFoundError
from kinphoto.phrases import listed
from kinphoto.reason.model.subjects import Arrangement
from kinphoto.store import tables as t
from kinphoto.store.session import Work

ARRANGEMENTS: dict[str, str] = {
    Arrangement.IN_ORDER: "its photographs are in order, the earliest first",
    Arrangement.BACKWARDS: "its photographs are in order, the earliest last",
    Arrangement.NOT_IN_ORDER: "its photographs are not in the order of time",
    "": "nobody knows whether its photographs are in order",
}
"""What was said of the order in a container, in words."""
_SHOWN = 3  # codes that a line of the log names


@dataclass(frozen=True, slots=True)
class Arranged:
    """A container after something was done with it."""

    id: Annotated[int | None, "the container's number; null for none"]
    name: Annotated[str, "its name"]
    inside: Annotated[str | None, "the name of the one it is inside, or null"]
    photographs: Annotated[tuple[str, ...], "codes of the photographs concerned"]
    arrangement: Annotated[
        str | None,
        "what was recorded about the order in it: `in-order`, `backwards`, `not-in-order`, or null for nothing",
    ]
    changed: Annotated[bool, "false when it was so before"]
    made: Annotated[bool, "true when a container was made for it"] = False
    change: Annotated[int | None, "its number in the log, for `undo`; null when nothing changed"] = None


def rename(work: Work, container: str | int, new: str) -> Arranged:
    """Give a container another name. Raises NotFoundError, AmbiguousError, or InvalidValueError for a name that is
    empty or another's."""
    row, plain = find(work.connection, container), " ".join(new.split())
    if not plain:
        raise InvalidValueError("a box needs a name", remedy="Give one, such as 'Blue album'.")
    c = t.container.c
    if work.connection.scalar(select(c.id).where(c.name == plain, c.id != row["id"]).limit(1)) is not None:
        raise InvalidValueError(
            f"there is already another box called '{plain}'",
            remedy="Choose another name, or move the photographs there: kinphoto container place.",
        )
    if row["name"] != plain:
        work.update(t.container, [row["id"]], name=plain)
        work.what = f"renamed the box {row['name']} to {plain}"
    return _arranged(work, row["id"], changed=row["name"] != plain)


def nest(work: Work, container: str | int, into: str | int | None) -> Arranged:
    """Put a container into another, which is made if it is not there, or (None or "") take it out of the one it is in.

    Raises NotFoundError, AmbiguousError, or InvalidValueError when it would be inside itself.
    """
    row = find(work.connection, container)
    outer, made = (None, False) if into in (None, "") else find_or_create(work, into)
    if outer is not None:
        _refuse_loop(work.connection, row, outer)
    if row["parent_id"] != outer:
        work.update(t.container, [row["id"]], parent_id=outer)
        where = "into" if outer is not None else "out of"
        other = row_of(work.connection, t.container, outer or row["parent_id"])["name"]
        work.what = f"moved the box {row['name']} {where} {other}"
    return _arranged(work, row["id"], changed=row["parent_id"] != outer, made=made)


def place(work: Work, photographs: Sequence[str], container: str | int) -> Arranged:
    """Put photographs into a container, which is made if it is not there, after those that are in it; any that are in
    it already stay where they are. For "" they are in none.

    Raises NotFoundError, AmbiguousError, InvalidValueError when none was given.
    """
    rows = _photographs(work.connection, photographs)
    target, made = (None, False) if container == "" else find_or_create(work, container)
    moving = [row for row in rows if row["container_id"] != target]
    positions: Sequence[int] = [0] * len(moving)
    if target is not None:
        positions = Containers(work).next_positions(target, len(moving))
    work.rewrite(
        t.photograph,
        [
            {"id": row["id"], "container_id": target, "position": position}
            for row, position in zip(moving, positions, strict=True)
        ],
    )
    codes = tuple(str(row["code"]) for row in rows)
    if target is None:
        work.what = f"took {_some(codes)} out of {'its box' if len(codes) == 1 else 'their boxes'}"
        return Arranged(None, "", None, codes, None, bool(moving), False, work.id)
    work.what = f"put {_some(codes)} in {row_of(work.connection, t.container, target)['name']}"
    return _arranged(work, target, codes, changed=bool(moving), made=made)


def reorder(work: Work, container: str | int, photographs: Sequence[str]) -> Arranged:
    """Put a container's photographs in their physical order: first these, then the others as they were.

    Raises NotFoundError, AmbiguousError, or InvalidValueError for a photograph that is named twice or not in it.
    """
    row, first = find(work.connection, container), _photographs(work.connection, photographs)
    elsewhere = next((each["code"] for each in first if each["container_id"] != row["id"]), None)
    if elsewhere is not None:
        raise InvalidValueError(
            f"{elsewhere} is not in '{row['name']}'",
            remedy=f'Put it there first: kinphoto container place "{row["name"]}" {elsewhere}.',
        )
    p = t.photograph.c
    inside = work.connection.execute(
        select(p.id, p.position).where(p.container_id == row["id"]).order_by(p.position, p.id)
    ).all()
    before = {each.id: each.position for each in inside}
    ids = dict.fromkeys([each["id"] for each in first] + list(before))
    moved = [{"id": id_, "position": at} for at, id_ in enumerate(ids, start=1) if before[id_] != at]
    work.rewrite(t.photograph, moved)
    work.what = f"reordered the photographs in {row['name']}"
    return _arranged(work, row["id"], tuple(str(each["code"]) for each in first), changed=bool(moved))


def say_order(work: Work, container: str | int, arrangement: str) -> Arranged:
    """Say whether what is in a container is in the order of time: `in-order`, `backwards` (the earliest last),
    `not-in-order`, or "" for what nobody knows. Raises NotFoundError, AmbiguousError, InvalidValueError."""
    row = find(work.connection, container)
    if arrangement and arrangement not in list(Arrangement):
        raise InvalidValueError(
            f"'{arrangement}' does not say how they are ordered", remedy=f"Say one of: {', '.join(Arrangement)}."
        )
    if row["arrangement"] != arrangement:
        work.update(t.container, [row["id"]], arrangement=arrangement)
        work.what = f"noted about {row['name']}: {ARRANGEMENTS[arrangement]}"
    return _arranged(work, row["id"], changed=row["arrangement"] != arrangement)


def find(connection: Connection, container: str | int) -> RowMapping:
    """The container of this name or folder, or of this row's id. Raises NotFoundError (with the nearest names) or
    AmbiguousError."""
    found = _known(connection, container)
    if found is None:
        raise _unknown(connection, str(container))
    return found


def _known(connection: Connection, container: str | int) -> RowMapping | None:
    c = t.container.c
    if isinstance(container, int):
        query = select(t.container).where(c.id == container)
        return connection.execute(query).mappings().first() if is_row_id(container) else None
    folder = connection.execute(select(t.container).where(c.folder == container.rstrip("/"))).mappings().first()
    return folder or find_container(connection, container) or find_container(connection, " ".join(container.split()))


def find_or_create(work: Work, container: str | int) -> tuple[int, bool]:
    """The container of this name or folder, made if it is not there, and whether it was. Raises NotFoundError for a
    row's id that is none."""
    known = _known(work.connection, container)
    if known is None and isinstance(container, int):
        raise _unknown(work.connection, str(container))
    return (known["id"], False) if known else (Containers(work).named(" ".join(str(container).split())), True)


def _unknown(connection: Connection, text: str) -> NotFoundError:
    from rapidfuzz import fuzz, process

    names = list(dict.fromkeys(connection.scalars(select(t.container.c.name))))
    near = [name for name, _, _ in process.extract(text, names, scorer=fuzz.WRatio, score_cutoff=70, limit=3)]
    remedy = f"Did you mean {' or '.join(near)}?" if near else "To see them all: kinphoto container list."
    return NotFoundError(f"there is no box '{text}'", remedy=remedy)


def _photographs(connection: Connection, texts: Sequence[str]) -> list[RowMapping]:
    """The photographs meant, each once. Raises InvalidValueError for none, and for one that is named twice."""
    if not texts:
        raise InvalidValueError("no photograph was named", remedy="Give codes such as K00042, or scans.")
    rows = [find_photograph(connection, text) for text in texts]
    seen: set[int] = set()
    for row, text in zip(rows, texts, strict=True):
        if row["id"] in seen:
            raise InvalidValueError(f"{row['code']} is named twice", where=f"'{text}'", remedy="Name it once.")
        seen.add(row["id"])
    return rows


def _refuse_loop(connection: Connection, row: RowMapping, outer: int) -> None:
    """Raise InvalidValueError when the container `outer` is this one or inside it."""
    if outer == row["id"]:
        raise InvalidValueError(f"'{row['name']}' cannot go into itself", remedy="Name another box.")
    above: int | None = outer
    while above is not None:
        above = row_of(connection, t.container, above)["parent_id"]
        if above == row["id"]:
            name = row_of(connection, t.container, outer)["name"]
            raise InvalidValueError(
                f"'{row['name']}' cannot go into '{name}', which is inside it",
                remedy=f'Take that out first: kinphoto container nest "{name}".',
            )


def _arranged(
    work: Work, container_id: int, codes: tuple[str, ...] = (), *, changed: bool, made: bool = False
) -> Arranged:
    row = row_of(work.connection, t.container, container_id)
    inside = None if row["parent_id"] is None else row_of(work.connection, t.container, row["parent_id"])["name"]
    said = row["arrangement"] or None
    return Arranged(container_id, row["name"], inside, codes, said, changed or made, made, work.id)


def _some(codes: Sequence[str]) -> str:
    return listed(codes if len(codes) <= _SHOWN + 1 else [*codes[:_SHOWN], f"{len(codes) - _SHOWN} more"])
