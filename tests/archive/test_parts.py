"""Every public method of every part of the archive does to it what its kind says, shown on one small archive."""

from __future__ import annotations

import inspect
import shutil
from collections.abc import Callable, Iterator
from pathlib import Path
from threading import Event
from typing import Any

import pytest
from PIL import Image
from sqlalchemy import select

from kinphoto.archive import Archive
from kinphoto.archive.collection.bed_outlines import PrintOutline
from kinphoto.archive.collection.container_pages import Missing
from kinphoto.archive.collection.watching import WatchEvent, WatchEventKind
from kinphoto.archive.faces.kept import VERSION, keep_found
from kinphoto.archive.part import Kind, Method, Part
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
from kinphoto.archive.search.listing import ListQuery
from kinphoto.archive.search.question import SearchQuery
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim, Tie
from kinphoto.archive.statements.descriptions import Description
from kinphoto.archive.statements.telling import NewStory, StoryChange
from kinphoto.errors import KinphotoError
from kinphoto.share.facts import PersonFact, PictureFacts
from kinphoto.share.xmp import packet
from kinphoto.store import face_file
from kinphoto.store import tables as t
from kinphoto.store.session import deriving

PARTS: dict[str, type[Part]] = {
    "tree": Tree, "scans": Scans, "photographs": Photographs, "people": People, "statements": Statements,
    "stories": Stories, "dates": Dates, "asking": Asking, "faces": Faces, "search": Search, "give": Give,
    "keep": Keep,
}  # fmt: skip
METHODS = {f"{part}.{name}": found for part, made in PARTS.items() for name, found in vars(made).items()
           if isinstance(found, Method)}  # fmt: skip
Rows = dict[str, list[Any]]

FAMILY = """0 HEAD
1 GEDC
2 VERS 5.5.1
2 FORM LINEAGE-LINKED
1 CHAR UTF-8
0 @I1@ INDI
1 NAME Ada /Marsh/
1 BIRT
2 DATE 3 MAR 1900
0 @I2@ INDI
1 NAME Tom /Holm/
1 BIRT
2 DATE 1898
1 DEAT
2 DATE 9 NOV 1950
0 @I3@ INDI
1 NAME Eve /Holm/
0 @F1@ FAM
1 HUSB @I2@
1 WIFE @I1@
1 CHIL @I3@
0 TRLR
"""


def of_kind(kind: Kind) -> list[str]:
    return [name for name, found in METHODS.items() if found.kind is kind]


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A tree, the same tree a year later, a spreadsheet, five scans, and a better one of the first."""
    folder = tmp_path_factory.mktemp("files")
    (folder / "family.ged").write_text(FAMILY)
    (folder / "box").mkdir()
    (folder / "grown.ged").write_text(FAMILY.replace("0 @F1@", "0 @I4@ INDI\n1 NAME Una /Holm/\n0 @F1@"))
    (folder / "links.csv").write_text("photo,person\nK00003,I1\n")
    for place, names in {"box": ("one", "two", "one_back", "four", "four_back"), "more": ("one better", "six")}.items():
        (folder / place).mkdir(exist_ok=True)
        for number, name in enumerate(names, start=3 if place == "box" else 9):
            Image.linear_gradient("L").rotate(17 * number).resize((60, 40)).save(folder / place / f"{name}.png")
    return folder


@pytest.fixture(scope="module")
def made(files: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An archive with something of everything, dated: among it a photograph of the dead, which cannot be."""
    archive = Archive.create(tmp_path_factory.mktemp("made"))
    archive.tree.import_file(files / "family.ged")
    archive.people.add("Bill Pym")
    archive.scans.add([files / "box"])
    archive.scans.join(["K00002", "K00005"], side="verso")
    archive.statements.link(Link(photograph="K00001", person="I1", region="0.1,0.1,0.2,0.2", age="20", by="May"))
    archive.statements.link(Link(photograph="K00003", person="-", region="0.5,0.1,0.2,0.2", age="30"))
    archive.statements.link(Link(photograph="K00004", person="I2", region="0.1,0.1,0.2,0.2"))
    archive.statements.record(NewClaim(photograph="K00004", kind="taken", date="1980"))
    archive.statements.record(NewClaim(photograph="K00003", kind="taken", date="1931"))
    archive.statements.withdraw("S4")
    archive.photographs.describe("K00001", Description(note="at the harbour"))
    archive.photographs.move(["K00001", "K00003"], "Chest")
    archive.give.record_consent("I1", "public", asked_by="May", on="3 May 2026")
    archive.stories.tell(NewStory(text="The ferry sank.", by="May", about=["K00001", "I1"]))
    archive.photographs.lend("Chest", "Cousin Una")
    _write_beside(files / "box" / "one.png", people=(PersonFact("Tom H.", (0.6, 0.6, 0.2, 0.2)),))
    archive.scans.read_inside()
    _write_beside(files / "box" / "two.png", title="The mill")
    archive.dates.refresh()
    archive.faces.turn_on("May", living=True)
    _as_if_two_faces_were_found(archive, "K00003")
    archive.close()
    return archive.folder


def _write_beside(scan: Path, **facts: Any) -> None:
    """What another program says of a scan, in a sidecar."""
    scan.with_suffix(".xmp").write_bytes(packet(PictureFacts(identifier="", size=(60, 40), **facts)))


def _as_if_two_faces_were_found(archive: Archive, code: str) -> None:
    """Two frames on offer; the scans here are no pictures of anybody."""
    sha256 = archive.scans.picture(archive.photographs.details(code).recto.id).source.sha256
    faces = [{"region": [left, 0.6, 0.1, 0.1], "score": 0.9, "points": []} for left in (0.1, 0.4)]
    with face_file.writing(archive.folder) as file:
        keep_found(file, (sha256, VERSION), {"faces": faces, "turn": 0})
        file.execute("UPDATE face SET descriptor = ?", [bytes(4 * 128)])


@pytest.fixture
def archive(made: Path, tmp_path: Path) -> Iterator[Archive]:
    """A copy of it, for one test."""
    shutil.copytree(made, tmp_path / "archive")
    opened = Archive.open(tmp_path / "archive")
    yield opened
    opened.engine.dispose()


@pytest.fixture(scope="module")
def looked_at(made: Path) -> Iterator[Archive]:
    """The archive itself, for looking at."""
    opened = Archive.open(made)
    yield opened
    opened.engine.dispose()


def rows(archive: Archive) -> Rows:
    """Every row of every table."""
    with archive.reading() as connection:
        return {table.name: list(connection.execute(select(table))) for table in t.metadata.sorted_tables}


def _with_a_sure_capture(archive: Archive) -> Archive:
    """The first scan as if a camera had taken it of a print whose corners are sure."""
    archive.scans.check(["one.png"])
    with deriving(archive.scans._engine) as connection:
        connection.exec_driver_sql(
            """UPDATE scan_check SET measures = replace(replace(measures, '"camera": false', '"camera": true'),
            '"print_corners": []', '"print_corners": [[0, 0], [0.9, 0.1], [0.9, 0.9], [0, 0.8]]')"""
        )
    return archive


def _watched_until_two_are_there(archive: Archive, folder: Path) -> None:
    """A folder of two scans is watched until both were seen."""
    stop = Event()

    def tell(seen: WatchEvent) -> None:
        if seen.what is WatchEventKind.SCAN and seen.tonight.scans >= 2 and seen.path.endswith("six.png"):
            stop.set()

    archive.scans.watch(folder, tell, stop)


Example = Callable[[Archive, Path], object]


def _moved_and_found(archive: Archive, files: Path) -> None:
    """The folder of scans is moved, found again, and put back for whoever comes next."""
    (files / "box").rename(files / "elsewhere")
    try:
        archive.scans.find_again([files])
    finally:
        (files / "elsewhere").rename(files / "box")


EXAMPLES: dict[str, Example] = {
    "tree.import_file": lambda a, files: a.tree.import_file(files / "grown.ged"),
    "tree.plan_import": lambda a, files: a.tree.plan_import(files / "grown.ged"),
    "tree.kept_check": lambda a, files: a.tree.kept_check(),
    "tree.check": lambda a, files: a.tree.check(),
    "tree.write_file": lambda a, files: a.tree.write_file(a.folder / "out.ged"),
    "scans.add": lambda a, files: a.scans.add([files / "more"]),
    "scans.join": lambda a, files: a.scans.join(["K00001", "K00003"], side="recto"),
    "scans.separate": lambda a, files: a.scans.separate("four_back.png"),
    "scans.turn": lambda a, files: a.scans.turn("one.png", "left"),
    "scans.turn_all": lambda a, files: a.scans.turn_all(["K00001", "K00003"], "left"),
    "scans.replace": lambda a, files: a.scans.replace("K00003", files / "more" / "one better.png"),
    "scans.watch": lambda a, files: _watched_until_two_are_there(a, files / "more"),
    "scans.tonight": lambda a, files: a.scans.tonight(),
    "scans.latest": lambda a, files: a.scans.latest(),
    "scans.theme_in_use": lambda a, files: a.scans.theme_in_use(str(files / "more")),
    "scans.back_of_previous": lambda a, files: a.scans.back_of_previous(4),
    "scans.scanned_again": lambda a, files: a.scans.scanned_again(4),
    "scans.outlines": lambda a, files: a.scans.outlines("K00001"),
    "scans.set_outlines": lambda a, files: a.scans.set_outlines("one.png", [PrintOutline(20, 20, 60, 50)]),
    "scans.cut": lambda a, files: a.scans.cut(["one.png"], "tin", drawn=[PrintOutline(20, 20, 60, 50)]),
    "scans.prints_on": lambda a, files: a.scans.prints_on(1),
    "scans.captures": lambda a, files: a.scans.captures(),
    "scans.capture": lambda a, files: a.scans.capture("one.png"),
    "scans.say_capture": lambda a, files: a.scans.say_capture("one.png", "yes"),
    "scans.straighten": lambda a, files: a.scans.straighten("one.png", [(0, 0), (0.9, 0.1), (0.9, 0.9), (0, 0.8)]),
    "scans.straighten_sure": lambda a, files: _with_a_sure_capture(a).scans.straighten_sure(),
    "scans.show_as_taken": lambda a, files: a.scans.show_as_taken("one.png"),
    "scans.compare": lambda a, files: a.scans.compare("one.png", "K00003"),
    "scans.beds": lambda a, files: a.scans.beds(),
    "scans.pairs": lambda a, files: a.scans.pairs(),
    "scans.confirm_pairs": lambda a, files: a.scans.confirm_pairs(["back-3-4"]),
    "scans.confirm_sure_pairs": lambda a, files: a.scans.confirm_sure_pairs(),
    "scans.reject_pairs": lambda a, files: a.scans.reject_pairs(["back-3-4"]),
    "scans.names": lambda a, files: a.scans.names("tin"),
    "scans.hold_number": lambda a, files: a.scans.hold_number("tin", "stuck to the page"),
    "scans.plan_names": lambda a, files: a.scans.plan_names(["K00001"], "tin"),
    "scans.rename": lambda a, files: a.scans.rename(["K00001"], "tin"),
    "scans.find_again": lambda a, files: _moved_and_found(a, files),
    "scans.check": lambda a, files: a.scans.check(),
    "scans.findings": lambda a, files: a.scans.findings(["K00001"]),
    "scans.accept": lambda a, files: a.scans.accept("one.png", "ppi-missing"),
    "scans.accept_on": lambda a, files: a.scans.accept_on(1, "ppi-missing", "a copy"),
    "scans.floors": lambda a, files: a.scans.floors(),
    "scans.set_floor": lambda a, files: a.scans.set_floor("print", 300),
    "scans.folders": lambda a, files: a.scans.folders(),
    "scans.roots": lambda a, files: a.scans.roots(),
    "keep.back_up": lambda a, files: a.keep.back_up(files / "backup"),
    "keep.make_package": lambda a, files: a.keep.make_package(files / "packages"),
    "keep.verify": lambda a, files: a.keep.verify(),
    "keep.problems": lambda a, files: a.keep.problems(),
    "keep.state": lambda a, files: a.keep.state(),
    "keep.set_daily": lambda a, files: a.keep.set_daily(wanted=True, target=files / "backup"),
    "scans.move_root": lambda a, files: a.scans.move_root(files / "box", files / "box"),
    "scans.picture": lambda a, files: a.scans.picture(1),
    "scans.face_picture": lambda a, files: a.scans.face_picture(1),
    "scans.written_names": lambda a, files: a.scans.written_names(),
    "scans.written_words": lambda a, files: a.scans.written_words(),
    "scans.read_inside": lambda a, files: a.scans.read_inside(),
    "scans.take_names": lambda a, files: a.scans.take_names("Tom H.", "I2"),
    "photographs.details": lambda a, files: a.photographs.details("K00001", for_anybody=False),
    "photographs.faces": lambda a, files: a.photographs.faces("K00001"),
    "photographs.cards": lambda a, files: a.photographs.cards(["K00001", "K00002"]),
    "photographs.views": lambda a, files: a.photographs.views(["K00001", "K00002"], for_anybody=False),
    "photographs.describe": lambda a, files: a.photographs.describe("K00001", Description(title="Harbour")),
    "photographs.describe_alike": lambda a, files: a.photographs.describe_alike(
        ["K00001", "K00003"], Description(place="Hull")
    ),
    "photographs.containers": lambda a, files: a.photographs.containers(for_anybody=True),
    "photographs.container_names": lambda a, files: a.photographs.container_names(),
    "photographs.container": lambda a, files: a.photographs.container(None, Missing.DATE),
    "photographs.few_of_containers": lambda a, files: a.photographs.few_of_containers([0, 1], for_anybody=True),
    "photographs.rename_container": lambda a, files: a.photographs.rename_container(2, "Trunk"),
    "photographs.nest_container": lambda a, files: a.photographs.nest_container("Chest", "box"),
    "photographs.move": lambda a, files: a.photographs.move(["K00004"], "Chest"),
    "photographs.say_order": lambda a, files: a.photographs.say_order("Chest", "in-order"),
    "photographs.reorder": lambda a, files: a.photographs.reorder("Chest", ["K00003", "K00001"]),
    "photographs.remove": lambda a, files: a.photographs.remove(["K00003"], with_statements=True),
    "photographs.removal_preview": lambda a, files: a.photographs.removal_preview("K00001"),
    "photographs.scanning_progress": lambda a, files: a.photographs.scanning_progress(),
    "photographs.care": lambda a, files: a.photographs.care("The Green album"),
    "photographs.hand_over": lambda a, files: a.photographs.hand_over("Chest"),
    "photographs.set_quota": lambda a, files: a.photographs.set_quota(40),
    "photographs.expect": lambda a, files: a.photographs.expect("Chest", 400),
    "photographs.lend": lambda a, files: a.photographs.lend("Envelope", "Aunt May", condition="a corner torn"),
    "photographs.give_back": lambda a, files: a.photographs.give_back("Chest"),
    "photographs.shown_to_anybody": lambda a, files: a.photographs.shown_to_anybody(["K00001", "K00004"]),
    "photographs.is_shown_to_anybody": lambda a, files: a.photographs.is_shown_to_anybody(4),
    "people.find": lambda a, files: a.people.find("ada"),
    "people.life": lambda a, files: a.people.life("I1"),
    "people.pictures": lambda a, files: a.people.pictures("I1", descendants=True),
    "people.portraits": lambda a, files: a.people.portraits(["I1", "I2"]),
    "people.couples": lambda a, files: a.people.couples(),
    "people.suggested_births": lambda a, files: a.people.suggested_births(["I3"]),
    "people.living": lambda a, files: a.people.living(["I2", "I3"]),
    "people.add": lambda a, files: a.people.add("Joan Pym", "1901"),
    "people.identify": lambda a, files: a.people.identify("X1", "I2"),
    "people.kinship": lambda a, files: a.people.kinship("I3", "I1"),
    "people.kin_phrases": lambda a, files: a.people.kin_phrases(["I3"]),
    "people.proband": lambda a, files: a.people.proband(),
    "people.choose_proband": lambda a, files: a.people.choose_proband("I3"),
    "statements.link": lambda a, files: a.statements.link(Link(photograph="K00003", person="I3")),
    "statements.link_newcomer": lambda a, files: a.statements.link_newcomer(
        Link(photograph="K00003", person=""), "Lily Brook"
    ),
    "statements.move_face": lambda a, files: a.statements.move_face("K00001", "R1", "0.2,0.2,0.2,0.2"),
    "statements.take_name_off": lambda a, files: a.statements.take_name_off("A1"),
    "statements.record": lambda a, files: a.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925")),
    "statements.record_all": lambda a, files: a.statements.record_all(
        [NewClaim(photograph=code, kind="taken", date="1925") for code in ("K00001", "K00003")]
    ),
    "statements.record_making_of_all": lambda a, files: a.statements.record_making_of_all(
        ["K00001", "K00003"], "process", "tintype"
    ),
    "statements.link_all": lambda a, files: a.statements.link_all([Link(photograph="K00003", person="I3")]),
    "statements.record_making": lambda a, files: a.statements.record_making("K00001", "process", "tintype"),
    "statements.relate": lambda a, files: a.statements.relate(
        Tie(photograph="K00001", relation="before", other="K00003")
    ),
    "statements.relate_all": lambda a, files: a.statements.relate_all(
        [Tie(photograph="K00001", relation="copy-of", other=other) for other in ("K00002", "K00003")]
    ),
    "statements.apply_spreadsheet": lambda a, files: a.statements.apply_spreadsheet("links", files / "links.csv"),
    "statements.withdraw": lambda a, files: a.statements.withdraw("S3"),
    "statements.reinstate": lambda a, files: a.statements.reinstate("S4"),
    "statements.informants": lambda a, files: a.statements.informants(),
    "statements.dates_in_words": lambda a, files: a.statements.dates_in_words("K1", "Whitsun 1931, Ada's 7th birthday"),
    "statements.date_typed": lambda a, files: a.statements.date_typed("K1", "Whitsun 1931"),
    "statements.informant_names": lambda a, files: a.statements.informant_names(),
    "statements.add_informant": lambda a, files: a.statements.add_informant("June", note="a neighbour"),
    "statements.rename_informant": lambda a, files: a.statements.rename_informant("May", "Aunt May"),
    "stories.tell": lambda a, files: a.stories.tell(NewStory(text="The mill burned.", by="May", about=["K00001"])),
    "stories.change": lambda a, files: a.stories.change("T1", StoryChange(title="The ferry")),
    "stories.list": lambda a, files: a.stories.list(),
    "stories.about": lambda a, files: a.stories.about("I1"),
    "stories.details": lambda a, files: a.stories.details("T1"),
    "statements.newest_change": lambda a, files: a.statements.newest_change(),
    "statements.history": lambda a, files: a.statements.history(3),
    "statements.changes": lambda a, files: a.statements.changes([1, 2]),
    "statements.numbers_after": lambda a, files: a.statements.numbers_after(1),
    "statements.undo": lambda a, files: a.statements.undo(),
    "statements.revision": lambda a, files: a.statements.revision(),
    "dates.estimates": lambda a, files: a.dates.estimates(["K00001"]),
    "dates.kept_estimates": lambda a, files: a.dates.kept_estimates(),
    "dates.kept_around": lambda a, files: a.dates.kept_around("K00001"),
    "dates.moved_since": lambda a, files: a.dates.moved_since(a.dates.kept_around("K00001"), "K00001"),
    "dates.explanation": lambda a, files: a.dates.explanation("K00001"),
    "dates.evidence_strip": lambda a, files: a.dates.evidence_strip("K00001", ["S1"]),
    "dates.outcome": lambda a, files: a.dates.outcome("K00001", ["S1"]),
    "dates.hindsight": lambda a, files: a.dates.hindsight(),
    "dates.conflicts": lambda a, files: a.dates.conflicts(),
    "dates.kept_conflicts": lambda a, files: a.dates.kept_conflicts(),
    "dates.settle": lambda a, files: a.dates.settle(a.dates.kept_conflicts().stories[0].id, ["A"]),
    "dates.dispute": lambda a, files: a.dates.dispute(a.dates.kept_conflicts().stories[0].id),
    "dates.statements_set_aside": lambda a, files: a.dates.statements_set_aside(),
    "dates.freshness": lambda a, files: a.dates.freshness(),
    "dates.refresh": lambda a, files: a.dates.refresh(),
    "dates.refresh_in_memory": lambda a, files: a.dates.refresh_in_memory(),
    "dates.refresh_photographs": lambda a, files: a.dates.refresh_photographs(["K00001"]),
    "asking.questions": lambda a, files: a.asking.questions("May"),
    "asking.kept_questions": lambda a, files: a.asking.kept_questions(),
    "asking.has_current_questions": lambda a, files: a.asking.has_current_questions(),
    "asking.work_out_questions": lambda a, files: a.asking.work_out_questions(),
    "asking.candidates": lambda a, files: a.asking.candidates("K00003"),
    "asking.name_suggestions": lambda a, files: a.asking.name_suggestions("K00003", "a"),
    "asking.open_photographs": lambda a, files: a.asking.open_photographs(5),
    "faces.state": lambda a, files: a.faces.state(),
    "faces.turn_on": lambda a, files: a.faces.turn_on("May"),
    "faces.turn_off": lambda a, files: a.faces.turn_off(),
    "faces.leave_out": lambda a, files: a.faces.leave_out("I1"),
    "faces.find": lambda a, files: a.faces.find(["K00001"]),
    "faces.offers": lambda a, files: a.faces.offers(),
    "faces.accept": lambda a, files: a.faces.accept("K00003", ["F1"]),
    "faces.refuse": lambda a, files: a.faces.refuse("K00003", ["F2"]),
    "faces.alike": lambda a, files: a.faces.alike(),
    "faces.name_together": lambda a, files: a.faces.name_together("I2", ["F1"]),
    "faces.lay_apart": lambda a, files: a.faces.lay_apart(["F1"], ["F2"]),
    "faces.picture": lambda a, files: a.faces.picture(1),
    "search.find": lambda a, files: a.search.find(SearchQuery(text="harbour"), for_anybody=True),
    "search.quotes": lambda a, files: a.search.quotes(["K00001"], SearchQuery(text="harbour")),
    "search.details": lambda a, files: a.search.details("K00001"),
    "search.photographs": lambda a, files: a.search.photographs(ListQuery(years="1920s")),
    "search.overview": lambda a, files: a.search.overview(),
    "give.audiences": lambda a, files: a.give.audiences(),
    "give.add_audience": lambda a, files: a.give.add_audience("cousins", "Una in Hull"),
    "give.record_consent": lambda a, files: a.give.record_consent("I3", "public", asked_by="May"),
    "give.release": lambda a, files: a.give.release(["K00001"], "public", what="words", looked_by="May"),
    "give.record_telling": lambda a, files: a.give.record_telling("T1", "public", asked_by="May"),
    "give.revoke": lambda a, files: a.give.revoke("C1"),
    "give.consents": lambda a, files: a.give.consents("public", revoked=True),
    "give.mark_private": lambda a, files: a.give.mark_private(["K00003"]),
    "give.write_copies": lambda a, files: a.give.write_copies(a.folder.parent / "copies", "household", write=True),
    "give.write_sheets": lambda a, files: a.give.write_sheets(
        a.folder.parent / "s.pdf", "May", "household", write=True
    ),
    "give.write_labels": lambda a, files: a.give.write_labels(a.folder.parent / "l.pdf", write=True),
    "give.write_site": lambda a, files: a.give.write_site(a.folder.parent / "site", "household", write=True),
    "give.make_deposit": lambda a, files: a.give.make_deposit(a.folder.parent / "deposits", "household", write=True),
    "give.write_prints": lambda a, files: a.give.write_prints("household"),
    "give.count_print_sizes": lambda a, files: a.give.count_print_sizes(["K00001", "K00002"]),
    "give.kept_report": lambda a, files: a.give.kept_report("public"),
    "give.report": lambda a, files: a.give.report("household"),
    "search.decades": lambda a, files: a.search.decades(for_anybody=True),
    "search.decade": lambda a, files: a.search.decade(1920),
}
"""A call of each. That of a method which writes changes something."""

NO_MORE_TO_DO = {
    "tree.import_file", "scans.add", "photographs.describe", "photographs.describe_alike",
    "photographs.rename_container", "photographs.nest_container", "photographs.move", "photographs.reorder",
    "photographs.say_order",
    "people.choose_proband", "scans.rename", "scans.confirm_pairs",
    "scans.confirm_sure_pairs", "photographs.set_quota", "photographs.expect",
    "statements.link", "statements.move_face", "statements.record",
    "statements.record_making", "statements.relate", "statements.apply_spreadsheet", "statements.withdraw",
    "statements.reinstate", "statements.add_informant", "give.add_audience", "give.revoke", "give.mark_private",
    "faces.leave_out", "scans.take_names", "scans.read_inside", "stories.change", "scans.accept", "scans.accept_on",
    "scans.set_floor",
}  # fmt: skip
"""Those that change nothing when they are called the same way again."""


def test_a_part_has_nothing_but_methods_of_the_four_kinds(looked_at: Archive) -> None:
    """Whatever is public on a part was made by `reads`, `writes`, `rehearses` or `derives`; and the archive hands out
    these parts and no others."""
    other = [f"{part}.{name}" for part, made in PARTS.items() for name in dir(made)
             if not name.startswith("_") and f"{part}.{name}" not in METHODS]  # fmt: skip
    assert other == []
    assert {name: type(found) for name, found in vars(looked_at).items() if isinstance(found, Part)} == PARTS
    assert {type(found.kind) for found in METHODS.values()} == {Kind}


def test_each_method_has_an_example() -> None:
    """Whoever adds a method adds a call of it here."""
    assert set(EXAMPLES) == set(METHODS)


@pytest.mark.parametrize("name", METHODS)
def test_help_shows_signature_and_words_of_the_function_below(looked_at: Archive, name: str) -> None:
    """`help(archive.tree.import_file)` tells what to give it, without the unit of work, and what it does."""
    part, _, method = name.partition(".")
    bound = getattr(getattr(looked_at, part), method)
    assert inspect.getdoc(bound)
    first = next(iter(inspect.signature(getattr(PARTS[part], method)).parameters))
    assert first in ("connection", "work", "engine", "recorder")
    assert first not in inspect.signature(bound).parameters


@pytest.mark.parametrize("name", of_kind(Kind.READS))
def test_reading_changes_nothing(looked_at: Archive, files: Path, name: str) -> None:
    """Every table and the log are as they were, also where the estimates have to be fresh: they are."""
    before = rows(looked_at)
    EXAMPLES[name](looked_at, files)
    assert rows(looked_at) == before


@pytest.mark.parametrize("name", of_kind(Kind.WRITES))
def test_writing_leaves_one_line_of_the_log(archive: Archive, files: Path, name: str) -> None:
    """One line with words; calling it again the same way leaves another, or none where there is nothing more to do,
    and then everything is as it was. What it did can be taken back."""
    before = rows(archive)
    EXAMPLES[name](archive, files)
    done = rows(archive)
    assert len(done["change"]) == len(before["change"]) + 1
    assert done["change"][-1].what
    if name in NO_MORE_TO_DO:
        EXAMPLES[name](archive, files)
        assert _but(rows(archive), "counter") == _but(done, "counter")
    archive.statements.undo(done["change"][-1].id)
    changed = {"change", "change_row", "counter", "estimate", "from_container", "one_container", "setting",
               "scan_root", "fixity", "scan_check"}  # fmt: skip
    assert _but(rows(archive), *changed) == _but(before, *changed)


@pytest.mark.parametrize("name", of_kind(Kind.REHEARSES))
def test_a_rehearsal_leaves_nothing(archive: Archive, files: Path, name: str) -> None:
    """What was carried out to see what it would do is gone."""
    before = rows(archive)
    assert EXAMPLES[name](archive, files)
    assert rows(archive) == before


@pytest.mark.parametrize("name", of_kind(Kind.DERIVES))
def test_what_is_derived_leaves_no_line(archive: Archive, files: Path, name: str) -> None:
    """Also where there is something to derive: a date was recorded since everything was last dated. Only what is kept
    of the estimates and of the checks of scans changes, and where the scans are on this computer."""
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925"))
    before = rows(archive)
    EXAMPLES[name](archive, files)
    derived = ("estimate", "setting", "scan_check", "scan_root", "fixity", "from_container", "one_container")
    assert _but(rows(archive), *derived) == _but(before, *derived)


FRESH = {
    "dates.estimates", "dates.explanation", "dates.conflicts", "people.pictures", "asking.questions",
    "search.photographs", "search.details", "tree.check", "dates.refresh", "dates.refresh_in_memory",
    "dates.refresh_photographs", "dates.outcome", "tree.write_file", "give.report",
    "give.write_copies", "give.write_sheets", "give.write_labels", "give.write_site",
    "give.write_prints", "give.make_deposit",
}  # fmt: skip
"""Those that have everything dated again first, or do just that."""


@pytest.mark.parametrize("name", [*of_kind(Kind.READS), *of_kind(Kind.DERIVES)])
def test_who_has_everything_dated_first(archive: Archive, files: Path, name: str) -> None:
    """After a change some methods answer by fresh estimates; all others by those that are kept, at once."""
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925"))
    assert not archive.dates.freshness().fresh
    EXAMPLES[name](archive, files)
    assert archive.dates.freshness().fresh is (name in FRESH)


def test_settling_looks_again_only_where_it_has_to(archive: Archive) -> None:
    """A conflict that nothing has touched is settled as it was found; one that is not known is looked for anew."""
    story = archive.dates.kept_conflicts().stories[0]
    archive.statements.record(NewClaim(photograph="K00001", kind="taken", date="1925"))
    archive.dates.settle(story.id, ["A"])
    assert not archive.dates.freshness().fresh
    with pytest.raises(KinphotoError, match="no conflict"):
        archive.dates.settle(story.id, ["A"])
    assert archive.dates.freshness().fresh


def test_steps_join_one_line_while_nobody_else_writes(
    archive: Archive, files: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Two batches of scans are one line of the log; when somebody says something between them, there are two of them
    around that."""
    from kinphoto.archive.collection import scanning

    monkeypatch.setattr(scanning, "_BATCH_FILES", 1)
    before = len(archive.statements.history())
    archive.scans.add([files / "more"])
    assert len(archive.statements.history()) == before + 1
    archive.statements.undo()

    def somebody_says(done: int, _total: int) -> None:
        if done == 1:
            archive.people.add("Joan Pym")

    archive.scans.add([files / "more"], progress=somebody_says)
    assert [" ".join(change.what.split()[:2]) for change in archive.statements.history(3)] == [
        "added 1",
        "added Joan",
        "added 1",
    ]


def _but(found: Rows, *tables: str) -> Rows:
    return {name: there for name, there in found.items() if name not in tables}
