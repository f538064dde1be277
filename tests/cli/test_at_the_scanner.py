"""The commands for whoever sits at the scanner, as they are typed: names, pairs, progress, what was lent, watching."""

from __future__ import annotations

import json
import signal
from pathlib import Path

import pytest
from commands import Running, run_command, with_same_modules
from PIL import Image, ImageDraw

from kinphoto.archive import Archive


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """An archive of three prints from a tin, with the back of the second."""
    scans = tmp_path / "Blue tin"
    scans.mkdir()
    for number in (1, 2, 4):
        shapes = Image.effect_noise((6, 6), 90).resize((300, 200))
        shapes.save(scans / f"IMG_{number}.png")
    back = Image.new("L", (300, 200), 235)
    ImageDraw.Draw(back).text((40, 80), "Skerry Point", fill=90)
    back.save(scans / "IMG_3.png")
    archive = Archive.create(tmp_path / "family")
    archive.scans.add([scans])
    archive.close()
    return tmp_path / "family"


def typed(folder: Path, *words: str) -> str:
    """What a command prints."""
    done = run_command(folder, *words)
    assert done.returncode == 0, done.stderr
    return done.stdout


def test_an_evening_in_commands(folder: Path) -> None:
    """Pair the back, see the plan, rename, look at the names, set a quota, and undo the renaming."""
    assert "1 front and back, sure:" in typed(folder, "scans", "pair")
    assert "1 pair confirmed. To undo this: kinphoto undo 2" in typed(folder, "scans", "pair", "--join")
    plan = typed(folder, "scans", "rename")
    assert "IMG_3.png -> blue-tin_0002_back.png" in plan
    assert "Nothing was renamed. To do it: the same command with --apply" in plan
    assert "To rename them back: kinphoto undo 3" in typed(folder, "scans", "rename", "--apply")
    assert "blue-tin: 4 scans, 0001 to 0003. Next: blue-tin_0004" in typed(folder, "scans", "names")
    assert "The next name is blue-tin_0005." in typed(
        folder, "scans", "names", "blue-tin", "--keep-free", "--why", "stuck"
    )
    typed(folder, "container", "expect", "Blue tin", "400")
    shown = typed(folder, "progress", "--quota", "3")
    assert "3 tonight: that is what you meant to do. Well done." in shown
    assert "about 397 left" in shown
    assert "lent by Clara Ombry" in typed(folder, "container", "lent", "From Clara", "--by", "Clara Ombry")
    listed = json.loads(typed(folder, "progress", "--hand-over", "--json"))["lines"]
    assert "blue-tin 0004: stuck." in listed
    assert "renamed 4 files" in typed(folder, "undo", "3")
    assert sorted(path.name for path in folder.with_name("Blue tin").iterdir()) == [
        f"IMG_{n}.png" for n in (1, 2, 3, 4)
    ]


def test_watching_as_a_process(folder: Path) -> None:
    """One JSON document a line; Ctrl-C ends it with nothing lost."""
    with Running(folder, "scans", "watch", "../Blue tin", "--json", environment=with_same_modules()) as process:
        assert json.loads(process.stdout.readline())["what"] == "started"
        Image.effect_noise((6, 6), 90).resize((300, 200)).save(folder.with_name("Blue tin") / "IMG_5.png")
        seen = json.loads(process.stdout.readline())
        assert (seen["what"], seen["photograph"], seen["scans"]) == ("scan", "K00005", 5)
        process.send_signal(signal.SIGINT)
        assert json.loads(process.stdout.readline())["what"] == "stopped"
        assert process.wait(60) == 0
