"""Signing in: one password, kept as a hash, slow to guess; a cookie that cannot be made or changed by others.

The format of the hash is that of RFC 9106 and the reference implementation of Argon2; HttpOnly and SameSite are those
of RFC 6265bis. The attacks (fixation of a session, guessing from many addresses) are those of the OWASP Cheat Sheets,
from memory.
"""

from __future__ import annotations

import json
import os
import re
import stat
from collections.abc import Callable
from contextlib import AbstractContextManager
from pathlib import Path

import argon2
import pytest
from itsdangerous import URLSafeTimedSerializer

from kinphoto.archive import Archive
from kinphoto.errors import ArchiveError, InvalidValueError
from kinphoto.web import passwords
from kinphoto.web.access import CREDENTIALS, Credentials
from kinphoto.web.app import make_app
from kinphoto.web.passwords import AT_LARGE, FREE, LONGEST_WAIT, SignInAttempts, choose

from .client import Client
from .conftest import LAN, PASSWORD, Browser


def signed_in(stranger: Browser) -> None:
    """Sign in."""
    assert stranger.post("/sign-in", {"password": PASSWORD}).status_code == 303


def in_(client: Client) -> bool:
    """Whether this browser sees what only the keeper sees."""
    return client.get("/log", follow_redirects=False).status_code == 200


def test_the_cookie(stranger: Browser) -> None:
    """Scripts cannot read it, and no other site's page sends it."""
    assert not in_(stranger.client)
    answer = stranger.post("/sign-in", {"password": PASSWORD, "next": "/log"})
    assert answer.headers["location"] == "/log"
    words = [word.strip().lower() for word in answer.headers["set-cookie"].split(";")]
    assert "httponly" in words
    assert "samesite=strict" in words
    assert "path=/" in words
    assert not any(word.startswith("domain") for word in words)
    assert in_(stranger.client)


def test_a_cookie_that_was_changed_is_a_strangers(stranger: Browser) -> None:
    """Each of its letters changed in turn, cut short, of another archive, or made up: nobody gets in."""
    signed_in(stranger)
    good = stranger.client.cookies["kinphoto"]
    stranger.client.cookies.clear()
    changed = [good[:at] + ("A" if good[at] != "A" else "B") + good[at + 1 :] for at in range(0, len(good) - 1, 3)]
    forged = URLSafeTimedSerializer("s" * 40, salt="visit").dumps(["x", True])
    for value in (*changed, good[:-5], "", "[1,true]", forged, "x" * 4000, "é"):
        header = {"cookie": f"kinphoto={value}".encode()}
        assert stranger.client.get("/log", headers=header, follow_redirects=False).status_code == 303, value
    assert stranger.client.get("/log", headers={"cookie": f"kinphoto={good}"}).status_code == 200


def test_the_visit_is_a_new_one_after_signing_in(stranger: Browser) -> None:
    """A visit that somebody else knew of before (fixation) is worth nothing after signing in."""
    token = stranger.token()
    before = stranger.client.cookies["kinphoto"]
    signed_in(stranger)
    assert stranger.client.cookies["kinphoto"] != before
    assert stranger.token() != token
    planted = {"cookie": f"kinphoto={before}"}
    assert stranger.client.get("/log", headers=planted, follow_redirects=False).status_code == 303


def test_signing_out(stranger: Browser) -> None:
    """There is a button on every page, and after it this browser is a stranger's."""
    signed_in(stranger)
    assert 'action="/sign-out"' in stranger.get("/boxes")
    assert stranger.post("/sign-out", {}).status_code == 303
    assert not in_(stranger.client)
    assert 'action="/sign-out"' not in stranger.get("/boxes")


def test_a_new_password_signs_everybody_out(stranger: Browser, archive: Archive) -> None:
    """Cookies from before it hold no more, and the old password neither."""
    signed_in(stranger)
    cookie = stranger.client.cookies["kinphoto"]
    choose(archive.folder, "another three words")
    again = Client(make_app(archive, ["192.168.7.7"], open_to_house=True), base_url=LAN, cookies={"kinphoto": cookie})
    assert not in_(again)
    again.cookies.clear()
    browser = Browser(again)
    assert browser.post("/sign-in", {"password": PASSWORD}).status_code == 403
    assert browser.post("/sign-in", {"password": "another three words"}).status_code == 303


@pytest.mark.parametrize("elsewhere", ["http://evil.example/", "//evil.example", "/\\evil.example", "//["])
def test_signing_in_leads_to_our_own_pages_only(stranger: Browser, elsewhere: str) -> None:
    """Where it goes on to after the password is one of our own pages."""
    assert f'value="{elsewhere}"' not in stranger.client.get("/sign-in", params={"next": elsewhere}).text
    assert stranger.post("/sign-in", {"password": PASSWORD, "next": elsewhere}).headers["location"] == "/"


@pytest.mark.parametrize(
    "password", ["", "wrong", PASSWORD.upper(), PASSWORD + " ", "\N{COMBINING ACUTE ACCENT}" * 900]
)
def test_another_password_is_not_taken(stranger: Browser, password: str) -> None:
    """It is said that it is not the password, and the password is not shown again."""
    answer = stranger.post("/sign-in", {"password": password})
    assert answer.status_code == 403
    assert "That is not the password." in answer.text
    assert not password or password not in answer.text
    assert not in_(stranger.client)


def test_the_hash_is_argon2id_with_the_usual_costs(tmp_path: Path) -> None:
    """`$argon2id$v=19$m=…,t=…,p=…$salt$hash` with the costs that argon2-cffi recommends (RFC 9106, low memory: 64 MiB,
    3 passes, 4 lanes), a salt of its own each, and another implementation's check agrees."""
    kept = [choose(tmp_path, PASSWORD).password or "" for _ in range(2)]
    profile = argon2.profiles.RFC_9106_LOW_MEMORY
    found = re.fullmatch(r"\$argon2id\$v=19\$m=(\d+),t=(\d+),p=(\d+)\$([\w+/]{22})\$[\w+/]{43}", kept[0])
    assert found is not None
    assert tuple(map(int, found.groups()[:3])) == (profile.memory_cost, profile.time_cost, profile.parallelism)
    assert (profile.memory_cost, profile.time_cost, profile.parallelism) == (65536, 3, 4)
    assert kept[0] != kept[1]
    assert argon2.low_level.verify_secret(kept[0].encode(), PASSWORD.encode(), argon2.Type.ID)


def test_a_short_password_is_not_taken(tmp_path: Path) -> None:
    """Fewer than eight letters are refused in one line, and nothing is written."""
    with pytest.raises(InvalidValueError, match="shorter than 8 letters"):
        choose(tmp_path, "1234567")
    assert list(tmp_path.iterdir()) == []


# Guessing --------------------------------------------------------------------------------------------------------


class Clock:
    """A clock that is set by hand."""

    now = 1000.0

    def __call__(self) -> float:
        """The time, in seconds."""
        return self.now


@pytest.fixture
def clock(monkeypatch: pytest.MonkeyPatch) -> Clock:
    """The clock; the costly hash is left out, since it is not what these tests are about."""
    monkeypatch.setattr(passwords, "matches", lambda password, kept: password == kept)
    return Clock()


def test_the_sixth_wrong_password_has_to_wait_and_each_more_doubles(clock: Clock) -> None:
    """Five may be wrong; then two seconds, four, eight ... up to a quarter of an hour."""
    attempts = SignInAttempts(clock)
    waits = []
    for _ in range(20):
        assert not attempts.accepts("1.1.1.1", "wrong", "right")
        waits.append(attempts.wait("1.1.1.1"))
        clock.now += waits[-1]
    assert waits[:4] == [0] * (FREE - 1)
    assert waits[4:13] == [2.0, 4, 8, 16, 32, 64, 128, 256, 512]
    assert set(waits[13:]) == {LONGEST_WAIT}


def test_while_one_waits_the_right_password_does_not_open_and_does_not_tell(clock: Clock) -> None:
    """It is answered like a wrong one, and does not make the wait longer; after the wait it opens."""
    attempts = SignInAttempts(clock)
    for _ in range(FREE):
        attempts.accepts("1.1.1.1", "wrong", "right")
    wait = attempts.wait("1.1.1.1")
    assert wait > 0
    assert not attempts.accepts("1.1.1.1", "right", "right")
    assert not attempts.accepts("1.1.1.1", "wrong", "right")
    assert attempts.wait("1.1.1.1") == wait
    clock.now += wait
    assert attempts.accepts("1.1.1.1", "right", "right")
    assert attempts.wait("1.1.1.1") == 0


def test_one_address_does_not_shut_out_another(clock: Clock) -> None:
    """However long somebody at one address goes on guessing, whoever is at another gets in at once."""
    attempts = SignInAttempts(clock)
    for _ in range(5 * AT_LARGE):
        attempts.accepts("1.1.1.1", "wrong", "right")
        assert attempts.wait("2.2.2.2") == 0
        clock.now += attempts.wait("1.1.1.1")
    assert attempts.accepts("2.2.2.2", "right", "right")


def test_many_addresses_together_have_to_wait(clock: Clock) -> None:
    """A hundred wrong passwords from a hundred addresses: then everybody waits, and longer with each more."""
    attempts = SignInAttempts(clock)
    for number in range(AT_LARGE):
        assert attempts.wait("9.9.9.9") == 0
        attempts.accepts(f"10.0.0.{number}", "wrong", "right")
    first = attempts.wait("9.9.9.9")
    assert first > 0
    assert not attempts.accepts("9.9.9.9", "right", "right")
    clock.now += first
    attempts.accepts("10.0.1.1", "wrong", "right")
    assert attempts.wait("9.9.9.9") > first
    clock.now += LONGEST_WAIT
    assert attempts.accepts("9.9.9.9", "right", "right")


def test_what_is_remembered_of_guesses_is_bounded(clock: Clock) -> None:
    """Any number of addresses leaves no more than a thousand in memory."""
    attempts = SignInAttempts(clock)
    for number in range(1200):
        attempts.accepts(str(number), "wrong", "right")
        clock.now += LONGEST_WAIT
    assert len(attempts._wrong) == passwords.MOST_ADDRESSES


def test_the_page_tells_how_long_to_wait(stranger: Browser, monkeypatch: pytest.MonkeyPatch) -> None:
    """After five wrong ones the page says so with status 429 (RFC 6585), also to the right one."""
    monkeypatch.setattr(passwords, "matches", lambda password, kept: password == PASSWORD)
    stranger.client.app.state.attempts = SignInAttempts(Clock())
    for _ in range(FREE - 1):
        assert stranger.post("/sign-in", {"password": "wrong"}).status_code == 403
    for password in ("wrong", PASSWORD, "wrong"):
        answer = stranger.post("/sign-in", {"password": password})
        assert answer.status_code == 429
        assert "Too many tries. Wait 2 seconds." in answer.text
    assert not in_(stranger.client)


# The file --------------------------------------------------------------------------------------------------------


def test_the_keys_are_for_their_owners_eyes(tmp_path: Path) -> None:
    """pages.json can be read by its owner only, whatever the umask, and holds no password."""
    before = os.umask(0)
    try:
        credentials = Credentials.of(tmp_path)
        choose(tmp_path, PASSWORD)
    finally:
        os.umask(before)
    assert stat.S_IMODE((tmp_path / CREDENTIALS).stat().st_mode) == 0o600
    assert PASSWORD not in (tmp_path / CREDENTIALS).read_text()
    assert len(credentials.secret) >= 40
    assert [path.name for path in tmp_path.iterdir()] == [CREDENTIALS]


@pytest.mark.parametrize(
    "text",
    [
        "",
        "{",
        "[]",
        "null",
        "3",
        '{"secret": ""}',
        '{"secret": "short"}',
        "[" * 5000,
        '{"secret": 1}',
        "\0",
        '{"secret": "' + "s" * 40 + '", "password": 5}',
    ],
)
def test_keys_that_cannot_be_read_are_made_anew(tmp_path: Path, text: str) -> None:
    """A damaged file, or one with a secret that could be guessed: everybody signs in again."""
    (tmp_path / CREDENTIALS).write_text(text)
    credentials = Credentials.of(tmp_path)
    assert len(credentials.secret) >= 40
    assert credentials.password is None
    assert Credentials.of(tmp_path) == credentials


def test_a_link_in_the_place_of_the_keys_is_not_written_through(tmp_path: Path) -> None:
    """The file it leads to stays as it is; a new password takes the place of the link."""
    (tmp_path / "other").write_text("mine")
    (tmp_path / CREDENTIALS).symlink_to(tmp_path / "other")
    choose(tmp_path, PASSWORD)
    assert (tmp_path / "other").read_text() == "mine"
    assert not (tmp_path / CREDENTIALS).is_symlink()
    assert json.loads((tmp_path / CREDENTIALS).read_text())["password"].startswith("$argon2id$")


def test_a_folder_in_the_place_of_the_keys(tmp_path: Path) -> None:
    """It is said in one line, and nothing is left lying about."""
    (tmp_path / CREDENTIALS).mkdir()
    with pytest.raises(ArchiveError, match="the password file of the pages cannot be written") as told:
        Credentials.of(tmp_path)
    assert "\n" not in str(told.value)
    assert [path.name for path in tmp_path.iterdir()] == [CREDENTIALS]


def test_where_nothing_may_be_written_there_are_keys_all_the_same(
    shared: Path, without_rights: Callable[[], AbstractContextManager[None]]
) -> None:
    """For this time only, so that an archive that may only be read can be looked at."""
    shared.chmod(0o555)
    with without_rights():
        assert len(Credentials.of(shared).secret) >= 40
    assert list(shared.iterdir()) == []


def test_the_keys_of_somebody_else_stay(
    shared: Path, without_rights: Callable[[], AbstractContextManager[None]]
) -> None:
    """Whoever shares the folder and may not read them does not take their password away."""
    kept = choose(shared, PASSWORD)
    (shared / CREDENTIALS).chmod(0o000)
    shared.chmod(0o777)
    with without_rights():
        assert Credentials.of(shared).password is None
    (shared / CREDENTIALS).chmod(0o600)
    assert Credentials.of(shared) == kept
