"""The one front door: everything a person can do is a method of one of the parts of `Archive`.

`archive.tree.import_file(path)`, `archive.statements.undo()`: the command line and the pages call the same methods.
They are listed in `parts.py`, what kinds there are in `part.py`; the work is done in the folders beside them.
"""

from __future__ import annotations

from contextlib import AbstractContextManager
from pathlib import Path

from sqlalchemy import Connection, Engine

from kinphoto.archive.parts import (
    Asking,
    Dates,
    Faces,
    Give,
    Keep,
    People,
    Photographs,
    Scans,
    Search,
    Statements,
    Stories,
    Tree,
)
from kinphoto.errors import ArchiveError
from kinphoto.store import opening, root_rows, session
from kinphoto.store.opening import DATABASE as DATABASE


class Archive:
    """One family's collection: a folder with `kinphoto.db` and what is derived from the scans."""

    def __init__(self, folder: Path, engine: Engine) -> None:
        self.folder = folder
        self.engine = engine
        self.tree = Tree(engine)
        self.scans = Scans(engine)
        self.photographs = Photographs(engine)
        self.people = People(engine)
        self.statements = Statements(engine)
        self.stories = Stories(engine)
        self.dates = Dates(engine)
        self.asking = Asking(engine)
        self.faces = Faces(engine)
        self.search = Search(engine)
        self.give = Give(engine)
        self.keep = Keep(engine)

    @classmethod
    def create(cls, folder: Path) -> Archive:
        """A new empty archive in `folder`, which is made if it is not there. Raises ArchiveError when it holds one
        already, or what is left of one, or cannot be made."""
        try:
            folder.mkdir(parents=True, exist_ok=True)
        except OSError as problem:
            raise ArchiveError(
                f"the folder cannot be made ({problem.strerror})",
                where=str(folder),
                remedy="Name a folder that is new, in a place where you may write.",
            ) from problem
        engine = opening.connect(opening.database_url(folder))
        opening.create(engine)
        return cls(folder, engine)

    @classmethod
    def open(cls, folder: Path) -> Archive:
        """The archive in `folder`. Raises ArchiveError when there is none, it is newer than this program, or it cannot
        be opened."""
        opening.require_archive(folder)
        engine = opening.connect(opening.database_url(folder))
        opening.check(engine)
        root_rows.follow_archive(engine)
        return cls(folder, engine)

    def checkpoint(self) -> bool:
        """Bring every change into `kinphoto.db` itself, while nobody else is at work; whether that was done."""
        return opening.checkpoint(self.engine)

    def close(self) -> None:
        """The same, and close the file. The archive can be used again."""
        opening.close(self.engine)

    def refuse_to_change(self) -> None:
        """Raise ArchiveError, which says why, where the archive may be read and not be changed."""
        opening.refuse_to_change(self.engine)

    def reading(self) -> AbstractContextManager[Connection]:
        """A consistent view of the rows, for reading."""
        return session.reading(self.engine)

    def working(self, what: str) -> AbstractContextManager[session.Work]:
        """One change: one transaction, one line of the log saying `what`."""
        return session.working(self.engine, what)
