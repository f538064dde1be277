"""Somebody is signed out while they type, here or in another tab: nothing they typed is lost."""

from __future__ import annotations

from collections.abc import Iterator
from functools import partial
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import pytest
from argon2 import PasswordHasher
from playwright.sync_api import Page, expect

from kinphoto.archive import Archive
from kinphoto.web import passwords

from .conftest import Served

PASSWORD = "three odd words"


@pytest.fixture
def house(own_sample: Archive, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """The pages of a copy of the sample, open to the house. Their password is not made hard to guess, which takes as
    long as a page."""
    quick = partial(PasswordHasher, time_cost=1, memory_cost=8, parallelism=1)
    monkeypatch.setattr(passwords, "PasswordHasher", quick)
    passwords.choose(own_sample.folder, PASSWORD)
    pages = Served(own_sample, open_to_house=True)
    yield pages
    pages.stop()


def signed_in(house: Served, context: Any, address: str) -> Page:
    """A page, after signing in."""
    page: Page = context(missing=True)
    page.goto(f"{house.address}/sign-in?next={address}")
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**{address}")
    return page


def signed_out_elsewhere(page: Page) -> None:
    """In another tab of the same browser."""
    other = page.context.new_page()
    other.goto(page.url)
    other.get_by_role("button", name="More", exact=True).click()
    other.get_by_role("button", name="Sign out").click()
    other.wait_for_load_state()
    other.close()


@pytest.mark.parametrize("ends", ["signed out in another tab", "the browser forgot it"])
def test_a_name_is_saved_after_signing_in_over_the_page(house: Served, context: Any, ends: str) -> None:
    """The age and the letters stay; a wrong password is said; with the right one the face is named at once."""
    page = signed_in(house, context, "/photograph/K00016")
    face = next(face for face in house.archive.photographs.faces("K00016").faces if not face.names[0].person)
    page.locator(f"[data-face={face.region}] > .number").click()
    page.keyboard.type("12")
    page.keyboard.press("Enter")
    page.keyboard.type("katr")
    expect(page.locator("#offers [aria-selected=true]")).to_contain_text("Katrin")
    if ends == "the browser forgot it":
        page.context.clear_cookies()
    else:
        signed_out_elsewhere(page)
    page.locator("#person").press("Enter")
    asked = page.get_by_role("dialog")
    expect(asked).to_contain_text("Nothing was saved; what you typed is still here.")
    asked.get_by_label("Password").fill("something else")
    page.keyboard.press("Enter")
    expect(asked.get_by_role("alert")).to_have_text("That is not the password.")
    asked.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(asked).to_have_count(0)
    expect(page.locator(f"[data-face={face.region}][data-named=yes]")).to_contain_text("Katrin")
    named = next(one for one in house.archive.photographs.faces("K00016").faces if one.region == face.region).names[0]
    assert (named.name.split()[0], named.ages[0].low) == ("Katrin", 12.0)


def test_whoever_does_not_sign_in_keeps_what_was_typed(house: Served, context: Any) -> None:
    """*Not now*: the page says that nothing was saved, and the words are in their field."""
    page = signed_in(house, context, "/photograph/K00009/back")
    page.locator("#read-text").fill("Aunt Wilma at the pier, 1912")
    signed_out_elsewhere(page)
    page.get_by_role("button", name="Save").first.click()
    page.get_by_role("dialog").get_by_role("button", name="Not now").click()
    expect(page.locator("#status")).to_contain_text("You are signed out. Nothing was saved")
    expect(page.locator("#read-text")).to_have_value("Aunt Wilma at the pier, 1912")


def test_a_form_that_leaves_the_page_waits_for_the_password(house: Served, context: Any) -> None:
    """A story is written, and nobody is signed in any more: it is saved with the password, and not lost before."""
    page = signed_in(house, context, "/stories?about=K00009")
    page.locator("#new [name=text]").fill("The ferry ran aground that summer.")
    page.locator("#new [name=by]").fill("Judith Quillern")
    signed_out_elsewhere(page)
    page.get_by_role("button", name="Keep it").click()
    asked = page.get_by_role("dialog")
    asked.get_by_label("Password").fill(PASSWORD)
    page.keyboard.press("Enter")
    expect(page.locator("main")).to_contain_text("The ferry ran aground that summer.")
    assert any("ran aground" in (one.text or "") for one in house.archive.stories.list())


def test_without_scripts_what_was_typed_comes_back_in_its_form(house: Served, context: Any) -> None:
    """After a wrong password and the right one: nothing is saved by signing in, and all of it with one more press."""
    page: Page = context(missing=True, java_script_enabled=False)
    address = "/photograph/K00009/back"
    page.goto(f"{house.address}/sign-in?next={address}")
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.wait_for_url(f"**{address}")
    page.context.clear_cookies()
    words = 'Aunt "Wilma" at the pier,\nWhitsun & 1912'
    before = len(house.archive.photographs.details("K00009").marks)
    page.locator("#read-text").fill(words)
    page.get_by_role("button", name="Save", exact=True).first.click()
    expect(page.get_by_role("alert")).to_contain_text("You were signed out, so nothing was saved.")
    for password in ("not this one", PASSWORD):
        page.get_by_label("Password").fill(password)
        page.locator("main").get_by_role("button", name="Sign in").click()
    expect(page.locator("main")).to_contain_text("Nothing was saved. What you typed is still here.")
    expect(page.get_by_label("The words, exactly as they are written")).to_have_value(words)
    assert len(house.archive.photographs.details("K00009").marks) == before
    page.get_by_role("button", name="Try again").click()
    assert urlsplit(page.url).path.startswith("/photograph/K00009")
    marks = house.archive.photographs.details("K00009").marks
    assert len(marks) == before + 1
    assert any("Wilma" in (mark.words or "") for mark in marks)


def test_without_scripts_the_words_of_a_story_come_back(house: Served, context: Any, tmp_path: Path) -> None:
    """They stand behind a recording of some megabytes, which is chosen once more."""
    sound = tmp_path / "ferry.wav"
    sound.write_bytes(b"RIFF" + bytes(6_000_000))
    page: Page = context(missing=True, java_script_enabled=False)
    page.goto(f"{house.address}/sign-in?next=/stories")
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()
    page.wait_for_url("**/stories")
    page.context.clear_cookies()
    page.locator("#new [name=sound]").set_input_files(sound)
    page.locator("#new [name=text]").fill("The ferry ran aground that summer.")
    page.get_by_role("button", name="Keep it").click()
    page.get_by_label("Password").fill(PASSWORD)
    page.locator("main").get_by_role("button", name="Sign in").click()
    expect(page.locator("main")).to_contain_text("the files have to be chosen once more")
    expect(page.locator("[name=text]")).to_have_value("The ferry ran aground that summer.")
    page.get_by_role("button", name="Try again").click()
    expect(page.locator("main")).to_contain_text("The ferry ran aground that summer.")
