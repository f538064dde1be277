"""Containers: boxes, albums and envelopes, nested like the folders of scans unless arranged by hand."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from pathlib import Path

from sqlalchemy import Connection, RowMapping, exists, func, select

from kinphoto.archive.catalogue.codes import row_of
from kinphoto.archive.catalogue.finding import find_container
from kinphoto.store import tables as t
from kinphoto.store.session import Work


def folders(connection: Connection) -> list[str]:
    """The folders of scans that were indexed, without those inside another of them."""
    c, inside = t.container.c, t.container.alias("inside")
    query = select(c.folder).outerjoin(inside, inside.c.id == c.parent_id)
    query = query.where(c.folder.is_not(None), inside.c.folder.is_(None))
    return sorted(str(folder) for folder in connection.scalars(query))


def within(parents: Mapping[int, int | None], boxes: Collection[int]) -> set[int]:
    """These containers (row ids) and everything inside them, from what each is directly inside."""
    found = edge = set(boxes)
    while edge:
        edge = {id_ for id_, parent in parents.items() if parent in edge} - found
        found = found | edge
    return found


class Containers:
    """The containers as they are within one unit of work; those that are missing are made when asked for."""

    def __init__(self, work: Work) -> None:
        self._work = work
        c = t.container.c
        rows = work.connection.execute(select(c.folder, c.id).where(c.folder.is_not(None)))
        self._of_folder: dict[str, int] = {folder: id_ for folder, id_ in rows}  # noqa: C416 (rows are no pairs to mypy)

    def named(self, name: str) -> int:
        """The container of this name, made if it is not there. Raises AmbiguousError when several have it."""
        found = find_container(self._work.connection, name)
        return found["id"] if found else self._work.insert_one(t.container, name=name.strip())

    def of_folder(self, folder: str, root: str) -> int:
        """The container that stands for `folder`, inside those of the folders above it.

        Those above are the ones down from `root`, or from the nearest folder that has a container.
        """
        if folder in self._of_folder:
            return self._of_folder[folder]
        lineage = [str(path) for path in (Path(folder), *Path(folder).parents)]
        known = next((level for level, path in enumerate(lineage) if path in self._of_folder), None)
        parent = None if known is None else self._of_folder[lineage[known]]
        highest = known - 1 if known is not None else lineage.index(root) if root in lineage else 0
        for path in lineage[highest::-1]:
            name = Path(path).name or path
            announced = self._announced(name) if path == folder else None
            if announced is None:
                parent = self._work.insert_one(t.container, name=name, folder=path, parent_id=parent)
            else:
                parent = announced["id"]
                self._work.update(t.container, [announced["id"]], folder=path)
            self._of_folder[path] = parent
        return self._of_folder[folder]

    def _announced(self, name: str) -> RowMapping | None:
        """A box of this name that a person made before its first scan, counted or lent, and that is empty yet."""
        c, p = t.container.c, t.photograph.c
        empty = ~exists().where(p.container_id == c.id)
        rows = self._work.connection.execute(select(t.container).where(c.folder.is_(None), empty)).mappings()
        return next((row for row in rows if row["name"].casefold() == name.casefold()), None)

    def next_positions(self, container_id: int, count: int) -> range:
        """The next free places in a container, counted from 1."""
        p = t.photograph.c
        last = self._work.connection.scalar(select(func.max(p.position)).where(p.container_id == container_id)) or 0
        return range(last + 1, last + 1 + count)

    def follow(self, photograph_id: int, old_folder: str, new_folder: str, root: str) -> None:
        """Bring a photograph whose scan was moved into the container of the new folder.

        One that was put into another container than its folder's stays there. A container that is left empty and
        whose folder is gone goes too.
        """
        container_id = row_of(self._work.connection, t.photograph, photograph_id)["container_id"]
        if old_folder == new_folder or container_id is None or self._of_folder.get(old_folder) != container_id:
            return
        self._work.update(t.photograph, [photograph_id], container_id=self.of_folder(new_folder, root))
        self._drop_if_deserted(container_id)

    def _drop_if_deserted(self, container_id: int | None) -> None:
        while container_id is not None:
            row = row_of(self._work.connection, t.container, container_id)
            inside = select(t.photograph.c.id).where(t.photograph.c.container_id == container_id)
            nested = select(t.container.c.id).where(t.container.c.parent_id == container_id)
            in_use = self._work.connection.execute(inside.union_all(nested).limit(1)).first() is not None
            if row["folder"] is None or row["note"] or Path(row["folder"]).exists() or in_use:
                return
            self._work.delete(t.container, [container_id])
            del self._of_folder[row["folder"]]
            container_id = row["parent_id"]
