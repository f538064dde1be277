"""Every table of an archive.

Days are proleptic Gregorian ordinals (`reason/model/span.py`), times are UTC ISO 8601 text, flags are 0 or 1, regions
are left, top, width, height in 0..1 of the upright image. Every table that the change log covers has an integer `id`,
assigned from `counter` and never used twice, so that undoing and redoing a change can never touch an unrelated row.
"""

from __future__ import annotations

from typing import Any

from sqlalchemy import BLOB, REAL, Column, ForeignKey, Index, Integer, Table, Text

from kinphoto.store.derived_tables import estimate as estimate
from kinphoto.store.derived_tables import fixity as fixity
from kinphoto.store.derived_tables import from_container as from_container
from kinphoto.store.derived_tables import one_container as one_container
from kinphoto.store.derived_tables import scan_check as scan_check
from kinphoto.store.derived_tables import setting as setting
from kinphoto.store.roots import ScanPath
from kinphoto.store.table_columns import flag, reference, table
from kinphoto.store.table_columns import metadata as metadata

SCHEMA = "0025"
"""The newest migration: what `alembic_version` holds in an archive this program can use as it is."""


# The tree ------------------------------------------------------------------------------------------------------

tree_file = table(
    "tree_file",
    Column("path", Text, nullable=False),
    Column("sha256", Text, nullable=False),
    Column("encoding", Text, nullable=False),
    Column("version", Text, nullable=False),
    Column("imported_at", Text, nullable=False),
)
"""Each tree file that was imported, newest last."""

person = table(
    "person",
    Column("code", Text, nullable=False, unique=True),  # I12 as in the tree, X7 for somebody outside it
    Column("outside", Integer, nullable=False, default=0),
    Column("gone", Integer, nullable=False, default=0),  # was in the tree, is not in its newest import
    Column("sex", Text, nullable=False, default="U"),  # M, F, X or U
    Column("name", Text, nullable=False, default=""),  # the first name, as shown
    Column("living", Integer),  # 1, 0, or unknown
    Column("uid", Text, index=True),  # UID/EXID/REFN, for finding the same person again
    Column("note", Text, nullable=False, default=""),
    Column("same_as_id", Integer, ForeignKey("person.id"), index=True),  # X7 turned out to be this person
)

name = table(
    "name",
    reference("person"),
    Column("position", Integer, nullable=False, default=0),
    Column("kind", Text, nullable=False, default=""),  # birth, married, aka, ...
    Column("text", Text, nullable=False),
    Column("given", Text, nullable=False, default=""),
    Column("surname", Text, nullable=False, default=""),
    Column("nickname", Text, nullable=False, default=""),
    Column("folded", Text, nullable=False, index=True),  # lower case, no accents, for search
)

family = table(
    "family",
    Column("code", Text, nullable=False, unique=True),
    Column("gone", Integer, nullable=False, default=0),
    flag("withdrawn"),  # somebody withdrew that they married
)

partner = table(
    "partner", reference("family"), reference("person"), Column("position", Integer, nullable=False, default=0)
)

parent_link = table(
    "parent_link",
    reference("family", null=True),
    Column("child_id", Integer, ForeignKey("person.id"), nullable=False, index=True),
    Column("parent_id", Integer, ForeignKey("person.id"), nullable=False, index=True),
    Column("pedigree", Text, nullable=False, default="birth"),  # birth, adopted, foster, step, sealing, unknown
    flag("withdrawn"),
)

event = table(
    "event",
    reference("person", null=True),
    reference("family", null=True),
    Column("tag", Text, nullable=False),  # BIRT, CHR, DEAT, BURI, MARR, GRAD, ...
    Column("kind", Text, nullable=False, default=""),  # the TYPE line, in the file's words
    Column("position", Integer, nullable=False, default=0),  # among the same tag: 0 is the preferred one
    Column("date_text", Text, nullable=False, default=""),
    Column("first", Integer),
    Column("last", Integer),
    Column("shape", Text, nullable=False, default="flat"),
    Column("centre", REAL),
    Column("spread", REAL),
    Column("doubtful", Integer, nullable=False, default=0),
    Column("place", Text, nullable=False, default=""),
    Column("quality", Integer),  # QUAY 0..3
    Column("line", Integer),
    flag("withdrawn"),  # somebody withdrew its date
)

former_id = table(
    "former_id",
    Column("code", Text, nullable=False, index=True),
    reference("person", null=True),
    reference("family", null=True),
)
"""Ids that a person or a family had in earlier files of the tree; each row is of one of the two."""

proband = table("proband", reference("person"))
"""From whom relationships are given ("your great-grandmother"): one row, or none."""

# The collection ------------------------------------------------------------------------------------------------

scan_root = Table(
    "scan_root",
    metadata,
    Column("id", Integer, primary_key=True, autoincrement=False),
    Column("path", Text, nullable=False, unique=True),  # on this computer
    Column("archive", Text, nullable=False),  # the archive's folder when that was written
    sqlite_strict=True,
)
"""The folders that scans were added from (`store/roots.py`). No part of the collection's history: undo leaves them."""

container = table(
    "container",
    Column("name", Text, nullable=False),
    Column("parent_id", Integer, ForeignKey("container.id"), index=True),
    Column("folder", ScanPath, index=True),  # the folder of scans it stands for, None when a person named it
    Column("expected", Integer),  # about how many prints are in it, where somebody counted or guessed
    Column("note", Text, nullable=False, default=""),
    Column("arrangement", Text, nullable=False, default="", server_default=""),  # in-order, backwards, not-in-order
)

photograph = table(
    "photograph",
    Column("code", Text, nullable=False, unique=True),
    reference("container", null=True),
    Column("position", Integer, nullable=False, default=0),  # physical order in the container
    Column("page", Integer, nullable=False, default=0),
    Column("title", Text, nullable=False, default=""),
    Column("place", Text, nullable=False, default=""),
    Column("note", Text, nullable=False, default=""),
    Column("rights", Text, nullable=False, default=""),
    Column("maker", Text, nullable=False, default=""),
    Column("former_number", Text, nullable=False, default=""),
    Column("indexed", Integer, nullable=False),  # the day its first scan was indexed
    flag("private"),  # the keeper wants it in no output
    flag("number_withdrawn"),  # somebody withdrew that its number says when it was taken
)

alias = table("alias", Column("code", Text, nullable=False, unique=True), reference("photograph"))
"""Codes of photographs that were joined into another."""

scan = table(
    "scan",
    reference("photograph"),
    Column("path", ScanPath, nullable=False, unique=True),  # with #page=3 for a page of a file
    Column("sha256", Text, nullable=False, index=True),  # of the file, or of a page's pixels
    Column("size", Integer, nullable=False),
    Column("mtime_ns", Integer, nullable=False),
    Column("side", Text, nullable=False, default="recto"),  # recto, verso, detail
    Column("position", Integer, nullable=False, default=0),
    Column("file_type", Text, nullable=False),  # JPEG, TIFF, PNG, WEBP, HEIF, PDF
    Column("width", Integer, nullable=False),
    Column("height", Integer, nullable=False),
    Column("ppi", REAL),  # None when unknown
    Column("bits", Integer),  # per channel
    Column("mode", Text, nullable=False, default=""),  # as Pillow names it: L, RGB, I;16 ...
    Column("pages", Integer, nullable=False, default=1),
    Column("orientation", Integer, nullable=False, default=1),  # EXIF 1..8
    Column("phash", Text),
    Column("look", Text),  # scans/look.py; None: from the thumbnail
    Column("exif_original", Text),  # DateTimeOriginal as written
    Column("exif_digitized", Text),
    Column("device", Text),
    Column("indexed_at", Text, nullable=False),
    Column("first_sha256", Text, nullable=False),  # the bytes as first indexed, so that an edit shows
    Column("first_code", Text, nullable=False, default=""),  # its photograph's when first indexed, for parting it again
    Column("missing", Integer, nullable=False, default=0),
    flag("turn"),  # how it is shown, after the orientation in the file (scans/upright.py)
    Column("straight", Text, nullable=False, default="", server_default=""),  # its corners; "no": refused
    Column("capture", Text, nullable=False, default="", server_default=""),  # of a print: yes, no, ask the file
    flag("superseded"),  # a better scan of the same side took its place
    flag("page"),  # counted from 1; 0: the file has one picture
    Column("file_sha256", Text, nullable=False, default="", server_default="", index=True),  # of the file of a page
    flag("picture_end"),  # bytes of a JPEG that are its picture (scans/jpeg.py); 0: not known
)

removed_scan = table(
    "removed_scan",
    Column("path", ScanPath, nullable=False),
    Column("sha256", Text, nullable=False, index=True),
    Column("size", Integer, nullable=False),
    Column("code", Text, nullable=False, index=True),  # of the photograph it was
)
"""Scans that somebody removed from the archive; they are added again only on request."""

former_name = table(
    "former_name",
    reference("scan"),
    Column("path", Text, nullable=False, index=True),  # absolute, with #page=3 for a page of a file
)
"""Paths that scans had before `scans rename` gave them others. They still find them."""

held_number = table(
    "held_number",
    Column("theme", Text, nullable=False, index=True),
    Column("number", Integer, nullable=False),
    Column("why", Text, nullable=False),
    Column("said_at", Text, nullable=False),
)
"""Numbers that are kept free on purpose, as for a print that was missed."""

unpaired = table(
    "unpaired",
    Column("one_id", Integer, ForeignKey("scan.id"), nullable=False, index=True),
    Column("other_id", Integer, ForeignKey("scan.id"), nullable=False, index=True),
)
"""Two scans that somebody said are not of one object; they are not proposed again."""

envelope = table(
    "envelope",
    Column("lender", Text, nullable=False),
    Column("came", Integer, nullable=False),  # the day
    Column("holds", Text, nullable=False, default=""),
    Column("condition", Text, nullable=False, default=""),
    Column("returned", Integer),  # the day; None while it is here
    reference("container", null=True),
)
"""Envelopes and boxes that somebody lent."""

quota = table("quota", Column("prints", Integer, nullable=False))
"""How many prints somebody means to scan in an evening: one row, or none."""

accepted_finding = table(
    "accepted_finding",
    reference("scan"),
    Column("kind", Text, nullable=False),  # a key of scans/checks/limits.py
    Column("why", Text, nullable=False, default=""),
    Column("said_at", Text, nullable=False),
)
"""Findings about a scan that somebody accepted, mostly because the original is like that."""

resolution_floor = table(
    "resolution_floor",
    Column("original", Text, nullable=False, unique=True),  # print, small-print, film ... as in scans/checks/limits.py
    Column("ppi", REAL, nullable=False),
)
"""The minimum resolution that somebody set for a kind of original."""

print_frame = table(
    "print_frame",
    reference("scan"),
    Column("position", Integer, nullable=False, default=0),  # in the order of the page, from 1
    Column("x", REAL, nullable=False),
    Column("y", REAL, nullable=False),
    Column("width", REAL, nullable=False),
    Column("height", REAL, nullable=False),
    Column("turn", REAL, nullable=False, default=0),
    Column("caption", Text, nullable=False, default=""),
    reference("photograph", null=True),
)
"""The place of a print on a scan that shows several: its middle and size in pixels of the upright picture, turned by
degrees clockwise; and the photograph it is, once it was cut out or scanned by itself."""

refused_frame = table(
    "refused_frame",
    Column("sha256", Text, nullable=False, index=True),  # of the scan, which may be indexed again
    Column("left", REAL, nullable=False),  # of the picture as its file asks to be turned, before anybody turned it
    Column("top", REAL, nullable=False),
    Column("width", REAL, nullable=False),
    Column("height", REAL, nullable=False),
    Column("said_at", Text, nullable=False),
)
"""Frames that a search for faces offered and somebody refused for good. What it found is in a file of its own
(`face_file.py`)."""

uncompared_person = table("uncompared_person", reference("person"), Column("said_at", Text, nullable=False))
"""People whose faces are not compared with any others."""


def _place(end: str = "") -> list[Column[Any]]:
    """Where a face is on a scan, as in `refused_frame`."""
    sides = (Column(f"{end}{side}", REAL, nullable=False) for side in ("left", "top", "width", "height"))
    return [Column(f"{end}sha256", Text, nullable=False), *sides]


faces_apart = table("faces_apart", *_place(), *_place("other_"), Column("said_at", Text, nullable=False))
"""Two faces that look alike, and somebody said that they are two people."""

confirmed_name = table("confirmed_name", *_place(), reference("person"), Column("said_at", Text, nullable=False))
"""Names that somebody said are right, however unlike the face looks."""

# What people say -----------------------------------------------------------------------------------------------

informant = table(
    "informant",
    Column("name", Text, nullable=False, unique=True),
    reference("person", null=True),
    Column("note", Text, nullable=False, default=""),
)

region = table(
    "region",
    reference("photograph"),
    Column("left", REAL, nullable=False),
    Column("top", REAL, nullable=False),
    Column("width", REAL, nullable=False),
    Column("height", REAL, nullable=False),
)
"""A face on the upright recto. Names on the same region are rivals."""

appearance = table(
    "appearance",
    reference("photograph", index=False),
    reference("person", null=True, index=False),
    reference("region", null=True),
    Column("role", Text, nullable=False, default="present"),
    Column("denied", Integer, nullable=False, default=0),
    Column("trust", Text),  # None: the default for who said it
    reference("informant", null=True),
    Column("why", Text, nullable=False, default=""),
    Column("said_at", Text, nullable=False),
    Column("withdrawn", Integer, nullable=False, default=0),
    Column("called", Text, nullable=False, default="", server_default=""),  # what a file calls them
    Index(None, "photograph_id", "person_id", "denied", "withdrawn"),  # these alone say who is in which
    Index(None, "person_id", "photograph_id", "denied", "withdrawn"),
)

statement = table(
    "statement",
    reference("photograph"),
    reference("appearance", null=True),  # for ages
    Column("kind", Text, nullable=False, index=True),
    Column("text", Text, nullable=False, default=""),  # the words, verbatim
    Column("date_text", Text, nullable=False, default=""),
    Column("first", Integer),
    Column("last", Integer),
    Column("shape", Text, nullable=False, default="flat"),
    Column("centre", REAL),
    Column("spread", REAL),
    Column("doubtful", Integer, nullable=False, default=0),
    Column("value", Text, nullable=False, default="", index=True),  # process or format name, event key
    Column("other_id", Integer, ForeignKey("photograph.id"), index=True),  # for relations
    Column("age_low", REAL),
    Column("age_high", REAL),
    Column("trust", Text),
    reference("informant", null=True),
    Column("said_at", Text, nullable=False),
    Column("withdrawn", Integer, nullable=False, default=0),
    flag("blind"),  # an age judged before names and dates were seen
    Column("days_from", Integer),  # dated by the event in `value`: this many days after it, or later
    Column("days_to", Integer),
)
"""Dated claims, ages, processes and formats, relations. The kinds stand in reason/model/evidence.py."""

story = table(
    "story",
    Column("title", Text, nullable=False, default=""),
    Column("text", Text, nullable=False, default=""),  # as it was told or written
    reference("informant", null=True),  # who told it
    Column("date_text", Text, nullable=False, default=""),  # when it was told
    Column("first", Integer),
    Column("last", Integer),
    Column("shape", Text, nullable=False, default="flat"),
    Column("centre", REAL),
    Column("spread", REAL),
    Column("doubtful", Integer, nullable=False, default=0),
    Column("sound", Text, nullable=False, default=""),  # the recording's path in the archive's folder
    Column("sound_name", Text, nullable=False, default=""),  # what the file was called
    Column("sound_type", Text, nullable=False, default=""),  # WAV, FLAC, MP3, OGG, M4A, WEBM
    Column("sha256", Text, nullable=False, default=""),  # of the recording
    Column("size", Integer, nullable=False, default=0),
    Column("seconds", REAL),
    flag("private"),
    Column("said_at", Text, nullable=False),
    Column("withdrawn", Integer, nullable=False, default=0),
)
"""What was told, in words, as a recording, or both."""

story_about = table(
    "story_about",
    reference("story"),
    reference("photograph", null=True),
    reference("person", null=True),
)
"""The photographs and people that a story is about, one in each row."""

# What may leave the archive ------------------------------------------------------------------------------------

audience = table(
    "audience",
    Column("name", Text, nullable=False, unique=True),
    Column("who", Text, nullable=False, default=""),  # the relatives it is made of, in words
)
"""Groups of relatives that something is given to. The household and the public need no row."""

consent = table(
    "consent",
    Column("audience", Text, nullable=False, index=True),  # its name; "public" for everybody
    reference("person", null=True),  # somebody living, who was asked
    reference("photograph", null=True),  # or a photograph that the keeper looked through
    reference("story", null=True),  # or a story
    # of a person: everything, pictures, nothing; of a photograph: faces, words; of a story: telling, words
    Column("what", Text, nullable=False),
    flag("branch"),  # also for everybody descended from the person, and those they married
    Column("given_on", Integer, nullable=False),
    Column("asked_by", Text, nullable=False, default=""),
    Column("note", Text, nullable=False, default=""),
    Column("seen", Text, nullable=False, default=""),  # digest of the faces or words looked through
    Column("said_at", Text, nullable=False),
    flag("withdrawn"),
)
"""What of the living may go to whom; each row is about one person or one photograph."""

# The change log ------------------------------------------------------------------------------------------------

change = table(
    "change",
    Column("at", Text, nullable=False),
    Column("what", Text, nullable=False),
    Column("undoes_id", Integer, ForeignKey("change.id"), index=True),
    Column("undone_by_id", Integer, ForeignKey("change.id"), index=True),
)

change_row = table(
    "change_row",
    reference("change"),
    Column("table_name", Text, nullable=False),
    Column("first_id", Integer, nullable=False),
    Column("last_id", Integer, nullable=False),
    Column("before", BLOB),  # zlib-compressed JSON list of the rows as they were; None: they were not there
    Index("ix_change_row_table_ids", "table_name", "first_id", "last_id"),
)

counter = Table(
    "counter",
    metadata,
    Column("name", Text, primary_key=True),
    Column("next", Integer, nullable=False),
    sqlite_strict=True,
)
"""Next free number of each table and code; only ever grows, also through an undo."""
