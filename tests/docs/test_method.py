"""docs/method.md and the densities it describes are the same ones."""

from __future__ import annotations

import re
from inspect import getmembers, isfunction
from pathlib import Path

import pytest

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
