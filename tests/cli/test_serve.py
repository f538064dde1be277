"""`kinphoto serve` as a process: its first line, its end, and what it says when it cannot begin. The first test starts
it as those do who type it, in a new interpreter."""

from __future__ import annotations

import re
import signal
import socket
import sqlite3
import subprocess
import sys
import urllib.error
import urllib.parse
import urllib.request
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path

import pytest
from commands import Running, with_same_modules

from kinphoto.archive import Archive
from kinphoto.store import tables as t
from kinphoto.web.access import CREDENTIALS

PATIENCE = 60.0


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    """A new archive."""
    made = tmp_path / "family"
    Archive.create(made).engine.dispose()
    return made


def surroundings(**environment: str) -> dict[str, str]:
    """The variables of a process that is told nothing but these of passwords and archives."""
    return {
        name: value for name, value in with_same_modules().items() if not name.startswith("KINPHOTO_")
    } | environment


def command(folder: Path, *words: str, **environment: str) -> Running:
    """Start the pages."""
    return Running(folder, "serve", *words, "--archive", str(folder), environment=surroundings(**environment))


@contextmanager
def served(folder: Path, *words: str, **environment: str) -> Iterator[tuple[Running, str]]:
    """The process, and the address that is the first line it prints."""
    with command(folder, "--port", "0", *words, **environment) as process:
        yield process, process.first_line(PATIENCE)


def status(address: str) -> int:
    """What is answered under an address."""
    try:
        with urllib.request.urlopen(address, timeout=PATIENCE) as answer:
            return int(answer.status)
    except urllib.error.HTTPError as refused:
        return refused.code


def at_this_machine(address: str) -> str:
    """The same port, asked for on this machine."""
    return re.sub(r"//[^:]+:", "//127.0.0.1:", address)


@pytest.mark.parametrize(("sent", "allowed"), [(signal.SIGINT, {0, 130}), (signal.SIGTERM, {0, 143, -signal.SIGTERM})])
def test_the_address_comes_first_and_a_signal_ends_it(folder: Path, sent: signal.Signals, allowed: set[int]) -> None:
    """Any free port, the address alone on the first line, pages behind it; Ctrl-C or a stop ends it without a trace."""
    with subprocess.Popen(
        [sys.executable, "-c", "from kinphoto.cli.main import run; run()", "serve", "--port", "0", "--archive", folder],
        stdin=subprocess.DEVNULL, stdout=subprocess.PIPE, stderr=subprocess.PIPE, text=True, env=surroundings(),
    ) as process:  # fmt: skip
        try:
            assert process.stdout is not None
            address = process.stdout.readline().rstrip("\n")
            assert re.fullmatch(r"http://127\.0\.0\.1:\d+/", address)
            assert status(address) == 200
            process.send_signal(sent)
            out, said = process.communicate(timeout=PATIENCE)
        finally:
            process.kill()
    assert process.returncode in allowed
    assert out == ""
    lines = said.splitlines()
    assert lines[0].startswith("Open this address in a browser.")
    assert len(lines) <= 2
    assert "Traceback" not in said


@pytest.mark.parametrize("sent", [signal.SIGINT, signal.SIGTERM])
def test_after_a_stop_everything_is_in_one_file(folder: Path, sent: signal.Signals) -> None:
    """What was saved on a page is in `kinphoto.db` itself, and nothing lies beside it that a backup could miss."""
    archive = Archive.open(folder)
    with archive.working("a photograph") as work:
        work.insert_one(t.photograph, code="K00001", indexed=739_000)
    archive.close()
    with served(folder) as (process, address):
        page = urllib.request.urlopen(f"{address}photograph/K00001", timeout=PATIENCE)
        cookie = page.headers["Set-Cookie"].partition(";")[0]
        token = re.search(r'name="token" value="([0-9a-f]+)"', page.read().decode())
        assert token is not None
        form = urllib.parse.urlencode({"token": token[1], "title": "The ferry"}).encode()
        saved = urllib.request.Request(f"{address}photograph/K00001/describe", form, {"Cookie": cookie})
        with urllib.request.urlopen(saved, timeout=PATIENCE) as answer:
            assert answer.status == 200
        process.send_signal(sent)
        process.communicate(PATIENCE)
    assert sorted(path.name for path in folder.glob("kinphoto.db*")) == ["kinphoto.db"]
    with closing(sqlite3.connect(f"{(folder / 'kinphoto.db').as_uri()}?immutable=1", uri=True)) as connection:
        assert connection.execute("SELECT title FROM photograph").fetchall() == [("The ferry",)]


def test_a_port_that_is_taken(folder: Path) -> None:
    """One line that names the port and the way out, and status 1; the same for a port of the system's own."""
    with socket.socket() as other:
        other.bind(("127.0.0.1", 0))
        other.listen()
        port = other.getsockname()[1]
        process = command(folder, "--port", str(port))
        out, said = process.communicate(PATIENCE)
    assert process.returncode == 1
    assert out == ""
    assert len(said.splitlines()) == 1
    assert f"port {port} cannot be used" in said
    assert "--port 0" in said


@pytest.mark.parametrize("port", ["-1", "65536", "x"])
def test_a_port_that_is_none(folder: Path, port: str) -> None:
    """Refused as a mistake in the command, status 2."""
    process = command(folder, "--port", port)
    _, said = process.communicate(PATIENCE)
    assert process.returncode == 2
    assert "Traceback" not in said


def test_the_house_needs_a_password(folder: Path) -> None:
    """With nobody to ask and none given nothing is served; with a short one neither."""
    process = command(folder, "--port", "0", "--lan")
    out, said = process.communicate(PATIENCE)
    assert process.returncode not in (0, None)
    assert out == ""
    assert "Traceback" not in said
    process = command(folder, "--port", "0", "--lan", KINPHOTO_PASSWORD="short")
    out, said = process.communicate(PATIENCE)
    assert (process.returncode, out) == (1, "")
    assert "shorter than 8 letters" in said
    assert len(said.splitlines()) == 1


def test_the_house_is_let_in_with_the_password_of_the_surroundings(folder: Path) -> None:
    """KINPHOTO_PASSWORD is taken and kept as a hash; the next start needs it no more, and strangers have to sign in."""
    with served(folder, "--lan", KINPHOTO_PASSWORD="three odd words") as (_, address):
        assert re.fullmatch(r"http://[^/]+:\d+/", address)
        with urllib.request.urlopen(f"{at_this_machine(address)}log", timeout=PATIENCE) as answer:
            assert "/sign-in" in answer.url
    kept = (folder / CREDENTIALS).read_bytes()
    assert b"three odd words" not in kept
    with served(folder, "--lan") as (_, address):
        assert status(at_this_machine(address)) == 200
    assert (folder / CREDENTIALS).read_bytes() == kept


def test_a_folder_in_the_place_of_the_keys(folder: Path) -> None:
    """One line, status 1."""
    (folder / CREDENTIALS).mkdir()
    process = command(folder, "--port", "0")
    out, said = process.communicate(PATIENCE)
    assert (process.returncode, out) == (1, "")
    assert len(said.splitlines()) == 1
    assert "the password file of the pages cannot be written" in said


def test_a_folder_without_an_archive_gets_the_page_that_makes_one(tmp_path: Path) -> None:
    """The address is the first line as always; an archive is made there, and the same process shows its pages."""
    with started_in(tmp_path, "--port", "0") as process:
        address = process.first_line(PATIENCE)
        opener = urllib.request.build_opener(urllib.request.HTTPCookieProcessor())
        page = opener.open(address, timeout=PATIENCE).read().decode()
        token = re.search(r'name="token" value="([0-9a-f]+)"', page)
        assert token is not None
        fields = {"token": token[1], "do": "make", "name": "Marsh family", "where": str(tmp_path)}
        data = urllib.parse.urlencode(fields).encode()
        page = opener.open(f"{address}begin", data, timeout=PATIENCE).read().decode()
        assert "Add some scans" in page
        process.send_signal(signal.SIGINT)
        process.wait(PATIENCE)
    assert sorted(path.name for path in (tmp_path / "Marsh family").iterdir()) == ["kinphoto.db", CREDENTIALS]


def test_the_house_cannot_make_an_archive(tmp_path: Path) -> None:
    """Others in the network are let in when there is something to see, and whoever started it is told how."""
    with started_in(tmp_path, "--port", "0", "--lan") as process:
        _, problem = process.communicate(PATIENCE)
    assert process.returncode == 1
    assert "there is no archive in this folder or above it yet" in problem
    assert "kinphoto serve" in problem


def started_in(here: Path, *words: str) -> Running:
    """`kinphoto serve` in a folder, with no other hint where an archive may be."""
    return Running(here, "serve", *words, environment=surroundings())
