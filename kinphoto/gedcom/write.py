"""The pictures of an archive in a tree file: a media record for each, linked from the people who are in it.

Every line that is not about our pictures stays as it is. A media record is ours when it carries our mark: the
photograph's code as its reference number (REFN) with a TYPE that names this archive, which GEDCOM 5.5.1 and 7.0 both
have and other programs keep. So a file that was written, imported and written again is the same: our lines are found,
updated in place, and removed when they are no longer true.

Records have the form of GEDCOM 5.5.1 (MULTIMEDIA_RECORD, MULTIMEDIA_LINK) and 7.0 (the same, with a media type, and
CROP in a link for the part of the picture in which somebody is).
"""

from __future__ import annotations

import re
import unicodedata
from collections.abc import Collection, Iterator, Mapping, Sequence
from dataclasses import dataclass, field
from itertools import chain, count

from kinphoto.errors import UnreadableFileError
from kinphoto.gedcom.records import first_free
from kinphoto.gedcom.tags import OUR_NOTE
from kinphoto.gedcom.verbatim import Piece, Verbatim, below, same_lines

MARK = "kinphoto"
"""The beginning of the TYPE of our reference numbers."""

Crop = tuple[int, int, int, int]
"""Top, left, height, width in pixels of the picture as it is shown."""

_MEDIUM = re.compile(rb"[ \t]*0*1[ \t]+OBJE[ \t]+(@[^@\r\n]+@)[ \t]*(?:[\r\n]|$)")
_REFERENCE = re.compile(rb"[ \t]*0*(\d+)[ \t]+OBJE[ \t]+(@[^@\r\n]+@)")
_FILE = re.compile(rb"(?:^|(?<=[\r\n]))[ \t]*0*[12][ \t]+FILE[ \t]+([^\r\n]+)")
_REFN = re.compile(rb"[ \t]*1[ \t]+REFN[ \t]+(K\d+)[ \t]*(?:\r\n|\r|\n)[ \t]*2[ \t]+TYPE[ \t]+([^\r\n]*)")
_NOTE = re.compile(rb"[ \t]*1[ \t]+NOTE[ \t]+%s" % OUR_NOTE.encode())
_CROP = re.compile(rb"[ \t]*2[ \t]+CROP\b")
_VERSION = re.compile(rb"(?:^|(?<=[\r\n]))[ \t]*2[ \t]+VERS[ \t]+([^\r\n]*)")


@dataclass(frozen=True, slots=True)
class Medium:
    """A photograph as a media record. `file` is its path as the version of GEDCOM writes it, `form` the format."""

    code: str
    file: str
    form: str
    title: str = ""


@dataclass(frozen=True, slots=True)
class PicturesToWrite:
    """What to write: for each person (by code) the photographs they are in, with their part of the picture where that
    is known; and notes on what the photographs suggest about people."""

    media: Mapping[str, Medium]
    links: Mapping[str, Mapping[str, Crop | None]]
    notes: Mapping[str, str] = field(default_factory=dict)


@dataclass(slots=True)
class Survey:
    """What is found in a file: its version, whether it names its encoding, pointers in use, our media
    records with the photograph of each, pointers to media from elsewhere than people, files of other media.
    """

    version: str = ""
    says_encoding: bool = False
    pointers: set[bytes] = field(default_factory=set)
    ours: dict[bytes, str] = field(default_factory=dict)
    elsewhere: set[bytes] = field(default_factory=set)
    files: list[str] = field(default_factory=list)

    @property
    def seven(self) -> bool:
        """Whether the file is GEDCOM 7."""
        return self.version.startswith("7")


def codes(file: Verbatim, taken: Collection[str] = ()) -> list[str]:
    """The codes of an imported file's people in the archive, in the order of their records: their pointers, with the
    first free number added where somebody outside the tree or an earlier record has the same."""
    used, found = set(taken), list[str]()
    for piece in file.pieces():
        if piece.is_person:
            pointer = file.text(piece.pointer).strip().strip("@").strip()
            found.append(first_free(pointer, used))
            used.add(found[-1])
    return found


class TreeWriter:
    """Writes a file's records again, with our pictures in them. `mark` names the archive; `people` are the codes of the
    people in the file, in its order (see `codes`). Raises UnreadableFileError when those are not its people."""

    def __init__(self, file: Verbatim, mark: str, people: Sequence[str]) -> None:
        self.file = file
        self.mark = f"{MARK} {mark}"
        self.people = people
        self.survey = Survey()
        found = sum(self._note(piece) for piece in file.pieces())
        if found != len(people):
            raise UnreadableFileError(
                "the records cannot be separated, because there are NUL bytes between them",
                where=str(file.source.path),
                remedy="Export the tree again from your program and import that.",
            )

    def _note(self, piece: Piece) -> bool:
        """Add a record to the survey; returns whether it is a person's."""
        found = self.survey
        found.pointers.add(piece.pointer)
        code = self._code_of_ours(piece)
        if code is not None:
            found.ours[piece.pointer] = code
        elif piece.tag == b"HEAD":
            self._note_header(piece)
        else:
            self._note_media(piece)
        return piece.is_person

    def _note_header(self, piece: Piece) -> None:
        found = self.survey
        for structure in below(piece.text):
            tag = structure.split()[1:2]
            version = _VERSION.search(structure) if tag == [b"GEDC"] else None
            if version:
                found.version = self.file.text(version[1]).strip()
            found.says_encoding |= tag == [b"CHAR"]

    def _note_media(self, piece: Piece) -> None:
        found = self.survey
        if b"OBJE" in piece.text:
            references = [each for each in map(_REFERENCE.match, piece.text.splitlines()) if each]
            found.pointers.update(
                each[2] for each in references
            )  # a pointer to a missing record must not become one to ours
            found.elsewhere.update(each[2] for each in references if piece.tag != b"INDI" or each[1] != b"1")
        if b"FILE" in piece.text:
            found.files += [self.file.text(path).strip() for path in _FILE.findall(piece.text)]

    def _code_of_ours(self, piece: Piece) -> str | None:
        """The photograph of a media record of ours, None when it is not ours."""
        if piece.tag != b"OBJE" or not piece.pointer or MARK.encode() not in piece.text:
            return None
        for structure in below(piece.text):
            refn = _REFN.match(structure)
            if refn and self.file.text(refn[2]).strip() == self.mark:
                return refn[1].decode()
        return None

    def lines(self, pictures: PicturesToWrite) -> Iterator[bytes]:
        """Every line of ours. Raises UnicodeEncodeError when the file's encoding lacks letters of them."""
        lines = _Lines(self.file, self.survey, self.mark, pictures)
        yield from lines.new_media()
        for code in pictures.media:
            yield from lines.of_file(code)
            yield from lines.of_link(code, None)
        yield from map(lines.of_note, pictures.notes.values())

    def pieces(self, pictures: PicturesToWrite) -> Iterator[bytes]:
        """The whole file anew. Raises UnicodeEncodeError when its encoding lacks letters of what is to be added."""
        lines = _Lines(self.file, self.survey, self.mark, pictures)
        people, ended, last = iter(self.people), False, b""
        for piece in self.file.pieces():
            text = piece.text
            if piece.is_person:
                text = self._person(piece, next(people), lines, pictures)
            elif piece.tag == b"TRLR" and not ended:
                ended = True
                yield b"".join(lines.new_media())
            elif (code := self._code_of_ours(piece)) is not None:
                text = self._media_record(piece, code, lines)
            yield text
            last = text or last
        if not ended and (rest := b"".join(lines.new_media())):
            yield _with_line_end(last, self.file.end)[len(last) :] + rest

    def _media_record(self, piece: Piece, code: str, lines: _Lines) -> bytes:
        """A record of ours: updated, or b"" when it is no longer true and nothing else refers to it."""
        if lines.pointers.get(code) != piece.pointer:
            return piece.text if piece.pointer in self.survey.elsewhere else b""
        head, *structures = below(piece.text)
        wanted = b"".join(lines.of_file(code))
        at = next((n for n, each in enumerate(structures) if each.split()[1:2] == [b"FILE"]), None)
        if at is None:
            return b"".join([_with_line_end(head, self.file.end), wanted, *structures])
        if not same_lines(structures[at], wanted):
            structures[at] = wanted
        return b"".join([head, *structures])

    def _person(self, piece: Piece, code: str, lines: _Lines, pictures: PicturesToWrite) -> bytes:
        links, note = dict(pictures.links.get(code, {})), pictures.notes.get(code, "")
        if not links and not note and b"OBJE" not in piece.text and MARK.encode() not in piece.text:
            return piece.text
        head, *structures = below(piece.text)
        kept = [head]
        for structure in structures:
            found = _MEDIUM.match(structure)
            shown = self.survey.ours.get(found[1]) if found else None
            if shown is not None:
                kept += [self._link(structure, lines.of_link(shown, links.pop(shown)))] if shown in links else []
            elif _NOTE.match(structure):
                if note and same_lines(structure, lines.of_note(note)):
                    kept.append(structure)
                    note = ""
            else:
                kept.append(structure)
        new = [line for shown, crop in links.items() for line in lines.of_link(shown, crop)]
        new += [lines.of_note(note)] if note else []
        return b"".join([_with_line_end(b"".join(kept), self.file.end), *new] if new else kept)

    @staticmethod
    def _link(structure: bytes, wanted: Sequence[bytes]) -> bytes:
        """A link of ours with the right record and CROP, keeping what others added to it."""
        head, *structures = below(structure, 2)
        crop = [each for each in structures if _CROP.match(each)]
        if same_lines(head, wanted[0]) and same_lines(b"".join(crop), b"".join(wanted[1:])):
            return structure
        return b"".join([*wanted, *(each for each in structures if each not in crop)])


class _Lines:
    """Our lines in the letters and the version of one file."""

    def __init__(self, file: Verbatim, survey: Survey, mark: str, pictures: PicturesToWrite) -> None:
        self.file = file
        self.seven = survey.seven
        self.mark = mark
        self.media = pictures.media
        known = {code: pointer for pointer, code in reversed(survey.ours.items())}  # the first of several
        self.pointers = {code: known.get(code) or _free(code, survey.pointers) for code in pictures.media}
        self._new = [code for code in pictures.media if code not in known]

    def new_media(self) -> Iterator[bytes]:
        """The records of photographs that are new in the file."""
        for code in self._new:
            yield self.file.line(f"0 {self.file.text(self.pointers[code])} OBJE")
            yield from self.of_file(code)
            yield self.file.line(f"1 REFN {code}")
            yield self.file.line(f"2 TYPE {self.mark}")

    def of_file(self, code: str) -> list[bytes]:
        """FILE and what belongs to it."""
        medium = self.media[code]
        kind = "3 MEDI PHOTO" if self.seven else "3 TYPE photo"
        lines = [f"1 FILE {self._value(medium.file)}", f"2 FORM {medium.form}", kind]
        title = self._value(" ".join(medium.title.split()))
        return [self.file.line(line) for line in [*lines, *([f"2 TITL {title}"] if title else [])]]

    def of_link(self, code: str, crop: Crop | None) -> list[bytes]:
        """A link from a person, with CROP in 7.0."""
        lines = [f"1 OBJE {self.file.text(self.pointers[code])}"]
        if self.seven and crop is not None:
            sides = zip(("TOP", "LEFT", "HEIGHT", "WIDTH"), crop, strict=True)
            lines += ["2 CROP", *(f"3 {side} {pixels}" for side, pixels in sides)]
        return [self.file.line(line) for line in lines]

    def of_note(self, text: str) -> bytes:
        """What the photographs suggest about somebody, as a note of ours."""
        return self.file.line(f"1 NOTE {OUR_NOTE}{self._value(' '.join(text.split()))}")

    def _value(self, text: str) -> str:
        """Every @ is doubled in 5.5.1, only one at the start in 7.0; control characters are allowed in neither."""
        text = "".join(c for c in text if unicodedata.category(c) != "Cc")
        if not self.seven:
            return text.replace("@", "@@")
        return f"@{text}" if text.startswith("@") else text


def _free(code: str, used: set[bytes]) -> bytes:
    """A pointer for a photograph that no record of the file has, in the letters that 7.0 allows."""
    names = chain([code], (f"{code}_{n}" for n in count(2)))
    return next(each for each in (f"@{name}@".encode() for name in names) if each not in used)


def _with_line_end(text: bytes, end: bytes) -> bytes:
    """The text with its last line ended."""
    return text if text.endswith((b"\r", b"\n")) else text + end
