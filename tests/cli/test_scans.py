"""`kinphoto scans` as a person and a script meet it."""

from __future__ import annotations

import json
import os
import pty
import signal
import subprocess
import sys
from pathlib import Path

import pytest
from commands import run_command, with_same_modules
from PIL import Image

from kinphoto.archive import Archive


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A folder with an archive, and two scans in a folder beside it."""
    Archive.create(tmp_path / "archive")
    for name, colour in (("front.jpg", (200, 180, 150)), ("back.jpg", (230, 225, 210))):
        draw(tmp_path / "box" / name, colour)
    return tmp_path


def draw(path: Path, colour: tuple[int, int, int]) -> None:
    """A small picture."""
    path.parent.mkdir(exist_ok=True)
    Image.new("RGB", (30, 20), colour).save(path)


def command(*arguments: object) -> list[str]:
    """The command line of `kinphoto` under test."""
    return [sys.executable, "-c", "from kinphoto.cli.main import run; run()", *map(str, arguments)]


def environment(folder: Path) -> dict[str, str]:
    """With the archive named, and the modules under test found."""
    return {**with_same_modules(), "KINPHOTO_ARCHIVE": str(folder / "archive")}


def kinphoto(folder: Path, *arguments: object) -> subprocess.CompletedProcess[str]:
    """Run it to its end."""
    return run_command(folder, *arguments, KINPHOTO_ARCHIVE=str(folder / "archive"))


def test_add_answers_in_json(folder: Path) -> None:
    """One document on standard output, its fields complete, and nothing on standard error."""
    (folder / "box" / "letter.jpg").write_text("Dear all")
    done = kinphoto(folder, "scans", "add", "box", "--json")
    assert (done.returncode, done.stderr) == (0, "")
    assert json.loads(done.stdout) == {
        "seen": 3,
        "added": 2,
        "unchanged": 0,
        "moved": 0,
        "changed": 0,
        "unreadable": [
            {
                "path": str(folder / "box" / "letter.jpg"),
                "why": "it is not a picture file; kinphoto reads JPEG, TIFF, PNG, WebP, HEIC and PDF",
            }
        ],
        "photographs": 2,
        "moves": [],
        "new": [
            {"photograph": "K00001", "path": str(folder / "box" / "back.jpg"), "faces": 0},
            {"photograph": "K00002", "path": str(folder / "box" / "front.jpg"), "faces": 0},
        ],
        "paged": [],
        "changes": [],
        "vanished": [],
        "duplicates": [],
        "left_out": [],
        "telling": [],
        "telling_change": None,
    }


def test_add_tells_a_person_what_it_did(folder: Path) -> None:
    """Numbers first, then each thing worth a look with its path."""
    kinphoto(folder, "scans", "add", "box")
    box = folder / "box"
    (box / "front.jpg").rename(box / "wedding.jpg")
    draw(box / "back.jpg", (1, 2, 3))
    (box / "copy.jpg").write_bytes((box / "wedding.jpg").read_bytes())
    (box / "empty.jpg").touch()
    done = kinphoto(folder, "scans", "add", "box")
    assert done.stdout.splitlines() == [
        "4 pictures found, 0 added. The archive holds 2 photographs.",
        "Moved or renamed, code and links kept (1):",
        f"  {box}/front.jpg is now {box}/copy.jpg",
        "Changed since they were added (1):",
        f"  K00001  {box}/back.jpg",
        "Copies of scans you already have, not added again (1):",
        f"  {box}/wedding.jpg is the same as {box}/copy.jpg",
        "Could not be read (1):",
        f"  {box}/empty.jpg: the file is empty (0 bytes); scan it again, or restore it from a copy",
    ]


def test_add_says_when_there_are_no_pictures(folder: Path) -> None:
    """And which files would be some."""
    (folder / "empty").mkdir()
    done = kinphoto(folder, "scans", "add", "empty")
    assert done.returncode == 0
    assert "There are no pictures there. kinphoto reads JPEG, TIFF, PNG, WebP, HEIC and PDF files." in done.stdout


def test_add_says_the_codes_and_what_is_worth_a_look(folder: Path) -> None:
    """Which photographs were made; then a file of pages, a scan that vanished, and one changed with a face on it."""
    box = folder / "box"
    pages = [Image.new("L", (30, 20), grey) for grey in (50, 90, 130)]
    pages[0].save(box / "sheet.tif", save_all=True, append_images=pages[1:])
    first = kinphoto(folder, "scans", "add", "box").stdout.splitlines()
    assert first == [
        "5 pictures found, 5 added: K00001 to K00005. The archive holds 5 photographs.",
        "Files with several pages, each a photograph of its own (1):",
        f"  {box}/sheet.tif: 3 pages with pictures, K00003 to K00005",
        "Next: kinphoto scans pair, to join backs to their fronts; kinphoto serve, to name faces in a browser.",
    ]
    kinphoto(folder, "link", "front.jpg", "-", "--region", "0.1,0.1,0.2,0.2")
    draw(box / "front.jpg", (9, 9, 9))
    (box / "back.jpg").unlink()
    again = kinphoto(folder, "scans", "add", "box").stdout.splitlines()
    assert again[1:] == [
        "Changed since they were added (1):",
        f"  K00002  {box}/front.jpg: is the face on it still framed correctly?",
        "Missing files; what you recorded about them is kept. If they were moved, add the folder they are in now (1):",
        f"  K00001  {box}/back.jpg",
    ]
    document = json.loads(kinphoto(folder, "scans", "add", "box", "--json").stdout)
    assert document["vanished"] == [{"photograph": "K00001", "path": f"{box}/back.jpg", "faces": 0}]
    assert (document["unchanged"], document["changes"]) == (4, [])


def test_two_portraits_are_not_joined_as_front_and_back(folder: Path) -> None:
    """What looks like another front is asked about; whoever says what it shows is believed."""
    for seed, name in enumerate(("ada.png", "tom.png")):
        noise = Image.effect_noise((8, 10), 90 + seed)
        noise.resize((320, 400), Image.Resampling.BICUBIC).save(folder / "box" / name)
    kinphoto(folder, "scans", "add", "box")
    asked = kinphoto(folder, "scans", "join", "ada.png", "tom.png")
    assert (asked.returncode, asked.stdout) == (1, "")
    assert "tom.png looks like a different picture, not the back of ada.png; nothing was joined" in asked.stderr
    assert kinphoto(folder, "scans", "join", "ada.png", "tom.png", "--side", "verso").returncode == 0


def test_long_lists_are_cut_short(folder: Path) -> None:
    """Thirty unreadable files do not push the numbers off the screen."""
    for number in range(30):
        (folder / "box" / f"{number}.tif").touch()
    lines = kinphoto(folder, "scans", "add", "box").stdout.splitlines()
    assert lines[1] == "Could not be read (30):"
    assert lines[-2] == "  and 10 more (all of them with --json)"


def test_join_and_part(folder: Path) -> None:
    """The two documents, and the lines for a person."""
    kinphoto(folder, "scans", "add", "box")
    front, back = str(folder / "box" / "front.jpg"), str(folder / "box" / "back.jpg")
    joined = kinphoto(folder, "scans", "join", "front.jpg", "back.jpg", "--json")
    assert json.loads(joined.stdout) == {
        "photograph": "K00002",
        "scans": [{"path": front, "side": "recto"}, {"path": back, "side": "verso"}],
        "aliases": ["K00001"],
        "why": "back.jpg is named as the back of front.jpg",
    }
    parted = kinphoto(folder, "scans", "part", "back.jpg", "--json")
    assert json.loads(parted.stdout) == {"photograph": "K00001", "taken_out_of": "K00002", "scan": back}
    again = kinphoto(folder, "scans", "join", "K2", "K1", "--side", "detail")
    assert again.stdout == (
        f"K00002 now has these scans:\n  front: {front}\n  detail: {back}\nYou can also find it as K00001.\n"
    )
    assert kinphoto(folder, "scans", "part", "back.jpg").stdout == (
        f"{back} is now K00001, no longer part of K00002.\n"
    )


@pytest.mark.parametrize(
    ("arguments", "words"),
    [
        (("add", "nowhere"), "nowhere: there is no such file or folder. Check the spelling."),
        (("add", "box", "--container", ""), "a box needs a name"),
        (("join", "front.jpg", "nobody.jpg"), "there is no photograph or scan called 'nobody.jpg'"),
        (("join", "front.jpg"), "one scan alone cannot be joined"),
        (("join", "front.jpg", "back.jpg", "--side", "left"), "unknown side 'left'"),
        (("join", ".jpg", "back.jpg"), "2 scans match '.jpg'"),
        (("part", "K1"), "it is the only scan of K00001"),
        (("part", "K99"), "there is no photograph or scan called 'K99'"),
    ],
)
def test_what_cannot_be_done_is_said_in_one_line(folder: Path, arguments: tuple[str, ...], words: str) -> None:
    """Exit status 1, the reason on standard error, nothing on standard output."""
    kinphoto(folder, "scans", "add", "box")
    done = kinphoto(folder, "scans", *arguments)
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr.count("\n") == 1
    assert words in done.stderr


def test_wrong_usage_is_status_2(folder: Path) -> None:
    """No path at all."""
    assert kinphoto(folder, "scans", "add").returncode == 2


def test_a_name_that_is_not_utf8_is_printed_readably(folder: Path) -> None:
    """In JSON and in words, with the odd byte as a number."""
    Path(os.fsdecode(os.fsencode(folder / "box") + b"/M\xfcller.jpg")).write_bytes(b"\xff\xd8\xff")
    done = kinphoto(folder, "scans", "add", "box", "--json")
    assert json.loads(done.stdout)["unreadable"][0]["path"] == f"{folder}/box/M\\xfcller.jpg"


def heeding_ctrl_c() -> None:
    """As on a terminal: what a shell starts in the background ignores Ctrl-C, and hands that on to its children."""
    signal.signal(signal.SIGINT, signal.SIG_DFL)


def test_on_a_terminal_there_is_a_bar_and_ctrl_c_stops_cleanly(folder: Path) -> None:
    """Ctrl-C at the first sight of the bar: what was kept is said, no traceback, and the next run goes on."""
    for number in range(600):
        draw(folder / "box" / f"{number}.png", (number % 256, number // 256, 120))
    ours, theirs = pty.openpty()
    run = subprocess.Popen(
        ["nice", *command("scans", "add", "box")],  # so that the test sees the bar before all is read
        env={**environment(folder), "TERM": "xterm", "COLUMNS": "100"},
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=theirs,
        text=True,
        preexec_fn=heeding_ctrl_c,
    )
    os.close(theirs)
    seen = b""
    while b"Reading scans" not in seen:
        seen += os.read(ours, 4096)
    run.send_signal(signal.SIGINT)
    seen += rest_of(ours)
    assert run.wait() == 130
    assert run.stdout is not None
    assert run.stdout.read() == ""
    run.stdout.close()
    assert b"The scans read so far are kept; run the same command again" in seen
    assert b"Traceback" not in seen
    assert json.loads(kinphoto(folder, "scans", "add", "box", "--json").stdout)["photographs"] == 602


def rest_of(terminal: int) -> bytes:
    """What a terminal still shows until its program ends."""
    shown = b""
    while True:
        try:
            more = os.read(terminal, 4096)
        except OSError:  # how Linux says that nobody writes to a terminal any more
            more = b""
        if not more:
            os.close(terminal)
            return shown
        shown += more


def test_turn_says_how_a_scan_is_shown_now(folder: Path) -> None:
    """In words and as JSON; a way that is none is told in one line."""
    kinphoto(folder, "scans", "add", "box")
    done = kinphoto(folder, "scans", "turn", "front.jpg", "left")
    assert done.stdout.endswith("front.jpg (K00002) is now shown turned left.\n")
    kinphoto(folder, "link", "K00002", "-", "--region", "0.1,0.1,0.2,0.2")
    done = kinphoto(folder, "scans", "turn", "front.jpg", "right", "--json")
    path = str(folder / "box" / "front.jpg")
    assert json.loads(done.stdout) == {
        "scan": path, "photograph": "K00002", "turn": 0, "mirrored": False, "positive": False, "faces": 1, "change": 4,
    }  # fmt: skip
    done = kinphoto(folder, "scans", "turn", "front.jpg", "sideways")
    assert (done.returncode, done.stdout) == (1, "")
    assert done.stderr == (
        "kinphoto: unknown way to turn a picture 'sideways'. "
        "Use one of right, over, left, mirror, positive, as-scanned.\n"
    )
