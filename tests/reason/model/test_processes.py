"""The table of processes and formats: its windows against the sources it names."""

from __future__ import annotations

from datetime import date

import pytest

from kinphoto.reason.model import processes
from kinphoto.reason.model.span import iso, year_of

PSAP = "University of Illinois, Preservation Self-Assessment Program"
ENGLAND = "Historic England, A Century of Historic Photographic Types"
PERTH = "Western Australian Museum, manual, appendix 7"
V_AND_A = "Victoria and Albert Museum, Photographic processes"
ATLAS = "Image Permanence Institute, Graphics Atlas"


@pytest.mark.parametrize(
    ("name", "first", "last", "source"),
    [
        ("daguerreotype", 1839, 1869, PSAP),
        ("ambrotype", 1854, 1889, PSAP),
        ("ambrotype", 1855, 1865, ENGLAND),
        ("ambrotype", 1851, 1879, PERTH),
        ("tintype", 1853, 1939, PSAP),
        ("tintype", 1852, 1949, PERTH),
        ("salted-paper", 1839, 1869, PSAP),
        ("salted-paper", 1840, 1869, ENGLAND),
        ("albumen", 1850, 1895, ENGLAND),
        ("albumen", 1850, 1929, PERTH),
        ("gelatin-silver", 1885, None, ENGLAND),
        ("cyanotype", 1842, 1929, ENGLAND),
        ("cyanotype", 1880, 1920, PERTH),
        ("autochrome", 1904, 1904, V_AND_A),
        ("autochrome", 1903, 1935, ENGLAND),
        ("colour-slide", 1935, 2009, "PBS NewsHour, June 2009"),
        ("chromogenic", 1942, None, ATLAS),
        ("chromogenic-fibre", 1942, 1971, ATLAS),
        ("resin-coated-colour", 1968, None, ATLAS),
        ("resin-coated-black-and-white", 1972, None, "from memory"),
        ("instant-peel-apart", 1948, 2008, "ticinonews.ch; bz-berlin.de"),
        ("instant-integral", 1972, None, "Wired, October 2007"),
        ("nitrate-negative", 1910, 1950, "National Park Service, Conserve O Gram 2/22"),
        ("nitrate-negative", 1887, 1959, ENGLAND),
        ("carte-de-visite", 1854, 1870, ENGLAND),
        ("carte-de-visite", 1857, 1870, "Smithsonian National Portrait Gallery"),
        ("carte-de-visite", 1854, 1905, "the tail, from memory"),
        ("cabinet-card", 1866, 1920, "liquisearch.com"),
        ("cabinet-card", 1863, 1924, "widest of the tertiary pages"),
        ("stereograph", 1850, 1939, ENGLAND),
        ("postcard-divided-back", 1902, None, "Postal Museum curator, Homes & Antiques, June 2022"),
        ("postcard-white-border", 1915, None, "sportscollectorsdaily.com"),
        ("real-photo-postcard", 1903, None, "Santa Cruz Museum of Art and History, postcard guide"),
        ("deckle-edge", 1930, 1969, "from memory"),
        ("square-126", 1963, 1998, "the maker's chronology; The Age, 10 May 1998"),
        ("print-110", 1972, None, "from memory"),
        ("disc-print", 1982, 1998, "from memory"),
        ("slide-35mm", 1936, None, "from memory"),
    ],
)
def test_a_window_holds_what_each_source_says(name: str, first: int, last: int | None, source: str) -> None:
    """No source's years lie outside the window, which is the widest of them."""
    window = processes.load()[name].window
    assert window.first is not None
    assert year_of(window.first) <= first, source
    assert window.last is None or (last is not None and year_of(window.last) >= last), source


@pytest.mark.parametrize(
    ("name", "first", "last"),
    [
        ("daguerreotype", 1839, 1869),
        ("ambrotype", 1851, 1889),
        ("tintype", 1852, 1949),
        ("albumen", 1850, 1929),
        ("gelatin-silver", 1885, None),
        ("autochrome", 1903, 1935),
        ("nitrate-negative", 1887, 1959),
        ("stereograph", 1850, 1939),
    ],
)
def test_a_window_is_no_wider_than_the_widest_source(name: str, first: int, last: int | None) -> None:
    """Where the sources give plain years (Historic England, PSAP, Western Australian Museum), nothing is added."""
    window = processes.load()[name].window
    ends = [None if day is None else year_of(day) for day in (window.first, window.last)]
    assert ends == [first, last]


def test_the_american_revenue_stamp_is_bounded_to_the_month() -> None:
    """Act of 30 June 1864: every page seen gives August 1864 to August 1866 (one stamp cancelled 23 August 1866)."""
    window = processes.load()["tax-stamped"].window
    assert (iso(window.first), iso(window.last)) == ("1864-08-01", "1866-08-31")


def test_the_american_postcard_back_changes_on_one_day() -> None:
    """Undivided before, divided from 1 March 1907 (Santa Cruz Museum of Art and History)."""
    table = processes.load()
    assert table["postcard-divided-back-us"].window.first == date(1907, 3, 1).toordinal()
    assert table["postcard-undivided-back-us"].window.last == date(1907, 2, 28).toordinal()


def test_every_entry_is_whole() -> None:
    """Each has a title, at least one source with its basis, and common years inside its window."""
    for process in processes.load().values():
        assert process.kind in ("process", "format"), process.name
        assert process.title, process.name
        assert process.sources, process.name
        assert {source.basis for source in process.sources} <= {"seen", "from memory"}, process.name
        if process.common is not None:
            assert process.common.meet(process.window) == process.common, process.name


@pytest.mark.parametrize(
    ("text", "name"),
    [("Cabinet Card", "cabinet-card"), ("CDV", "carte-de-visite"), ("square 126", "square-126"), ("126", "square-126")],
)
def test_a_format_is_known_by_any_of_its_words(text: str, name: str) -> None:
    """Case, spaces and hyphens do not matter, and common other words are understood."""
    found = processes.named(text, "format")
    assert found is not None
    assert found.name == name


def test_a_misspelt_process_has_near_names() -> None:
    """Names are suggested among the same kind only."""
    assert processes.near("albumin", "process")[0] == "albumen"
    assert processes.near("cabinet-crad", "format") == ["cabinet-card"]
    assert processes.named("albumen", "format") is None


def test_camera_originals_are_told_from_prints() -> None:
    """Plates, slides, negatives and instant pictures lay in the camera; paper prints and mounts did not (common
    practice)."""
    originals = {p.name for p in processes.load().values() if p.original}
    assert originals == {
        "daguerreotype",
        "ambrotype",
        "tintype",
        "autochrome",
        "colour-slide",
        "instant-peel-apart",
        "instant-integral",
        "nitrate-negative",
        "safety-negative",
        "glass-negative",
        "slide-35mm",
    }


def test_what_is_dangerous_says_so() -> None:
    """Nitrate film: "severe fire hazard, toxic gases" (National Park Service, Conserve O Gram 2/22)."""
    caution = " ".join(processes.load()["nitrate-negative"].cautions)
    assert "fire hazard" in caution
    assert "conservator or the fire service" in caution
    assert "case" in " ".join(processes.load()["daguerreotype"].cautions)
