"""Where the scans are. A path is stored relative to the folder it was added from, which is its root: `3:box/a.jpg` is
`box/a.jpg` below root 3. When that folder is on another disk or computer, only the root is changed.

The program sees absolute paths everywhere: a `ScanPath` column takes and gives them. Its stored form is also accepted,
so that rows of the journal go back as they were noted. A path below no root is stored as it is.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import Any
from weakref import WeakKeyDictionary

from sqlalchemy import Column, ColumnElement, Connection, Dialect, Text, or_, type_coerce
from sqlalchemy.types import TypeDecorator


@dataclass(frozen=True, slots=True)
class Root:
    """A folder that scans were added from."""

    id: int
    path: str


class Roots:
    """The roots of one archive, as of the transaction that was begun last."""

    def __init__(self, roots: Iterable[Root] = ()) -> None:
        self.elsewhere: dict[int, str] = {}
        """Where some of them are instead, which cannot be written down because the archive may only be read."""
        self.set(roots)

    def set(self, roots: Iterable[Root]) -> None:
        """These and no others from now on."""
        self.paths = {root.id: root.path for root in roots} | self.elsewhere
        self._ids = {path: id_ for id_, path in self.paths.items()}

    def stored(self, path: str) -> str:
        """The stored form of an absolute path: relative to the innermost root that it is below."""
        if not path.startswith("/") or not self._ids:
            return path
        above, rest = path, ""
        while above:
            if above in self._ids:
                return f"{self._ids[above]}:{rest}"
            above, _, name = above.rpartition("/")
            rest = f"{name}/{rest}" if rest else name
        return f"{self._ids['/']}:{path[1:]}" if "/" in self._ids else path

    def absolute(self, stored: str) -> str:
        """The path that a stored form means."""
        number, colon, rest = stored.partition(":")
        if not colon or not number.isdigit() or int(number) not in self.paths:
            return stored
        root = self.paths[int(number)]
        return f"{root.rstrip('/')}/{rest}" if rest else root


_of_dialect: WeakKeyDictionary[Dialect, Roots] = WeakKeyDictionary()
"""Each engine has a dialect of its own, and a column's type learns nothing else about it."""


def roots_of(dialect: Dialect) -> Roots:
    """The roots of the archive that is opened with this dialect."""
    found = _of_dialect.get(dialect)
    return _of_dialect.setdefault(dialect, Roots()) if found is None else found


class ScanPath(TypeDecorator[str]):
    """The path of a scan or of a folder of scans: absolute in the program, relative to its root in the database."""

    impl = Text
    cache_ok = True

    def bind_processor(self, dialect: Dialect) -> Callable[[Any], Any]:
        """From a path to its stored form."""
        roots = roots_of(dialect)
        return lambda value: value if value is None else roots.stored(value)

    def result_processor(self, dialect: Dialect, _coltype: object) -> Callable[[Any], Any]:
        """From the stored form to a path."""
        roots = roots_of(dialect)
        return lambda value: value if value is None else roots.absolute(value)


def below(connection: Connection, column: Column[Any], folder: str) -> ColumnElement[bool]:
    """Whether a path is below a folder, which may be inside a root, or above several."""
    roots, start = roots_of(connection.dialect), folder.rstrip("/") + "/"
    inside = [f"{id_}:" for id_, path in roots.paths.items() if f"{path}/".startswith(start)]
    begin = [roots.stored(f"{start}x")[:-1], *inside]
    return or_(*(as_stored(column).startswith(one, autoescape=True) for one in begin))


def as_stored(column: Column[Any]) -> ColumnElement[Any]:
    """The column with its values as they are in the database."""
    if not isinstance(column.type, ScanPath):
        return column
    return type_coerce(column, Text).label(column.name)


def stored(connection: Connection, path: str) -> str:
    """The stored form of a path."""
    return roots_of(connection.dialect).stored(path)
