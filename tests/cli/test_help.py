"""Help answers at once and is complete: for every command, argument and option."""

from __future__ import annotations

import re
import subprocess
import sys
from collections.abc import Iterator
from typing import Any

import pytest
import typer

from kinphoto.cli.main import app

SHOW = """
import sys
from kinphoto.cli.main import run
try:
    run()
finally:
    print(*sorted(set(sys.modules) & {"numpy", "scipy", "sqlalchemy", "PIL"}), file=sys.stderr)
"""


def commands(command: Any, *path: str) -> Iterator[tuple[tuple[str, ...], Any]]:
    """A command and all below it, each with the words that call it."""
    yield path, command
    for name, below in getattr(command, "commands", {}).items():
        yield from commands(below, *path, name)


COMMANDS = dict(commands(typer.main.get_command(app)))


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_help_loads_nothing_heavy(path: tuple[str, ...]) -> None:
    """Neither arrays, tables nor pixels are loaded to show a page of help."""
    done = subprocess.run([sys.executable, "-c", SHOW, *path, "--help"], capture_output=True, text=True, check=False)
    assert done.returncode == 0
    assert "Usage" in done.stdout
    assert done.stderr.split() == []


def test_a_heavy_module_would_be_noticed() -> None:
    """The check above sees what a command loads that does its work."""
    done = subprocess.run([sys.executable, "-c", SHOW, "dates"], cwd="/", capture_output=True, text=True, check=False)
    assert "sqlalchemy" in done.stderr.splitlines()[-1]


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_command_and_option_says_what_it_is_for(path: tuple[str, ...]) -> None:
    """A sentence at least for the command, and words for each argument and option."""
    command = COMMANDS[path]
    assert re.match(r"[A-Z`].{10,}\.", " ".join((command.help or "").split()))
    silent = [p.name for p in command.params if not (getattr(p, "help", None) or "").strip()]
    assert silent == []


def test_the_commands_are_all_there() -> None:
    """The commands of the first release are all there."""
    assert {" ".join(path) for path in COMMANDS} >= {
        "demo", "init", "tree import", "people", "people add", "people same", "scans add", "scans join", "scans part",
        "scans check", "scans accept", "scans floor",
        "link", "state", "process", "format", "relate", "describe", "informant", "dates", "explain", "conflicts",
        "pictures", "kin", "proband", "undo", "log",
    }  # fmt: skip
