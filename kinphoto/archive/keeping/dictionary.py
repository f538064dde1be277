"""What every table and column holds, for somebody who has the tables and no kinphoto."""

from __future__ import annotations

from sqlalchemy import Column, Table

TABLES: dict[str, str] = {
    "tree_file": "Each family tree file that was imported, the newest last.",
    "person": "The people: of the tree, and those outside it (neighbours, classmates).",
    "name": "The names of a person; the one with the lowest position is shown.",
    "family": "Couples and families of the tree.",
    "partner": "Who is a partner in which family.",
    "parent_link": "Who is a parent of whom.",
    "event": "Births, deaths, marriages and other events of a person or a family, as in the tree.",
    "former_id": "Ids that people and families had in earlier files of the tree.",
    "proband": "The person from whose point of view relationships are given: one row, or none.",
    "scan_root": "The folders that scans were added from, on the computer where the archive was.",
    "container": "Boxes, albums and envelopes, one inside another; also the folders of the scans.",
    "photograph": "The photographs as objects: prints, slides, negatives, plates, album pages.",
    "alias": "Codes that photographs had before they were joined with another.",
    "scan": "The image files of the photographs: fronts, backs and details.",
    "removed_scan": "Scans that somebody removed from the archive.",
    "informant": "Who told us.",
    "region": "Where a face is on a photograph, in parts (0 to 1) of the upright picture of its front.",
    "appearance": "Who is in which photograph, and who says so.",
    "statement": "What somebody said or wrote about a photograph: dates, ages, processes, relations.",
    "story": "What was told: in words, as a recording (a file in the folder sounds), or both.",
    "story_about": "The photographs and people that each story is about.",
    "change": "The history: what was done, when.",
    "change_row": "Of each change the rows as they were before it, so that it can be undone.",
    "counter": "The next free number of each table and of codes: numbers are never used twice.",
    "estimate": "When each photograph was taken, as worked out from everything else. Can be worked out again.",
    "former_name": "Names that files of scans had before they were renamed.",
    "held_number": "Numbers of scans that are kept free on purpose.",
    "unpaired": "Two scans that somebody said are not of one object.",
    "envelope": "Envelopes and boxes that somebody lent.",
    "quota": "How many prints somebody means to scan in an evening: one row, or none.",
    "accepted_finding": "Findings about scans that somebody accepted, mostly because the original is like that.",
    "print_frame": "Where a print lies on a scan that shows several, and which photograph it is.",
    "resolution_floor": "The minimum resolution that somebody set for a kind of original.",
    "refused_frame": "Frames around what a search took for a face, and somebody refused.",
    "uncompared_person": "People whose faces are not compared with any others.",
    "faces_apart": "Faces that look alike but are two people, as somebody said.",
    "confirmed_name": "Names that somebody said are right, however unlike the face looks.",
    "audience": "Groups of people that something is given to.",
    "consent": "Who agreed to what being given to whom, and what was looked through and released.",
    "from_container": "What photographs kept together tell about each one's date. Can be worked out again.",
    "one_container": "What a box is dated from when one photograph in it has changed. Can be worked out again.",
    "scan_check": "What was measured on each scan. Can be measured again.",
    "fixity": "When each file of scans was last read again from its disk, and what was wrong with it.",
    "setting": "Small facts about the archive.",
}
"""What each table is."""

_ANYWHERE: dict[str, str] = {
    "id": "number of the row; other tables refer to it",
    "code": "the code people use",
    "position": "its place in the order",
    "kind": "what kind it is",
    "text": "the words as they were said or written",
    "note": "what was noted",
    "withdrawn": "1: kept, but not used any more",
    "gone": "1: was in the tree, is not in its newest file",
    "path": "where the file was; ROOT:REST is REST below the folder of that number in scan_root",
    "sha256": "SHA-256 of the file, or of the pixels of a page of it",
    "size": "bytes",
    "date_text": "the date as it was written",
    "first": "first possible day, as a day number: 1 is 1 January of the year 1 (Gregorian)",
    "last": "last possible day, likewise",
    "shape": "how the days between are weighed: flat, or a bell around the centre",
    "centre": "day number of the middle of the bell",
    "spread": "its width in days",
    "doubtful": "1: the date was marked as doubtful",
    "place": "the place, in words",
    "name": "the name",
    "quality": "how sure the tree is, 0 to 3 (QUAY)",
    "line": "line of the tree file",
    "tag": "the GEDCOM tag",
    "trust": "how far it is trusted: certain, strong, fair, weak; empty: as usual for who says it",
    "said_at": "when it was recorded (UTC)",
    "title": "the title",
    "width": "width; of a scan in pixels",
    "height": "height; of a scan in pixels",
    "folder": "the folder of scans it stands for; empty when a person named it",
    "key": "what the fact is",
    "value": "the value",
    "same_as_id": "the person this one turned out to be",
}
"""What columns of these names hold wherever they stand."""

_HERE: dict[str, dict[str, str]] = {
    "tree_file": {
        "path": "where the file was", "encoding": "how its letters were encoded", "version": "its version of GEDCOM",
        "imported_at": "when it was imported (UTC)",
    },
    "person": {
        "outside": "1: not from the tree", "sex": "M, F, X, or U for unknown", "living": "1, 0, or empty for unknown",
        "uid": "the identifier that the tree gives the person",
    },
    "name": {
        "given": "given names", "surname": "surname", "nickname": "nickname",
        "folded": "lower case without accents, for searching",
    },
    "parent_link": {"pedigree": "birth, adopted, foster, step, sealing or unknown"},
    "scan_root": {"path": "the folder", "archive": "the folder of the archive when that was written"},
    "photograph": {
        "page": "1: an album page that carries others", "rights": "who has the rights", "maker": "who took it",
        "private": "1: never leaves the archive",
        "former_number": "a number it had before", "number_withdrawn": "1: its number dates nothing",
        "indexed": "day number on which its first scan was added",
    },
    "scan": {
        "mtime_ns": "when the file was last changed, nanoseconds since 1970", "side": "recto, verso or detail",
        "file_type": "JPEG, TIFF, PNG, WEBP, HEIF or PDF", "ppi": "pixels per inch, as the file says",
        "bits": "bits per channel", "mode": "how colours are stored", "pages": "pages of the file",
        "orientation": "how the file asks to be turned (EXIF, 1 to 8)",
        "phash": "perceptual hash, for finding alike ones",
        "look": "what it looks like as a whole in 64 numbers, for finding the same print again",
        "exif_original": "EXIF DateTimeOriginal as written", "exif_digitized": "EXIF DateTimeDigitized as written",
        "device": "the scanner or camera", "indexed_at": "when it was added (UTC)",
        "first_sha256": "SHA-256 when it was first added", "first_code": "code of its photograph then",
        "missing": "1: the file was not there",
        "turn": "quarter turns clockwise that make it upright, after its orientation; 4 more: mirrored first; 8 more: "
        "shown as a positive",
        "straight": "the corners of the print on a photograph of it, as parts of the picture as its file asks to be "
        "turned, and its width by its height: shown as the rectangle between them; no: as it was taken",
        "capture": "whether somebody says that it was taken of a print by a camera: yes, or no; empty: ask the file",
        "superseded": "1: a better scan took its place", "page": "which page of the file; 0: it has one picture",
        "file_sha256": "SHA-256 of the file, of a page of one",
        "picture_end": "bytes of a JPEG that are its picture, which others may follow; 0: not known",
    },
    "region": {"left": "left edge", "top": "top edge", "width": "width", "height": "height"},
    "appearance": {
        "role": "present, or taking the picture, and the like", "denied": "1: somebody says that it is not this person",
        "why": "the reason given", "called": "what the file that names them calls them; empty where none does",
    },
    "statement": {
        "other_id": "the other photograph, for relations", "value": "name of a process or format, or key of an event",
        "age_low": "youngest age", "age_high": "oldest age", "blind": "1: judged before names and dates were seen",
        "days_from": "of a date told by an event (the key in value): the fewest days after it, negative before it",
        "days_to": "the most days after it; empty with days_from: any day since, or before",
    },
    "change": {
        "at": "when (UTC)", "what": "what was done, in words", "undoes_id": "the change that this one undid",
        "undone_by_id": "the change that undid this one",
    },
    "change_row": {
        "table_name": "which table", "first_id": "first of these rows", "last_id": "last of these rows",
        "before": "the rows as they were; empty: they were not there",
    },
    "counter": {"name": "what is counted", "next": "the next free number"},
    "estimate": {
        "earliest": "first possible day, as a day number", "latest": "last possible day",
        "likely_from": "first day of the range that is right nine times in ten", "likely_to": "last day of it",
        "best": "the day in the middle of what is likely", "edtf": "the date in Extended Date/Time Format",
        "state": "dated, open or disputed", "inferred": "1: worked out, 0: stated",
        "collection_from": "of an open one: first day it may be of by what is kept with it; not a date of its own",
        "collection_to": "last day of that",
    },
    "container": {
        "expected": "about how many prints are in it",
        "arrangement": "whether it is in the order of time, where somebody said so",
    },
    "held_number": {"theme": "the theme of the names", "number": "the number kept free", "why": "why"},
    "envelope": {
        "lender": "who lent it", "came": "day number on which it came", "holds": "what came in it",
        "condition": "in what condition", "returned": "day number on which it went back; empty: it is here",
    },
    "quota": {"prints": "prints in an evening"},
    "accepted_finding": {"why": "why it was accepted"},
    "print_frame": {
        "x": "its middle, from the left, in pixels of the upright picture", "y": "its middle, from the top, in pixels",
        "width": "width in pixels", "height": "height in pixels", "turn": "by how many degrees it is turned, clockwise",
        "caption": "what is written beside it",
    },
    "resolution_floor": {"original": "the kind of original", "ppi": "pixels per inch"},
    "refused_frame": {"left": "left edge", "top": "top edge", "width": "width", "height": "height"},
    "faces_apart": {
        "left": "left edge of the one", "top": "top edge", "width": "width", "height": "height",
        "other_sha256": "SHA-256 of the scan of the other", "other_left": "left edge of the other",
        "other_top": "top edge", "other_width": "width", "other_height": "height",
    },
    "confirmed_name": {"left": "left edge", "top": "top edge", "width": "width", "height": "height"},
    "audience": {"who": "who belongs to it"},
    "consent": {
        "audience": "for whom", "what": "what may be given", "branch": "1: for descendants too",
        "given_on": "when it was given", "asked_by": "who asked", "seen": "digest of what was looked through",
    },
    "from_container": {
        "told": "logarithms of the likelihood of each quarter-year, in bytes",
        "alone": "its date without that: days, and logarithms of the density between them, in bytes",
    },
    "one_container": {
        "kept": "the photographs (JSON) and, as numbers, the likelihood of each quarter-year of each; in bytes"
    },
    "scan_check": {
        "version": "version of the measures", "measures": "what was measured (JSON)", "specks": "dust and hairs (JSON)",
        "shared": "specks and hairs at the same place in other scans",
    },
    "fixity": {
        "checked_at": "when (UTC)", "sha256": "SHA-256 that the archive knew then",
        "problem": "vanished, rotted or unreadable; empty: it was as it should be",
    },
    "story": {
        "date_text": "when it was told, as it was written",
        "sound": "the file of the recording, in the archive's folder",
        "sound_name": "what that file was called", "sound_type": "WAV, FLAC, MP3, OGG, M4A or WEBM",
        "sha256": "SHA-256 of the recording", "seconds": "how long the recording is; empty: not known",
        "private": "1: never leaves the archive",
    },
    "alias": {"code": "the code it had"},
    "informant": {"name": "who"},
    "removed_scan": {"code": "code of the photograph it was a scan of"},
}  # fmt: skip
"""What columns of single tables hold."""


def table_words(table: Table) -> str:
    """What a table holds."""
    return TABLES.get(table.name, "")


def column_words(column: Column[object]) -> str:
    """What a column holds; "" where nobody described it."""
    own = _HERE.get(column.table.name, {}).get(column.name)
    if own is None and column.foreign_keys:
        target = next(iter(column.foreign_keys)).column.table.name
        said = _ANYWHERE.get(column.name)
        return f"{said}: id in {target}" if said else f"id of a row of {target}"
    return own or _ANYWHERE.get(column.name, "")
