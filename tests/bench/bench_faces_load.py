"""Four people name while photographs are searched for faces in the background: how much slower are their pages?

    python tests/bench/bench_faces_load.py [PHOTOGRAPHS]

The sample is served as `kinphoto serve` does. Four threads each open a photograph to name in it, ask for names as if a
letter was typed, and save a name, with the pause of somebody who looks and types (0.4 s) in between; in turns without
and with a search of PHOTOGRAPHS (150) others of 2 megapixels on all cores, begun on the page. Printed is the median
time per request, by the clock, since waiting is what is felt, and how many photographs were searched in a second
meanwhile. Bound: no kind of request takes a third longer.
"""

from __future__ import annotations

import http.client
import os
import sys
import tempfile
import threading
import time
from collections import defaultdict
from pathlib import Path
from statistics import median
from urllib.parse import urlencode

import numpy as np
from bench_pages import SERVE, Server, Visit, serving, visit
from PIL import Image
from skimage import data

from kinphoto.archive import Archive
from kinphoto.archive.sample import build

PEOPLE, PAUSE, SECONDS, ROUNDS, BOUND = 4, 0.4, 6.0, 5, 4 / 3
Times = dict[str, list[float]]


def scans(folder: Path, count: int) -> Path:
    """Photographs of 2 megapixels, each another one: a face among stones."""
    folder.mkdir()
    dice = np.random.default_rng(1)
    face, stones = Image.fromarray(data.astronaut()), Image.fromarray(data.gravel()).convert("RGB")
    for number in range(count):
        picture = stones.rotate(int(dice.integers(360))).resize((1632, 1224))
        side = int(dice.integers(150, 500))
        picture.paste(face.resize((side, side)), tuple(dice.integers(0, 700, 2).tolist()))
        picture.save(folder / f"p{number:04}.jpg", quality=85)
    return folder


class Somebody:
    """Somebody who names faces on the pages."""

    def __init__(self, server: Server, codes: list[str], who: Visit) -> None:
        self.server, self.codes, self.who = server, codes, who
        self.times: Times = defaultdict(list)

    def ask(self, kind: str, method: str, path: str, form: dict[str, str] | None = None) -> str:
        """One request, whose time is kept."""
        connection = http.client.HTTPConnection("127.0.0.1", self.server.port, timeout=60)
        headers = {"Cookie": self.who.cookie, "Origin": f"http://127.0.0.1:{self.server.port}"}
        if form is not None:
            headers["Content-Type"] = "application/x-www-form-urlencoded"
        start = time.perf_counter()
        connection.request(method, path, urlencode(form) if form is not None else None, headers)
        answer = connection.getresponse()
        text = answer.read().decode()
        self.times[kind].append(time.perf_counter() - start)
        assert answer.status in (200, 303), f"{method} {path}: {answer.status} {text[:300]}"
        return text

    def work(self, until: float) -> None:
        """Name one face after the other."""
        number = 0
        while time.monotonic() < until:
            code = self.codes[number % len(self.codes)]
            self.ask("open", "GET", f"/photograph/{code}?naming=1")
            time.sleep(PAUSE)
            self.ask("offers", "GET", f"/photograph/{code}/offers?letters=a&region=0.1,0.1,0.1,0.1")
            time.sleep(PAUSE)
            left = 0.02 + 0.9 * ((number * 7919 + os.getpid()) % 1000) / 1000
            form = {"region": f"{left:.4f},0.85,0.02,0.02", "person": "", "age": "30", "token": self.who.token}
            self.ask("save", "POST", f"/photograph/{code}/name", form)
            time.sleep(PAUSE)
            number += 1


def named_for(server: Server, codes: list[str], who: Visit) -> Times:
    """Let all of them name for a while; the times of their requests."""
    people = [Somebody(server, codes[n::PEOPLE], who) for n in range(PEOPLE)]
    until = time.monotonic() + SECONDS
    threads = [threading.Thread(target=one.work, args=(until,)) for one in people]
    for each in threads:
        each.start()
    for each in threads:
        each.join()
    together: Times = defaultdict(list)
    for one in people:
        for kind, times in one.times.items():
            together[kind] += times
    return together


def main(count: int = 150) -> int:
    """Print the times; 1 where the bound is missed."""
    with tempfile.TemporaryDirectory() as place:
        archive = build(Path(place) / "sample").archive
        archive.dates.refresh()
        codes = [f"K{n:05}" for n in range(1, 31)]
        archive.scans.add([scans(Path(place) / "more", count)])
        archive.dates.refresh()
        archive.faces.turn_on("bench")
        folder = archive.folder
        archive.close()
        times: dict[bool, Times] = {False: defaultdict(list), True: defaultdict(list)}
        searched, seconds = 0, 0.0
        with serving(*SERVE, "--archive", str(folder)) as server:
            who = visit(server, codes[0])
            keeper, token = Somebody(server, codes, who), {"token": who.token}
            named_for(server, codes, who)  # the first names have everything dated
            for _ in range(ROUNDS):
                for busy in (False, True):
                    before = state_of(folder)
                    if busy:
                        keeper.ask("", "POST", "/faces/find", token)
                        time.sleep(2)
                    start = time.monotonic()
                    for kind, taken in named_for(server, codes, who).items():
                        times[busy][kind] += taken
                    if busy:
                        searched, seconds = searched + state_of(folder) - before, seconds + time.monotonic() - start
                        keeper.ask("", "POST", "/faces/stop", token)
                        time.sleep(3)
            left = count - state_of(folder)
    print("| request | without | with a search | ratio |\n| --- | --- | --- | --- |")
    worst = 0.0
    for kind in ("open", "offers", "save"):
        without, with_it = (median(times[busy][kind]) for busy in (False, True))
        worst = max(worst, with_it / without)
        print(f"| {kind} | {1000 * without:.0f} ms | {1000 * with_it:.0f} ms | {with_it / without:.2f} |")
    print(f"{searched} photographs searched in {seconds:.0f} s of naming, {left} left")
    good = worst <= BOUND and left > 0 and searched > 0
    print("within the bound" if good else "OUTSIDE THE BOUND (or nothing left to search)")
    return 0 if good else 1


def state_of(folder: Path) -> int:
    """How many photographs are searched."""
    archive = Archive.open(folder)
    try:
        return archive.faces.state().searched
    finally:
        archive.close()


if __name__ == "__main__":
    raise SystemExit(main(*(int(word) for word in sys.argv[1:])))
