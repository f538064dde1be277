"""docs/method.md and the densities it describes are the same ones."""

from __future__ import annotations

import ast
import re
from importlib import import_module
from inspect import getmembers, isfunction
from pathlib import Path

import pytest
from docs_scripts import script

import kinphoto.reason
from kinphoto.reason.model import containers, density, evidence, perception, prior, sequences, survival

TEXT = (Path(__file__).parents[2] / "docs" / "method.md").read_text(encoding="utf-8")
MODEL = (containers, density, evidence, perception, prior, sequences, survival)
MODULES = {module.__name__.rpartition(".")[2]: module for module in MODEL}
HELPERS = {"density.normal", "density.flat", "density.log_bell", "density.printed_area", "density.after_event_area"}
"""Parts of others, and integrals: their docstrings have the formula."""


def test_every_function_that_is_cited_is_there() -> None:
    """`module.name` of the method is a name of that module."""
    cited = re.findall(rf"`({'|'.join(MODULES)})\.(\w+)(?:\.(\w+))?`", TEXT)
    assert len(cited) > 20
    missing = [".".join(one) for one in cited if not hasattr(MODULES[one[0]], one[1])]
    assert missing == []


@pytest.mark.parametrize("module", ["containers", "density", "sequences", "survival"])
def test_every_density_is_cited(module: str) -> None:
    """Each public function of these modules stands in the method's table."""
    own = getmembers(MODULES[module], lambda f: isfunction(f) and f.__module__ == MODULES[module].__name__)
    names = {f"{module}.{name}" for name, _ in own if not name.startswith("_")}
    assert {name for name in names - HELPERS if f"`{name}`" not in TEXT} == set()


REASON = Path(kinphoto.reason.__file__).parent


def test_the_list_of_constants_is_up_to_date() -> None:
    """As the code says now; `python docs/make_constants.py` mends it."""
    assert script("make_constants").filled(TEXT) == TEXT


@pytest.mark.parametrize("path", sorted(REASON.rglob("*.py")), ids=lambda path: path.relative_to(REASON).as_posix())
def test_every_constant_is_named(path: Path) -> None:
    """Each number that a file of the reasoner gives a name stands in a row of the list beside that file."""
    file = path.relative_to(REASON)
    module = import_module(".".join(("kinphoto.reason", *file.with_suffix("").parts)))
    stored = {
        node.id
        for statement in ast.parse(path.read_text(encoding="utf-8")).body
        if isinstance(statement, ast.Assign | ast.AnnAssign)
        for node in ast.walk(statement)
        if isinstance(node, ast.Name) and isinstance(node.ctx, ast.Store)
    }
    numbers = {name for name in stored if isinstance(getattr(module, name, None), int | float) and name[0] != "_"}
    rows = [line for line in TEXT.splitlines() if line.startswith(f"| `{file.as_posix()}` |")]
    assert numbers - {name for row in rows for name in re.findall(r"`(\w+)`", row)} == set()
