"""A kind of dated statement is added in four files, and everything else follows.

`tests/data/kinds/uniform.patch` adds one that nobody else needs: a uniform seen in the picture, with the year in which
it was first issued: the picture is not older. The patch is applied to a copy of the program, which is then used.
"""

from __future__ import annotations

import os
import re
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

import kinphoto

ROOT = Path(__file__).parents[3]
PATCH = ROOT / "tests" / "data" / "kinds" / "uniform.patch"
AGAIN = (
    f"Add the kind by hand as {PATCH.relative_to(ROOT)} and DEVELOPERS.md describe it, then: "
    f"git diff -U1 -- kinphoto > {PATCH.relative_to(ROOT)}, and take it out again: git checkout -- kinphoto"
)

USE = """
import re
from pathlib import Path

from PIL import Image
from starlette.testclient import TestClient
from typer.testing import CliRunner

import kinphoto
from kinphoto.archive import Archive
from kinphoto.cli.main import app
from kinphoto.web.app import make_app

print(kinphoto.__file__)
here = Path.cwd()
(here / "scans").mkdir()
for shade in (40, 120, 200):
    Image.radial_gradient("L").point(lambda v, shade=shade: (v + shade) % 256).save(here / "scans" / f"{shade}.png")


def run(*words):
    print("$", *words)
    done = CliRunner().invoke(app, [*words, "--archive", str(here / "family")])
    print(done.output, "" if done.exit_code == 0 else f"exit {done.exit_code} {done.exception!r}")


CliRunner().invoke(app, ["init", str(here / "family")])
CliRunner().invoke(app, ["scans", "add", str(here / "scans"), "--archive", str(here / "family")])
run("state", "K00001", "the insignia", "1939", "--by", "Uncle Per", "--text", "the new cap badge")
Path("sheet.csv").write_text("photo,kind,date,informant\\nK00002,uniform,1942,Uncle Per\\n")
run("state", "--from", "sheet.csv")
run("show", "K00002")
run("explain", "K00001", "--all")
run("state", "K00001", "taken", "1931", "--by", "Aunt Edda")
run("conflicts")
run("undo")
run("conflicts")
run("withdraw", "S1")
run("dates", "K00001")
run("reinstate", "S1")
run("state", "K00001", "unifrom", "1939")
run("state", "--help")
archive = Archive.open(here / "family")
with TestClient(make_app(archive), base_url="http://127.0.0.1:5817") as browser:
    token = re.search(r'name="token" value="([0-9a-f]+)"', browser.get("/people").text)[1]
    for date in ("1914", "soon"):
        print("$ form", date)
        fields = {"token": token, "kind": "uniform", "date": date, "by": "Per"}
        print(browser.post("/photograph/K00003/say", data=fields).text)
archive.engine.dispose()
run("undo")
run("show", "K00003")
"""


def patched(folder: Path) -> list[str]:
    """A copy of the program with the patch applied, and the files that it changes."""
    shutil.copytree(Path(kinphoto.__file__).parent, folder / "kinphoto")  # with all that is compiled already
    changed = []
    for part in PATCH.read_text(encoding="utf-8").split("diff --git ")[1:]:
        head, *hunks = part.split("\n@@ ")
        path = head.rpartition("+++ b/")[2]
        changed.append(path)
        text = (folder / path).read_text(encoding="utf-8")
        for hunk in hunks:
            lines = hunk.splitlines()[1:]
            old = "".join(f"{line[1:]}\n" for line in lines if line[:1] != "+")
            new = "".join(f"{line[1:]}\n" for line in lines if line[:1] != "-")
            assert text.count(old) == 1, f"{PATCH.name} does not fit {path} any more, at:\n{old}{AGAIN}"
            text = text.replace(old, new)
        (folder / path).write_text(text, encoding="utf-8")
    return changed


@pytest.fixture(scope="module")
def printed(tmp_path_factory: pytest.TempPathFactory) -> list[tuple[str, str]]:
    """What the changed copy prints while it is used: each command, and its answer on one line."""
    folder = tmp_path_factory.mktemp("uniform")
    patched(folder)
    (folder / "desk").mkdir()
    done = subprocess.run(
        [sys.executable, "-c", USE], cwd=folder / "desk", env={**os.environ, "PYTHONPATH": str(folder)},
        capture_output=True, text=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, f"{done.stderr}\n{AGAIN}"
    assert done.stdout.startswith(str(folder)), "it was not the changed copy that was used"
    answers = (each.partition("\n") for each in done.stdout.split("\n$ ")[1:])
    return [(command, " ".join(answer.split())) for command, _, answer in answers]


def answers(printed: list[tuple[str, str]], command: str) -> list[str]:
    """What was answered each time that a command was given."""
    found = [answer for given, answer in printed if given.startswith(command)]
    assert found
    return found


def test_it_stands_in_four_files_at_most(tmp_path: Path) -> None:
    """What it is, what it forbids, what it makes likely, and its words."""
    changed = patched(tmp_path)
    assert len(set(changed)) == len(changed) <= 4, changed


def test_it_is_recorded_by_command(printed: list[tuple[str, str]]) -> None:
    """By any word that people use for it; the photograph is dated after that day, and help and refusals name it."""
    first = answers(printed, "state K00001 the insignia")[0]
    assert first.startswith("K00001: uniform 1939 [S1] Date of K00001: between 1939 and 19")
    assert re.search(r"KIND .*\buniform\b", answers(printed, "state --help")[0])
    assert "Did you mean uniform?" in answers(printed, "state K00001 unifrom")[0]


def test_it_is_recorded_by_spreadsheet(printed: list[tuple[str, str]]) -> None:
    """In the columns of every other kind."""
    assert answers(printed, "state --from") == ["1 row applied."]
    assert "uniform, 1942, says Uncle Per" in answers(printed, "show K00002")[0]


def test_it_is_recorded_by_form(printed: list[tuple[str, str]]) -> None:
    """The form on the photograph's page offers it, and then the page shows it, as a bar and among the facts."""
    page = answers(printed, "form 1914")[0]
    assert '<option value="uniform">a uniform in it, with the year in which it was first issued</option>' in page
    assert '<span class="fact">Uniform first issued</span>' in page
    assert "Shows a uniform first issued in 1914, so not earlier" in page
    assert "from 1 January 1914 on" in page
    assert "soon" in answers(printed, "form soon")[0]


def test_it_is_explained(printed: list[tuple[str, str]]) -> None:
    """With what the date would be without it."""
    told = answers(printed, "explain")[0]
    assert "K00001 shows a uniform that was first issued in 1939: “the new cap badge” (says Uncle Per)." in told
    assert "Without the uniform it could be any time from 1826 to" in told


def test_it_takes_part_in_conflicts(printed: list[tuple[str, str]]) -> None:
    """What is said against it is told at once, and so are the ways out, until the other statement is taken back."""
    assert "This does not fit, because K00001 shows a uniform" in answers(printed, "state K00001 taken")[0]
    conflict, none = answers(printed, "conflicts")
    assert "When was K00001 taken?" in conflict
    assert "a K00001 may not have been taken in 1931." in conflict
    assert "b The uniform in K00001 may have been issued earlier." in conflict
    assert none == "Everything fits together."


def test_it_is_withdrawn_and_undone(printed: list[tuple[str, str]]) -> None:
    """Like any other statement."""
    assert answers(printed, "withdraw")[0].startswith("S1 (uniform 1939 of K00001) is withdrawn.")
    assert "not dated yet" in answers(printed, "dates K00001")[0]
    assert answers(printed, "reinstate") == ["S1 (uniform 1939 of K00001) is used again."]
    assert "recorded for K00003: uniform 1914" in answers(printed, "undo")[1]
    assert "1914" not in answers(printed, "show K00003")[0]
