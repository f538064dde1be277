"""The one front door: every action a person can take is a method of `Archive`.

One public method is one transaction and one line of the change log. The command line and the pages call the same
methods. The work itself stands in the modules beside this file, one per concern; this class opens the archive,
begins and ends the unit of work, and hands over.
"""

from __future__ import annotations

from collections.abc import Collection, Iterator, Sequence
from contextlib import AbstractContextManager, contextmanager
from dataclasses import replace
from pathlib import Path
from threading import RLock
from typing import TYPE_CHECKING

from sqlalchemy import Connection, Engine

from kinphoto.errors import ArchiveError
from kinphoto.scans import thumbnails
from kinphoto.store import opening, session
from kinphoto.store.opening import DATABASE as DATABASE

if TYPE_CHECKING:
    from kinphoto.archive.asking.name_offers import Offers
    from kinphoto.archive.asking.questions import Asked, QuestionList
    from kinphoto.archive.asking.who import Who
    from kinphoto.archive.catalogue.freshness import Freshness
    from kinphoto.archive.catalogue.names import NameIndex
    from kinphoto.archive.catalogue.privacy import Public
    from kinphoto.archive.collection.arranging import Arranged
    from kinphoto.archive.collection.container_pages import ContainerPage, ContainerRow, Missing, PhotographCard
    from kinphoto.archive.collection.images import FacePicture, ScanPicture
    from kinphoto.archive.collection.joining import Joined, Parted
    from kinphoto.archive.collection.photograph_page import ContainerName, PhotographPage
    from kinphoto.archive.collection.removing import Removal, RemovalPreview
    from kinphoto.archive.collection.replacing import Replaced
    from kinphoto.archive.collection.rotation import Turned
    from kinphoto.archive.collection.scanning import Progress, ScansAdded
    from kinphoto.archive.dates.conflicts import SettledConflict
    from kinphoto.archive.dates.estimates import DatedPhotograph, KeptDates
    from kinphoto.archive.dates.explain import Explanation
    from kinphoto.archive.dates.outcome import Outcome
    from kinphoto.archive.dates.strip import Strip
    from kinphoto.archive.dates.whole import Whole
    from kinphoto.archive.people.couples import Couple
    from kinphoto.archive.people.kinship import Kin
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.people.overview import Overview
    from kinphoto.archive.people.people import AddedPerson, FoundPeople, SamePerson
    from kinphoto.archive.people.people_index import PeopleIndex
    from kinphoto.archive.people.pictures import Pictures
    from kinphoto.archive.people.proband import Proband
    from kinphoto.archive.search.about import AboutPhotograph
    from kinphoto.archive.search.listing import ListedPhotograph, ListQuery
    from kinphoto.archive.search.quoting import Quote
    from kinphoto.archive.search.searching import SearchQuery, SearchResult
    from kinphoto.archive.statements.appearances import Link, Linked
    from kinphoto.archive.statements.claims import NewClaim, Recorded, Tie
    from kinphoto.archive.statements.descriptions import Described, Description
    from kinphoto.archive.statements.faces import PhotographFaces
    from kinphoto.archive.statements.frames import Framed, NameRemoved
    from kinphoto.archive.statements.history import Change, Undone
    from kinphoto.archive.statements.informants import Informant, InformantEntry
    from kinphoto.archive.statements.recorder import Recorder
    from kinphoto.archive.statements.spreadsheets import Applied
    from kinphoto.archive.statements.withdrawing import Withdrawn
    from kinphoto.archive.tree.checking import TreeCheck
    from kinphoto.archive.tree.exporting import TreeWritten
    from kinphoto.archive.tree.importing import TreeImported
    from kinphoto.archive.words.conflict_stories import StoryBook
    from kinphoto.reason.advice.hindsight import Hindsight
    from kinphoto.reason.model.findings import BirthEstimate


class Archive:
    """One family's collection: a folder with `kinphoto.db` and what is derived from the scans."""

    def __init__(self, folder: Path, engine: Engine) -> None:
        self.folder = folder
        self.engine = engine
        self._called: NameIndex | None = None
        self._called_in_public: NameIndex | None = None
        self._public: Public | None = None
        self._people_index: PeopleIndex | None = None
        self._asked: tuple[int | None, tuple[Asked, ...]] | None = None
        self.whole: Whole | None = None
        """What was last concluded of everything, where that is held (`archive/dates/whole.py`)."""
        self.looking = RLock()
        """Held by whoever works that out."""

    @classmethod
    def create(cls, folder: Path) -> Archive:
        """A new empty archive in `folder` (made if need be). Raises ArchiveError when it holds one already, or what is
        left of one, or cannot be made."""
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
        opening.look_for(folder)
        engine = opening.connect(opening.database_url(folder))
        opening.check(engine)
        return cls(folder, engine)

    def checkpoint(self) -> bool:
        """Bring every change into `kinphoto.db` itself, while nobody else is at work; whether that was done."""
        return opening.checkpoint(self.engine)

    def close(self) -> None:
        """The same, and let go of the file. The archive can be used again."""
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

    def deriving(self) -> AbstractContextManager[Connection]:
        """One transaction that keeps what follows from everything else; no line of the log."""
        return session.deriving(self.engine)

    def refresh_estimates(self) -> None:
        """Make the estimates again if anything was changed since they were made."""
        from kinphoto.archive.dates import estimates

        estimates.refresh(self)

    def look_at_everything(self) -> bool:
        """Date everything in this process and hold it, where the archive is small enough; False where it is not."""
        from kinphoto.archive.dates import estimates, whole

        if whole.worked_out(self) is None:
            return False
        estimates.refresh(self)
        return True

    def dates(self, photographs: Sequence[str] = ()) -> list[DatedPhotograph]:
        """Estimates of these photographs, or of all. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.dates import estimates

        return estimates.dates(self, photographs)

    def date_now(self, photographs: Sequence[str] | None = None) -> list[DatedPhotograph]:
        """Date these photographs again at once (None: those of the newest change); in an archive of a family's size
        everything else as well. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.dates import one_photograph

        return one_photograph.date_now(self, photographs)

    def kept_dates(self, photographs: Sequence[str] = ()) -> KeptDates:
        """Estimates as they are kept, and how old they are. Raises NotFoundError, AmbiguousError."""
        from kinphoto.archive.dates import estimates

        return estimates.kept_dates(self, photographs)

    def outcome(self, photograph: str, said: Collection[str]) -> Outcome | None:
        """The new date of a photograph of which these statements (ids) were just recorded, and why they do not fit;
        None for an album page. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.dates import outcome

        return outcome.outcome(self, photograph, said)

    def freshness(self) -> Freshness:
        """After which change everything was last dated, and whether there were any since."""
        from kinphoto.archive.catalogue import freshness

        with self.reading() as connection:
            return freshness.freshness(connection)

    def strip(self, photograph: str, off: Collection[str] = (), *, withouts: bool = False) -> Strip:
        """Everything that bears on one photograph's date, as bars on an axis of time, without the statements `off`;
        with `withouts` also what it would be without each. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.dates import strip

        return strip.strip(self, photograph, off, withouts=withouts)

    def explain(self, photograph: str, *, everything: bool = True) -> Explanation:
        """Why a photograph is dated as it is; without `everything` only what matters. Raises NotFoundError or
        AmbiguousError."""
        from kinphoto.archive.dates import explain as explaining

        return explaining.explain(self, photograph, everything=everything)

    def hindsight(self) -> Hindsight:
        """How the estimates come out where the date is known, with that date hidden."""
        from kinphoto.archive.dates import hindsight

        with self.reading() as connection:
            return hindsight.hindsight(connection)

    def conflicts(self, *, as_kept: bool = False) -> StoryBook:
        """What does not fit together, as stories, and what is set aside; `as_kept` when it was last found."""
        from kinphoto.archive.dates import conflicts as settling

        return settling.conflicts(self, as_kept)

    def settle(self, conflict: str, way: Sequence[str]) -> SettledConflict:
        """Withdraw all statements of one way out of a conflict. Raises InvalidValueError when it is none (any more)."""
        from kinphoto.archive.dates import conflicts as settling

        return settling.settle(self, conflict, way)

    def import_tree(self, path: Path | str, progress: Progress | None = None) -> TreeImported:
        """Bring the tree up to the GEDCOM file at `path`, the first time or again; `progress` is called with bytes
        read and bytes to read. Raises NotFoundError, or UnreadableFileError when the file is no GEDCOM."""
        from kinphoto.archive.tree import importing

        with self.working("") as work:
            return importing.import_tree(work, self.folder, Path(path), progress)

    def write_tree(
        self, path: Path | str, version: str | None = None, *, replace: bool = False, leave_out_living: bool = False
    ) -> TreeWritten:
        """Write the tree that was imported, with its pictures in it, to a new .ged or .gdz file.

        Raises InvalidValueError, NotFoundError, UnreadableFileError, or ArchiveError, also when something else is
        there and `replace` is not given.
        """
        from kinphoto.archive.tree import exporting

        return exporting.write_tree(self, Path(path), version, replace=replace, leave_out_living=leave_out_living)

    def check_tree(self) -> TreeCheck:
        """What in the tree cannot be, what is unlikely, and the births that photographs suggest."""
        from kinphoto.archive.people import births
        from kinphoto.archive.tree import checking

        with self.reading() as connection:
            to_date = births.can_be_suggested(connection)
        if to_date:
            self.refresh_estimates()
        with self.reading() as connection:
            return checking.check(connection)

    def plan_tree(self, path: Path | str, progress: Progress | None = None) -> TreeImported:
        """What an import of this tree would do, with everybody named; nothing is written. Raises NotFoundError, or
        UnreadableFileError when the file is no GEDCOM."""
        from kinphoto.archive.tree import importing

        with session.rehearsing(self.engine) as work:
            return importing.rehearse(work, Path(path), progress)

    def add_scans(
        self,
        paths: Sequence[Path | str],
        container: str | None = None,
        progress: Progress | None = None,
        *,
        again: bool = False,
    ) -> ScansAdded:
        """Index the image files at or below `paths`, new ones into `container` or those of their folders; with `again`
        also those that were removed earlier.

        Committed as it goes, as one line of the log. Raises NotFoundError when a path is not there.
        """
        from kinphoto.archive.collection import scanning

        thumbs = self.folder.absolute() / thumbnails.FOLDER
        texts = [str(path) for path in paths]
        return scanning.add_scans(self.engine, thumbs, texts, container, progress, again=again)

    def remove(self, photographs: Sequence[str], *, with_statements: bool = False) -> Removal:
        """Take photographs (codes) and single scans (paths) out of the archive, all or none; no file is touched.

        Raises NotFoundError, AmbiguousError, or InvalidValueError where names or statements would go with one and
        `with_statements` is False.
        """
        from kinphoto.archive.collection import removing

        with self.working("") as work:
            return removing.remove(work, photographs, with_statements=with_statements)

    def resting(self, photograph: str) -> RemovalPreview:
        """What would go with a photograph if it were removed. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.catalogue import finding
        from kinphoto.archive.collection import removing

        with self.reading() as connection:
            return removing.resting(connection, finding.find_photograph(connection, photograph))

    def replace_scan(self, what: str, file: Path | str, side: str | None = None, turn: str | None = None) -> Replaced:
        """Put a better scan in the place of a photograph's front, of its `side`, or of the scan named by its path.

        Raises NotFoundError, AmbiguousError, InvalidValueError, UnreadableFileError.
        """
        from kinphoto.archive.collection import replacing

        thumbs = self.folder.absolute() / thumbnails.FOLDER
        facts = replacing.measured(self.engine, thumbs, str(file))
        with self.working("") as work:
            return replacing.replace(work, what, facts, side, turn)

    def join_scans(self, scans: Sequence[str], side: str | None = None) -> Joined:
        """Make scans of one object one photograph, the first's; `side` is that of the others. Raises InvalidValueError,
        also when that was not said and they look like two pictures; NotFoundError, AmbiguousError."""
        from kinphoto.archive.collection import joining

        with self.working("") as work:
            return joining.join(work, scans, side, self.folder)

    def part_scan(self, scan: str) -> Parted:
        """Take a scan out into a photograph of its own."""
        from kinphoto.archive.collection import joining

        with self.working("") as work:
            return joining.part(work, scan)

    def turn_scan(self, scan: str, way: str) -> Turned:
        """Turn a scan, and the faces on it, `left`, `right` or `over`; its file stays as it is. Raises NotFoundError,
        AmbiguousError, InvalidValueError."""
        from kinphoto.archive.collection import rotation

        with self.working("") as work:
            return rotation.turn(work, scan, way)

    def scan_picture(self, scan: int) -> ScanPicture:
        """Which file, turned how, a scan is. Raises NotFoundError."""
        from kinphoto.archive.collection import images

        with self.reading() as connection:
            return images.scan_picture(connection, scan)

    def face_picture(self, region: int) -> FacePicture:
        """Which part of which scan a face is. Raises NotFoundError."""
        from kinphoto.archive.collection import images

        with self.reading() as connection:
            return images.face_picture(connection, region)

    def link(self, said: Link) -> tuple[Linked, list[str]]:
        """Record who is in a photograph, with warnings. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import appearances

        with self._recorder("linked") as recorder:
            done = appearances.link(recorder, said)
            recorder.write()
        return replace(done, change=recorder.work.id), recorder.warnings

    def link_newcomer(self, said: Link, name: str) -> tuple[Linked, list[str]]:
        """Record that somebody of this name, who is in no tree, is in a photograph. Raises what `add_person` and `link`
        raise; then nobody was added."""
        from kinphoto.archive.people import people
        from kinphoto.archive.statements import appearances

        with self._recorder("linked") as recorder:
            somebody = people.add(recorder.work, name)
            done = appearances.link(recorder, replace(said, person=somebody.id))
            recorder.write()
        return replace(done, change=recorder.work.id), recorder.warnings

    def frame(self, photograph: str, what: str, region: str) -> Framed:
        """Move a face (R3), or that of an appearance (A7), to another region. Raises NotFoundError, AmbiguousError,
        InvalidValueError."""
        from kinphoto.archive.statements import frames

        with self._recorder("framed") as recorder:
            done = frames.frame(recorder, photograph, what, region)
            recorder.write()
        return replace(done, change=recorder.work.id)

    def unname(self, appearance: str) -> NameRemoved:
        """Take a name (A7) off its face, which stays. Raises NotFoundError, InvalidValueError."""
        from kinphoto.archive.statements import frames

        with self._recorder("unnamed") as recorder:
            done = frames.unname(recorder, appearance)
            recorder.write()
        return replace(done, change=recorder.work.id)

    def faces(self, photograph: str) -> PhotographFaces:
        """Who is where in a photograph. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.statements import faces as seated

        with self.reading() as connection:
            return seated.faces(connection, photograph)

    def offer(
        self, photograph: str, letters: str = "", *, age: str | None = None, region: str | None = None, most: int = 8
    ) -> Offers:
        """Who could be on a face, best first, while somebody types. Raises NotFoundError, AmbiguousError or
        InvalidValueError."""
        from kinphoto.archive.asking import name_offers

        with self.reading() as connection:
            everybody = self._everybody(connection)
            return name_offers.offers(connection, everybody, photograph, letters, age=age, region=region, most=most)

    def who(self, photograph: str, most: int = 8, faces_at_most: int = 100) -> Who:
        """Who the unnamed people of a photograph could be, likeliest first, so many of each. Raises NotFoundError,
        AmbiguousError, InvalidValueError for an album page."""
        from kinphoto.archive.asking import who as somebody

        with self.reading() as connection:
            return somebody.who(connection, self._everybody(connection), photograph, most, faces_at_most)

    def ask(self, of: str | None = None, *, as_kept: bool = False) -> QuestionList:
        """What to ask next, of an informant or of anybody, most telling first; with `as_kept` by the estimates as they
        are kept. Raises NotFoundError when nobody is called so."""
        from kinphoto.archive.asking import questions

        return questions.ask(self, of, as_kept=as_kept)

    def everything_to_ask(self, *, as_kept: bool = False) -> tuple[Asked, ...]:
        """Everything worth asking of anybody: worked out once for each look at the whole archive (with `as_kept` only
        the first time), without what was answered since."""
        from kinphoto.archive.asking import questions
        from kinphoto.archive.catalogue import freshness

        with self.reading() as connection:
            as_of = freshness.freshness(connection).as_of
            if self._asked is None or (self._asked[0] != as_of and not as_kept):
                self._asked = as_of, questions.everything(connection, self._everybody(connection))
            return questions.still_open(connection, self._asked[1])

    def asked_lately(self) -> bool:
        """Whether the questions that are kept are from the last look at the whole archive."""
        return self._asked is not None and self._asked[0] == self.freshness().as_of

    def state(self, said: NewClaim) -> tuple[Recorded, list[str]]:
        """Record a dated statement. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import claims

        with self._recorder("stated") as recorder:
            done = claims.state(recorder, said)
            recorder.write()
        return replace(done, change=recorder.work.id), recorder.warnings

    def record_made(
        self, photograph: str, kind: str, name: str, trust: str | None = None, by: str | None = None
    ) -> tuple[Recorded, list[str]]:
        """Record a process or format (`kind`). Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import claims

        with self._recorder(f"recorded a {kind}") as recorder:
            done = claims.made(recorder, photograph, kind, name, trust, by)
            recorder.write()
        return replace(done, change=recorder.work.id), recorder.warnings

    def relate(self, tie: Tie) -> tuple[Recorded, list[str]]:
        """Record how two photographs hang together. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import claims

        with self._recorder("related") as recorder:
            done = claims.relate(recorder, tie)
            recorder.write()
        return replace(done, change=recorder.work.id), recorder.warnings

    def relate_all(self, ties: Sequence[Tie]) -> tuple[Recorded, ...]:
        """Record several relations, all of them or none. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import claims

        with self._recorder("related") as recorder:
            done = claims.relate_all(recorder, ties)
            recorder.write()
        return tuple(replace(one, change=recorder.work.id) for one in done)

    def apply_sheet(self, name: str, path: Path, keep_going: bool = False) -> Applied:
        """Apply a spreadsheet of this kind (spreadsheets.SHEETS).

        Raises UnreadableFileError, or RowsRejectedError when a row cannot be applied and `keep_going` is False.
        """
        from kinphoto.archive.statements import spreadsheets

        with self._recorder("applied a spreadsheet", many=True) as recorder:
            return spreadsheets.apply_sheet(recorder, spreadsheets.SHEETS[name], path, keep_going)

    def describe(self, photograph: str, said: Description, instead_of: Description | None = None) -> Described:
        """Say what is known about an object; `instead_of` is what the person saw there. Raises NotFoundError,
        AmbiguousError, InvalidValueError, or ChangedMeanwhileError when another has changed it since."""
        from kinphoto.archive.statements import descriptions

        with self._recorder("described") as recorder:
            done = descriptions.describe(recorder, photograph, said, instead_of)
            recorder.write()
        return replace(done, change=recorder.work.id)

    def describe_alike(self, photographs: Sequence[str], said: Description) -> tuple[Described, ...]:
        """Say the same of several objects, of all or of none. Raises NotFoundError, AmbiguousError,
        InvalidValueError."""
        from kinphoto.archive.statements import descriptions

        with self._recorder("described") as recorder:
            done = descriptions.describe_alike(recorder, photographs, said)
            recorder.write()
        return tuple(replace(one, change=recorder.work.id) for one in done)

    def informant(self, name: str, person: str | None = None, note: str | None = None) -> Informant:
        """Make an informant known. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.statements import informants

        with self.working("noted an informant") as work:
            return informants.informant(work, name, person, note)

    def informants(self) -> tuple[InformantEntry, ...]:
        """Everybody who told something, with how much they said."""
        from kinphoto.archive.statements import informants

        with self.reading() as connection:
            return informants.informants(connection)

    def informant_names(self) -> tuple[str, ...]:
        """The names of everybody who told something."""
        from kinphoto.archive.statements import informants

        with self.reading() as connection:
            return informants.names(connection)

    def rename_informant(self, old: str, new: str) -> Informant:
        """Give an informant another name; one who is known by that already is the same from now on.
        Raises NotFoundError, InvalidValueError."""
        from kinphoto.archive.statements import informants

        with self.working("renamed an informant") as work:
            return informants.rename(work, old, new)

    def rename_container(self, container: str | int, new: str) -> Arranged:
        """Give a container (its name, folder, or row's id) another name. Raises NotFoundError, AmbiguousError,
        InvalidValueError."""
        from kinphoto.archive.collection import arranging

        with self.working("renamed a container") as work:
            return arranging.rename(work, container, new)

    def nest_container(self, container: str | int, into: str | int | None) -> Arranged:
        """Put a container into another, or out of the one it lies in. Raises NotFoundError, AmbiguousError,
        InvalidValueError."""
        from kinphoto.archive.collection import arranging

        with self.working("nested a container") as work:
            return arranging.nest(work, container, into)

    def place(self, photographs: Sequence[str], container: str | int) -> Arranged:
        """Put photographs into a container. Raises NotFoundError, AmbiguousError, InvalidValueError."""
        from kinphoto.archive.collection import arranging

        with self.working("placed photographs") as work:
            return arranging.place(work, photographs, container)

    def reorder(self, container: str | int, photographs: Sequence[str]) -> Arranged:
        """Bring a container into its physical order, these photographs first. Raises NotFoundError, AmbiguousError,
        InvalidValueError."""
        from kinphoto.archive.collection import arranging

        with self.working("ordered a container") as work:
            return arranging.reorder(work, container, photographs)

    def withdraw(self, statement: str) -> Withdrawn:
        """Withdraw a statement, an appearance, or a date or tie of the tree. Raises NotFoundError,
        InvalidValueError."""
        from kinphoto.archive.statements import withdrawing

        with self.working("withdrew") as work:
            return withdrawing.withdraw(work, statement)

    def reinstate(self, statement: str) -> Withdrawn:
        """Let what was withdrawn stand again. Raises NotFoundError, InvalidValueError."""
        from kinphoto.archive.statements import withdrawing

        with self.working("reinstated") as work:
            return withdrawing.reinstate(work, statement)

    def undo(self, number: int | None = None) -> Undone:
        """Take back a change, or the newest that stands. Raises NotFoundError, ArchiveError."""
        from kinphoto.archive.statements import history

        with self.working("undo") as work:
            return history.undo(work, number)

    def log(self, most: int | None = None, before: int | None = None) -> Sequence[Change]:
        """What was done, newest first: at most so many changes, of those before the one of the number `before`."""
        from kinphoto.archive.statements import history

        with self.reading() as connection:
            return history.log(connection, most, before)

    def photograph(self, photograph: str, *, for_anybody: bool = False) -> PhotographPage:
        """One photograph as an object, with everything recorded of it. Raises NotFoundError or AmbiguousError. Here and
        below `for_anybody` means: as if there were only what may be shown to somebody who has not signed in."""
        from kinphoto.archive.collection import photograph_page

        with self.reading() as connection:
            return photograph_page.read_page(connection, photograph, self._shown(connection, for_anybody))

    def about(self, text: str) -> AboutPhotograph | Lifeline | ContainerPage:
        """Everything about the photograph, else the person, else the container meant. Raises NotFoundError,
        AmbiguousError."""
        from kinphoto.archive.search import about

        return about.about(self, text)

    def listed(self, wanted: ListQuery) -> tuple[ListedPhotograph, ...]:
        """The photographs that fit, as they lie or, where years are asked for, by date. Raises NotFoundError,
        AmbiguousError, InvalidValueError."""
        from kinphoto.archive.search import listing

        return listing.listed(self, wanted)

    def quotes(self, photographs: Collection[str], question: SearchQuery) -> dict[str, tuple[Quote, ...]]:
        """For each of these photographs (codes) the words on and about it that a question asks for."""
        from kinphoto.archive.search import quoting, searching

        with self.reading() as connection:
            return quoting.quotes(connection, photographs, searching.understood(question)[0])

    def folders(self) -> list[str]:
        """The folders of scans that were indexed, without those inside another of them."""
        from kinphoto.archive.catalogue import containers

        with self.reading() as connection:
            return containers.folders(connection)

    def boxes(self, *, for_anybody: bool = False) -> tuple[ContainerRow, ...]:
        """Every container, each behind the one it lies in."""
        from kinphoto.archive.collection import container_pages

        with self.reading() as connection:
            return container_pages.container_rows(connection, self._shown(connection, for_anybody))

    def box_names(self, *, for_anybody: bool = False) -> tuple[ContainerName, ...]:
        """The same containers by name only."""
        from kinphoto.archive.collection import container_pages

        with self.reading() as connection:
            return container_pages.named_boxes(connection, self._shown(connection, for_anybody))

    def box(
        self, container: int | None, wanting: Missing | None = None, start: int = 0, *, for_anybody: bool = False
    ) -> ContainerPage:
        """One container (its row id; None: what lies nowhere yet), a page of its photographs from number `start` on.
        Raises NotFoundError."""
        from kinphoto.archive.collection import container_pages

        with self.reading() as connection:
            return container_pages.container_page(
                connection, container, wanting, start, self._shown(connection, for_anybody)
            )

    def set_aside(self) -> frozenset[str]:
        """The statements that are set aside, as of the newest estimates; they are not made anew for this."""
        from kinphoto.archive.dates import estimates

        with self.reading() as connection:
            return frozenset(estimates.read_settlement(connection).aside)

    def person(self, person: str, *, for_anybody: bool = False) -> Lifeline:
        """One person's life with its pictures and family. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.dates import estimates
        from kinphoto.archive.people import lifeline

        with self.reading() as connection:
            aside = estimates.read_settlement(connection).aside
            return lifeline.lifeline(connection, person, aside, self._shown(connection, for_anybody))

    def mounted(self, photographs: Sequence[str]) -> list[PhotographCard]:
        """These photographs (their codes) as one shows many; those that are not there are left out."""
        from kinphoto.archive.collection import container_pages

        with self.reading() as connection:
            return container_pages.cards_by_code(connection, photographs)

    def of_the_dead(self, photographs: Sequence[str]) -> frozenset[str]:
        """Those of these photographs (codes) that show nobody who may be living, as far as that is known."""
        from kinphoto.archive.catalogue import privacy

        with self.reading() as connection:
            return privacy.of_the_dead(connection, photographs)

    def for_anybody(self, photograph_id: int) -> bool:
        """Whether one photograph (its row id) shows nobody who may be living, as far as that is known."""
        from kinphoto.archive.catalogue import privacy

        with self.reading() as connection:
            return bool(privacy.for_anybody(connection, {photograph_id}))

    def the_living(self, people: Collection[str]) -> frozenset[str]:
        """Those of these people (their ids) who may be living."""
        from kinphoto.archive.catalogue import privacy

        with self.reading() as connection:
            return privacy.the_living(connection, people)

    def search(self, question: SearchQuery, start: int = 0, *, for_anybody: bool = False) -> SearchResult:
        """The photographs that fit, a page from number `start` on, and the people and containers that the words mean;
        with `for_anybody` also as if nothing were written but what anybody may read. Raises NotFoundError or
        AmbiguousError."""
        from kinphoto.archive.search import searching

        with self.reading() as connection:
            public = self._shown(connection, for_anybody)
            called = self._names(connection) if public is None else self._names_in_public(connection, public)
            return searching.search(connection, self.folder, called, question, start, public)

    def _shown(self, connection: Connection, for_anybody: bool) -> Public | None:
        """What may be shown to anybody, kept in memory until something changes; None where it is not `for_anybody`."""
        from kinphoto.archive.catalogue import privacy

        if not for_anybody:
            return None
        public = self._public = privacy.current(connection, self._public)
        return public

    def _names_in_public(self, connection: Connection, public: Public) -> NameIndex:
        """What those are called who may be named to anybody, kept in the same way."""
        from kinphoto.archive.catalogue import names as called

        names = self._called_in_public = called.current(connection, self._called_in_public, public)
        return names

    def _names(self, connection: Connection) -> NameIndex:
        """What everybody is called, kept in memory from one question to the next."""
        from kinphoto.archive.catalogue import names as called

        self._called = called.current(connection, self._called)
        return self._called

    def _everybody(self, connection: Connection) -> PeopleIndex:
        """The people, kept in memory from one question to the next."""
        from kinphoto.archive.people import people_index

        self._people_index = people_index.current(connection, self._names(connection), self._people_index)
        return self._people_index

    def pulse(self) -> str:
        """A word that is another whenever anything was changed, or estimated anew, since it was asked."""
        from kinphoto.archive.statements import history

        with self.reading() as connection:
            return history.pulse(connection)

    def overview(self, *, for_anybody: bool = False) -> Overview:
        """How much is in the archive, and how far it has got."""
        from kinphoto.archive.dates import estimates
        from kinphoto.archive.people import overview

        with self.reading() as connection:
            conflicts = len(estimates.read_settlement(connection).conflicts)
            return overview.overview(connection, conflicts, self._shown(connection, for_anybody))

    def kin_phrases(self, people: Sequence[str]) -> dict[str, str]:
        """What each of these people (their ids) is to the proband: "your great-grandmother"; without those who are
        no kin."""
        from kinphoto.archive.people import kinship

        with self.reading() as connection:
            return kinship.phrases_by_code(connection, people)

    @contextmanager
    def _recorder(self, what: str, *, many: bool = False) -> Iterator[Recorder]:
        from kinphoto.archive.statements.recorder import Recorder

        with self.working(what) as work:
            yield Recorder(work, many=many)

    def people(self, text: str = "", most: int | None = None, *, for_anybody: bool = False) -> FoundPeople:
        """The people whose names and years fit a line such as "Ada Marsh 1890"; everybody for an empty one. With
        `most` no more than so many: for an empty line those who are in the most pictures."""
        from kinphoto.archive.people import people

        with self.reading() as connection:
            return people.find(connection, text, most, self._shown(connection, for_anybody))

    def couples(self, text: str = "") -> tuple[Couple, ...]:
        """The couples of the tree with one or two names, or of an id; all for an empty line. Raises NotFoundError."""
        from kinphoto.archive.people import couples

        with self.reading() as connection:
            return couples.couples(connection, text)

    def suggested_births(self, people: Collection[str]) -> dict[str, BirthEstimate]:
        """The births that photographs suggest of those of these people (ids) whose birth the tree leaves open, as of
        the newest estimates; they are not made anew for this."""
        from kinphoto.archive.people import births

        with self.reading() as connection:
            return births.suggested(connection, people)

    def add_person(self, name: str, born: str | None = None, died: str | None = None, note: str = "") -> AddedPerson:
        """Name somebody who is in no tree. Raises InvalidValueError for a name or a date that cannot be understood."""
        from kinphoto.archive.people import people

        with self.working("") as work:
            return people.add(work, name, born, died, note)

    def same_person(self, somebody: str, turned_out: str) -> SamePerson:
        """Somebody outside the tree turned out to be another. Raises NotFoundError, AmbiguousError or
        InvalidValueError."""
        from kinphoto.archive.people import people

        with self.working("") as work:
            return people.same(work, somebody, turned_out)

    def kin(self, one: str, other: str) -> Kin:
        """How two people are related, in words. Raises NotFoundError or AmbiguousError."""
        from kinphoto.archive.people import kinship

        with self.reading() as connection:
            return kinship.kin(connection, one, other)

    def proband(self, person: str | None = None, *, nobody: bool = False) -> Proband:
        """From whom kinship is told: from `person` or from `nobody` from now on, otherwise as it stands. Raises
        NotFoundError or AmbiguousError."""
        from kinphoto.archive.people import proband

        if person is None and not nobody:
            with self.reading() as connection:
                return proband.proband(connection)
        with self.working("") as work:
            return proband.tell_from_nobody(work) if person is None else proband.tell_from(work, person)

    def pictures(
        self,
        person: str,
        *,
        ancestors: bool = False,
        descendants: bool = False,
        beside: Sequence[str] = (),
        since: str | None = None,
        until: str | None = None,
    ) -> Pictures:
        """Every picture of a person, or of a whole line, as taken. Raises NotFoundError, AmbiguousError or
        InvalidValueError."""
        from kinphoto.archive.people import pictures

        return pictures.pictures(
            self, person, ancestors=ancestors, descendants=descendants, beside=beside, since=since, until=until
        )
