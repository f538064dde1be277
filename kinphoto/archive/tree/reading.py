"""A tree file as an import reads it, once or twice: each record with its code in the archive."""

from __future__ import annotations

from collections.abc import Callable, Iterator

from sqlalchemy import Connection, select

from kinphoto.gedcom import decode, read
from kinphoto.gedcom.records import Warnings, first_free
from kinphoto.store import tables as t

Progress = Callable[[int, int], None]
"""Called with the bytes read so far and the bytes to read in all."""
Coded = tuple[read.Header | read.PersonRecord | read.Family, str]
"""A record and its code, "" for the header."""


def codes_outside(connection: Connection) -> set[str]:
    """The codes of people outside the tree."""
    return set(connection.scalars(select(t.person.c.code).where(t.person.c.outside == 1)))


class TreeReading:
    """The records of a file. A record's code is its pointer, unless somebody outside the tree (`taken`) or an earlier
    record of the file has the same.

    Notes in records of their own are added to the people who point to them, in the first reading only if they come
    before; `notes` holds all of them after the file was read.
    """

    def __init__(self, source: decode.TreeFile, taken: set[str], progress: Progress | None, passes: int) -> None:
        self.source = source
        self.warnings = Warnings()
        self.notes: dict[str, str] = {}
        self._taken = taken
        self._progress = progress
        self._done, self._total = 0, source.size * passes

    def records(self) -> Iterator[Coded]:
        """All records, in order. `warnings` are those of the latest reading."""
        self.warnings = Warnings()
        people, families = set(self._taken), set[str]()
        for record in read.read_tree(self.source, self.warnings, self._advance):
            if isinstance(record, read.Header):
                yield record, ""
            elif isinstance(record, read.SharedNote):
                self.notes.setdefault(record.code, record.text)
            elif isinstance(record, read.PersonRecord):
                yield self._with_notes(record), self._code(record, people)
            else:
                yield record, self._code(record, families)

    def note(self, person: read.PersonRecord) -> str:
        """All notes on a person, their own first."""
        shared = (self.notes[code] for code in person.shared if code in self.notes)
        return "\n".join(note for note in (person.note, *shared) if note)

    def _with_notes(self, person: read.PersonRecord) -> read.PersonRecord:
        """A person with the notes they point to, if all of those have been read."""
        if not person.shared or not all(code in self.notes for code in person.shared):
            return person
        return person._replace(note=self.note(person), shared=())

    def _code(self, record: read.PersonRecord | read.Family, used: set[str]) -> str:
        code = record.code
        if code in used:
            code = first_free(record.code, used)
            self.warnings(record.line, f"@{record.code}@ is used more than once; this record was given the id {code}")
        used.add(code)
        return code

    def _advance(self, count: int) -> None:
        self._done += count
        if self._progress is not None:
            self._progress(min(self._done, self._total), self._total)
