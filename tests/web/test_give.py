"""The page Give: what would go, consents, private marks, sheets as PDF; for the keeper alone."""

from __future__ import annotations

from kinphoto.archive import Archive

from .conftest import Browser


def test_the_page_shows_what_would_go_and_whom_to_ask(browser: Browser) -> None:
    """The public first of all gets what shows nobody living; those in the way are named with their photographs."""
    text = browser.get("/give?for=public")
    assert "32 photographs would go to the public" in text
    assert "somebody in them may be living and has not agreed" in text
    assert "Judith Quillern" in text


def test_a_consent_is_recorded_and_revoked(browser: Browser, archive: Archive) -> None:
    """As `kinphoto give consent` and `give revoke` do; then more goes, and no longer."""
    before = len(archive.give.report("public").going)
    fields: dict[str, str | list[str]] = {"person": "I68", "to": "public", "by": "Susanne", "on": "3 May 2026"}
    browser.done("/give/consent", fields, "/give?for=public")
    (made,) = archive.give.consents()
    assert (made.person.name if made.person else "", made.on, made.asked_by) == (
        "Judith Quillern", "2026-05-03", "Susanne",
    )  # fmt: skip
    assert len(archive.give.report("public").going) > before
    browser.done("/give/revoke", {"consent": made.id}, "/give")
    assert archive.give.consents() == ()


def test_private_cleared_and_a_new_audience(browser: Browser, archive: Archive) -> None:
    """Photographs by their codes, with commas or without."""
    browser.done("/give/audience", {"name": "cousins", "who": "Ruth <in Hull>"}, "/give")
    assert "Ruth &lt;in Hull&gt;" in browser.get("/give?for=cousins")
    browser.done("/give/private", {"photographs": "K00008, K00009", "what": "private"}, "/give")
    assert {one.photograph for one in archive.give.report("household").held_back} >= {"K00008", "K00009"}
    sent: dict[str, str | list[str]] = {"photographs": "K00021", "to": "cousins", "by": "S", "what": "words"}
    browser.done("/give/clear", sent, "/give?for=cousins")
    assert "K00021" not in archive.give.report("cousins").words_held
    said = browser.refused("/give/clear", {**sent, "by": " "}, archive)
    assert "who asked" in said


def test_sheets_and_labels_are_pdfs(browser: Browser) -> None:
    """To be printed from the browser, and kept nowhere."""
    for address in ("/give/sheets.pdf?for=household&ask=Aunt+May&photographs=K00009", "/give/labels.pdf?boxes=1"):
        answer = browser.client.get(address)
        assert answer.headers["content-type"] == "application/pdf"
        assert answer.content.startswith(b"%PDF-")
