"""The house as DEVELOPERS.md draws it: what each file imports, read from the code, also inside functions."""

from __future__ import annotations

import ast
from collections import defaultdict
from collections.abc import Iterator
from functools import cache
from pathlib import Path

import networkx
import pytest

ROOT = Path(__file__).parents[1]
LAYERS = (
    ("cli", "web"),
    ("archive",),
    ("gedcom", "scans", "faces", "share", "sounds"),
    ("store",),
    ("errors", "phrases", "documents", "version", "translation"),
    ("reason",),
)
"""From the top; a file imports from its own layer and from those below."""
FLOORS = {
    "archive": (
        "giving",
        "keeping",
        "asking",
        "search",
        "tree",
        "people",
        "faces",
        "collection",
        "dates",
        "statements",
        "catalogue",
        "words",
    ),
    "reason": ("advice", "dating", "soft", "hard", "model"),
}
"""The folders inside two of them, from the top. The files of `archive/` itself stand above all of them."""
FRONT_DOOR = "kinphoto.archive"


def modules() -> dict[str, Path]:
    """Every module of the program and of the sample, by its dotted name."""
    files = [*(ROOT / "kinphoto").rglob("*.py"), *(ROOT / "sample_tree").rglob("*.py")]
    return {".".join(path.relative_to(ROOT).with_suffix("").parts).removesuffix(".__init__"): path for path in files}


def imports(name: str, path: Path, known: dict[str, Path]) -> Iterator[str]:
    """The modules that a file names anywhere, also for the types of its signatures alone."""
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        named = []
        if isinstance(node, ast.Import):
            named = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            package = name if path.name == "__init__.py" else name.rpartition(".")[0]
            above = ".".join(package.split(".")[: len(package.split(".")) - node.level + 1]) if node.level else ""
            module = ".".join(filter(None, (above, node.module)))
            named = [each if (each := f"{module}.{alias.name}") in known else module for alias in node.names]
        yield from (each for each in named if each in known and each != name)


@cache
def arrows() -> frozenset[tuple[str, str]]:
    """Who imports whom."""
    known = modules()
    return frozenset((name, other) for name, path in known.items() for other in imports(name, path, known))


def place(name: str, order: tuple[str, ...], part: int) -> int | None:
    """The number of the floor of a module, from the top."""
    parts = name.split(".")
    return order.index(parts[part]) if len(parts) > part and parts[part] in order else None


def test_nothing_imports_upwards() -> None:
    """Neither between the layers nor between the floors of one."""
    layer = {room: number for number, rooms in enumerate(LAYERS) for room in rooms}
    wrong = []
    for one, other in arrows():
        rooms = [name.split(".")[1] for name in (one, other) if name.startswith("kinphoto.")]
        if len(rooms) == 2 and layer.get(rooms[0], 0) > layer.get(rooms[1], 0):
            wrong.append(f"{one} -> {other}")
        for top, order in FLOORS.items():
            if rooms == [top, top]:
                floors = place(one, order, 2), place(other, order, 2)
                if floors[0] is not None and floors[1] is not None and floors[0] > floors[1]:
                    wrong.append(f"{one} -> {other}")
    assert wrong == []


def test_nobody_asks_the_front_door_of_what_it_is_built_from() -> None:
    """No module inside the archive takes an `Archive`, or names it for its types: a connection, a change or an engine
    is enough. But for two that use it as a command does."""
    assert {one for one, other in arrows() if other == FRONT_DOOR and one.startswith(f"{FRONT_DOOR}.")} == {
        "kinphoto.archive.sample",  # goes through an evening's work
        "kinphoto.archive.dates.background",  # a process of its own
    }


@pytest.mark.parametrize("top", ["kinphoto", "sample_tree"])
def test_there_are_no_circles(top: str) -> None:
    """No file imports one that imports it, however far round."""
    graph = networkx.DiGraph((one, other) for one, other in arrows() if one.startswith(top))
    circles = [sorted(circle) for circle in networkx.strongly_connected_components(graph) if len(circle) > 1]
    assert circles == []


def test_reason_is_pure() -> None:
    """It imports nothing else of ours, opens no file but its table of processes, and knows no clock."""
    outside = [
        f"{one} -> {other}"
        for one, other in arrows()
        if one.startswith("kinphoto.reason") and not other.startswith("kinphoto.reason")
    ]
    assert outside == []


def test_every_folder_says_what_it_is_for() -> None:
    """Each module begins with a docstring; a folder's stands in its `__init__.py`."""
    silent = [
        name
        for name, path in modules().items()
        if "versions" not in name and ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) is None
    ]
    assert silent == []


LONGEST = 450
"""Lines of a file: a longer one holds two ideas (a judgement of the project)."""


def test_no_file_is_too_long() -> None:
    """One file, one idea: whoever opens it can read it in one go."""
    lines = {name: len(path.read_text(encoding="utf-8").splitlines()) for name, path in modules().items()}
    assert {name: many for name, many in lines.items() if many > LONGEST and name.startswith("kinphoto.")} == {}


def test_no_two_classes_have_one_name() -> None:
    """Whoever reads one of a name knows which is meant; what a file keeps to itself may be called as elsewhere."""
    places = defaultdict(list)
    ours = {name: path for name, path in modules().items() if name.startswith("kinphoto.")}
    for name, path in ours.items():
        for node in ast.parse(path.read_text(encoding="utf-8")).body:
            if isinstance(node, ast.ClassDef) and not node.name.startswith("_"):
                places[node.name].append(name)
    assert {name: found for name, found in places.items() if len(found) > 1} == {}


def test_tests_mirror_the_program() -> None:
    """A test file lies in the folder of the same name as what it is about."""
    folders = defaultdict(list)
    for path in (ROOT / "tests").rglob("test_*.py"):
        folders[path.parent.relative_to(ROOT / "tests")].append(path)
    beside = {"bench", "browser", "docs", "sample_tree", "web/drawing"}
    unknown = [str(each) for each in folders if str(each) not in beside and not (ROOT / "kinphoto" / each).is_dir()]
    assert unknown == []
