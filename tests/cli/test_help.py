"""Help answers at once and is complete: for every command, argument and option."""

from __future__ import annotations

import json
import re
import subprocess
import sys
from collections.abc import Callable, Iterator
from typing import Any

import pytest
import typer
from commands import invoked

from kinphoto.cli.main import app

HEAVY = {"numpy", "scipy", "sqlalchemy", "PIL"}
SHOW = """
import json, os, sys
from kinphoto.cli.main import run
for line in sys.stdin:
    out, back = os.pipe()
    if os.fork() == 0:
        sys.stdout = sys.stderr = open(back, "w", encoding="utf-8")
        sys.argv[1:] = json.loads(line)
        try:
            run()
        except SystemExit as end:
            print("loaded:", *sys.modules, flush=True)
            os._exit(end.code or 0)
    os.close(back)
    said = open(out, encoding="utf-8").read()
    print(json.dumps([os.waitstatus_to_exitcode(os.wait()[1]), said]), flush=True)
"""
"""Each command in a process of its own, forked from one that has loaded the frame of the command line and no more."""


@pytest.fixture(scope="module")
def showing() -> Iterator[Callable[..., tuple[int, str, set[str]]]]:
    """Runs a command line; returns its exit status, what it prints, and the modules that are loaded when it ends."""
    frame = subprocess.Popen(
        [sys.executable, "-c", SHOW], cwd="/", stdin=subprocess.PIPE, stdout=subprocess.PIPE, text=True
    )

    def show(*words: str) -> tuple[int, str, set[str]]:
        print(json.dumps(words), file=frame.stdin, flush=True)
        status, said = json.loads(frame.stdout.readline())  # type: ignore[union-attr]
        printed, ended, loaded = said.rpartition("loaded:")
        assert ended, said
        return status, printed, set(loaded.split())

    yield show
    frame.communicate()


def commands(command: Any, *path: str) -> Iterator[tuple[tuple[str, ...], Any]]:
    """A command and all below it, each with the words that call it."""
    yield path, command
    for name, below in getattr(command, "commands", {}).items():
        yield from commands(below, *path, name)


COMMANDS = dict(commands(typer.main.get_command(app)))


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_help_loads_nothing_heavy(showing: Callable[..., tuple[int, str, set[str]]], path: tuple[str, ...]) -> None:
    """Neither arrays, tables nor pixels are loaded to show a page of help."""
    status, printed, loaded = showing(*path, "--help")
    assert status == 0
    assert "Usage" in printed
    assert "kinphoto.cli.main" in loaded
    assert not loaded & HEAVY


def test_a_heavy_module_would_be_noticed(showing: Callable[..., tuple[int, str, set[str]]]) -> None:
    """The check above sees what a command loads that does its work."""
    _, _, loaded = showing("dates")
    assert "sqlalchemy" in loaded


@pytest.mark.parametrize("path", COMMANDS, ids=" ".join)
def test_every_command_and_option_says_what_it_is_for(path: tuple[str, ...]) -> None:
    """A sentence at least for the command, and words for each argument and option."""
    command = COMMANDS[path]
    assert re.match(r"[A-Z`].{10,}\.", " ".join((command.help or "").split()))
    silent = [p.name for p in command.params if not (getattr(p, "help", None) or "").strip()]
    assert silent == []


NEEDED = {path: p for path, command in COMMANDS.items() for p in command.params[:1] if p.required}
"""The first argument of each command that cannot do without it."""


@pytest.mark.parametrize("path", NEEDED, ids=" ".join)
def test_what_is_missing_is_explained(path: tuple[str, ...]) -> None:
    """Not by its name alone, which says nothing to whoever left it out."""
    said = " ".join(invoked([*path]).output.split())
    assert said.endswith(" ".join((NEEDED[path].help or "").split()))


def test_a_missing_option_is_explained() -> None:
    """Who a site is for has no default; what can be given is said."""
    answered = invoked(["give", "site", "folder"])
    assert answered.exit_code == 2
    assert "Missing option '--for'. household, public, or a group of relatives" in answered.output


def test_the_commands_are_all_there() -> None:
    """The commands of the first release are all there."""
    assert {" ".join(path) for path in COMMANDS} >= {
        "demo", "init", "tree import", "people", "people add", "people same", "scans add", "scans join", "scans part",
        "scans check", "scans accept", "scans floor",
        "link", "state", "process", "format", "relate", "describe", "informant", "dates", "explain", "conflicts",
        "pictures", "kin", "proband", "undo", "log",
    }  # fmt: skip
