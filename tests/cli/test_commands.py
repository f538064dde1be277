"""The frame of the command line: headings, misspelt commands, options before the command, help and version."""

from __future__ import annotations

import json
import re
import sys
from pathlib import Path

import pytest
import typer

from kinphoto import __version__
from kinphoto.archive import Archive
from kinphoto.cli.commands import HEADINGS, OTHER_WORDS, behind_command
from kinphoto.cli.main import app, asked_for, run


class Terminal:
    """Commands typed one after the other."""

    def __init__(self, patch: pytest.MonkeyPatch, capture: pytest.CaptureFixture[str]) -> None:
        self._patch, self._capture = patch, capture

    def type(self, *words: str) -> tuple[int, str, str]:
        """The exit status, standard output and standard error."""
        self._patch.setattr(sys, "argv", ["kinphoto", *words])
        with pytest.raises(SystemExit) as ended:
            run()
        out, err = self._capture.readouterr()
        return int(ended.value.code or 0), out, err


@pytest.fixture
def terminal(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Terminal:
    """A terminal in no archive's folder."""
    monkeypatch.delenv("KINPHOTO_ARCHIVE", raising=False)
    return Terminal(monkeypatch, capsys)


def test_every_command_is_under_one_heading(terminal: Terminal) -> None:
    """Each is shown once, and none is left for the heading of those that nobody placed."""
    out = terminal.type("--help")[1]
    shown = re.findall(r"^  ([a-z]+)  ", out, re.MULTILINE)
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    assert sorted(shown) == sorted(commands)
    assert [heading for heading, _ in HEADINGS if f"{heading}:" not in out] == []
    assert "\nMore:\n" not in out


def test_help_is_a_command_too(terminal: Terminal) -> None:
    """`kinphoto help` and `kinphoto --help` say the same."""
    assert terminal.type("help")[1] == terminal.type("--help")[1]


def test_help_for_a_command(terminal: Terminal) -> None:
    """Also for one of a group; what is no command is answered with the nearest."""
    assert terminal.type("help", "link")[1] == terminal.type("link", "--help")[1]
    assert terminal.type("help", "scans", "join")[1] == terminal.type("scans", "join", "--help")[1]
    status, out, err = terminal.type("help", "scans", "joni")
    assert (status, out) == (2, "")
    assert "there is no command 'joni'. Did you mean join?" in err


def test_only_the_command_that_is_asked_for_is_put_together() -> None:
    """Whatever stands before it, and of a group the one that follows at once; all of them where it is no command, for
    `help`, and for the program's own options."""
    every = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    for word in set(every) - {"help"}:
        for args in ([word, "x"], ["--archive", "log", word], ["--json", word, "--help"]):
            alone = typer.main.get_command(asked_for(args)).commands  # type: ignore[attr-defined]
            assert list(alone) == [word]
            assert list(getattr(alone[word], "commands", ())) == list(getattr(every[word], "commands", ()))
        for within in getattr(every[word], "commands", ()):
            alone = typer.main.get_command(asked_for(["--json", word, within, "x"])).commands  # type: ignore[attr-defined]
            assert list(alone[word].commands) == [within]
    for args in ([], ["help", "log"], ["lnik"], ["--version"], ["--archive"], ["--help", "log"]):
        assert asked_for(args) is app


def test_the_version(terminal: Terminal) -> None:
    """Without an archive."""
    assert terminal.type("--version") == (0, f"kinphoto {__version__}\n", "")


@pytest.mark.parametrize(
    ("typed", "answer"),
    [
        (("lnik", "K1", "Ada"), "Did you mean link?"),
        (("scans", "ad", "."), "Did you mean add?"),
        (("search", "harbour"), "Use: kinphoto find"),
        (("serch", "harbour"), "Did you mean find"),
        (("delete", "K1"), "Use: kinphoto remove PHOTO"),
        (("wedding",), "Use: kinphoto state PHOTO --event EVENT"),
        (("xyzzy",), "there is no command 'xyzzy'.\n"),
    ],
)
def test_a_word_that_is_no_command(terminal: Terminal, typed: tuple[str, ...], answer: str) -> None:
    """Wrong usage, answered with the nearest command or with the one for that word."""
    status, out, err = terminal.type(*typed)
    assert (status, out) == (2, "")
    assert answer in err


def test_the_words_for_commands_lead_to_commands() -> None:
    """What is named instead exists, and no word hides a command."""
    commands = typer.main.get_command(app).commands  # type: ignore[attr-defined]
    assert set(OTHER_WORDS).isdisjoint(commands)
    assert {instead.split()[0] for instead in OTHER_WORDS.values()} <= {*commands, "--version"}


def test_the_archive_before_or_behind_the_command(
    terminal: Terminal, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """In any place, for commands of a group too; it goes before the environment variable."""
    Archive.create(tmp_path / "a").people.add("Berit Lund")
    Archive.create(tmp_path / "b")
    archive = str(tmp_path / "a")
    expected = terminal.type("people", "find", "--json", "--archive", archive)
    assert json.loads(expected[1])["people"][0]["name"] == "Berit Lund"
    monkeypatch.setenv("KINPHOTO_ARCHIVE", str(tmp_path / "b"))
    for typed in (
        ("--archive", archive, "people", "--json"),
        (f"--archive={archive}", "--json", "people", "find"),
        ("people", "--archive", archive, "find", "--json"),
        ("--json", "people", "berit", "--archive", archive),
    ):
        assert terminal.type(*typed) == expected
    status, _, err = terminal.type("--archive", str(tmp_path / "c"), "log")
    assert (status, "there is no archive here" in err) == (1, True)


def test_a_command_without_an_archive_lets_one_be_named_before_it(terminal: Terminal) -> None:
    """Whoever types --archive before every command may do so before `read` too."""
    expected = terminal.type("read", "1931", "--json")
    assert expected[0] == 0
    assert terminal.type("--archive", "x", "read", "1931", "--json") == expected
    assert terminal.type("--json", "--archive=x", "read", "1931") == expected


def test_only_options_before_the_command_are_moved() -> None:
    """What stands behind it, and options of the program itself, stay."""
    assert behind_command(["--archive", "x", "link", "K1", "--", "-"]) == ["link", "--archive", "x", "K1", "--", "-"]
    assert behind_command(["link", "--archive", "x"]) == ["link", "--archive", "x"]
    assert behind_command(["--version", "link"]) == ["--version", "link"]
    assert behind_command(["--archive", "x"]) == ["--archive", "x"]
