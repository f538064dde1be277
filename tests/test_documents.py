"""A result becomes a document by its own fields, and its reference by what stands beside them."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum
from typing import Annotated, Literal, NamedTuple

from kinphoto.documents import INLINE, INTERNAL, OR_NULL, Key, Together, described, document


class Side(StrEnum):
    """Of a print."""

    FRONT = "front"


class Size(NamedTuple):
    """How large a print is."""

    width: Annotated[int, "how wide"]
    height: Annotated[int, "how high"]


@dataclass(frozen=True, slots=True)
class Print:
    """A print in a box."""

    number: Annotated[int, Key("code"), "its number"]
    side: Annotated[Side, "which side"]
    title: Annotated[str, OR_NULL, "what it is called, or null"]
    size: Annotated[Size | None, INLINE]
    row: Annotated[int, INTERNAL]
    given: Annotated[dict[Literal["place"], str], "what was said of it"]
    pieces: tuple[Size, ...] = ()

    @property
    def is_wide(self) -> Annotated[bool, "true when it is wider than high"]:
        """Whether it is wider than high."""
        return self.size is not None and self.size.width > self.size.height

    @property
    def undescribed(self) -> str:
        """For the program itself."""
        return "x"


def test_a_result_as_a_document() -> None:
    """By its fields and described properties, a field under its key, an empty one as null, the internal ones not."""
    one = Print(7, Side.FRONT, "", Size(9, 6), 3, {"place": "Harbour"}, (Size(1, 2),))
    assert document([one]) == [
        {"code": 7, "side": "front", "title": None, "width": 9, "height": 6, "given": {"place": "Harbour"},
         "pieces": [{"width": 1, "height": 2}], "is_wide": True}
    ]  # fmt: skip


def test_what_is_missing_leaves_its_keys() -> None:
    """The fields of an object that stands among those of its owner are null when there is none."""
    told = document(Print(7, Side.FRONT, "Ada", None, 3, {}))
    assert (told["width"], told["height"], told["title"], told["is_wide"]) == (None, None, "Ada", False)


def test_two_results_as_one_document() -> None:
    """Beside each other, the second may be named fields."""
    assert document(Together(Size(1, 2), {"words": (Size(3, 4),)})) == {
        "width": 1, "height": 2, "words": [{"width": 3, "height": 4}]
    }  # fmt: skip


def test_every_field_is_described_where_it_stands() -> None:
    """The paths are those of the document."""
    paths = {
        "code": "its number", "side": "which side", "title": "what it is called, or null", "width": "how wide",
        "height": "how high", "given.place": "what was said of it", "pieces[].width": "how wide",
        "pieces[].height": "how high", "is_wide": "true when it is wider than high",
    }  # fmt: skip
    assert described(Print) == paths
    assert described({"prints": [Print, {"words": [Size]}]}) == {
        f"prints[].{path}": says for path, says in paths.items()
    } | {
        "prints[].words[].width": "how wide",
        "prints[].words[].height": "how high",
    }
