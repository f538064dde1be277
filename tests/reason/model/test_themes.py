"""Themes of numbered names as containers within their container."""

from __future__ import annotations

from dataclasses import replace
from itertools import cycle

import pytest

from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model.subjects import Arrangement, Container, Photograph
from kinphoto.reason.model.themes import box_of, theme_of, with_themes


def folder(themes: list[str], arrangement: Arrangement | None = None) -> ev.Evidence:
    """Photographs with these themes as they lie in one folder."""
    pictures = tuple(
        Photograph(f"K{i}", 738_000, container="B1", position=i, theme=theme) for i, theme in enumerate(themes)
    )
    return ev.Evidence(photographs=pictures, containers=(Container("B1", None, arrangement),))


def lie(evidence: ev.Evidence) -> list[tuple[str, str]]:
    """The container and the theme of each photograph."""
    return [(box_of(p.container or ""), theme_of(p.container)) for p in evidence.photographs]


def test_a_theme_is_a_container_in_its_container() -> None:
    """Harbour and picnic have containers of their own; what has no such name, and the one picture of a wedding, lie in
    the folder itself. What somebody said of the order holds for each."""
    themes = ["harbour", "harbour", "harbour", "", "picnic", "picnic", "wedding"]
    found = with_themes(folder(themes, Arrangement.BACKWARDS))
    named = {"harbour", "picnic"}
    assert lie(found) == [("B1", theme if theme in named else "") for theme in themes]
    assert [(c.parent, theme_of(c.id), c.arrangement) for c in found.containers] == [
        (None, "", Arrangement.BACKWARDS),
        ("B1", "harbour", Arrangement.BACKWARDS),
        ("B1", "picnic", Arrangement.BACKWARDS),
    ]


@pytest.mark.parametrize("themes", [["tin"] * 9, [theme for _, theme in zip(range(12), cycle("ab"), strict=False)]])
def test_nothing_is_made_of_one_theme_or_of_what_somebody_arranged(themes: list[str]) -> None:
    """One theme is what the folder is; two that lie in among each other were put so by somebody."""
    evidence = folder(themes)
    assert with_themes(evidence) is evidence


def test_a_second_handful_is_still_of_its_theme() -> None:
    """Ten more pictures of the harbour, scanned later, lie behind those of the picnic: it is one theme."""
    found = with_themes(folder([*["harbour"] * 20, *["picnic"] * 10, *["harbour"] * 10]))
    assert lie(found)[0] == lie(found)[-1] == ("B1", "harbour")


def test_without_the_container_there_is_no_theme() -> None:
    """Of a part of the evidence, in which containers are left out, nothing is made."""
    evidence = folder(["a", "a", "b", "b"]).without({"B1"})
    assert with_themes(evidence) is evidence


def test_whatever_a_box_is_called() -> None:
    """The id of a theme is no string that a box of another name could have, and a second look makes nothing more."""
    evidence = folder(["a§b", "a§b", "c", "c"])
    boxes = tuple(replace(c, id="B1§a") for c in evidence.containers)
    inside = tuple(replace(p, container="B1§a") for p in evidence.photographs)
    found = with_themes(replace(evidence, photographs=inside, containers=boxes))
    assert lie(found) == [("B1§a", "a§b"), ("B1§a", "a§b"), ("B1§a", "c"), ("B1§a", "c")]
    assert with_themes(found) is found
