"""A site on a stick: pages and pictures in a folder, made of what may go to an audience and of nothing else.

Everybody it names has a page when they are in a picture that goes (`people_on_site.py`). A second run writes only
what changed.
"""

from __future__ import annotations

import json
from collections import defaultdict
from collections.abc import Callable, Collection, Iterator
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Annotated, Any, NamedTuple

from sqlalchemy import Engine

from kinphoto.archive.dates.estimates import refresh
from kinphoto.archive.giving.copies import Unusable, fitted, kept_away, key_of, made_anew
from kinphoto.archive.giving.given import Given, GivenScan
from kinphoto.archive.giving.people_on_site import PeopleOnSite, PersonOnPage
from kinphoto.archive.giving.selection import Gift, Report, Wanted, gift, of_studios, refuse_empty
from kinphoto.archive.giving.stories import GivenStory, given_recording
from kinphoto.archive.giving.wording import facts
from kinphoto.errors import UnreadableFileError
from kinphoto.phrases import listed, opening
from kinphoto.scans.copying import several_at_once
from kinphoto.scans.picture import THUMBNAIL_EDGE
from kinphoto.scans.tiles import small_path
from kinphoto.scans.upright import ScanFile
from kinphoto.share import embed, pages, xmp
from kinphoto.share.facts import PictureFacts
from kinphoto.share.folder import GiftFolder, SplicedFile
from kinphoto.sounds.kinds import SUFFIXES
from kinphoto.store.opening import folder_of
from kinphoto.store.session import reading

EDGE = 2048
"""The longest edge in pixels of a picture to look at full screen."""
_PER_PAGE = 120
_ON_FIRST = 24
_FOOT = "These pictures and stories belong to the family. Ask before you pass them on."


@dataclass(frozen=True, slots=True)
class SiteWritten:
    """A site that was written, or would be."""

    report: Annotated[Report, "what goes, and what is held back and why"]
    folder: Annotated[str, "the folder it is in; open its index.html"]
    done: Annotated[bool, "false without `--write`: nothing was written"]
    studio: Annotated[
        tuple[str, ...],
        "codes of photographs with a photographer or studio and no rights recorded, left out until you say "
        "`--rights-asked`; empty for the household",
    ]
    written: Annotated[int, "how many files were written"] = 0
    unchanged: Annotated[int, "how many were there already as they are now"] = 0
    removed: Annotated[int, "how many of an earlier run were removed, because they no longer go"] = 0
    size: Annotated[int, "bytes of all of them"] = 0
    unusable: tuple[Unusable, ...] = ()
    unheard: Annotated[
        tuple[str, ...],
        "ids of stories whose recordings stay, because what their files tell besides the sound cannot be taken out, or "
        "they are missing",
    ] = ()


class _Card(NamedTuple):
    """A photograph among others."""

    code: str
    label: str
    when: str
    width: int
    height: int


class _File(NamedTuple):
    """A file with what it is made from, and how."""

    name: str
    key: str
    make: Callable[[], bytes]


class _Site(NamedTuple):
    """What every page knows."""

    title: str
    boxes: bool
    stories: bool
    foot: str = _FOOT


def write_site(
    engine: Engine,
    folder: Path | str,
    audience: str,
    wanted: Wanted = Wanted(),
    *,
    title: str = "Family photographs",
    rights_asked: bool = False,
    write: bool = False,
    progress: Callable[[int, int], None] | None = None,
) -> SiteWritten:
    """Write a site for an audience into a folder of its own; without `write` only say what would go.

    Raises NotFoundError, AmbiguousError, InvalidValueError for an unusable folder or where nothing may go, and
    ArchiveError for a folder with other things in it.
    """
    refresh(engine)
    with reading(engine) as connection:
        found = gift(connection, audience, wanted)
        inside = GiftFolder(Path(folder), "a site", found.report.audience, kept_away(connection))
        studio = frozenset[str]() if rights_asked else of_studios(connection, found)
        photographs = sorted((one for one in found.photographs if one.code not in studio), key=_order)
        people = PeopleOnSite(connection, found.view, photographs)
    if not write:
        return SiteWritten(found.report, str(inside.folder), False, tuple(sorted(studio)))
    refuse_empty(found)
    making = _Making(
        inside, photographs, people, " ".join(title.split()) or "Family photographs", folder_of(engine), found
    )  # fmt: skip
    unusable = making.write(progress)
    return SiteWritten(
        found.report, str(inside.folder), True, tuple(sorted(studio)), inside.written, inside.unchanged,
        inside.removed, inside.size, unusable, tuple(making.unheard),
    )  # fmt: skip


def _order(one: Given) -> tuple[bool, int, str]:
    return one.year is None, one.year or 0, one.code


class _Making:
    """One run of writing a site."""

    def __init__(
        self, folder: GiftFolder, photographs: list[Given], people: PeopleOnSite, title: str, archive: Path, gift: Gift
    ) -> None:
        self._folder, self._photographs, self._people, self._archive = folder, photographs, people, archive
        self._told = [one for one in photographs if one.note or one.said]
        self._stories, self._view = gift.stories, gift.view
        self._sounds: dict[str, str] = {}
        self._by_code: dict[str, Given] = {}
        self._stories_about: dict[tuple[str, str], list[GivenStory]] = defaultdict(list)
        for story in gift.stories:
            for code in dict.fromkeys(story.photographs):
                self._stories_about[code, ""].append(story)
            for who in dict.fromkeys(story.people):
                self._stories_about["", who].append(story)
        self.unheard: list[str] = []
        self._site = _Site(title, any(one.boxes for one in photographs), bool(self._told or self._stories))
        self._made = key_of(*(pages.static(name) for name in pages.STATIC), [_templates()])

    def write(self, progress: Callable[[int, int], None] | None) -> tuple[Unusable, ...]:
        """Write everything, pictures first: a photograph whose scan cannot be read has no page."""
        self._folder.begin(list(self._names()))
        unusable = self._pictures(progress)
        self._recordings()
        bad = {one.photograph for one in unusable}
        self._photographs = [one for one in self._photographs if one.code not in bad]
        self._by_code = {one.code: one for one in self._photographs}
        for name in pages.STATIC:
            data = pages.static(name)
            self._folder.put(name, key_of(data), partial(bytes, data))
        for name, template, values in self._pages():
            depth = name.count("/")
            values = {"title": self._site.title, "here": "", **values, "site": self._site}
            self._folder.put(name, key_of(self._made, template, values), partial(pages.page, template, depth, **values))
        words = self._search_words()
        self._folder.put("search-words.js", key_of(words), lambda: words)
        self._folder.finish()
        return unusable

    def _names(self) -> Iterator[str]:
        yield from pages.STATIC
        for one in self._photographs:
            yield from (f"photo/{one.code}.html", f"small/{one.code}.jpg")
            yield from (f"pictures/{name}.jpg" for name, _ in _scans(one))
        for story in self._stories:
            yield from (f"sounds/{story.id}{ending}" for ending in SUFFIXES.values() if story.recording)

    def _recordings(self) -> None:
        """The recordings, as they may be given; `_sounds` has the name of each by its story."""
        for one in self._stories:
            if one.recording is None:
                continue
            key = key_of(one.recording.sha256, self._view.at_home)
            known = (f"sounds/{one.id}{ending}" for ending in SUFFIXES.values())
            name = next((name for name in known if not self._folder.lacks(name, key)), "")
            if name:
                self._folder.put(name, key, bytes)
            else:
                name = self._recording(one, key)
            if name:
                self._sounds[one.id] = name
            else:
                self.unheard.append(one.id)

    def _recording(self, one: GivenStory, key: str) -> str:
        with TemporaryDirectory(prefix="kinphoto-") as place:
            try:
                path = given_recording(one, self._view, Path(place))
                size = 0 if path is None else path.stat().st_size
            except OSError:
                return ""
            if path is None:
                return ""
            name = f"sounds/{one.id}{path.suffix}"
            self._folder.put(name, key, lambda: SplicedFile(path.open("rb", buffering=0), [range(size)]))
            return name

    def _shown_stories(self, photograph: str = "", person: str = "") -> list[dict[str, Any]]:
        """The stories about a photograph or a person, or all."""
        about = self._stories_about[photograph, person] if photograph or person else self._stories
        return [
            {
                "id": one.id, "label": one.label, "text": one.text, "told_by": one.told_by, "when": one.when,
                "sound": self._sounds.get(one.id, ""),
                "people": [self._people.who(who) for who in one.people if self._people.knows(who)],
                "cards": _cards([self._by_code[code] for code in one.photographs if code in self._by_code]),
            }
            for one in about
        ]  # fmt: skip

    def _pictures(self, progress: Callable[[int, int], None] | None) -> tuple[Unusable, ...]:
        """The pictures in two sizes, on all cores; those that are there already are only counted."""
        unusable: list[Unusable] = []
        lacking: list[tuple[Given, list[_File]]] = []
        for one in self._photographs:
            files = list(self._files(one))
            if any(self._folder.lacks(name, key) for name, key, _ in files):
                lacking.append((one, files))
            else:
                self._put(one, files)
        there = len(self._photographs) - len(lacking)
        for done, (_, problem) in enumerate(several_at_once(lambda each: self._put(*each), lacking), there + 1):
            if problem is not None:
                unusable.append(problem)
            if progress is not None:
                progress(done, len(self._photographs))
        return tuple(sorted(unusable))

    def _files(self, one: Given) -> Iterator[_File]:
        """The pictures of one photograph."""
        for name, scan in _scans(one):
            key = key_of(scan.sha256, scan.turn, *scan.corners, EDGE, _facts(one, scan))
            yield _File(f"pictures/{name}.jpg", key, partial(_picture, one, scan))
        source = one.front.source
        yield _File(f"small/{one.code}.jpg", key_of(source.name), partial(_small, self._archive, source))

    def _put(self, one: Given, files: Collection[_File]) -> Unusable | None:
        """Write the pictures of one photograph; why they cannot be made."""
        try:
            for each in files:
                self._folder.put(*each)
        except UnreadableFileError as problem:
            return Unusable(one.code, problem.what)
        except OSError as problem:
            return Unusable(one.code, problem.strerror or str(problem))
        return None

    def _pages(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        """Every page: its name, its template and what is filled in."""
        shown = self._photographs
        dated = [(one.year, one.date.inferred) for one in shown if one.year is not None]
        known = {year for year, inferred in dated if not inferred}
        ends = sorted({f(year for year, _ in dated) for f in (min, max)} if dated else ())
        span = " to ".join(str(year) if year in known else f"about {year}" for year in ends)
        step = max(1, len(shown) // _ON_FIRST)
        yield "index.html", "index.html", {
            "photographs": len(shown), "people": len(self._people.pictures), "span": span,
            "cards": _cards(shown[::step][:_ON_FIRST]),
        }  # fmt: skip
        yield from self._years()
        yield from self._each_person()
        yield from self._boxes()
        for place, one in enumerate(shown):
            before, after = (shown[at].code if 0 <= at < len(shown) else "" for at in (place - 1, place + 1))
            yield f"photo/{one.code}.html", "photo.html", {
                "title": one.label, "photo": self._photo(one), "before": before, "after": after,
                "told": self._shown_stories(photograph=one.code),
            }  # fmt: skip
        if self._site.stories:
            told = [one for one in shown if one.note or one.said]
            stories = [{**_card(one)._asdict(), "note": one.note, "said": one.said} for one in told]
            yield "stories.html", "stories.html", {
                "title": "Stories", "here": "stories", "stories": stories, "told": self._shown_stories(),
            }  # fmt: skip
        yield "search.html", "search.html", {"title": "Search", "here": "search"}

    def _years(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        decades: dict[str, list[Given]] = defaultdict(list)
        for one in self._photographs:
            decades[f"{one.year // 10 * 10}s" if one.year is not None else "undated"].append(one)
        links = []
        for decade, inside in decades.items():
            title = "Without a date" if decade == "undated" else f"The {decade}"
            links.append({"href": f"{decade}.html", "name": title, "note": str(len(inside))})
            yield from _lists(f"years/{decade}", title, "years", inside)
        yield "years/index.html", "links.html", {"title": "Years", "here": "years", "links": links}

    def _each_person(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        everybody = self._people.everybody()
        bad = {one.code for one in self._photographs}
        for who in everybody:
            yield f"people/{who.id}.html", "person.html", {
                "title": who.name, "here": "people", "who": who, "events": self._people.events(who.id),
                "family": self._people.family(who.id), "told": self._shown_stories(person=who.id),
                "cards": _cards([one for one in self._people.pictures[who.id] if one.code in bad]),
            }  # fmt: skip
        links = [{"href": f"{who.id}.html", "name": who.name, "note": who.years} for who in everybody]
        yield "people/index.html", "links.html", {"title": "People", "here": "people", "links": links}

    def _boxes(self) -> Iterator[tuple[str, str, dict[str, Any]]]:
        if not self._site.boxes:
            return
        boxes: dict[tuple[str, ...], list[Given]] = defaultdict(list)
        for one in self._photographs:
            if one.boxes:
                boxes[one.boxes].append(one)
        links = []
        for number, (names, inside) in enumerate(sorted(boxes.items()), 1):
            title = " › ".join(names)
            links.append({"href": f"{number}.html", "name": title, "note": str(len(inside))})
            yield from _lists(f"boxes/{number}", title, "boxes", inside)
        yield "boxes/index.html", "links.html", {"title": "Boxes", "here": "boxes", "links": links}

    def _photo(self, one: Given) -> dict[str, Any]:
        width, height = fitted(one.front.upright, EDGE)
        seen: dict[str, PersonOnPage] = {}
        for place, name in enumerate(one.names):
            key = name.id or f"living {place}"
            seen.setdefault(key, self._people.who(name.id) if name.id else PersonOnPage("", name.name, "", False))
        alt = listed(one.who) or ("An album page" if one.page else one.label)
        others = []
        for stem, scan in _scans(one)[1:]:
            across, down = fitted(scan.upright, EDGE)
            what = {"verso": "The back", "detail": "A detail", "recto": "Another scan"}[scan.side]
            others.append({"name": stem, "width": across, "height": down, "alt": what})
        return {
            **{key: getattr(one, key) for key in ("code", "label", "place", "note", "said", "maker", "rights")},
            "when": opening(_when(one)), "width": width, "height": height, "alt": alt, "people": list(seen.values()),
            "framed": len(seen) > 1 and any(name.region for name in one.names), "others": others,
            "told_by": list(one.told_by), "boxes": list(one.boxes),
        }  # fmt: skip

    def _search_words(self) -> bytes:
        """What the search looks through, as a script: a page in a folder may not fetch anything else."""
        told: dict[str, list[str]] = defaultdict(list)
        for story in self._stories:
            for code in story.photographs:
                told[code] += [story.title, story.text]
        rows = [
            {"code": one.code, "label": one.label, "when": _when(one),
             "words": " ".join((one.code, one.label, *one.who, one.place, _when(one), one.note, *one.said, *one.boxes,
                                *told[one.code]))}
            for one in self._photographs
        ]  # fmt: skip
        text = json.dumps(rows, ensure_ascii=False, separators=(",", ":")).replace("<", "\\u003c")
        return f"const PHOTOGRAPHS = {text};\n".encode("utf-8", "replace")


def _templates() -> str:
    return key_of(*(pages.template_text(name) for name in pages.templates()), *filter(None, [pages.language()]))


def _portions(photographs: list[Given], size: int) -> Iterator[list[Given]]:
    for start in range(0, len(photographs), size):
        yield photographs[start : start + size]


def _lists(stem: str, title: str, here: str, inside: list[Given]) -> Iterator[tuple[str, str, dict[str, Any]]]:
    """The photographs of a year or box, on as many pages as it takes."""
    parts = list(_portions(inside, _PER_PAGE))
    for at, part in enumerate(parts, 1):
        name = f"{stem}{f'-{at}' if at > 1 else ''}.html"
        last = stem.rpartition("/")[2]
        yield name, "list.html", {
            "title": title, "here": here, "cards": _cards(part), "stem": last, "pages": len(parts), "at": at,
        }  # fmt: skip


def _cards(photographs: Collection[Given]) -> list[_Card]:
    return [_card(one) for one in photographs]


def _card(one: Given) -> _Card:
    return _Card(one.code, one.label, _when(one), *fitted(one.front.upright, THUMBNAIL_EDGE))


def _when(one: Given) -> str:
    """When it was taken, for a page: "12 June 1931", "between 1919 and 1926 (worked out)"."""
    return f"{one.date.bare} (worked out)" if one.date.inferred else one.date.bare


def _scans(one: Given) -> list[tuple[str, GivenScan]]:
    """The scans of a photograph with the names of their pictures, the front first."""
    return [(one.code, one.front), *((f"{one.code}-{at}", scan) for at, scan in enumerate(one.others, 2))]


def _facts(one: Given, scan: GivenScan) -> PictureFacts:
    return facts(one, scan, 1, fitted(scan.upright, EDGE))


def _picture(one: Given, scan: GivenScan) -> bytes:
    """The picture for the full screen, with names and dates inside."""
    data, size = made_anew(scan, EDGE)
    said = facts(one, scan, 1, size)
    packet, _ = xmp.packet_within(said, embed.MOST_XMP)
    inside = embed.EmbeddedMetadata(packet, 1, None, said.taken, said.digitized)
    return embed.joined(data, embed.jpeg(data, inside))


def _small(archive: Path, source: ScanFile) -> bytes:
    return small_path(archive, source).read_bytes()
