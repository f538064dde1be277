"""Going through all pages like a reader who follows every link, and reading what their HTML holds."""

from __future__ import annotations

from collections import Counter, deque
from dataclasses import dataclass, field
from html.parser import HTMLParser
from urllib.parse import urljoin, urlsplit

from .client import Client

VOID = {"area", "base", "br", "col", "embed", "hr", "img", "input", "link", "meta", "source", "track", "wbr"}


@dataclass
class Form:
    """A form of a page: where it is sent, how, the fields with their values, and where its buttons send it instead."""

    action: str
    method: str
    fields: dict[str, str] = field(default_factory=dict)
    elsewhere: list[str] = field(default_factory=list)


class Document(HTMLParser):
    """What one page's HTML holds: every start tag with its attributes, the forms, the ids, and the text of scripts."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.tags: list[tuple[str, dict[str, str]]] = []
        self.forms: list[Form] = []
        self.scripts: list[str] = []
        self._open: list[str] = []
        self.feed(text)
        self.close()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        """Note a start tag."""
        given = {name: value or "" for name, value in attrs}
        self.tags.append((tag, given))
        if tag not in VOID:
            self._open.append(tag)
        if tag == "form":
            self.forms.append(Form(given.get("action", ""), given.get("method", "get").lower()))
        elif self.forms and "form" in self._open:
            if tag in ("input", "textarea", "select") and "name" in given:
                self.forms[-1].fields[given["name"]] = given.get("value", "")
            if "formaction" in given:
                self.forms[-1].elsewhere.append(given["formaction"])

    def handle_endtag(self, tag: str) -> None:
        """Note an end tag."""
        while tag in self._open and self._open.pop() != tag:
            pass

    def handle_data(self, data: str) -> None:
        """Note what stands in a script."""
        if self._open and self._open[-1] == "script":
            self.scripts.append(data)

    def addresses(self, *attributes: str) -> list[str]:
        """The values of these attributes."""
        return [given[name] for _, given in self.tags for name in attributes if name in given]

    @property
    def ids(self) -> set[str]:
        """The ids that stand in it."""
        return {given["id"] for _, given in self.tags if "id" in given}


@dataclass
class Crawl:
    """The answers of every address of ours that can be reached from a start, by address (path and query)."""

    pages: dict[str, str] = field(default_factory=dict)
    documents: dict[str, Document] = field(default_factory=dict)
    files: dict[str, bytes] = field(default_factory=dict)
    status: dict[str, int] = field(default_factory=dict)
    landed: dict[str, str] = field(default_factory=dict)
    headers: dict[str, dict[str, str]] = field(default_factory=dict)
    linked_from: dict[str, str] = field(default_factory=dict)


LINKS = ("href", "src", "xlink:href", "data-tiles", "data-offers")


QUESTIONS = 2
"""Addresses that are followed of one path with different questions: those of two faces make pages of one kind."""


def crawl(client: Client, *starts: str, most: int = 3000) -> Crawl:
    """Every page that can be reached by links, and every small picture and script. Large pictures are not made;
    statements are not switched off for a look."""
    found, waiting = Crawl(), deque(starts or ("/",))
    seen = set(waiting)
    questions: Counter[str] = Counter()
    while waiting:
        address = waiting.popleft()
        answer = client.get(address)
        found.status[address] = answer.status_code
        found.headers[address] = dict(answer.headers)
        found.landed[address] = answer.url.raw_path.decode()
        if not answer.headers.get("content-type", "").startswith("text/html"):
            found.files[address] = answer.content
            continue
        found.pages[address] = answer.text
        document = found.documents[address] = Document(answer.text)
        for link in document.addresses(*LINKS):
            parts = urlsplit(urljoin(str(answer.url), link))
            onward = parts.path + (f"?{parts.query}" if parts.query else "")
            here = f"{parts.scheme}://{parts.netloc}" == f"{answer.url.scheme}://{answer.url.netloc.decode()}"
            if not here or onward in seen or "off=" in parts.query or parts.path.endswith(("view.jpg", "tiles.json")):
                continue
            seen.add(onward)
            questions[parts.path] += bool(parts.query)
            if parts.query and questions[parts.path] > QUESTIONS:
                continue
            found.linked_from[onward] = address
            waiting.append(onward)
        assert len(seen) < most, "the pages lead on and on"
    return found
