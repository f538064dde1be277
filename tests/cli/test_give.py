"""`kinphoto give` as its users type it: the report first, then what they asked for, and answers to mistakes."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from building import copied
from commands import run_command

from kinphoto.cli.documents import documents

DOCUMENTS = documents()


@pytest.fixture(scope="module")
def folder(sample: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A copy of the sample."""
    place = tmp_path_factory.mktemp("give") / "sample"
    copied(sample, place).close()
    return place


def said(folder: Path, *words: str) -> str:
    """What a command prints."""
    done = run_command(folder, *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


def printed(folder: Path, *words: str) -> Any:
    """What it prints with --json, every field of which is described."""
    found = json.loads(said(folder, *words, "--json"))
    described = DOCUMENTS[" ".join(words[:2])]
    assert set(_paths(found)) <= set(described)
    return found


def _paths(found: Any, path: str = "") -> list[str]:
    if isinstance(found, dict):
        return [each for key, value in found.items() for each in _paths(value, f"{path}.{key}" if path else key)]
    if isinstance(found, list):
        return [each for value in found for each in _paths(value, f"{path}[]")]
    return [] if found is None else [path]


def test_an_evening_of_asking_and_giving(folder: Path, tmp_path: Path) -> None:
    """An audience, a consent, what stays, copies, a site and paper; each says in words what it did."""
    assert said(folder, "give", "audience", "cousins", "--who", "Ruth in Hull").startswith("cousins is an audience")
    assert [one["name"] for one in printed(folder, "give", "audience")["audiences"]] == [
        "household",
        "cousins",
        "public",
    ]
    line = said(folder, "give", "consent", "I68", "--to", "cousins", "--by", "Susanne", "--on", "3 May 2026")
    assert line.startswith(
        "C1 for cousins: Judith Quillern (I68): name, life and pictures, on 2026-05-03, asked by Sus"
    )
    assert printed(folder, "give", "consents")["consents"][0]["on"] == "2026-05-03"
    assert said(folder, "give", "private", "K00008") == "K00008 is private: it never leaves the archive.\n"
    printed(folder, "give", "clear", "K00009", "--words", "--to", "cousins", "--by", "Susanne")
    report = said(folder, "give", "report", "cousins")
    assert "1 because you marked them private" in report
    assert "K00008 stays: you marked it private." in report
    first = said(folder, "give", "copies", str(tmp_path / "out"), "--for", "cousins")
    assert first.endswith("Nothing has been written. To write it, add --write.\n")
    assert not (tmp_path / "out").exists()
    copies = printed(folder, "give", "copies", str(tmp_path / "out"), "--for", "cousins", "--write")
    assert copies["written"] == len(list((tmp_path / "out").iterdir())) - 1
    site = printed(folder, "give", "site", str(tmp_path / "site"), "K00009", "--for", "cousins", "--write")
    assert site["done"]
    sheet = ("give", "sheet", str(tmp_path / "s.pdf"), "K00009", "--ask", "Aunt May", "--for", "cousins", "--write")
    assert printed(folder, *sheet)["photographs"] == ["K00009"]
    assert printed(folder, "give", "labels", str(tmp_path / "l.pdf"), "--boxes", "--write")["size"] > 1000
    assert "K00009: " in said(folder, "give", "prints", "K00009")
    assert printed(folder, "give", "prints", "K00009", "--to", str(tmp_path / "p"), "--write")["written"] <= 1
    assert "(revoked)" in said(folder, "give", "revoke", "C1")
    assert "revoked C1 for cousins" in said(folder, "log")


@pytest.mark.parametrize(
    ("words", "answer"),
    [
        ("report cousin", "there is no audience called 'cousin'. There are:"),
        ("copies . --for public --write", "a folder of its own"),
        ("copies /tmp/x --for public --metadata within", "'within' is not a place for metadata"),
        ("copies /tmp/x --for public --edge 3", "3 pixels is not a usable size"),
        ("clear K00009 --to public --by S", "say what may go"),
        ("consent Nobody --to public --by S", "Nobody"),
        ("sheet s.txt --ask May --for public", "ending in .pdf"),
        ("prints --size 9x13", "'9x13' is not a print size"),
        ("revoke 9", "there is no consent '9'"),
    ],
)
def test_mistakes_are_answered_in_one_line(folder: Path, words: str, answer: str) -> None:
    """What is wrong and what to do, and exit status 1."""
    done = run_command(folder, "give", *words.split())
    assert done.returncode == 1
    assert len(done.stderr.strip().splitlines()) == 1
    assert answer in done.stderr
