"""Importing a family tree: the first time, and again when it has grown.

The file is read record by record and written in batches, in one transaction. Where the archive holds a tree already,
the file is read twice: first to decide who is who (`matching`), then to write what is different. Memory holds the
pointers, who belongs to which family, and shared notes, but nothing else of the file.
"""

from __future__ import annotations

from dataclasses import dataclass, fields
from operator import itemgetter
from pathlib import Path
from typing import Annotated

from sqlalchemy import exists, select

from kinphoto.archive.catalogue.garbage import no_collection
from kinphoto.archive.tree import copies, former_ids, report, unchanged
from kinphoto.archive.tree.gone import EventsShown, merge_people, people_in_use, remove_gone
from kinphoto.archive.tree.plan import Plan, make_plan
from kinphoto.archive.tree.reading import Progress, TreeReading, codes_outside
from kinphoto.archive.tree.report import Listing, Merged, Uncertain
from kinphoto.archive.tree.storing import Storing
from kinphoto.archive.tree.withdrawn import StayWithdrawn
from kinphoto.documents import Key
from kinphoto.gedcom import decode
from kinphoto.gedcom.records import Warned
from kinphoto.phrases import counted
from kinphoto.store import tables as t
from kinphoto.store.opening import folder_of
from kinphoto.store.session import Work


@dataclass(frozen=True, slots=True)
class TreeImported:
    """What an import did. A person counts as changed also when their parents, partners or dates of marriage changed."""

    people: Annotated[int, "how many people the file holds"]
    families: Annotated[int, "how many families"]
    events: Annotated[int, "how many events"]
    added: Annotated[int, "people who are new in the archive"]
    changed: Annotated[int, "people about whom something has changed"]
    removed: Annotated[int, "people without pictures who are no longer in the file"]
    kept_with_pictures: Annotated[int, "people who are no longer in the file and are kept because they have pictures"]
    warnings: tuple[Warned, ...]
    warning_count: Annotated[int, "how many warnings there were; `warnings` has only the first thousands"]
    encoding: Annotated[str, "the character encoding of the file"]
    version: Annotated[str, "the version of GEDCOM"]
    altered: Annotated[bool, "false when nothing in the archive changed"]
    merged: tuple[Merged, ...] = ()
    uncertain: tuple[Uncertain, ...] = ()
    listing: Annotated[Listing | None, Key("plan"), "what the import would do, with `--dry-run`; null without it"] = (
        None
    )

    @property
    def hardly_anybody(self) -> str:
        """How few of those who were in the tree before are in the file, in a sentence, where more than half are not (a
        judgement of the project): it may be the file of another family. Otherwise empty."""
        found, gone = self.people - self.added, self.removed + self.kept_with_pictures
        if not self.altered or gone <= max(found, 1):
            return ""
        are = "nobody is" if not found else f"only {counted(found, 'is', 'are')}"
        return f"Of the {found + gone:,} people who were in the tree, {are} in this file."


def import_tree(work: Work, path: Path | str, progress: Progress | None = None) -> TreeImported:
    """Import the GEDCOM file at `path`, the first time or again; a copy of it is kept in the archive's folder.
    `progress` is called with bytes read and bytes to read.

    Raises NotFoundError, or UnreadableFileError when the file is not GEDCOM. The same file again changes nothing and
    leaves no line in the log.
    """
    source = decode.examine(Path(path))
    copies.keep(folder_of(work.connection.engine), source)
    known = unchanged.recall(work.connection, source)
    if known is not None:
        return TreeImported(**known, altered=False)
    with no_collection():
        done = _import(work, source, progress)
    answer = {f.name: getattr(done, f.name) for f in fields(done) if f.name not in ("altered", "merged", "uncertain")}
    unchanged.note(work.connection, source, answer)
    return done


def rehearse(work: Work, path: Path | str, progress: Progress | None = None) -> TreeImported:
    """What an import of this tree would do, with everybody's name. It is carried out in `work`, which the caller rolls
    back. Raises NotFoundError, or UnreadableFileError when the file is not GEDCOM."""
    source = decode.examine(Path(path))
    with no_collection():
        return _import(work, source, progress, listed=True)


def _import(work: Work, source: decode.TreeFile, progress: Progress | None, listed: bool = False) -> TreeImported:
    again = bool(
        work.connection.scalar(select(exists().where(t.person.c.outside == 0)))
        or work.connection.scalar(select(exists().where(t.family.c.id > 0)))
    )
    reading = TreeReading(source, codes_outside(work.connection), progress, passes=2 if again else 1)
    shown, withdrawn = EventsShown(work), StayWithdrawn(work)
    linked = people_in_use(work, shown)
    plan = make_plan(work.connection, reading.records(), linked) if again else Plan()
    before = report.everybody(work.connection) if listed else {}
    ids = [(table, former_ids.ids_of(work.connection, table)) for table in (t.person, t.family)] if again else []
    kept = remove_gone(work, plan, linked, shown) if again else frozenset()
    done = Storing(work, plan, reading, again)
    done.carry_out()
    shown.update_codes()
    withdrawn.reapply(reading.warnings)
    merged, together = merge_people(work, plan)
    for table, were in ids:
        former_ids.remember(work, table, were)
    _note_file(work, source, done.version)
    removed = len(plan.gone) - len(kept)
    work.what = (
        f"imported the tree {source.path.name}: {done.added} people added, {len(done.changed)} changed, "
        f"{removed} removed"
    )
    warnings = reading.warnings
    return TreeImported(
        people=done.people,
        families=done.families,
        events=done.events,
        added=done.added,
        changed=len(done.changed),
        removed=removed,
        kept_with_pictures=len(kept) - len(merged),
        warnings=tuple(sorted(warnings.kept, key=itemgetter(0))),
        warning_count=warnings.count,
        encoding=source.encoding,
        version=done.version,
        altered=work.id is not None,
        merged=merged,
        uncertain=report.uncertain(work.connection, (*plan.doubts, *together)),
        listing=report.listing(work.connection, before, done, plan, merged) if listed else None,
    )


def _note_file(work: Work, source: decode.TreeFile, version: str) -> None:
    """Note which file this was, unless it was also the last one and nothing has changed."""
    c = t.tree_file.c
    newest = work.connection.scalar(select(c.sha256).order_by(c.id.desc()).limit(1))
    if newest != source.sha256 or work.id is not None:
        work.insert_one(
            t.tree_file,
            path=str(source.path.absolute()),
            sha256=source.sha256,
            encoding=source.encoding,
            version=version,
            imported_at=work.at,
        )
