"""XMP as the Metadata Working Group and IPTC have it. Their examples are from memory of MWG Guidelines 2.0 (2010), 5.9,
and of the IPTC Photo Metadata Standard 2019.1; exiftool reads them."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from xml.etree import ElementTree as ET

import pytest
from asking_exiftool import exiftool
from hypothesis import given
from hypothesis import strategies as st

from kinphoto.share.embed import MOST_XMP
from kinphoto.share.facts import PersonFact, PictureFacts
from kinphoto.share.xmp import NAMESPACES, packet, packet_within


def read(data: bytes, path: Path) -> dict[str, Any]:
    """The packet as exiftool reads it."""
    path.write_bytes(data)
    found: dict[str, Any] = json.loads(exiftool("-j", "-n", "-struct", "-G1", path))[0]
    return found


def test_the_example_of_the_metadata_working_group(tmp_path: Path) -> None:
    """A face named John Doe of a picture of 4288 by 2848 pixels: x 0.5, y 0.5 are its centre."""
    facts = PictureFacts(
        identifier="K1", size=(4288, 2848), people=(PersonFact("John Doe", (0.47, 0.4525, 0.06, 0.095)),)
    )
    found = read(packet(facts, wrapped=False), tmp_path / "a.xmp")["XMP-mwg-rs:RegionInfo"]
    assert found["AppliedToDimensions"] == {"W": 4288, "H": 2848, "Unit": "pixel"}
    (region,) = found["RegionList"]
    assert (region["Type"], region["Name"]) == ("Face", "John Doe")
    assert region["Area"].pop("Unit") == "normalized"
    assert region["Area"] == pytest.approx({"X": 0.5, "Y": 0.5, "W": 0.06, "H": 0.095}, rel=1e-6)


def test_the_example_of_iptc(tmp_path: Path) -> None:
    """A rectangle relative to the picture, by its top left corner, with its name and who is in it."""
    facts = PictureFacts(identifier="K1", size=(800, 600), people=(PersonFact("Jane", (0.31, 0.18, 0.127, 0.385)),))
    (region,) = read(packet(facts, wrapped=False), tmp_path / "a.xmp")["XMP-iptcExt:ImageRegion"]
    boundary = {"RbShape": "rectangle", "RbUnit": "relative", "RbX": 0.31, "RbY": 0.18, "RbW": 0.127, "RbH": 0.385}
    assert region["RegionBoundary"] == boundary
    assert region["RCtype"][0]["Identifier"] == ["http://cv.iptc.org/newscodes/imageregiontype/human"]
    assert region["PersonInImage"] == ["Jane"]


@given(st.text(max_size=30), st.text(max_size=30))
def test_whatever_is_written_is_xml_and_comes_back(title: str, name: str) -> None:
    """Any letters, markup and control characters among them, give a packet that Python's own parser reads."""
    facts = PictureFacts(
        identifier="K1", size=(1, 1), title=f"<{title}&", people=(PersonFact(f"{name}x", (0, 0, 1, 1)),)
    )
    root = ET.fromstring(packet(facts, wrapped=False))
    (found,) = root.iter(f"{{{NAMESPACES['dc']}}}title")
    kept = "".join(letter for letter in f"<{title}&" if letter.isprintable() and letter.isascii())
    assert "".join(c for c in "".join(found.itertext()) if c.isprintable() and c.isascii()) == kept


@pytest.mark.parametrize(("people", "words"), [(90, 10), (2, 90_000), (400, 10)])
def test_what_is_too_much_for_a_jpeg_is_left_out_by_its_weight(tmp_path: Path, people: int, words: int) -> None:
    """A class of ninety named twice over; a long description; a crowd. All names that fit stay, exiftool reads them,
    and it is said that something was left out."""
    named = tuple(PersonFact(f"Pupil {number}", (0.1, 0.1, 0.01, 0.01)) for number in range(people))
    facts = PictureFacts(
        identifier="K00001", size=(400, 300), title="The class", description="& " * words, people=named
    )
    assert len(packet(facts)) > MOST_XMP
    found, left_out = packet_within(facts, MOST_XMP)
    assert left_out
    assert len(found) <= MOST_XMP
    (tmp_path / "a.xmp").write_bytes(found)
    said = exiftool("-s3", "-Title", "-RegionName", tmp_path / "a.xmp").splitlines()
    assert said[0] == "The class"
    if people < 400:
        assert said[1].split(", ") == [one.name for one in named]
    small = PictureFacts(identifier="K00001", size=(400, 300))
    assert packet_within(small, MOST_XMP) == (packet(small), False)
