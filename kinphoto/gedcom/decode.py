"""From the bytes of a tree file to UTF-8 text with plain line ends, whatever its encoding.

The reader of records knows UTF-8 only; trees come in many encodings and three kinds of line end, and what their header
says about it is often not true. The file is read through once (which also gives its checksum) to determine the encoding
before the first record is read, and then streamed. Both need constant memory.
"""

from __future__ import annotations

import codecs
import hashlib
import re
import unicodedata
from collections.abc import Callable, Iterator
from dataclasses import dataclass
from pathlib import Path

import ansel

from kinphoto.errors import UnreadableFileError
from kinphoto.gedcom import encodings
from kinphoto.gedcom.package import REMEDY, opened

BLOCK = 1 << 20
LONGEST_LINE = 2 << 20
"""Bytes of a line; a longer one (a picture in the middle of a tree) is cut off there."""
_HEAD = 1 << 16

ansel.register()

Warn = Callable[[int, str], None]
"""Called with a line number and what is wrong there."""

_KNOWN_BINARY = (
    (b"\xff\xd8\xff", "a JPEG image"), (b"\x89PNG", "a PNG image"), (b"II*\0", "a TIFF image"),
    (b"MM\0*", "a TIFF image"), (b"GIF8", "a GIF image"), (b"%PDF", "a PDF document"), (b"PK", "a ZIP archive"),
    (b"SQLite format", "a database"), (b"RIFF", "an image or a sound"),
)  # fmt: skip

_ANSEL_RUN = re.compile(rb"[\x80-\xff]+[\x00-\x09\x0b-\x7f]?")
_ANSEL_MARK = re.compile(rb"[\xe0-\xfe]([\x00-\x7f])")
_CHAR = re.compile(r"^[ \t]*1[ \t]+CHAR[ \t]+(.*?)[ \t]*$", re.M)
_LANGUAGE = re.compile(r"^[ \t]*1[ \t]+LANG[ \t]+(.*?)[ \t]*$", re.M)
_HEADER_ENDS = re.compile(r"\n[ \t]*0[ \t]")


@dataclass(frozen=True, slots=True)
class TreeFile:
    """A tree file as found: its encoding, its size in bytes, its checksum, and how its letters contradict its header,
    if they do (`oddity`, with that line of the header)."""

    path: Path
    encoding: str
    size: int
    sha256: str
    oddity: str = ""
    oddity_line: int = 1
    mixed: bool = False


def examine(path: Path) -> TreeFile:
    """Read through a file and determine its encoding.

    Raises NotFoundError when it does not exist, UnreadableFileError when it is not a GEDCOM file.
    """
    with opened(path) as file:
        start = file.read(_HEAD)
        width = _width(start)
        header = _header(path, start, width)
        found = _EncodingDetector(width)
        while start:
            found.feed(start)
            start = file.read(BLOCK)
    declared, language = _CHAR.search(header), _LANGUAGE.search(header)
    encoding, oddity = found.result(declared[1] if declared else "", language[1] if language else "")
    line = header.count("\n", 0, declared.start()) + 1 if declared else 1
    return TreeFile(path, encoding, found.size, found.hash.hexdigest(), oddity, line, found.mixed)


def blocks(source: TreeFile, warn: Warn) -> Iterator[bytes]:
    """The file's text as UTF-8 in blocks of whole lines that end with a line feed each; no byte order mark, no NUL."""
    line = 1
    if source.oddity:
        warn(source.oddity_line, source.oddity)
    for block in _whole_lines(_plain_line_ends(_bytes_of(source)), warn):
        text = _to_utf8(source, block, line, warn)
        if b"\0" in text:
            warn(line + text.count(b"\n", 0, text.index(b"\0")), "there are NUL bytes here; they were removed")
            text = text.replace(b"\0", b"")
        yield text
        line += text.count(b"\n")


def _width(start: bytes) -> str:
    """The UTF-16 a file is in, by its mark or by the zero beside its first digit; "" for anything else."""
    if start.startswith(codecs.BOM_UTF16_LE) or re.match(rb"(?:[\s]\0)*0\0 \0", start):
        return "UTF-16 LE"
    if start.startswith(codecs.BOM_UTF16_BE) or re.match(rb"(?:\0[\s])*\x000\0 ", start):
        return "UTF-16 BE"
    return ""


def _header(path: Path, start: bytes, width: str) -> str:
    """The first record as text with plain line ends; raises UnreadableFileError when it is not GEDCOM."""
    if not start.strip(b" \t\r\n\0"):
        raise UnreadableFileError("the file is empty", where=str(path), remedy=REMEDY)
    text = start.decode(encodings.codec(width or "UTF-8"), "replace")
    text = text.removeprefix("\ufeff").replace("\0", "").replace("\r\n", "\n").replace("\r", "\n")
    if re.match(r"\s*0+[ \t]+(?:HEAD\b|@[^@\n]+@[ \t])", text):
        end = _HEADER_ENDS.search(text)
        return text[: end.start()] if end else text
    kind = next((words for magic, words in _KNOWN_BINARY if start.startswith(magic)), "")
    what = "this is not a family tree file (GEDCOM): "
    what += f"it is {kind}" if kind else "it does not begin with 0 HEAD"
    raise UnreadableFileError(what, where=str(path), remedy=REMEDY)


class _EncodingDetector:
    """Determines the encoding from all the bytes of a file."""

    def __init__(self, width: str) -> None:
        self.width = width
        self.hash = hashlib.sha256()
        self.size = 0
        self.ascii = True
        self.mixed = False  # UTF-8 with stray bytes of another encoding
        self._letters = self._stray = self._marks = self._odd_marks = 0
        self._rest = b""

    def feed(self, block: bytes) -> None:
        """Count the next block."""
        self.hash.update(block)
        self.size += len(block)
        if self.width or (not self._rest and block.isascii()):
            return
        self.ascii = False
        block = self._rest + block
        cut = _last_start(block)
        self._rest = block[cut:]
        self._count(block[:cut])

    def _count(self, block: bytes) -> None:
        try:
            self._letters += len(block) - len(block.decode())
        except UnicodeDecodeError:
            text = block.decode("utf-8", "surrogateescape")
            self._stray += sum("\udc80" <= c <= "\udcff" for c in text)
            self._letters += len(block) - len(text)
        following = _ANSEL_MARK.findall(block)
        self._marks += len(following)
        self._odd_marks += sum(not mark.isalpha() for mark in following)

    def result(self, declared: str, language: str) -> tuple[str, str]:
        """The encoding, and how the header contradicts it ("" when it does not)."""
        self._count(self._rest)
        meant = encodings.by_name(declared)
        if self.width:
            return self.width, _mismatch(declared, self.width) if declared and meant != "UTF-16" else ""
        unknown = f'the header names an unknown encoding, "{declared}"; ' if declared else ""
        unknown = "" if meant else unknown
        if self.ascii:
            return ("UTF-8" if meant in ("", "UTF-16") else meant), unknown and unknown + "read as UTF-8"
        if self._letters and self._letters >= self._stray:  # letters of UTF-8 do not arise by chance, let alone as many
            self.mixed = self._stray > 0
            wrong = meant not in ("", "UTF-8")
            return "UTF-8", _mismatch(declared, "UTF-8") if wrong else unknown and unknown + "read as UTF-8"
        if meant == "ANSEL" and self._odd_marks * 4 > self._marks:
            meant = "ASCII"
        if meant in ("", "UTF-8", "UTF-16", "ASCII", encodings.ANSI):
            return self._windows(declared, unknown, meant, language)
        return meant, ""

    @staticmethod
    def _windows(declared: str, unknown: str, meant: str, language: str) -> tuple[str, str]:
        """Bytes that are neither UTF-8 nor of an encoding that can be recognised: one of Windows, by the language."""
        found = encodings.by_language(language)
        if unknown:
            return found, f"{unknown}read as {found}"
        if meant != encodings.ANSI:
            return found, _mismatch(declared or "nothing", found)
        if found != encodings.ANSI:
            return (
                found,
                f"the header says {declared}, which can be several encodings; read as {found}, because of {language}",
            )
        return found, ""


def _mismatch(declared: str, found: str) -> str:
    return f"the header says {declared}, but the letters are {found}; read as {found}"


def _last_start(block: bytes) -> int:
    """Where the last UTF-8 letter begins that may continue in the next block."""
    for back in range(1, min(4, len(block)) + 1):
        byte = block[-back]
        if byte >= 0xC0:
            return len(block) - back
        if byte < 0x80:
            break
    return len(block)


def _bytes_of(source: TreeFile) -> Iterator[bytes]:
    """The file in blocks, UTF-16 turned into UTF-8, without its byte order mark."""
    wide = source.encoding.startswith("UTF-16")
    decoder = codecs.getincrementaldecoder(encodings.codec(source.encoding))("replace") if wide else None
    first = True
    with opened(source.path) as file:
        while block := file.read(BLOCK):
            if decoder is not None:
                block = decoder.decode(block).encode("utf-8", "replace")
            yield block.removeprefix(codecs.BOM_UTF8) if first else block
            first = False


def _plain_line_ends(pieces: Iterator[bytes]) -> Iterator[bytes]:
    """Every CR LF and every lone CR as a line feed."""
    held = b""  # a CR at the end of a block may be half of a CR LF
    for piece in pieces:
        piece = held + piece
        held = b"\r" if piece.endswith(b"\r") else b""
        piece = piece.removesuffix(b"\r")
        yield piece.replace(b"\r\n", b"\n").replace(b"\r", b"\n") if b"\r" in piece else piece
    if held:
        yield b"\n"


def _whole_lines(pieces: Iterator[bytes], warn: Warn) -> Iterator[bytes]:
    """The same in blocks of whole lines, none longer than allowed."""
    waiting: list[bytes] = []
    length, line = 0, 1
    for piece in pieces:
        end = piece.rfind(b"\n") + 1
        if end:
            whole = b"".join([*waiting, piece[:end]])
            yield _cut(whole, line, warn) if len(whole) > LONGEST_LINE else whole
            waiting, length, line = [], 0, line + whole.count(b"\n")
        if end < len(piece) and length <= LONGEST_LINE:  # only the beginning of an endless line is kept
            waiting.append(piece[end:])
            length += len(piece) - end
    if waiting:
        yield _cut(b"".join([*waiting, b"\n"]), line, warn)


def _cut(block: bytes, first: int, warn: Warn) -> bytes:
    """The lines of a block, cut off at the longest allowed."""
    lines = block.split(b"\n")
    for at, line in enumerate(lines):
        if len(line) > LONGEST_LINE:
            warn(first + at, f"this line is longer than {LONGEST_LINE >> 20} MB; the rest was left out")
            lines[at] = line[: _last_start(line[:LONGEST_LINE])]
    return b"\n".join(lines)


def _to_utf8(source: TreeFile, block: bytes, line: int, warn: Warn) -> bytes:
    if block.isascii() or (source.encoding == "UTF-8" and not source.mixed):
        return block
    if source.encoding.startswith("UTF-16"):
        if "\ufffd".encode() in block:
            _warn_of_lost(block.decode(), line, warn)
        return block
    if source.encoding == "UTF-8":
        return _repair(block, line, warn)
    if source.encoding == "ANSEL":
        return _from_ansel(block, line, warn)
    text = block.decode(encodings.codec(source.encoding), "replace")
    _warn_of_lost(text, line, warn)
    return text.encode()


def _repair(block: bytes, line: int, warn: Warn) -> bytes:
    """A block of UTF-8 in which some lines are not: those are read as Windows-1252."""
    repaired = []
    for number, text in enumerate(block.split(b"\n"), line):
        try:
            text.decode()
        except UnicodeDecodeError:
            warn(number, "some letters here are not UTF-8; read as Windows-1252")
            text = text.decode("cp1252", "replace").encode()
        repaired.append(text)
    return b"\n".join(repaired)


def _from_ansel(block: bytes, line: int, warn: Warn) -> bytes:
    """ANSEL puts accents before their letter; only what is not ASCII goes through the codec, and each such run once."""
    seen: dict[bytes, bytes] = {}

    def composed(run: re.Match[bytes]) -> bytes:
        found = seen.get(run[0])
        if found is None:
            text = run[0].decode("gedcom", "replace")
            found = seen[run[0]] = unicodedata.normalize("NFC", text).encode()
        return found

    text = _ANSEL_RUN.sub(composed, block)
    if "\ufffd".encode() in text:
        _warn_of_lost(text.decode(), line, warn)
    return text


def _warn_of_lost(text: str, line: int, warn: Warn) -> None:
    if "\ufffd" in text:
        warn(line + text.count("\n", 0, text.index("\ufffd")), "some letters here are not valid in the file's encoding")
