"""From a tree file to its people and families, as plain values, one record at a time.

This reads GEDCOM 5.5 to 7.0, and what programs commonly write beyond the standards. Pointers come without their @. The
values are named tuples, not data classes, because a tree has a million of them and they are made three times as fast.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from operator import itemgetter
from typing import NamedTuple

from kinphoto.gedcom import decode, names, parse, records, tags
from kinphoto.gedcom.dates import read_gedcom
from kinphoto.gedcom.names import Name
from kinphoto.gedcom.parse import Item
from kinphoto.gedcom.records import Record, Warnings
from kinphoto.reason.model.span import Dated, Span

_SEXES = {"M": "M", "F": "F", "X": "X", "U": "U", "N": "U", "": "U"}
_SEXES_IN_WORDS = {"MALE": "M", "FEMALE": "F", "W": "F"}
_PEDIGREES = {
    "birth": "birth", "natural": "birth", "adopted": "adopted", "foster": "foster", "sealing": "sealing",
    "step": "step", "stepchild": "step", "guardian": "foster", "adoption": "adopted", "adoptive": "adopted",
}  # fmt: skip
_NO_DATE = Dated(Span())


class Header(NamedTuple):
    """The file's version of GEDCOM, "" when it does not say."""

    version: str


class Event(NamedTuple):
    """An event or a dated fact. `kind` is its TYPE line, or its own value; `quality` is QUAY, 0 to 3."""

    tag: str
    kind: str
    date: Dated
    place: str
    quality: int | None
    line: int


class PersonRecord(NamedTuple):
    """A person; `parents` holds (family, pedigree), `families` those in which they are a partner.

    `shared` are pointers to notes in records of their own. `uid` is the best of `uids`, all the identifiers that are
    valid beyond this file. `adopted_by` holds (family, HUSB or WIFE) where only one partner adopted them.
    """

    code: str
    line: int
    sex: str
    names: tuple[Name, ...]
    events: tuple[Event, ...]
    parents: tuple[tuple[str, str], ...]
    families: tuple[str, ...]
    uid: str
    living: int | None
    note: str
    shared: tuple[str, ...] = ()
    uids: tuple[str, ...] = ()
    adopted_by: tuple[tuple[str, str], ...] = ()


class SharedNote(NamedTuple):
    """A note that people point to."""

    code: str
    text: str


class Child(NamedTuple):
    """A child of a family, with its pedigree towards each partner where the family's record says ("" otherwise)."""

    code: str
    to_father: str = ""
    to_mother: str = ""


class Family(NamedTuple):
    """A family; partners are (pointer, HUSB or WIFE) in the order of the file."""

    code: str
    line: int
    partners: tuple[tuple[str, str], ...]
    children: tuple[Child, ...]
    events: tuple[Event, ...]


def read_tree(
    source: decode.TreeFile, warn: Warnings, progress: Callable[[int], None] | None = None
) -> Iterator[Header | PersonRecord | Family | SharedNote]:
    """The records of a file in their order, after its Header, in constant memory.

    What is odd about the file as a whole is reported for line 0. `progress` is called with the count of bytes of text
    behind us, for a progress bar.
    """
    reader = _Reader(warn)
    tag, line, ended = "", 0, False
    for record in records.split(_counted(decode.blocks(source, warn), progress), warn):
        if not line and record.tag != "HEAD":
            warn(0, "the file does not begin with HEAD, so its beginning may be missing; the rest was read")
        tag, line = record.tag, record.line
        if ended:
            warn.once(line, "there are records after TRLR, the end of the file; they were read all the same")
        ended = ended or tag == "TRLR"
        if tag == "INDI" or tag == "FAM":
            if record.pointer:
                yield reader.person(record) if tag == "INDI" else reader.family(record)
            else:
                warn(line, f"this {tag} record has no id; left out")
        elif tag == "HEAD":
            yield reader.header(record)
        elif tag in tags.SHARED_NOTES and record.pointer:
            yield reader.shared_note(record)
        elif not tag:
            warn(line, "this record cannot be read; left out")
        elif tag not in tags.OTHER_RECORDS:
            warn.once(line, f"kinphoto does not use {tag} records; left out")
    if not ended:
        warn(
            0,
            f"the file ends without TRLR, in the record of line {line}, so it may have been cut off. What is "
            "there was read; export the tree again if you can",
        )


def _counted(blocks: Iterator[bytes], progress: Callable[[int], None] | None) -> Iterator[bytes]:
    for block in blocks:
        yield block
        if progress is not None:
            progress(len(block))


class _Reader:
    """Reads records. The version of the file decides how @ is written."""

    def __init__(self, warn: Warnings) -> None:
        self.warn = warn
        self.seven = False

    def header(self, record: Record) -> Header:
        """The version of GEDCOM."""
        version = ""
        for item in parse.items(record, self.warn):
            if item.tag == "GEDC":
                version = item.value_of("VERS")
        self.seven = version.startswith("7")
        return Header(version)

    def person(self, record: Record) -> PersonRecord:
        """An INDI record."""
        person_names: list[Name] = []
        events: list[Event] = []
        parents: dict[str, str] = {}
        adopted_by: list[tuple[str, str]] = []
        families: list[str] = []
        uids: list[tuple[int, str]] = []
        notes: list[str] = []
        shared: list[str] = []
        sex, flag = "U", None
        for item in parse.items(record, self.warn):
            tag = item.tag
            if tag in tags.PERSON_EVENTS or (tag[0] == "_" and item.has("DATE")):
                if item.value == "N" and not item.has("DATE"):  # it has not happened
                    flag = 1 if tag == "DEAT" else flag
                    continue
                events += self._events(item)
                if tag == "ADOP" or tag == "BIRT":
                    _add_birth_families(item, tag, parents, adopted_by)
            elif tag == "NAME":
                person_names += names.read(item, self._text)
            elif tag == "SEX":
                sex = self._sex(item)
            elif tag == "FAMC":
                _add_parents(item, parents)
            elif tag == "FAMS":
                families.append(_code(item.value))
            elif tag in tags.SHARED_NOTES:
                self._note(item, notes, shared)
            elif tag in tags.IDENTIFIERS:
                uids.append((tags.IDENTIFIERS.index(tag), _uid(item, tag)))
            elif tag in tags.LIVING:
                flag = _living(item.value, flag)
            elif tag == "NO":
                flag = 1 if item.value.strip() == "DEAT" and not item.has("DATE") else flag
            elif tag in names.SEPARATE_TAGS and "@" not in item.value:
                person_names += [n for n in (names.plain(self._text(item.value), names.SEPARATE_TAGS[tag]),) if n.text]
            elif tag not in tags.OTHER_LINES:
                self._unused(item)
        known = [uid for _, uid in sorted(uids, key=itemgetter(0)) if uid]
        return PersonRecord(
            code=_code(record.pointer),
            line=record.line,
            sex=sex,
            names=tuple(person_names),
            events=tuple(events),
            parents=tuple(parents.items()),
            families=tuple(families),
            uid=known[0] if known else "",
            living=0 if any(e.tag in tags.DEATH for e in events) else flag,
            note="\n".join(note for note in notes if note),
            shared=tuple(shared),
            uids=tuple(dict.fromkeys(known)),
            adopted_by=tuple(adopted_by),
        )

    def family(self, record: Record) -> Family:
        """A FAM record."""
        partners: list[tuple[str, str]] = []
        children: list[Child] = []
        events: list[Event] = []
        for item in parse.items(record, self.warn):
            tag = item.tag
            if tag in tags.FAMILY_EVENTS or (tag[0] == "_" and item.has("DATE")):
                if item.value != "N" or item.has("DATE"):
                    events += self._events(item)
            elif tag == "HUSB" or tag == "WIFE":
                code = _code(item.value)
                if code and code != "VOID":
                    partners.append((code, tag))
            elif tag == "CHIL":
                child = _child(item)
                if child.code and child.code != "VOID":
                    children.append(child)
            elif tag not in tags.OTHER_LINES:
                self._unused(item)
        return Family(_code(record.pointer), record.line, tuple(partners), tuple(children), tuple(events))

    def shared_note(self, record: Record) -> SharedNote:
        """A NOTE or SNOTE record."""
        words = parse.words(record, self.warn)
        return SharedNote(_code(record.pointer), "" if words.startswith(tags.OUR_NOTE) else self._text(words))

    def _events(self, item: Item) -> list[Event]:
        """An event, once for each of its dates, the preferred one first."""
        dates: list[Dated] = []
        place, kind, quality = "", self._text(item.value), None
        for below in item.below:
            what, value = below.tag, below.value
            if what == "DATE":
                if dates:
                    self.warn(
                        below.line, f"{item.tag} already has a date, which is used; this one is kept as an alternative"
                    )
                dates.append(self._date(below))
            elif what == "PLAC":
                place = self._text(value)
            elif what == "TYPE":
                kind = self._text(value)
            elif what == "SOUR" and quality is None:
                quality = _quality(below)
        kind = "" if kind == "Y" else kind
        return [Event(item.tag, kind, date, place, quality, item.line) for date in dates or (_NO_DATE,)]

    def _date(self, item: Item) -> Dated:
        text = item.value.strip()
        reading = read_gedcom(text)
        if reading.warning:
            self.warn(item.line, reading.warning)
        phrase = item.value_of("PHRASE") if item.below else ""
        if not phrase:
            return reading.dated
        return replace(reading.dated, words=f"{text} ({phrase})" if text else f"({phrase})")

    def _unused(self, item: Item) -> None:
        self.warn.once(item.line, f"kinphoto does not use {item.tag} lines; left out")

    def _sex(self, item: Item) -> str:
        value = item.value.strip().upper()
        if value in _SEXES:
            return _SEXES[value]
        found = _SEXES_IN_WORDS.get(value, "U")
        self.warn(
            item.line, f'"{value}" is not a standard sex (M, F, X or U); read as {"unknown" if found == "U" else found}'
        )
        return found

    def _note(self, item: Item, notes: list[str], shared: list[str]) -> None:
        """The text of a note, or its pointer to a shared one; "" for a note that we wrote ourselves."""
        value = item.text
        if value[:1] == "@" and value.rstrip()[-1:] == "@" and value[:2] != "@@":
            shared.append(_code(value))
        else:
            notes.append("" if value.startswith(tags.OUR_NOTE) else self._text(value))

    def _text(self, value: str) -> str:
        """A value without its escapes: 5.5.1 doubles every @, 7.0 only one at the start."""
        if "@" not in value:
            return value.strip()
        if not self.seven:
            return value.replace("@@", "@").strip()
        return value.removeprefix("@").strip() if value.startswith("@@") else value.strip()


def _code(pointer: str) -> str:
    return pointer.strip().strip("@").strip()


def _add_birth_families(item: Item, tag: str, parents: dict[str, str], adopted_by: list[tuple[str, str]]) -> None:
    """ADOP and BIRT may name their family, and which of its partners adopted."""
    for below in item.below:
        if below.tag == "FAMC" and (code := _code(below.value)) and code != "VOID":
            who = below.value_of("ADOP").upper() if tag == "ADOP" else ""
            if who in ("HUSB", "WIFE"):
                adopted_by.append((code, who))
                parents.setdefault(code, "birth")
            else:
                parents[code] = "adopted" if tag == "ADOP" else "birth"


def _add_parents(item: Item, parents: dict[str, str]) -> None:
    """FAMC with its PEDI; ADOP has precedence."""
    code = _code(item.value)
    pedigree = ""
    for below in item.below:
        if below.tag == "PEDI":
            pedigree = _pedigree(below)
    if code and code != "VOID" and (pedigree or code not in parents):
        parents[code] = pedigree or "birth"


def _pedigree(item: Item) -> str:
    """A PEDI value of either version; for OTHER, its PHRASE."""
    value = item.value.strip().lower()
    if value == "other":
        phrase = item.value_of("PHRASE").lower()
        value = "step" if "step" in phrase else "foster" if "foster" in phrase else "unknown"
    return _PEDIGREES.get(value, "unknown")


def _child(item: Item) -> Child:
    """CHIL, with the pedigree towards each parent that some programs give."""
    pedigree = {below.tag: _pedigree(below) for below in item.below}
    return Child(_code(item.value), pedigree.get("_FREL", ""), pedigree.get("_MREL", ""))


def _quality(item: Item) -> int | None:
    for below in item.below:
        if below.tag == "QUAY" and below.value.strip() in ("0", "1", "2", "3"):
            return int(below.value)
    return None


def _uid(item: Item, tag: str) -> str:
    """An identifier for comparison: a UUID without its dashes and checksum, others with their tag and type."""
    value: str = item.value.strip()
    if tag in ("UID", "_UID"):
        bare = value.replace("-", "").strip("{}").upper()
        return bare[:32] if len(bare) in (32, 36) else value
    return f"{tag} {value} {item.value_of('TYPE')}".strip() if value else ""


def _living(value: str, before: int | None) -> int | None:
    """A flag that somebody is living; a privacy restriction counts as one."""
    words = {word.strip() for word in value.upper().split(",")}
    if words & {"Y", "YES", "TRUE", "1", "PRIVACY", "CONFIDENTIAL"}:
        return 1
    return 0 if words & {"N", "NO", "FALSE", "0"} else before
