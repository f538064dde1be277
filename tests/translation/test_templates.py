"""What is given away is read in the language of whoever gives it, as the pages are (`tests/web/test_language.py`)."""

from __future__ import annotations

from collections.abc import Iterator
from gettext import NullTranslations
from types import SimpleNamespace

import pytest

from kinphoto.share import pages
from kinphoto.translation import catalogues, templates

WORDS = {"Search": "Suche", "{count} photographs": "{count} Fotografien", "told by": "erzählt von"}


class Swapped(NullTranslations):
    """A language of three messages, with a plural of its own for two."""

    def gettext(self, message: str) -> str:
        return WORDS.get(message, message)

    def ngettext(self, msgid1: str, msgid2: str, n: int) -> str:
        return {1: "Bild", 2: "Bilderpaar"}.get(n, "Bilder") if msgid1 == "photograph" else msgid2


@pytest.fixture
def swapped(monkeypatch: pytest.MonkeyPatch) -> Iterator[None]:
    """The pages of a site in that language."""
    monkeypatch.setattr(pages, "catalogue", lambda surface: Swapped())
    pages._environment.cache_clear()
    yield
    pages._environment.cache_clear()


SITE = SimpleNamespace(title="Ours", boxes=True, stories=True, foot="")


@pytest.mark.usefixtures("swapped")
@pytest.mark.parametrize(("number", "said"), [(1, "1 Bild"), (2, "2 Bilderpaar"), (3, "3 Bilder")])
def test_a_site_in_another_language(number: int, said: str) -> None:
    """Its words, its numbers with their plurals, and what its search says."""
    made = pages.page(
        "index.html", 0, site=SITE, title="Ours", here="", photographs=number, people=9, span="", cards=[]
    )
    text = made.decode()
    assert "<button>Suche</button>" in text
    assert f'<p class="lead">{said} of 9 people.</p>' in text
    assert "many: (count) => `${count} Fotografien`," in pages.static("search.js").decode()


@pytest.mark.usefixtures("swapped")
def test_words_in_expressions_keep_the_space_around_them() -> None:
    """ "told by " before a name."""
    told = [SimpleNamespace(id="T1", label="Ice", told_by="Ada", when="", sound="", text="", people=(), cards=())]
    made = pages.page("stories.html", 0, site=SITE, title="Stories", here="stories", told=told, stories=[])
    assert '<p class="when">erzählt von Ada</p>' in made.decode()


def test_no_catalogue_means_no_change(monkeypatch: pytest.MonkeyPatch) -> None:
    """In English nothing is put between a template and its compiler."""
    monkeypatch.setattr(catalogues, "CATALOGUES", catalogues.CATALOGUES / "nowhere")
    catalogues.catalogue.cache_clear()
    assert catalogues.catalogue("given") is None
    environment = pages._environment.__wrapped__()
    assert templates.in_language(environment, None) is environment
    assert environment.extensions == {}
    catalogues.catalogue.cache_clear()
