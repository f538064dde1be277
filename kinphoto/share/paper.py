"""Sheets and labels on paper, as PDF: photographs large, faces numbered, questions in large print, lines to write on.

The text can be searched and read aloud; every picture has a description, and every sheet a heading in the outline. A
typeface with the letters of all names is looked for where systems keep theirs; without one, a letter that the built-in
typeface lacks is replaced by a question mark.
"""

from __future__ import annotations

import io
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path

from fpdf import FPDF

Region = tuple[float, float, float, float]

_FACES = (
    ("/usr/share/fonts/truetype/dejavu/DejaVuSerif.ttf", "/usr/share/fonts/truetype/dejavu/DejaVuSerif-Bold.ttf"),
    ("/usr/share/fonts/dejavu-serif-fonts/DejaVuSerif.ttf", "/usr/share/fonts/dejavu-serif-fonts/DejaVuSerif-Bold.ttf"),
    ("/usr/share/fonts/TTF/DejaVuSerif.ttf", "/usr/share/fonts/TTF/DejaVuSerif-Bold.ttf"),
    (
        "/usr/share/fonts/truetype/liberation/LiberationSerif-Regular.ttf",
        "/usr/share/fonts/truetype/liberation/LiberationSerif-Bold.ttf",
    ),
    ("/System/Library/Fonts/Supplemental/Georgia.ttf", "/System/Library/Fonts/Supplemental/Georgia Bold.ttf"),
    ("C:/Windows/Fonts/georgia.ttf", "C:/Windows/Fonts/georgiab.ttf"),
)
"""Where a serif and its bold are on Debian, Fedora, Arch, macOS and Windows."""
_MARGIN, _WIDTH, _HEIGHT = 16.0, 210.0, 297.0
_INK, _PENCIL, _RULE = (36, 33, 29), (98, 92, 82), (150, 143, 130)
_LARGE = 17.0  # points; large print is commonly taken to begin at 16
_LINE = 13.0  # millimetres between lines to write on
_PICTURE_HEIGHT = 128.0


@dataclass(frozen=True, slots=True)
class SheetFace:
    """A face to be asked about or already named, by its number on the picture."""

    number: int
    region: Region
    name: str = ""


@dataclass(frozen=True, slots=True)
class SheetPage:
    """One page of a sheet: a photograph as a JPEG, the faces in it, and what to ask."""

    code: str
    title: str
    picture: bytes
    size: tuple[int, int]
    faces: tuple[SheetFace, ...]
    questions: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Label:
    """A label: what is said large, and small below it."""

    large: str
    small: tuple[str, ...] = ()


class _Document(FPDF):
    """A document in our typeface, with the same line at the foot of each page."""

    def __init__(self, title: str, foot: str, made: date, language: str = "en") -> None:
        super().__init__(format="A4", unit="mm")
        self.set_auto_page_break(False)
        self.set_margins(_MARGIN, _MARGIN, _MARGIN)
        self._foot = foot
        self.face = "Times"
        self._narrow = True
        for regular, bold in _FACES:
            if Path(regular).exists() and Path(bold).exists():
                self.add_font("family", "", regular)
                self.add_font("family", "B", bold)
                self.face, self._narrow = "family", False
                break
        self.set_title(title)
        self.set_creator("kinphoto")
        self.set_lang(language)
        self.set_creation_date(_noon(made))
        self.set_text_color(*_INK)

    def footer(self) -> None:
        """What to do with the sheet, on every page."""
        self.set_y(-14)
        self.say(9, _PENCIL)
        self.cell(0, 5, self.legible(self._foot), align="C")

    def legible(self, text: str) -> str:
        """The text with the letters that the typeface has."""
        return text.encode("latin-1", "replace").decode("latin-1") if self._narrow else text

    def say(self, points: float, colour: tuple[int, int, int] = _INK, *, bold: bool = False) -> None:
        """Set how the next words look."""
        self.set_font(self.face, "B" if bold else "", points)
        self.set_text_color(*colour)

    def output_bytes(self) -> bytes:
        """The finished document."""
        return bytes(self.output())


def _noon(day: date) -> datetime:
    return datetime(day.year, day.month, day.day, 12, tzinfo=UTC)


def sheets(pages: Sequence[SheetPage], whom: str, sender: str, made: date) -> bytes:
    """Sheets to send to somebody, a photograph on each. `sender` is where they go back to."""
    back = f" Please send it back to {sender}." if sender else ""
    document = _Document(f"Photographs for {whom}", f"You can write anywhere on this sheet.{back} Thank you!", made)
    for number, page in enumerate(pages, 1):
        document.add_page()
        _head(document, page, whom, number, len(pages))
        top = _picture(document, page)
        _lines(document, page, top)
    return document.output_bytes()


def _head(document: _Document, page: SheetPage, whom: str, number: int, of: int) -> None:
    document.start_section(document.legible(f"{page.code} {page.title}".strip()))
    document.set_xy(_MARGIN, 12)
    document.say(13, bold=True)
    document.cell(110, 8, document.legible(f"For {whom}"))
    document.say(11, _PENCIL)
    document.set_xy(_WIDTH - _MARGIN - 70, 12)
    document.cell(70, 8, f"{page.code}   sheet {number} of {of}", align="R")


def _picture(document: _Document, page: SheetPage) -> float:
    """The photograph as large as fits, with its faces numbered; returns where it ends."""
    across, down = page.size
    width = min(_WIDTH - 2 * _MARGIN, _PICTURE_HEIGHT * across / down)
    height = width * down / across
    left, top = (_WIDTH - width) / 2, 23.0
    described = f"Photograph {page.code}" + (f", {page.title}" if page.title else "")
    numbered = f", with {len(page.faces)} faces numbered from left to right" if page.faces else ""
    document.image(
        io.BytesIO(page.picture), left, top, width, height, alt_text=document.legible(f"{described}{numbered}")
    )
    for face in page.faces:
        x, y, w, h = face.region
        box = left + x * width, top + y * height, w * width, h * height
        for colour, line in (((255, 255, 255), 1.1), (_INK, 0.4)):  # dark on light, so that it shows on both
            document.set_draw_color(*colour)
            document.set_line_width(line)
            document.ellipse(*box)
        _number(document, face.number, box[0] + box[2] / 2, max(box[1] - 4.2, top + 3.8))
    return top + height + 6


def _number(document: _Document, number: int, x: float, y: float) -> None:
    document.set_fill_color(255, 255, 255)
    document.set_draw_color(*_INK)
    document.set_line_width(0.4)
    document.circle(x, y, 3.6, style="DF")
    document.say(11, bold=True)
    document.set_xy(x - 5, y - 2.5)
    document.cell(10, 5, str(number), align="C")


def _lines(document: _Document, page: SheetPage, y: float) -> None:
    if page.title:
        y = _text(document, page.title, y, 13)
    if known := [f"{face.number} is {face.name}" for face in page.faces if face.name]:
        y = _text(document, f"{', '.join(known)}.", y, 12, _PENCIL)
    for question in page.questions:
        y = _text(document, question, y + 2, _LARGE, bold=True)
        y = _rule(document, y)
    while y + _LINE < _HEIGHT - 18:
        y = _rule(document, y)


def _text(
    document: _Document, text: str, y: float, points: float, colour: tuple[int, int, int] = _INK, *, bold: bool = False
) -> float:
    if y > _HEIGHT - 30:
        return y
    document.say(points, colour, bold=bold)
    document.set_xy(_MARGIN, y)
    document.multi_cell(_WIDTH - 2 * _MARGIN, points * 0.45, document.legible(text), align="L")
    return float(document.get_y())


def _rule(document: _Document, y: float) -> float:
    """A line to write on."""
    y += _LINE
    if y < _HEIGHT - 16:
        document.set_draw_color(*_RULE)
        document.set_line_width(0.3)
        document.line(_MARGIN, y, _WIDTH - _MARGIN, y)
    return y


_ACROSS, _DOWN = 3, 8
_LABEL = 70.0, 37.0


def labels(found: Sequence[Label], made: date) -> bytes:
    """Labels of 70 by 37 mm, 24 on a page of A4, to be cut or printed on a sheet of them."""
    document = _Document("Labels", "", made)
    top = (_HEIGHT - _DOWN * _LABEL[1]) / 2
    for place, label in enumerate(found):
        if place % (_ACROSS * _DOWN) == 0:
            document.add_page()
            document.set_xy(_MARGIN, 1)
            document.say(6, _PENCIL)
            document.cell(
                0, 3, "For sleeves, envelopes and boxes. Stick nothing on a photograph; on its back write with a soft "
                "pencil only, and only on uncoated paper.", align="C",
            )  # fmt: skip
        row, column = divmod(place % (_ACROSS * _DOWN), _ACROSS)
        _label(document, label, column * _LABEL[0], top + row * _LABEL[1])
    return document.output_bytes()


def _label(document: _Document, label: Label, x: float, y: float) -> None:
    document.set_draw_color(*_RULE)
    document.set_line_width(0.1)
    document.rect(x, y, *_LABEL)
    document.say(15, bold=True)
    document.set_xy(x + 5, y + 5)
    document.cell(_LABEL[0] - 10, 7, _fitting(document, label.large, _LABEL[0] - 10))
    document.say(9)
    for number, line in enumerate(label.small[:4]):
        document.set_xy(x + 5, y + 14 + 5 * number)
        document.cell(_LABEL[0] - 10, 5, _fitting(document, line, _LABEL[0] - 10))


def _fitting(document: _Document, text: str, width: float) -> str:
    """The text, shortened where it is too long for its line."""
    text = document.legible(" ".join(text.split()))
    mark = document.legible("…") if document.face == "family" else "..."
    if document.get_string_width(text) <= width - 2:
        return text
    while text and document.get_string_width(text + mark) > width - 2:
        text = text[:-1]
    return text.rstrip() + mark
