"""The pages' server, killed at random moments while people are at work on its pages.

    python tests/bench/bench_pages_kill.py [MOMENTS]

A real server over an archive of 120 small scans and a tree of 300 people; four browsers send it forms without a pause:
names of newcomers on faces, statements, descriptions, pictures, the tree again. It is killed (SIGKILL, with every
process it started) after a random time of up to four seconds, 50 times; and told to stop (SIGTERM) at ten more moments.

After each: the archive opens and is sound, whatever was answered as done is there, nothing is there by halves, no part
of a file was taken for a scan; then the server is started again, finds the pictures that it had no time to read, and
answers. After a SIGTERM also nothing that had begun to be read is left unread.
"""

from __future__ import annotations

import http.client
import io
import os
import platform
import random
import re
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Thread
from urllib.parse import urlencode, urlsplit

from bench_kill import children, scans_with_all_that_is_theirs, sound
from making import make_family, make_scans, write_gedcom
from PIL import Image
from sqlalchemy import func, select

from kinphoto.archive import Archive
from kinphoto.scans.workers import cores
from kinphoto.store import tables as t

LONGEST = 4.0
PATIENCE = 60.0
FORM = "application/x-www-form-urlencoded"
BORDER = "a-border-between-files"


@dataclass
class Browser:
    """One person at work: what was answered as done, by what was sent. `own` is a photograph that nobody else writes
    to: the number on it was `newest` when it was answered last."""

    address: str
    codes: list[str]
    own: str
    dice: random.Random
    done: list[str] = field(default_factory=list)
    faults: list[str] = field(default_factory=list)
    newest: int = 0

    def __post_init__(self) -> None:
        self.host = urlsplit(self.address).netloc
        answer, text = self._ask("GET", "/people")
        self.cookie = (answer.headers["set-cookie"] or "").partition(";")[0]
        found = re.search(r'name="token" value="([0-9a-f]+)"', text)
        assert found is not None
        self.token = found[1]

    def work(self, stop: Event, tree: bytes) -> None:
        """Send one form after another until told to stop or nobody answers."""
        number = 0
        while not stop.is_set():
            number += 1
            name = f"N{id(self)}x{number}"
            try:
                self._one(name, number, tree)
            except (OSError, http.client.HTTPException):
                return

    def _one(self, name: str, number: int, tree: bytes) -> None:
        code, kind = self.dice.choice(self.codes), self.dice.random()
        here = f"/photograph/{code}"
        if kind < 0.35:
            place = f"{self.dice.uniform(0, 0.9):.3f},{self.dice.uniform(0, 0.9):.3f},0.02,0.02"
            self.send(f"{here}/name", name, new=name, region=place, age="30")
        elif kind < 0.6:
            self.send(f"{here}/say", name, kind="inscription", text=name, date="1924")
        elif kind < 0.8:
            was = str(self.newest or "")
            self.send(f"/photograph/{self.own}/describe", "", former_number=str(number), was_former_number=was)
            self.newest = number
        elif kind < 0.95:
            self.files("/bring-in/scans", [("scans", f"{name}-{i}.jpg", picture(self.dice)) for i in range(5)])
        else:
            self.files("/bring-in/tree", [("tree", "tree.ged", tree)])

    def send(self, path: str, name: str, **fields: str) -> None:
        """Send a form, and note that it was answered as done, if it has a name of its own."""
        body = urlencode({"token": self.token, **fields}).encode()
        answer, text = self._ask("POST", path, body, FORM)
        if answer.status == 303:
            self.done += [name] if name else []
        else:
            self.faults.append(f"{path}: {answer.status} {said(text)}")

    def files(self, path: str, files: list[tuple[str, str, bytes]]) -> int:
        """Send files; that something else is being read just now is fine."""
        parts = [f'--{BORDER}\r\nContent-Disposition: form-data; name="token"\r\n\r\n{self.token}\r\n'.encode()]
        for key, name, data in files:
            head = f'--{BORDER}\r\nContent-Disposition: form-data; name="{key}"; filename="{name}"\r\n\r\n'
            parts.append(head.encode() + data + b"\r\n")
        body = b"".join([*parts, f"--{BORDER}--\r\n".encode()])
        answer, text = self._ask("POST", path, body, f"multipart/form-data; boundary={BORDER}")
        if answer.status not in (303, 422):
            self.faults.append(f"{path}: {answer.status} {said(text)}")
        return answer.status

    def _ask(self, method: str, path: str, body: bytes = b"", kind: str = "") -> tuple[http.client.HTTPResponse, str]:
        connection = http.client.HTTPConnection(self.host, timeout=PATIENCE)
        headers = {"Cookie": getattr(self, "cookie", ""), **({"Content-Type": kind} if kind else {})}
        connection.request(method, path, body or None, headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        connection.close()
        return answer, text


def said(text: str) -> str:
    """What a page says, in one line."""
    return " ".join(re.sub(r"<[^>]+>", " ", text.partition("<main")[2] or text).split())[:200]


def picture(dice: random.Random) -> bytes:
    """A small picture like no other."""
    made = io.BytesIO()
    Image.frombytes("RGB", (32, 24), dice.randbytes(32 * 24 * 3)).save(made, "JPEG")
    return made.getvalue()


def start(folder: Path) -> tuple[subprocess.Popen[str], str]:
    """Start the server; it answers under the address."""
    words = ["serve", "--port", "0", "--archive", str(folder)]
    process = subprocess.Popen(
        [sys.executable, "-P", "-c", "from kinphoto.cli.main import run; run()", *words],
        stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True,
    )  # fmt: skip
    assert process.stdout is not None
    address = process.stdout.readline().strip()
    assert address.startswith("http://"), "the server did not start"
    return process, address


def end(process: subprocess.Popen[str], how: signal.Signals) -> None:
    """Kill the server and every process it started, or tell it to stop and wait."""
    family = [process.pid, *(children(process.pid) if how is signal.SIGKILL else ())]
    for pid in family:
        try:
            os.kill(pid, how)
        except ProcessLookupError:
            continue
    process.communicate(timeout=PATIENCE * 3)


def look(folder: Path, browsers: list[Browser]) -> Counter[str]:
    """Make sure that nothing is lost or there by halves; what there is."""
    archive = Archive.open(folder)
    with archive.reading() as connection:
        sound(connection)
        scans_with_all_that_is_theirs(archive, connection)
        newcomers = dict(
            connection.execute(select(t.person.c.name, t.person.c.id).where(t.person.c.outside == 1)).all()
        )
        seated = set(connection.scalars(select(t.appearance.c.person_id).where(t.appearance.c.person_id.is_not(None))))
        assert set(newcomers.values()) <= seated, "a newcomer without their face"
        aged = set(connection.scalars(select(t.statement.c.appearance_id).where(t.statement.c.kind == "apparent-age")))
        named = select(t.appearance.c.id).where(t.appearance.c.person_id.in_(newcomers.values()))
        assert set(connection.scalars(named)) <= aged, "a name without its age"
        said = set(connection.scalars(select(t.statement.c.text)))
        changes = connection.scalar(select(func.count()).select_from(t.change)) or 0
        paths = list(connection.scalars(select(t.scan.c.path)))
        numbers = dict(connection.execute(select(t.photograph.c.code, t.photograph.c.former_number)).all())
    lost = [name for browser in browsers for name in browser.done if name not in newcomers and name not in said]
    lost += [browser.own for browser in browsers if int(numbers[browser.own] or 0) < browser.newest]
    assert not lost, f"answered as done, and not there: {lost}"
    assert not [path for path in paths if path.endswith(".part")], "a part was taken for a scan"
    archive.engine.dispose()
    return Counter(newcomers=len(newcomers), scans=len(paths), changes=changes)


def once(
    base: Path, folder: Path, tree: bytes, moment: float, how: signal.Signals, dice: random.Random
) -> Counter[str]:
    """One server, killed at a moment, looked at, and started again."""
    shutil.rmtree(folder, ignore_errors=True)
    shutil.copytree(base, folder)
    process, address = start(folder)
    codes = [f"K{number:05}" for number in range(1, 100)]
    browsers = [Browser(address, codes, f"K0010{own}", random.Random(dice.random())) for own in range(4)]
    stop = Event()
    threads = [Thread(target=browser.work, args=(stop, tree), daemon=True) for browser in browsers]
    for thread in threads:
        thread.start()
    time.sleep(moment)
    end(process, how)
    stop.set()
    for thread in threads:
        thread.join(PATIENCE)
    faults = [fault for browser in browsers for fault in browser.faults]
    assert not faults, faults[0]
    found = look(folder, browsers)
    found["done"] = sum(browser.newest > 0 for browser in browsers) + sum(len(browser.done) for browser in browsers)
    found["parts"] = len(list(folder.rglob("*.part")))
    unread = len(sent(folder)) - indexed(folder)
    assert how is signal.SIGKILL or not unread, f"{unread} pictures left unread by a server that was told to stop"
    found["unread"] = unread
    process, address = start(folder)
    keeper = Browser(address, codes, "", dice)
    if sent(folder):
        keeper.send("/bring-in/again", "again")
        assert keeper.done == ["again"], keeper.faults
    end(process, signal.SIGTERM)
    look(folder, browsers)
    assert indexed(folder) == len(sent(folder)), "pictures that were sent are not found again"
    return found


def sent(folder: Path) -> list[Path]:
    """The pictures that were put whole into the archive's own folder."""
    return [path for path in (folder / "scans").rglob("*.jpg") if path.is_file()]


def indexed(folder: Path) -> int:
    """How many of them are in the archive."""
    archive = Archive.open(folder)
    with archive.reading() as connection:
        known = set(connection.scalars(select(t.scan.c.path)))
    archive.engine.dispose()
    return sum(1 for path in sent(folder.absolute()) if str(path) in known)


def main() -> None:
    """Kill and stop, and print a table."""
    moments = int(sys.argv[1]) if len(sys.argv) > 1 else 50
    os.environ["PYTHONPATH"] = os.pathsep.join(place for place in sys.path[1:] if place)
    dice, failures = random.Random(moments), []
    with tempfile.TemporaryDirectory() as name:
        work = Path(name)
        make_scans(work / "scans-of-the-house", 120, seed=5)
        write_gedcom(work / "tree.ged", *make_family(300, seed=5))
        archive = Archive.create(work / "base")
        archive.scans.add([work / "scans-of-the-house"])
        archive.tree.import_file(work / "tree.ged")
        archive.dates.refresh()
        archive.engine.dispose()
        tree = (work / "tree.ged").read_bytes()
        print(f"{cores()} cores, Python {platform.python_version()}")
        print(f"{'':9}{'times':>6}{'all well':>10}{'forms done':>12}{'pictures':>10}{'unread':>8}{'parts':>7}")
        for how, times in ((signal.SIGKILL, moments), (signal.SIGTERM, max(1, moments // 5))):
            total: Counter[str] = Counter()
            well = 0
            for number in range(times):
                moment = (number + dice.random()) / times * LONGEST
                try:
                    total += once(work / "base", work / "killed", tree, moment, how, dice)
                    well += 1
                except Exception as problem:  # whatever it is, it is what is looked for
                    failures.append(f"{how.name} after {moment:.3f} s: {type(problem).__name__}: {problem}")
            pictures = total["scans"] - 120 * well
            print(
                f"{how.name:9}{times:6}{well:10}{total['done']:12}{pictures:10}{total['unread']:8}{total['parts']:7}",
                flush=True,
            )
    sys.exit("\n".join(failures) or None)


if __name__ == "__main__":
    main()
