"""Names of scans: a theme and a number, the names that cameras and scanners give, and slips.

That a camera's files are four free characters and a number of four digits is the Design rule for Camera File system
(CIPA DC-009 / JEITA CP-3461, from memory); the other names are common practice.
"""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.scans.kinds import OTHER_SUFFIXES, SUFFIXES
from kinphoto.scans.numbering import (
    NumberedName,
    is_nameless,
    natural_key,
    numbered,
    renamed_sidecar,
    sidecars,
    slips,
    theme_of,
)

PICTURES = frozenset((*SUFFIXES, *OTHER_SUFFIXES))


@pytest.mark.parametrize(
    ("stem", "name"),
    [
        ("harbour_0007", ("harbour", 7, "")),
        ("harbour_0007_back", ("harbour", 7, "_back")),
        ("harbour_0007b", ("harbour", 7, "b")),
        ("harbour_0007_2", ("harbour", 7, "_2")),
        ("port-lissom_0120", ("port-lissom", 120, "")),
        ("box-1_0003", ("box-1", 3, "")),
        ("Ada's album 0012", ("Ada's album", 12, "")),
        ("tin_12345", ("tin", 12345, "")),
    ],
)
def test_a_theme_and_a_number(stem: str, name: tuple[str, int, str]) -> None:
    """Both are read, with what stands after them; and the name is written as it was."""
    assert numbered(stem) == name


@pytest.mark.parametrize("stem", ["harbour", "harbour_7", "0007", "IMG_2031", "scan_0007", "harbour_0000", "DSC_0042b"])
def test_what_is_no_numbered_name(stem: str) -> None:
    """Without a theme that says something, or without four digits that count from 1."""
    assert numbered(stem) is None


@pytest.mark.parametrize(
    "stem",
    ["IMG_2031", "DSC00042", "DSCF1234", "P1010123", "scan0007", "Scan 12", "Image (3)", "img20240105_123456",
     "2024-01-05 12.30.11", "0007", "IMG_2031b", "IMG_2031 - Copy", "scan3 copy", "scan_0007_back"],
)  # fmt: skip
def test_names_that_machines_give(stem: str) -> None:
    """They say nothing of the picture."""
    assert is_nameless(stem)


@pytest.mark.parametrize("stem", ["harbour_0007", "Ada 1924", "wedding", "scan of Ada", "copy_0001"])
def test_names_that_people_give(stem: str) -> None:
    """One word is enough."""
    assert not is_nameless(stem)


@pytest.mark.parametrize(
    ("words", "theme"),
    [
        ("Grüne Kiste, 2", "grune-kiste-2"), ("Été à Nice", "ete-a-nice"), ("Øst & Weiß", "ost-weiss"), ("DCIM", ""),
        ("scans", ""), ("Łódź", "lodz"), ("  ", ""), ("写真", ""),
    ],
)  # fmt: skip
def test_a_theme_is_made_of_words(words: str, theme: str) -> None:
    """Plain letters, digits and hyphens; nothing where the words say nothing."""
    assert theme_of(words) == theme


@given(st.text(max_size=60), st.integers(1, 99_999))
def test_a_name_that_is_given_is_read_as_it_was_given(words: str, number: int) -> None:
    """Whatever the theme is made of, and it is safe on every disk."""
    theme = theme_of(words)
    if theme:
        stem = NumberedName(theme, number).stem
        assert stem.isascii()
        assert numbered(stem) == (theme, number, "")


def test_slips() -> None:
    """A letter too few, two that changed places, capitals; but numbers in a theme are meant."""
    counts = {"harbour": 40, "harbuor": 2, "Harbour": 1, "box-1": 10, "box-2": 9, "tin": 5, "tan": 4, "letters": 3}
    assert slips(counts) == [("harbuor", "harbour"), ("Harbour", "harbour")]


def test_scan2_comes_before_scan10() -> None:
    """As people sort."""
    assert sorted(["scan10", "Scan2", "scan1"], key=natural_key) == ["scan1", "Scan2", "scan10"]


def test_what_is_kept_beside_a_picture() -> None:
    """`a.xmp` and `a.jpg.xmp` belong to `a.jpg`; another picture, or `a.b.xmp`, does not."""
    names = ["a.jpg", "a.jpg.xmp", "a.tif", "a.xmp", "a.b.xmp", "ab.xmp"]
    assert sidecars(names, "a.jpg", PICTURES) == ["a.jpg.xmp", "a.xmp"]
    assert renamed_sidecar("a.jpg.xmp", "a.jpg", "tin_0001.jpg") == "tin_0001.jpg.xmp"
    assert renamed_sidecar("a.xmp", "a.jpg", "tin_0001.jpg") == "tin_0001.xmp"
