"""How quick the pages are on an archive of 100,000 photographs and 50,000 people, as `kinphoto serve` serves them.

    python tests/bench/bench_pages.py [--folder DIR] [--photographs 100000] [--people 50000] [--runs 3] [--sample 20]

Loads the real server over 127.0.0.1 with `hey` (https://github.com/rakyll/hey; Debian has it), one and four requests at
a time, over random addresses; beside it, in the same run, a bare page of the same framework in a process of its own
(bare_page.py). Saving a name is posted as the form of the page does.

Paint is measured with Playwright and a Chromium, where they are installed: going from one page to the next, as anybody
does, and in a browser that was never here before and has nothing kept. The bare page tells what the browser itself
takes.

Of all runs the best 95th percentile is printed, since whatever else runs on the machine can only add to it;
"undisturbed" is that of the fastest answer each address had; and the processor time of the server per request. The
archive takes some minutes to make; with --folder it is kept, and what is measured works on a copy of its database.
"""

from __future__ import annotations

import argparse
import csv
import http.client
import importlib.util
import json
import os
import platform
import random
import re
import shutil
import sqlite3
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, Sequence
from concurrent.futures import ThreadPoolExecutor
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from statistics import median
from typing import TYPE_CHECKING
from urllib.parse import quote, urlencode, urlsplit

import large

import kinphoto.web
from kinphoto.archive import DATABASE, Archive

if TYPE_CHECKING:
    from playwright.sync_api import Page

HERE = Path(__file__).parent
STATIC = Path(kinphoto.web.__file__).parent / "static"
AT_A_TIME = (1, 4)
EACH = 20
"""Requests for each address."""
LARGEST_PAGE, ALL_SCRIPTS = 300_000, 60_000
"""Bytes."""
SERVE = ("-c", "from kinphoto.cli.main import run; run()", "serve", "--port", "0")
TICKS = os.sysconf("SC_CLK_TCK")
PAINTS = 10
PAINTED = """() => new Promise(done => new PerformanceObserver(list => {
    const page = performance.getEntriesByType("navigation")[0];
    const first = performance.getEntriesByName("first-contentful-paint")[0];
    done([first.startTime, list.getEntries().at(-1).startTime, page.responseEnd - page.requestStart]);
}).observe({type: "largest-contentful-paint", buffered: true}))"""
"""In the browser: first and largest paint, and the time from asking for the page to its last byte."""


@dataclass(frozen=True, slots=True)
class Kind:
    """A kind of page: some of its addresses, and within how many milliseconds 95 of 100 are to be there."""

    name: str
    paths: tuple[str, ...]
    bound: float | None = None


@dataclass(frozen=True, slots=True)
class Server:
    """A server that runs: where, and its process."""

    port: int
    pid: int

    def cpu(self) -> float:
        """Seconds of processor time it has used so far, user and system."""
        fields = Path(f"/proc/{self.pid}/stat").read_text().rpartition(")")[2].split()
        return (int(fields[11]) + int(fields[12])) / TICKS


@contextmanager
def serving(*command: str) -> Iterator[Server]:
    """Run a server that prints its address."""
    with subprocess.Popen(
        [sys.executable, *command], stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, text=True
    ) as it:
        assert it.stdout is not None
        port = urlsplit(it.stdout.readline().strip()).port
        assert port is not None, f"{command} did not start"
        server = Server(port, it.pid)
        _wait_for(server)
        try:
            yield server
        finally:
            it.terminate()


def _wait_for(server: Server) -> None:
    for _ in range(100):
        try:
            get(server, "/")
            return
        except OSError:
            time.sleep(0.1)


def get(server: Server, path: str, headers: dict[str, str] | None = None) -> tuple[http.client.HTTPResponse, bytes]:
    """One request by the standard library."""
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)
    connection.request("GET", path, headers=headers or {})
    answer = connection.getresponse()
    return answer, answer.read()


def loaded(server: Server, path: str, at_a_time: int, cookie: str) -> list[float]:
    """Milliseconds of each of some requests for one address, made by hey."""
    command = ["hey", "-n", str(EACH), "-c", str(at_a_time), "-t", "60", "-o", "csv", "-H", f"Cookie: {cookie}",
               f"http://127.0.0.1:{server.port}{path}"]  # fmt: skip
    said = subprocess.run(command, capture_output=True, text=True, check=True, timeout=600).stdout
    rows = list(csv.DictReader(said.splitlines()))
    assert len(rows) == EACH, f"{path}: {len(rows)} answers"
    assert all(row["status-code"] == "200" for row in rows), f"{path} was not answered with a page"
    return [1000 * float(row["response-time"]) for row in rows]


def p95(taken: Sequence[float]) -> float:
    """The 95th percentile."""
    return sorted(taken)[-(-len(taken) * 95 // 100) - 1]


@dataclass
class Figures:
    """What was measured of one kind of page: the best 95th percentiles by how many at a time; that of the fastest
    answer each address had, which hardly anything else on the machine can have disturbed; processor time of one request
    (all milliseconds), and bytes of the largest page."""

    p95: dict[int, float]
    undisturbed: float
    cpu: float
    size: int


def measure(server: Server, kind: Kind, runs: int, cookie: str) -> Figures:
    """Load the addresses of a kind of page."""
    best = dict.fromkeys(AT_A_TIME, float("inf"))
    fastest = dict.fromkeys(kind.paths, float("inf"))
    cpu = float("inf")
    size = max(len(get(server, path, {"Cookie": cookie})[1]) for path in kind.paths)
    for _ in range(runs):
        for at_a_time in AT_A_TIME:
            before, all_taken = server.cpu(), []
            for path in kind.paths:
                taken = loaded(server, path, at_a_time, cookie)
                all_taken += taken
                fastest[path] = min(fastest[path], *taken)
            best[at_a_time] = min(best[at_a_time], p95(all_taken))
            if at_a_time == 1:
                cpu = min(cpu, 1000 * (server.cpu() - before) / len(all_taken))
    return Figures(best, p95(list(fastest.values())), cpu, size)


@dataclass(frozen=True, slots=True)
class Painted:
    """Milliseconds from the start of a visit to its first and its largest paint, and how long the page alone took, from
    asking for it to its last byte."""

    first: float
    largest: float
    page: float

    @classmethod
    def middle(cls, some: Sequence[Painted]) -> Painted:
        """Of each figure the median."""
        return cls(*(median(getattr(one, figure) for one in some) for figure in ("first", "largest", "page")))


def kinds(database: Path, dice: random.Random, sample: int) -> list[Kind]:
    """Every kind of page with random addresses that are there."""
    with sqlite3.connect(database) as connection:

        def some(query: str, count: int = sample) -> list[str]:
            return [str(row[0]) for row in dice.sample(connection.execute(query).fetchall(), count)]

        codes = some("SELECT code FROM photograph WHERE page = 0")
        boxes = some("SELECT id FROM container WHERE name LIKE 'box %'")
        people = some("SELECT code FROM person WHERE id IN (SELECT person_id FROM appearance)")
        names = some("SELECT name FROM person WHERE id IN (SELECT person_id FROM appearance) AND outside = 0")
        couples = dice.sample(connection.execute(
            "SELECT one.person_id, two.person_id FROM appearance one JOIN appearance two USING (photograph_id) "
            "WHERE one.id < two.id AND one.person_id <> two.person_id LIMIT 20000").fetchall(), sample)  # fmt: skip
        code_of = dict(connection.execute("SELECT id, code FROM person"))
    connection.close()
    surnames = [name.split()[-1] for name in names]
    decades = [f"{dice.randrange(188, 197)}0s" for _ in names]
    few = max(sample // 5, 1)
    searches = [
        *(urlencode({"q": name}) for name in names[:few]),
        *(urlencode({"q": f"{name} {decade}"}) for name, decade in zip(surnames[:few], decades, strict=False)),
        *(urlencode({"q": word}) for word in dice.sample(large.WORDS, few)),
        *(urlencode({"q": f"box {n}"}) for n in dice.sample(range(1, 100), few)),
        *(urlencode([("person", code_of[one]), ("person", code_of[other])]) for one, other in couples[:few]),
    ]
    return [
        Kind("Print", tuple(f"/photograph/{code}" for code in codes), 60),
        Kind("Container", tuple(f"/box/{id_}" for id_ in boxes), 80),
        Kind("Search", tuple(f"/search?{question}" for question in searches), 80),
        Kind("Person", tuple(f"/person/{quote(code)}" for code in people), 80),
        Kind("Boxes", ("/boxes",)),
        Kind("first page", ("/",)),
        Kind("People, part of a name", tuple(f"/people?{urlencode({'name': n.split()[1]})}" for n in names)),
        Kind("Conflicts", ("/conflicts",)),
        Kind("offers of names", tuple(f"/photograph/{code}/offers?letters=ad&age=30" for code in codes)),
        Kind("whether anything changed", ("/pulse",)),
    ]  # fmt: skip


@dataclass(frozen=True, slots=True)
class Visit:
    """One browser: its cookie, and the token that stands in its forms."""

    cookie: str
    token: str


def visit(server: Server, code: str) -> Visit:
    """Come to a page for the first time."""
    answer, page = get(server, f"/photograph/{code}")
    token = re.search(r'name="token" value="([^"]+)"', page.decode())
    assert token is not None, "the page has no form"
    return Visit((answer.getheader("Set-Cookie") or "").partition(";")[0], token[1])


def save(server: Server, who: Visit, code: str, person: str, age: int) -> tuple[float, float]:
    """Milliseconds until a name with an age is saved, and until the page that shows the new estimate is there."""
    form = {"token": who.token, "person": person, "age": f"{age - 1}-{age + 2}"}
    headers = {"Cookie": who.cookie, "Content-Type": "application/x-www-form-urlencoded"}
    start = time.perf_counter()
    connection = http.client.HTTPConnection("127.0.0.1", server.port, timeout=60)
    connection.request("POST", f"/photograph/{code}/name", urlencode(form), headers)
    answer = connection.getresponse()
    answer.read()
    saved = time.perf_counter()
    assert answer.status == 303, f"{code}: {answer.status}"
    shown, _ = get(server, answer.getheader("Location") or "", {"Cookie": who.cookie})
    assert shown.status == 200
    return 1000 * (saved - start), 1000 * (time.perf_counter() - start)


def nameable(database: Path, count: int, dice: random.Random) -> list[tuple[str, str, int]]:
    """Photographs, each with somebody who can be in it but is not named there yet, and how old they were: somebody seen
    elsewhere with one of those who are in it, whose birth is known."""
    beside = """
        SELECT DISTINCT who.code, (estimate.best - birth.first) / 365.25 FROM appearance here
        JOIN appearance elsewhere ON elsewhere.person_id = here.person_id
        JOIN appearance other ON other.photograph_id = elsewhere.photograph_id
        JOIN person who ON who.id = other.person_id
        JOIN event birth ON birth.person_id = who.id AND birth.tag = 'BIRT' AND birth.last - birth.first < 366
        JOIN estimate ON estimate.photograph_id = here.photograph_id
        WHERE here.photograph_id = :id
        AND who.id NOT IN (SELECT person_id FROM appearance WHERE photograph_id = :id)"""
    found: list[tuple[str, str, int]] = []
    with sqlite3.connect(database) as connection:
        photographs = connection.execute("SELECT id, code FROM photograph WHERE page = 0").fetchall()
        while len(found) < count:
            id_, code = dice.choice(photographs)
            fitting = [row for row in connection.execute(beside, {"id": id_}) if 1 < row[1] < 60]
            if fitting:
                person, age = dice.choice(fitting)
                found.append((code, person, int(age)))
    connection.close()
    return found


def saving(server: Server, database: Path, at_a_time: int, count: int, dice: random.Random) -> tuple[float, float]:
    """The 95th percentiles of saving, and of seeing the new estimate afterwards, which is looked up to be there."""
    chosen = nameable(database, count, dice)
    who = visit(server, chosen[0][0])
    with ThreadPoolExecutor(at_a_time) as pool:
        taken = list(pool.map(lambda one: save(server, who, *one), chosen))
    with sqlite3.connect(database) as connection:
        (kept,) = connection.execute("SELECT value FROM setting WHERE key = 'estimates_since'").fetchone()
        ids = dict(connection.execute("SELECT code, id FROM photograph"))
    connection.close()
    dated = {int(id_) for id_ in json.loads(kept)}
    assert all(ids[code] in dated for code, *_ in chosen), "a photograph was not dated again"
    return p95([saved for saved, _ in taken]), p95([seen for _, seen in taken])


def paints(server: Server, kinds: Sequence[Kind], cookie: str) -> Iterator[tuple[str, Painted, Painted]]:
    """How each kind of page is painted in a browser that was never here before, and from one page to the next."""
    from playwright.sync_api import sync_playwright

    name, _, value = cookie.partition("=")
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=shutil.which("chromium"), args=["--no-sandbox"])

        def newly() -> Page:
            context = browser.new_context()
            context.add_cookies([{"name": name, "value": value, "domain": "127.0.0.1", "path": "/"}])
            return context.new_page()

        for kind in kinds:
            paths = [kind.paths[n % len(kind.paths)] for n in range(PAINTS)]
            sheet = newly()
            for path in paths[-2:]:
                painted(server, sheet, path)
            next_ones = [painted(server, sheet, path) for path in paths]
            sheet.context.close()
            first_ones = []
            for path in paths:
                sheet = newly()
                first_ones.append(painted(server, sheet, path))
                sheet.context.close()
            yield kind.name, Painted.middle(first_ones), Painted.middle(next_ones)
        browser.close()


def painted(server: Server, sheet: Page, path: str) -> Painted:
    """Go to a page."""
    sheet.goto(f"http://127.0.0.1:{server.port}{path}", wait_until="load")
    return Painted(*sheet.evaluate(PAINTED))


def main() -> None:
    """Print the tables."""
    arguments = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    arguments.add_argument("--folder", type=Path)
    arguments.add_argument("--photographs", type=int, default=100_000)
    arguments.add_argument("--people", type=int, default=50_000)
    arguments.add_argument("--runs", type=int, default=3)
    arguments.add_argument("--sample", type=int, default=20)
    arguments.add_argument("--seed", type=int, default=1)
    arguments.add_argument("--only", help="the kind of page to load, by its name; all of them otherwise")
    asked = arguments.parse_args()
    if shutil.which("hey") is None:
        sys.exit("hey is not installed (apt install hey)")
    with tempfile.TemporaryDirectory() as name:
        archive = large.archive(asked.folder or Path(name), asked.photographs, asked.people)
        archive.dates.refresh()
        archive.engine.dispose()
        database = copied(archive, Path(name) / "measured")
        with serving(str(HERE / "bare_page.py")) as bare, serving(*SERVE, "--archive", str(database.parent)) as server:
            report(server, bare, database, asked)


def copied(archive: Archive, to: Path) -> Path:
    """The database of a copy, so that what is saved leaves the archive as it is for the next time."""
    to.mkdir(parents=True)
    with sqlite3.connect(archive.folder / DATABASE) as source, sqlite3.connect(to / DATABASE) as target:
        source.backup(target)
    return to / DATABASE


def report(server: Server, bare: Server, database: Path, asked: argparse.Namespace) -> None:
    """Measure and print everything."""
    print(f"{os.cpu_count()} cores, {processor()}, Python {platform.python_version()}; load {os.getloadavg()[0]:.1f}")
    dice, sample, runs = random.Random(asked.seed), asked.sample, asked.runs
    pages = kinds(database, dice, sample)
    cookie = visit(server, pages[0].paths[0].rpartition("/")[2]).cookie
    least = measure(bare, Kind("a bare page", ("/",) * sample), runs, cookie)
    heads = ("1 at a time", "4", "undisturbed", "bound", "CPU", "times bare", "4", "undist.", "CPU", "HTML")
    print(f"\n{'95 % within, ms':26}{''.join(map('{:>12}'.format, heads))}")
    line("a bare page", None, least, least)
    for kind in [kind for kind in pages if asked.only in (None, kind.name)]:
        line(kind.name, kind.bound, measure(server, kind, runs, cookie), least)
    scripts = sum(path.stat().st_size for path in STATIC.glob("*.js"))
    print(f"\nall scripts together {scripts / 1000:.1f} kB (bound {ALL_SCRIPTS / 1000:.0f} kB)")
    if importlib.util.find_spec("playwright") and shutil.which("chromium"):
        heads = ("page", "next: first", "largest", "times", "new: first", "largest", "times")
        print(f"\n{'median of ' + str(PAINTS) + ', ms':26}{''.join(map('{:>12}'.format, heads))}")
        for title, new, then in (
            *paints(bare, [Kind("a bare page", ("/",))], cookie),
            *paints(server, pages[:6], cookie),
        ):
            each = (then.page, then.first, then.largest, then.first / then.page, new.first, new.largest,
                    new.first / new.page)  # fmt: skip
            print(f"{title:26}" + "".join(map("{:12.1f}".format, each)))
    print(f"\n{'95 % within, ms':30}{'saved':>9}{'new estimate seen':>19}")
    for at_a_time in AT_A_TIME:
        saved, seen = (min(each) for each in zip(*(
            saving(server, database, at_a_time, 2 * sample, dice) for _ in range(runs)), strict=True))  # fmt: skip
        print(f"{f'a name, {at_a_time} at a time':30}{saved:9.1f}{seen:19.1f}")


def line(title: str, bound: float | None, found: Figures, least: Figures) -> None:
    """Print the figures of one kind of page."""
    ratios = (found.p95[1] / least.p95[1], found.p95[4] / least.p95[4], found.undisturbed / least.undisturbed,
              found.cpu / least.cpu)  # fmt: skip
    cells = f"{found.p95[1]:12.1f}{found.p95[4]:12.1f}{found.undisturbed:12.1f}{bound or '':>12}{found.cpu:12.1f}"
    cells += "".join(map("{:12.1f}".format, ratios)) + f"{found.size / 1000:9.0f} kB"
    print(f"{title:26}{cells}{'  TOO LARGE' if found.size > LARGEST_PAGE else ''}", flush=True)


def processor() -> str:
    """What this machine calls its processor."""
    named = re.search(r"^model name\s*:\s*(.+)$", Path("/proc/cpuinfo").read_text(), re.MULTILINE)
    return named[1] if named else platform.machine()


if __name__ == "__main__":
    main()
