"""The pages under attack, from this machine only: 21,500 requests that nobody's browser sends.

    python tests/bench/attack_pages.py [REQUESTS] [SEED]

It builds the sample, puts a word of its own into every kind of text that is for those who have signed in, starts
`kinphoto serve --lan` with few open files, and fires at it from several threads, as the keeper, as a visitor, and as a
stranger without a cookie: mutated paths and questions, forms with odd fields, broken heads and cookies, files in broken
borders, bodies that are too large or never end, and connections that are opened and left half way. It ends by itself,
also when the server does not answer.

Afterwards it has to hold that nothing was answered with 500 and nothing left a traceback; that nothing a visitor or a
stranger got holds a hidden word or the name of somebody who may be living; that the terminal got less than a megabyte;
and that the keeper was answered all the while and is answered within a second at the end, by a sound archive.
"""

from __future__ import annotations

import os
import platform
import random
import re
import resource
import signal
import socket
import subprocess
import sys
import tempfile
import time
from collections import Counter
from collections.abc import Callable
from contextlib import suppress
from dataclasses import dataclass, field
from pathlib import Path
from threading import Event, Lock, Thread
from urllib.parse import quote, quote_from_bytes

from bench_kill import sound
from starlette.routing import Route

from kinphoto.archive import Archive
from kinphoto.archive.sample import build
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.scans.workers import cores
from kinphoto.web.app import PAGES

PASSWORD = "three odd words"
THREADS = 6
PATIENCE = 20.0
"""Seconds after which an answer is missing."""
LONGEST = 1800.0
"""Seconds after which all of it is given up."""
OPEN_FILES = 1024
HELD = 1200
"""Connections held half open at a time."""
SHOWN = "K00009"
HIDDEN = ("zznote", "zzrights", "zzmaker", "zzformer", "zzinscribed", "zzremembered", "zzinformant", "zzreason")
BORDER = b"a-border"
FORM = b"application/x-www-form-urlencoded"

ODD = [
    b"", b"0", b"-1", b"9", b"2", str(2**63).encode(), str(2**63 - 1).encode(), b"1e400", b"NaN", b"inf", b"9" * 400,
    b"K00009", b"K00015", b"I12", b"X1", b"R44", b"A7", b"S1", b"E3", b"C1", b"jpg", b"..", b"../../etc/passwd", b"\0",
    b"%00", b"\xed\xa0\x80", b"\xff\xfe", "\u202e\u2066abc".encode(), b"\x1b]0;x\x07", b"<script>alert(1)</script>",
    b"'; drop table person; --", b"{{ 7*7 }}", b'" OR "*', b"NEAR(a b)", "²٣".encode(), b"a" * 1500,
    b"\r\nSet-Cookie: a=b", b"0.1,0.1,0.1,0.1", b"nan,nan,nan,nan", b"quillern", b"zz", b"1900-1935", b"1920s",
    b"30", b"before", b"taken",
]  # fmt: skip
NAMES = (
    "q person ancestors descendants box from to wanting start naming seen face off scan letters age "
    "region name of passed before after next password text kind date relation other title place was_title "
    "note container photograph side turn statement number new stated_age role trust by why denied made "
    "born died who old first into maker rights blind token "
).split()


@dataclass
class Server:
    """The pages, as their own process; `complaints` is the file of what they wrote to the terminal."""

    folder: Path
    complaints: Path
    process: subprocess.Popen[str] = field(init=False)
    port: int = field(init=False)

    def start(self) -> None:
        """Start them, with as many open files as most systems give."""
        environment = {**os.environ, "KINPHOTO_PASSWORD": PASSWORD}
        environment["PYTHONPATH"] = os.pathsep.join(place for place in sys.path[1:] if place)
        words = ["serve", "--lan", "--port", "0", "--archive", str(self.folder)]
        with self.complaints.open("wb") as complaints:
            self.process = subprocess.Popen(
                [sys.executable, "-P", "-c", "from kinphoto.cli.main import run; run()", *words],
                stdout=subprocess.PIPE, stderr=complaints, text=True, env=environment,
                preexec_fn=lambda: resource.setrlimit(resource.RLIMIT_NOFILE, (OPEN_FILES, OPEN_FILES)),
            )  # fmt: skip
        assert self.process.stdout is not None
        found = re.search(r":(\d+)/", self.process.stdout.readline())
        assert found is not None, "the server did not start"
        self.port = int(found[1])

    def stop(self) -> None:
        """Tell them to stop, and wait."""
        self.process.send_signal(signal.SIGTERM)
        self.process.communicate(timeout=PATIENCE * 3)


@dataclass
class Browser:
    """Somebody who asks: with the cookie and token of a keeper's or a visitor's visit, or with none."""

    port: int
    who: str
    address: str = "127.0.0.1"
    cookie: bytes = b""
    token: bytes = b""

    def sign_in(self) -> None:
        """Open a page, and for the keeper give the password."""
        self._read("/sign-in")
        if self.who == "keeper":
            _, head, _ = self.ask(self.post(b"/sign-in", b"password=" + PASSWORD.replace(" ", "+").encode()))
            self._keep(head)
            self._read("/people")

    def _read(self, path: str) -> None:
        _, head, body = self.ask(self.get(path.encode()))
        self._keep(head)
        found = re.search(rb'name="token" value="([0-9a-f]+)"', body)
        assert found is not None
        self.token = found[1]

    def _keep(self, head: bytes) -> None:
        found = re.search(rb"set-cookie: (kinphoto=[^;]+)", head)
        if found is not None:
            self.cookie = found[1]

    def get(self, path: bytes, more: bytes = b"") -> bytes:
        """A request for a page."""
        return b"GET " + path + b" HTTP/1.1\r\n" + self._head() + more + b"\r\n"

    def post(self, path: bytes, body: bytes, kind: bytes = FORM, length: int | None = None) -> bytes:
        """A form, with the token of this visit."""
        if kind == FORM:
            body = b"token=" + self.token + b"&" + body
        size = str(len(body) if length is None else length).encode()
        head = b"Content-Type: " + kind + b"\r\nContent-Length: " + size + b"\r\n\r\n"
        return b"POST " + path + b" HTTP/1.1\r\n" + self._head() + head + body

    def _head(self) -> bytes:
        cookie = b"Cookie: " + self.cookie + b"\r\n" if self.cookie else b""
        return b"Host: 127.0.0.1:" + str(self.port).encode() + b"\r\nConnection: close\r\n" + cookie

    def connect(self) -> socket.socket:
        """A connection to the server."""
        return socket.create_connection(("127.0.0.1", self.port), PATIENCE, (self.address, 0))

    def ask(self, request: bytes, patience: float = PATIENCE) -> tuple[int, bytes, bytes]:
        """Send it and read the answer: status (0 when the connection was ended without one), head and body."""
        answer = b""
        with suppress(ConnectionError), self.connect() as connection:
            connection.settimeout(patience)
            with suppress(ConnectionError):
                connection.sendall(request)
            while piece := connection.recv(65536):
                answer += piece
        head, _, body = answer.partition(b"\r\n\r\n")
        found = re.match(rb"HTTP/1.1 (\d{3})", head)
        return (int(found[1]) if found else 0), head, body


@dataclass
class Outcome:
    """What came of it all."""

    hidden: list[bytes]
    sent: Counter[str] = field(default_factory=Counter)
    statuses: Counter[int] = field(default_factory=Counter)
    faults: list[str] = field(default_factory=list)
    keeper_waited: list[float] = field(default_factory=list)
    lock: Lock = field(default_factory=Lock)

    def note(self, kind: str, who: str, request: bytes, status: int, answer: bytes) -> None:
        """One request and its answer."""
        told = [word for word in self.hidden if word in answer and word not in request] if who != "keeper" else []
        with self.lock:
            self.sent[kind] += 1
            self.statuses[status] += 1
            what = f"{kind} as {who}: {request[:160]!r}"
            if status >= 500:
                self.faults.append(f"{status}: {what}")
            if b"Traceback" in answer:
                self.faults.append(f"a traceback was shown: {what}")
            if told:
                self.faults.append(f"told of {told[0].decode()}: {what}")

    def fault(self, words: str) -> None:
        """Something that may not be."""
        with self.lock:
            self.faults.append(words)


Attack = Callable[[Browser, random.Random], bytes]


def paths(method: str) -> list[str]:
    """The paths of the program."""
    found = [route for module in PAGES for route in module.routes if isinstance(route, Route)]
    return [route.path for route in found if method in (route.methods or ())]


def place(path: str, dice: random.Random) -> bytes:
    """A path with something odd, or something usual, in its places."""
    usual = {"{code}": SHOWN, "{id:int}": "9", "{id}": "I12", "{scan:int}": "9", "{region:int}": "9"}

    def value(found: re.Match[str]) -> str:
        odd = quote_from_bytes(dice.choice(ODD), safe="")
        return usual.get(found[0], odd) if dice.random() < 0.5 else odd or "0"

    return re.sub(r"\{[^}]*\}", value, path).encode()


def fields(dice: random.Random, most: int = 8) -> bytes:
    """Fields with odd values."""
    pairs = [(dice.choice(NAMES), dice.choice(ODD)) for _ in range(dice.randrange(most))]
    return b"&".join(name.encode() + b"=" + quote_from_bytes(value, safe="").encode() for name, value in pairs)


def mutated(data: bytes, dice: random.Random) -> bytes:
    """Some bytes changed, left out, or doubled."""
    changed = bytearray(data)
    for _ in range(dice.randrange(1, 4)):
        at = dice.randrange(len(changed) + 1)
        what = dice.random()
        if what < 0.4:
            changed[at : at + 1] = bytes((dice.randrange(256),))
        elif what < 0.7:
            del changed[at : at + dice.randrange(1, 9)]
        else:
            changed[at:at] = dice.choice(ODD)[:40]
    return bytes(changed)


def address(browser: Browser, dice: random.Random) -> bytes:
    """A page with odd places and an odd question."""
    return browser.get(place(dice.choice(paths("GET")), dice) + b"?" + fields(dice))


def search(browser: Browser, dice: random.Random) -> bytes:
    """A search for a hidden word, letter by letter, or for anything."""
    word = dice.choice([*HIDDEN, "zzwillow", "quillern", "susan"])
    start = word[: dice.randrange(1, len(word) + 1)]
    asked = dice.choice(("/search?q=", "/people?name=", "/search?person=", "/person/", "/photograph/"))
    return browser.get((asked + quote(start)).encode())


def file(browser: Browser, dice: random.Random) -> bytes:
    """A scan, a tile or a face of any number."""
    number = dice.randrange(130)
    kind = dice.choice((f"/scan/{number}/small.jpg", f"/scan/{number}/tiles.json", f"/scan/{number}/tiles/0/0-0.jpg",
                        f"/face/{number}.jpg"))  # fmt: skip
    return browser.get(kind.encode(), b'If-None-Match: "x", W/"y"\r\nRange: bytes=0-,0-,0-\r\n')


def broken(browser: Browser, dice: random.Random) -> bytes:
    """Any request with some bytes changed."""
    if dice.random() < 0.5:
        return mutated(address(browser, dice), dice)
    return mutated(form(browser, dice), dice)


def head(browser: Browser, dice: random.Random) -> bytes:
    """Headers that nobody sends."""
    odd = dice.choice((
        b"Cookie: kinphoto=" + dice.choice(ODD)[:900].replace(b"\r\n", b""), b"Host: evil.example", b"Host: [::1",
        b"Host: 127.0.0.1:x", b"Origin: null", b"Transfer-Encoding: chunked", b"Content-Length: -1",
        b"Content-Length: 99999999999999999999", b"Upgrade: websocket\r\nConnection: Upgrade", b"Expect: 100-continue",
        b"X-" + b"a" * 70_000 + b": b", b"\r\n".join(b"X-%d: b" % n for n in range(500)), b"Referer: javascript:x",
        b"Sec-Fetch-Site: cross-site", b"Accept: " + b"*/*," * 500, b"If-None-Match: " + b'"a",' * 3000, b"A:\xff\xfe",
    ))  # fmt: skip
    method = dice.choice((b"GET", b"POST", b"HEAD", b"PUT", b"OPTIONS", b"TRACE", b"CONNECT", b"get", b"BREW"))
    target = dice.choice((b"/", b"*", b"//", b"http://evil.example/", b"/%", b"/%ff%fe", b"/people", b"?", b"/a b"))
    host = b"" if odd.startswith(b"Host") else b"Host: 127.0.0.1\r\n"
    version = dice.choice((b"HTTP/1.1", b"HTTP/1.1", b"HTTP/1.0", b"HTTP/2.0", b"HTTP/9"))
    return method + b" " + target + b" " + version + b"\r\n" + host + odd + b"\r\nConnection: close\r\n\r\n"


def form(browser: Browser, dice: random.Random) -> bytes:
    """A form with odd fields; its length may be wrong."""
    body = fields(dice, 12)
    length = len(body) + 71 + dice.choice((0, 0, 0, -5)) if browser.token else None
    return browser.post(place(dice.choice(paths("POST")), dice), body, length=length)


def large(browser: Browser, dice: random.Random) -> bytes:
    """A form with more in it than one may hold, or as many fields as there may be."""
    body = dice.choice((
        b"a=" + b"b" * 300_000, b"&".join(b"f%d=x" % n for n in range(1999)), b"&" * 5000, b"a=%" * 3000,
        b"=" * 200_000, b"photograph=K00009&" * 1900, b"a" * 30_000,
    ))  # fmt: skip
    return browser.post(place(dice.choice(paths("POST")), dice), body)


def files(browser: Browser, dice: random.Random) -> bytes:
    """Files in borders that are whole or broken, with letters in sets that are none."""
    name, value = dice.choice(("token", "scans", "tree", "sheet", "kind", "container")).encode(), dice.choice(ODD)
    token = b"--" + BORDER + b'\r\nContent-Disposition: form-data; name="token"\r\n\r\n' + browser.token + b"\r\n"
    part = (
        b"--"
        + BORDER
        + b'\r\nContent-Disposition: form-data; name="'
        + name
        + b'"; filename="'
        + value[:60]
        + b'"\r\n\r\n'
    )
    body = (
        dice.choice((token, b""))
        + (part + value + b"\r\n") * dice.choice((1, 1, 2, 30, 250))
        + b"--"
        + BORDER
        + b"--\r\n"
    )
    if dice.random() < 0.5:
        body = mutated(body, dice)
    letters = dice.choice((b"idna", b"undefined", b"utf-7", b"raw_unicode_escape", b"hex", b"x"))
    whole = b"multipart/form-data; boundary=" + BORDER
    kind = dice.choice((
        whole, whole + b"; charset=" + letters, b"multipart/form-data", b"multipart/form-data; boundary=",
        b"text/plain",
    ))  # fmt: skip
    length = dice.choice((None, None, None, len(body) + 9, 3 * 1024**3))
    path = dice.choice((b"/bring-in/tree", b"/bring-in/scans", b"/bring-in/sheet"))
    return browser.post(path, body, kind, length)


def chunked(browser: Browser, dice: random.Random) -> bytes:
    """A body in pieces whose sizes are wrong."""
    sizes = dice.choice(
        (
            b"3\r\nabc\r\n0\r\n\r\n",
            b"zz\r\n",
            b"-1\r\n",
            b"ffffffffffffffffff\r\nabc",
            b"3\r\nabcdef\r\n",
            b"3;" + b"a" * 9000,
        )
    )
    return (
        browser.post(b"/sign-in", b"", b"text/plain").replace(b"Content-Length: 0", b"Transfer-Encoding: chunked")
        + sizes
    )


ATTACKS: tuple[tuple[int, Attack], ...] = (
    (30, address), (16, search), (8, file), (10, broken), (10, head), (14, form), (3, large), (5, files), (4, chunked),
)  # fmt: skip
"""How often each, of a hundred."""


def attack(server: Server, outcome: Outcome, number: int, count: int, seed: int, until: float) -> None:
    """One thread's share."""
    dice = random.Random(seed * 1000 + number)
    browsers = [Browser(server.port, who, f"127.0.0.{10 + number}") for who in ("keeper", "visitor", "stranger")]
    for browser in browsers[:2]:
        browser.sign_in()
    kinds = [one for weight, one in ATTACKS for _ in range(weight)]
    for _ in range(count):
        if time.monotonic() > until:
            outcome.fault(f"not done in {LONGEST:.0f} s")
            return
        browser, kind = dice.choice(browsers), dice.choice(kinds)
        request = kind(browser, dice)
        if browser.who == "keeper" and b"/sign-" in request:  # who has left is the keeper no more
            browser = browsers[2]
            request = kind(browser, dice)
        patience = 2.0 if b"Content-Length: " in request or b"chunked" in request else PATIENCE
        try:
            status, _, answer = browser.ask(request, patience)
        except TimeoutError:
            if patience == PATIENCE:
                outcome.fault(f"no answer: {request[:160]!r}")
            status, answer = 0, b""
        outcome.note(kind.__name__, browser.who, request, status, answer)


def hold(server: Server, outcome: Outcome, count: int, seconds: float) -> None:
    """Open connections from two addresses and leave them half way, more than there may be files; then let them go."""
    held: list[socket.socket] = []
    for number in range(count):
        browser = Browser(server.port, "stranger", f"127.0.0.{2 + number % 2}")
        try:
            made = browser.connect()
            made.settimeout(1.0)
            made.sendall(
                (
                    b"",
                    b"GET / HTTP/1.1\r\nX-",
                    b"POST /sign-in HTTP/1.1\r\nHost: 127.0.0.1\r\nContent-Length: 9\r\n\r\n",
                )[number % 3]
            )
            held.append(made)
        except OSError:
            continue
        outcome.note("half open", "stranger", b"", 0, b"")
    time.sleep(seconds)
    for made in held:
        made.close()


def wait_as_keeper(server: Server, outcome: Outcome, done: Event) -> None:
    """Ask for pages as the keeper all the while, and note how long each took."""
    keeper = Browser(server.port, "keeper", "127.0.0.99")
    keeper.sign_in()
    while not done.is_set():
        for path in (b"/people", b"/box/9", b"/photograph/K00009", b"/search?q=nora"):
            begun = time.monotonic()
            try:
                status = keeper.ask(keeper.get(path))[0]
            except TimeoutError:
                status = 0
            outcome.keeper_waited.append(time.monotonic() - begun)
            if status not in (200, 404):  # photographs come and go under attack by a keeper
                outcome.fault(f"the keeper's {path.decode()} was answered with {status}")
        time.sleep(0.5)


def prepare(folder: Path) -> list[bytes]:
    """The sample with hidden words in it; these, and the names of everybody who may be living."""
    archive = build(folder).archive
    archive.describe(SHOWN, Description(note="zznote", rights="zzrights", maker="zzmaker", former_number="zzformer"))
    archive.state(NewClaim(photograph=SHOWN, kind="inscription", date="1911", text="zzinscribed", by="zzinformant"))
    archive.state(NewClaim(photograph=SHOWN, kind="recollection", date="1912", text="zzremembered", by="zzinformant"))
    archive.link(Link(photograph=SHOWN, person="I33", denied=True, why="zzreason", by="zzinformant"))
    archive.refresh_estimates()
    people = archive.people().people
    living = archive.the_living([one.id for one in people])
    dead = {one.name for one in people if one.id not in living}
    names = [one.name for one in people if one.id in living and len(one.name) > 5 and one.name not in dead]
    archive.engine.dispose()
    return [word.encode() for word in (*HIDDEN, *names)]


def main() -> None:
    """Attack, and print what came of it."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 21_500
    seed = int(sys.argv[2]) if len(sys.argv) > 2 else 1
    with tempfile.TemporaryDirectory() as name:
        server = Server(Path(name) / "family", Path(name) / "complaints")
        outcome = Outcome(prepare(server.folder))
        server.start()
        begun = time.monotonic()
        try:
            finish(server, outcome, count, seed, begun)
        finally:
            server.stop()
        complaints = server.complaints.read_text(errors="replace")
        check(server, outcome, complaints)
    report(outcome, len(complaints), f"seed {seed}, {time.monotonic() - begun:.0f} s")
    sys.exit("\n".join(outcome.faults[:40]) or None)


def report(outcome: Outcome, complaints: int, run: str) -> None:
    """Print what came of it."""
    kinds = ", ".join(f"{number:,} {kind}" for kind, number in outcome.sent.most_common())
    answers = ", ".join(f"{number:,} of {status}" for status, number in sorted(outcome.statuses.items()) if status)
    waited = sorted(outcome.keeper_waited)
    half, most = waited[len(waited) // 2], waited[len(waited) * 19 // 20]
    print(f"{cores()} cores, Python {platform.python_version()}, {run}")
    print(f"{sum(outcome.sent.values()):,} requests: {kinds}")
    print(f"answers: {answers}; {outcome.statuses[0]:,} ended without one")
    print(f"the keeper beside it: {len(waited)} pages, half within {half:.2f} s, 19 of 20 within {most:.2f} s,")
    print(f"the longest {waited[-1]:.2f} s")
    print(f"to the terminal: {complaints:,} bytes")
    print(f"{len(outcome.faults)} faults")


def finish(server: Server, outcome: Outcome, count: int, seed: int, begun: float) -> None:
    """All of the attack, and the keeper's last page after it."""
    held = min(HELD, count // 10)
    share = (count - held) // THREADS
    until = begun + LONGEST
    threads = [
        Thread(target=attack, args=(server, outcome, n, share + (n < (count - held) % THREADS), seed, until))
        for n in range(THREADS)
    ]
    holding = Thread(target=hold, args=(server, outcome, held, 15.0))
    everything = [*threads, holding]
    done = Event()
    beside = Thread(target=wait_as_keeper, args=(server, outcome, done))
    for thread in (beside, *everything):
        thread.start()
    for thread in everything:
        thread.join()
    done.set()
    beside.join()
    ask_out(server, outcome)
    keeper = Browser(server.port, "keeper", "127.0.0.98")
    keeper.sign_in()
    for path in (b"/", b"/people", b"/photograph/K00009"):
        asked = time.monotonic()
        status = keeper.ask(keeper.get(path))[0]
        took = time.monotonic() - asked
        if took > 1 or status not in (200, 404):
            outcome.fault(f"at the end {path.decode()} took {took:.2f} s and was answered with {status}")


def ask_out(server: Server, outcome: Outcome) -> None:
    """As a visitor, look for each hidden word letter by letter: nothing may be found by it."""
    visitor = Browser(server.port, "visitor", "127.0.0.97")
    for word in HIDDEN:
        for end in range(3, len(word) + 1):
            request = visitor.get(b"/search?q=" + word[:end].encode())
            status, _, answer = visitor.ask(request)
            outcome.note("asked out", "visitor", request, status, answer)
            if b"Nothing fits" not in answer:
                outcome.fault(f"a visitor finds something by '{word[:end]}'")


def check(server: Server, outcome: Outcome, complaints: str) -> None:
    """What is left behind: the archive is sound, and the terminal was spared."""
    if "Traceback" in complaints:
        outcome.fault(f"a traceback:\n{complaints[complaints.index('Traceback') :][:3000]}")
    if len(complaints) > 1024**2:
        outcome.fault(f"{len(complaints):,} bytes were written to the terminal")
    archive = Archive.open(server.folder)
    with archive.reading() as connection:
        sound(connection)
    archive.engine.dispose()


if __name__ == "__main__":
    main()
