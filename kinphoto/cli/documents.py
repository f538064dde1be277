"""What every command prints with `--json`.

Most of it is derived from the data class of the result, where each field is described (`kinphoto/documents.py`). This
file holds the few documents that differ from their results, and which command prints which. A command that prints words
loads none of it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import cache
from typing import TYPE_CHECKING, Annotated, Any, NamedTuple

from kinphoto.archive.catalogue.person_cards import Named, PersonCard
from kinphoto.archive.words.dates import born, one_of
from kinphoto.documents import INLINE, Key, described, stand_in
from kinphoto.documents import document as document
from kinphoto.gedcom.dates_in_text import DateFound
from kinphoto.reason.model.findings import BirthEstimate, Estimate, FittedAges
from kinphoto.reason.model.span import iso

if TYPE_CHECKING:
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.dates.outcome import Outcome
    from kinphoto.archive.people.pictures import Pictures
    from kinphoto.reason.advice import hindsight as reasoned


class DatesDocument(NamedTuple):
    """When a photograph was taken; all null where it has no date, as an album page."""

    earliest: Annotated[str, "first possible day, from laws and strong or certain statements"]
    latest: Annotated[str, "last possible day, likewise"]
    likely_from: Annotated[str | None, "start of the shortest interval that holds 90 %; null when open"]
    likely_to: Annotated[str | None, "end of that interval; null when open"]
    best: Annotated[str | None, "the posterior median; null when open"]
    edtf: Annotated[str | None, "the date to write into metadata, qualified when inferred; null when open"]
    one_of: Annotated[
        list[str],
        "dates (EDTF) that contradict each other with equal right: one is right; `best` lies in the likeliest; mostly "
        "empty",
    ]
    state: Annotated[str, "`dated`, `open` (only the laws speak) or `disputed` (it is part of a conflict)"]
    collection_from: Annotated[
        str | None,
        "when open: start of the interval that holds 90 % by what is kept with it alone. It is not a date of its own "
        "and never leaves the archive; null where that says nothing",
    ]
    collection_to: Annotated[str | None, "end of that interval"]

    @classmethod
    def of(cls, e: Estimate) -> DatesDocument:
        """As scripts read an estimate."""
        bounds = (iso(e.earliest) or "", iso(e.latest) or "")
        return cls(
            *bounds,
            iso(e.likely_from),
            iso(e.likely_to),
            iso(e.best),
            e.edtf or None,
            one_of(e.edtf),
            str(e.state),
            iso(e.collection_from),
            iso(e.collection_to),
        )


class SuggestedBirthDocument(NamedTuple):
    """A birth that photographs suggest."""

    likely_from: Annotated[str | None, "first day of the range the birth is in nine times in ten"]
    likely_to: Annotated[str | None, "last day of it"]
    best: Annotated[str | None, "the median"]
    photographs: Annotated[int, "how many photographs it rests on"]
    text: Annotated[str, "the same in words, in years"]

    @classmethod
    def of(cls, birth: BirthEstimate) -> SuggestedBirthDocument:
        """As scripts read it."""
        likely = iso(birth.likely_from), iso(birth.likely_to)
        return cls(*likely, iso(birth.best), birth.photographs, born(birth))


stand_in(Estimate, DatesDocument, DatesDocument.of)
stand_in(BirthEstimate, SuggestedBirthDocument, SuggestedBirthDocument.of)


class DatesInWords(NamedTuple):
    """The dates that stand in some words."""

    dates: Annotated[tuple[DateFound, ...], "the dates, in order"]


class NewArchive(NamedTuple):
    """An archive that was made."""

    archive: Annotated[str, "the folder of the new archive"]


class Consequence(NamedTuple):
    """What a new statement means for its photograph."""

    date: Annotated[Estimate | None, "the photograph's new date; null for an album page"]
    misfits: Annotated[Sequence[str], "why it does not fit with what else is known, in words"]

    @classmethod
    def of(cls, then: Outcome | None) -> Consequence:
        """As scripts read it."""
        return cls(None, ()) if then is None else cls(then.dated.estimate, then.misfits)


class InPhotograph(NamedTuple):
    """A photograph in which somebody is."""

    code: Annotated[str, "the photograph's code; the photographs come by best date, then earliest, undated last"]
    title: Annotated[str, "its title"]
    scans: Annotated[Sequence[str], "paths of its scans, the front first"]
    people: Annotated[list[str], "ids of everybody named in it"]
    perhaps: Annotated[
        list[str],
        "ids of those among them who may be somebody else: there is a rival name on the face, or somebody says that "
        "it is not this person",
    ]
    estimate: Annotated[Estimate | None, INLINE]

    @classmethod
    def of(cls, one: PhotographCard) -> InPhotograph:
        """As scripts read it."""
        ids = [who.id for who in one.people], [who.id for who in one.people if who.perhaps]
        return cls(one.code, one.title, one.scans, *ids, one.estimate)


class PicturesOf(NamedTuple):
    """Every picture of somebody."""

    person: Annotated[Named, "whose pictures"]
    photographs: list[InPhotograph]

    @classmethod
    def of(cls, found: Pictures) -> PicturesOf:
        """As scripts read it."""
        return cls(Named(found.id, found.name), [InPhotograph.of(one) for one in found.photographs])


class ScoreDocument(NamedTuple):
    """How estimates came out."""

    photographs: Annotated[
        int, "how many photographs have a date that is known to within a year, and were estimated without it"
    ]
    coverage: Annotated[
        float | None,
        Key("coverage90"),
        "how often the likely range was right: the mean of `inside`; null when there are none",
    ]
    median: Annotated[
        float | None,
        Key("median_abs_error_years"),
        "how far the best date was from the middle of the true span: the median, in years",
    ]
    mean: Annotated[float | None, Key("mean_abs_error_years"), "the same, the mean"]

    @classmethod
    def of(cls, score: reasoned.Score) -> ScoreDocument:
        """As scripts read it."""
        return cls(score.photographs, score.coverage, score.median, score.mean)


class KnownDate(NamedTuple):
    """A photograph whose date is known."""

    code: Annotated[str, "one of these photographs"]
    true_from: Annotated[str | None, "first day of the known date"]
    true_to: Annotated[str | None, "last day of the known date"]
    known_by: Annotated[str, "the kind of statement it is known by: taken, inscription, event, postmark, ..."]
    statement: Annotated[str, "that statement's id"]
    likely_from: Annotated[str | None, "the likely range without it, and without all else that rests on that date"]
    likely_to: Annotated[str | None, "the end of it"]
    best: Annotated[str | None, "the best date without it"]
    inside: Annotated[float, "the share of the known date's days that lie in the likely range, 0 to 1"]
    blind: Annotated[
        bool | None,
        "true when every age judged on it was judged before the date was seen, false when one was not, null when none "
        "was judged",
    ]

    @classmethod
    def of(cls, row: reasoned.Row) -> KnownDate:
        """As scripts read it."""
        true, likely = (iso(row.true.first), iso(row.true.last)), (iso(row.likely.first), iso(row.likely.last))
        return cls(row.photograph, *true, row.kind, row.by, *likely, iso(row.best), row.inside, row.blind)


class JudgeDocument(NamedTuple):
    """How somebody judged ages."""

    informant: Annotated[str | None, "who judged ages; null where nobody is named"]
    blind: Annotated[
        bool,
        "whether these ages were judged before the date was seen; only those teach how the informant judges",
    ]
    judgements: Annotated[int, "how many, of people whose birth is known to within a year"]
    bias_years: Annotated[float, "how much too old they were judged, in years, on average"]
    bias: Annotated[float, "the same on the scale on which all ages are judged equally well (docs/method.md)"]
    spread: Annotated[float | None, "standard deviation on that scale (0.17 is usual); null for a single judgement"]


class HindsightDocument(NamedTuple):
    """Known dates compared with what was estimated without them."""

    all: Annotated[ScoreDocument, INLINE]
    rows: list[KnownDate]
    undated: Annotated[
        Sequence[str], "codes of photographs where nothing but the known date shows when they were taken"
    ]
    blind: Annotated[ScoreDocument, "the same four figures for the rows with `blind` true"]
    seen: Annotated[ScoreDocument, "the same for the rows with `blind` false"]
    informants: list[JudgeDocument]
    fitted: Annotated[FittedAges | None, "how often ages were fitted to a date; null where nothing is dated yet"]

    @classmethod
    def of(cls, found: reasoned.Hindsight) -> HindsightDocument:
        """As scripts read it."""
        parts = ScoreDocument.of(found.of(True)), ScoreDocument.of(found.of(False))
        judges = [
            JudgeDocument(j.informant, j.blind, j.judgements, j.bias_years, j.bias, j.spread) for j in found.judges
        ]
        return cls(
            ScoreDocument.of(found.score), [KnownDate.of(row) for row in found.rows], found.undated, *parts, judges,
            found.fitted,
        )  # fmt: skip


@cache
def documents() -> dict[str, dict[str, str]]:
    """Of every command that takes `--json` the fields it prints, by their paths, and what each is."""
    from kinphoto.archive.asking.questions import QuestionList
    from kinphoto.archive.asking.who import Who
    from kinphoto.archive.catalogue.stories import Story
    from kinphoto.archive.collection.arranging import Arranged
    from kinphoto.archive.collection.bed_outlines import BedOutlines
    from kinphoto.archive.collection.better import Comparison
    from kinphoto.archive.collection.container_pages import ContainerPage, ContainerRow
    from kinphoto.archive.collection.cutting import BedsCut
    from kinphoto.archive.collection.hand_over import HandOver
    from kinphoto.archive.collection.joining import Joined, Separated
    from kinphoto.archive.collection.names_inside import NameInside, NamesTaken
    from kinphoto.archive.collection.numbers import NamesReport
    from kinphoto.archive.collection.pairing import Confirmed, Proposals
    from kinphoto.archive.collection.photograph_cards import PhotographCard
    from kinphoto.archive.collection.photograph_page import ContainerName
    from kinphoto.archive.collection.progress import LentContainer, Progress
    from kinphoto.archive.collection.reading_inside import InsideTaken
    from kinphoto.archive.collection.relocating import FoundAgain
    from kinphoto.archive.collection.removing import Removal
    from kinphoto.archive.collection.renaming import RenamingPlan
    from kinphoto.archive.collection.replacing import Replaced
    from kinphoto.archive.collection.resolution_floors import ResolutionFloor
    from kinphoto.archive.collection.rotation import Turned
    from kinphoto.archive.collection.scan_checks import AcceptedFinding, ScansChecked
    from kinphoto.archive.collection.scans_added import ScansAdded
    from kinphoto.archive.collection.straightening import PrintCaptures, Straightened
    from kinphoto.archive.collection.watching import WatchEvent
    from kinphoto.archive.collection.whereabouts import ScanFolder
    from kinphoto.archive.collection.words_inside import WordsInside
    from kinphoto.archive.dates.conflicts import SettledConflict
    from kinphoto.archive.dates.estimates import DatedPhotograph
    from kinphoto.archive.dates.explain import Explanation
    from kinphoto.archive.faces.alike import LooksAlike
    from kinphoto.archive.faces.deciding import FacesLaidApart
    from kinphoto.archive.faces.offers import FramesDecided, PhotographOffers
    from kinphoto.archive.faces.searching import FacesSearched
    from kinphoto.archive.faces.switch import FacesErased, FacesState, PersonLeftOut
    from kinphoto.archive.giving.copies import CopiesWritten
    from kinphoto.archive.giving.deposit import DepositMade
    from kinphoto.archive.giving.prints import PrintsWritten
    from kinphoto.archive.giving.selection import Report
    from kinphoto.archive.giving.sheets import PaperWritten
    from kinphoto.archive.giving.site import SiteWritten
    from kinphoto.archive.keeping.backup import BackedUp
    from kinphoto.archive.keeping.fixity import Verified
    from kinphoto.archive.keeping.package import PackageMade
    from kinphoto.archive.keeping.restoring import Restored
    from kinphoto.archive.keeping.state import KeepState
    from kinphoto.archive.people.couples import Couple
    from kinphoto.archive.people.kinship import Kinship
    from kinphoto.archive.people.lifeline import Lifeline
    from kinphoto.archive.people.people import AddedPerson, FoundPerson, SamePerson
    from kinphoto.archive.people.proband import Proband
    from kinphoto.archive.search.about import AboutPhotograph
    from kinphoto.archive.search.listing import ListedPhotograph
    from kinphoto.archive.search.quoting import Quote
    from kinphoto.archive.statements.appearances import Linked
    from kinphoto.archive.statements.claims import Recorded
    from kinphoto.archive.statements.consenting import Audience, Consent, ConsentsRecorded, Marked
    from kinphoto.archive.statements.descriptions import Described
    from kinphoto.archive.statements.frames import Framed, NameRemoved
    from kinphoto.archive.statements.history import Change, Undone
    from kinphoto.archive.statements.informants import Informant, InformantEntry
    from kinphoto.archive.statements.spreadsheets import Applied
    from kinphoto.archive.statements.telling import StoryRecorded
    from kinphoto.archive.statements.withdrawing import Withdrawn
    from kinphoto.archive.tree.checking import TreeCheck
    from kinphoto.archive.tree.exporting import TreeWritten
    from kinphoto.archive.tree.importing import TreeImported
    from kinphoto.archive.words.conflict_stories import StoryBook

    printed: dict[str, Any] = {
        "init": (NewArchive, Restored),
        "tree import": TreeImported,
        "tree write": TreeWritten,
        "tree check": TreeCheck,
        "scans add": ScansAdded,
        "scans join": Joined,
        "scans part": Separated,
        "scans turn": Turned,
        "scans inside": ({"names": [NameInside]}, NamesTaken, {"words": [WordsInside]}, InsideTaken),
        "scans names": NamesReport,
        "scans rename": RenamingPlan,
        "scans watch": WatchEvent,
        "scans pair": (Proposals, {"confirmed": Confirmed}),
        "scans cut": (BedsCut, {"beds": [BedOutlines]}),
        "scans straighten": (PrintCaptures, Straightened),
        "scans capture": Straightened,
        "scans compare": Comparison,
        "scans find": FoundAgain,
        "scans check": ScansChecked,
        "scans accept": AcceptedFinding,
        "scans floor": {"floors": [ResolutionFloor]},
        "scans where": {"folders": [ScanFolder]},
        "keep backup": BackedUp,
        "keep restore": Restored,
        "keep bag": (PackageMade, DepositMade),
        "keep verify": Verified,
        "keep state": KeepState,
        "link": (Linked, Consequence, Applied),
        **dict.fromkeys(("state", "process", "format"), (Recorded, Consequence, Applied)),
        "relate": (Recorded, Consequence, Applied, {"recorded": [Recorded]}),
        "read": DatesInWords,
        **dict.fromkeys(("faces on", "faces state"), FacesState),
        "faces off": FacesErased,
        "faces find": FacesSearched,
        "faces offers": {"photographs": [PhotographOffers]},
        **dict.fromkeys(("faces accept", "faces refuse"), FramesDecided),
        "faces forget": PersonLeftOut,
        "faces alike": LooksAlike,
        "faces apart": FacesLaidApart,
        "faces name": {"named": [Linked]},
        "frame": Framed,
        "unname": NameRemoved,
        "describe": (Described, Applied),
        "container list": {"containers": [ContainerRow]},
        **dict.fromkeys(("container rename", "container nest", "container place", "container order"), Arranged),
        "container in-order": Arranged,
        "informant": Informant,
        "tell": StoryRecorded,
        "stories": {"stories": [Story]},
        "informants": {"informants": [InformantEntry]},
        "withdraw": Withdrawn,
        "reinstate": Withdrawn,
        "container expect": Arranged,
        "container lent": {"lent": [LentContainer]},
        "progress": (Progress, HandOver),
        "remove": Removal,
        "replace": Replaced,
        "undo": Undone,
        "log": {"changes": [Change]},
        "dates": {"photographs": [DatedPhotograph]},
        "explain": Explanation,
        "ask": QuestionList,
        "who": Who,
        "hindsight": HindsightDocument,
        "conflicts": StoryBook,
        "settle": SettledConflict,
        "people": {"people": [FoundPerson]},
        "show": {"photograph": AboutPhotograph, "person": Lifeline, "box": ContainerPage},
        "find": {
            "people": [PersonCard],
            "boxes": [ContainerName],
            "photographs": [PhotographCard, {"words": [Quote]}],
            "count": Annotated[int, "how many photographs fit"],
            "stories": [Story],
            "similar": [Named],
        },
        "list": {"photographs": [ListedPhotograph]},
        "families": {"families": [Couple]},
        "people add": AddedPerson,
        "people same": SamePerson,
        "kin": Kinship,
        "proband": Proband,
        "pictures": PicturesOf,
        "give audience": (Audience, {"audiences": [Audience]}),
        **dict.fromkeys(("give consent", "give clear", "give revoke"), ConsentsRecorded),
        "give consents": {"consents": [Consent]},
        "give private": Marked,
        "give report": Report,
        "give copies": CopiesWritten,
        "give site": SiteWritten,
        "give prints": PrintsWritten,
        **dict.fromkeys(("give sheet", "give labels"), PaperWritten),
    }
    return {command: described(kind) for command, kind in printed.items()}
