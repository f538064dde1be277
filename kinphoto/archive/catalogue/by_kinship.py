"""Who is meant by what they are to somebody: "great-grandmother", "my mother's father", "Ada's aunt", "Uroma".

Without a name the words are the proband's, from whose point of view relationships are given. Parents and children by
birth and by adoption count alike, and so do half brothers and sisters; an aunt may be an uncle's wife. For somebody
whose sex is not recorded both words are true. Words are English and German, from memory.
"""

from __future__ import annotations

import re
from collections.abc import Callable, Collection, Iterator, Mapping
from dataclasses import dataclass
from typing import Any

from sqlalchemy import ColumnElement, Connection, Select, select

from kinphoto.archive.catalogue.folding import fold
from kinphoto.archive.catalogue.identity import Identity, read_identity
from kinphoto.store import tables as t
from kinphoto.store.among import among

_Way = tuple[str, ...]
"""Steps from one person to others: P to parents, C to children, S to brothers and sisters, M to who they married, A to
brothers and sisters and whom those married."""

_NEAR: Mapping[str, _Way] = {
    "P": ("P",), "C": ("C",), "S": ("S",), "M": ("M",), "A": ("P", "A"), "N": ("S", "C"), "K": ("P", "S", "C"),
}  # fmt: skip
_IN_LAW: Mapping[str, tuple[_Way, ...]] = {"P": (("M", "P"),), "C": (("C", "M"),), "S": (("M", "S"), ("S", "M"))}
_WORDS: Mapping[str, tuple[str, str]] = {
    word: (kind, sex)
    for kind, sex, words in (
        ("P", "F", "mother mum mummy mom ma mama mutter mutti mami"), ("P", "M", "father dad daddy papa vater vati"),
        ("P", "", "parent parents eltern"), ("C", "F", "daughter daughters tochter töchter"),
        ("C", "M", "son sons sohn söhne"), ("C", "", "child children kind kinder"),
        ("S", "F", "sister sisters schwester schwestern"), ("S", "M", "brother brothers bruder brüder"),
        ("S", "", "sibling siblings geschwister"), ("M", "F", "wife frau ehefrau"), ("M", "M", "husband mann ehemann"),
        ("M", "", "spouse partner"), ("A", "F", "aunt aunts auntie aunty tante tanten"),
        ("A", "M", "uncle uncles onkel"), ("N", "F", "niece nieces nichte nichten"),
        ("N", "M", "nephew nephews neffe neffen"), ("K", "", "cousin cousins"), ("K", "F", "cousine kusine cousinen"),
        ("K", "M", "vetter vettern"),
    )
    for word in words.split()
}  # fmt: skip
_GRAND: Mapping[str, tuple[str, str]] = {
    **{f"grand{word}": what for word, what in _WORDS.items() if what[0] in "PCAN"},
    **{f"groß{word}": what for word, what in _WORDS.items() if what[0] in "PAN"},
    **{f"gross{word}": what for word, what in _WORDS.items() if what[0] in "PAN"},
    **dict.fromkeys("grandma granny gran nan nana nanna oma omi grandmothers".split(), ("P", "F")),
    **dict.fromkeys("grandpa grandad granddad grampa gramps opa opi grandfathers".split(), ("P", "M")),
    "enkel": ("C", ""), "enkelin": ("C", "F"), "enkelinnen": ("C", "F"), "enkelkinder": ("C", ""),
}  # fmt: skip
ADDRESSES = frozenset(
    fold(word)
    for words in (_WORDS, _GRAND, {f"ur{word}": what for word, what in _GRAND.items()})
    for word, (kind, sex) in words.items()
    if kind == "K" or (kind in "PSA" and sex)
) | {"great", "base"}
"""What somebody is called before their name who is kin, folded: "aunt", "oma", "urgrossmutter"; not "son" or "parents".
"Base", a cousin, is said there only."""
_PARENTS = ("birth", "adopted", "unknown")
"""Kinds of links in which a parent is called one; not foster parents, nor step-parents."""
_MINE = frozenset("my our mein meine meiner meines meinen unsere unser unserer".split())
_ME = frozenset("me i myself ich".split())
_SIDES = {"maternal": "F", "paternal": "M", "mütterlicherseits": "F", "väterlicherseits": "M"}
_ON_A_SIDE = re.compile(r"(.+?),? on (?:my |our |the |his |her )?(mother|father)'?s side")
_BY_MARRIAGE = re.compile(r"(.+)inlaw|schwieger(.+)")
_GREAT = re.compile(r"great|ur")
_OF = re.compile(r"(?:the )?([^']+?) (?:of|von) (.+)")


@dataclass(frozen=True, slots=True)
class Relatives:
    """Who was meant: row ids of `people`, seen from `seen_from`, who is None where it is not known who "my" is."""

    people: tuple[int, ...]
    seen_from: int | None


@dataclass(frozen=True, slots=True)
class _Kin:
    """What somebody is to another: the ways there, their sex ("" for any), and the parent whom it goes by ("": any)."""

    ways: tuple[_Way, ...]
    sex: str
    side: str = ""


def by_kinship(connection: Connection, text: str, named: Callable[[str], Collection[int]]) -> Relatives | None:
    """Whom the words mean; None where they are other words. `named` finds the people (row ids) of a name."""
    understood = _understood(" ".join(re.sub(r"[’´`]", "'", text.casefold()).replace("-", " ").split()))
    if understood is None:
        return None
    name, chain = understood
    if name:
        start = set(named(name))
        if not start:
            return None
    else:
        proband = connection.scalar(select(t.proband.c.person_id))
        start = set() if proband is None else {int(proband)}
    if not start:
        return Relatives((), None)
    family = _Family(connection)
    found = first = {family.identity.of(id_) for id_ in start}
    for kin in chain:
        found = family.follow(found, kin)
    return Relatives(tuple(sorted(found)), min(first))


def _understood(text: str) -> tuple[str, list[_Kin]] | None:
    """The name that it begins with, "" for none, and what each is to the one before."""
    if (of := _OF.fullmatch(text)) and (kin := _kin(of[1])) and (before := _understood(of[2]) or (of[2], [])):
        return before[0], [*before[1], kin]
    on = _ON_A_SIDE.fullmatch(text)
    links = [_without_mine(one) for one in re.split(r"'s?\s+", on[1] if on else text)]
    if on:
        links[-1] = f"{'maternal' if on[2] == 'mother' else 'paternal'} {links[-1]}"
    links[:1] = _unmarked(links[0])
    if links == [""] or (len(links) == 1 and links[0] in _ME):
        return ("", []) if links[0] else None
    first, *rest = links
    chain = [_kin(one) for one in rest]
    if None in chain:
        return None
    begins = _kin(first)
    if begins is None and not rest:
        return _of_a_name(first.split())
    known = [one for one in (begins, *chain) if one is not None]
    return ("" if begins else first), known


def _of_a_name(words: list[str]) -> tuple[str, list[_Kin]] | None:
    """Whose, without an apostrophe: "Judiths Vater"."""
    for at in range(1, len(words)):
        if words[at - 1].endswith("s") and (kin := _kin(" ".join(words[at:]))):
            return " ".join(words[:at]).removesuffix("s"), [kin]
    return None


def _without_mine(text: str) -> str:
    return " ".join(word for word in text.split() if word not in _MINE)


def _unmarked(text: str) -> Iterator[str]:
    """Whose, also where nobody wrote an apostrophe: "mothers father"."""
    words, at = text.split(), 0
    for n, word in enumerate(words[:-1], 1):
        if word.endswith("s") and _kin(" ".join([*words[at : n - 1], word[:-1]])):
            yield " ".join([*words[at : n - 1], word[:-1]])
            at = n
    yield " ".join(words[at:])


def _kin(text: str) -> _Kin | None:
    """What "great grandmother", "mother in law" or "paternal aunt" is."""
    words = text.split()
    for side, sex in _SIDES.items():
        if side in words:
            return _by(_kin(" ".join(word for word in words if word != side)), sex)
    word, greats = "".join(words), 0
    if by_marriage := _BY_MARRIAGE.fullmatch(word):
        kind, sex = _WORDS.get(by_marriage[1] or by_marriage[2], ("", ""))
        return _Kin(_IN_LAW[kind], sex) if kind in _IN_LAW else None
    while (great := _GREAT.match(word)) and word not in _WORDS:
        word, greats = word[great.end() :], greats + 1
    if word in _GRAND:
        return _farther(*_GRAND[word], greats + 1)
    if word in _WORDS and (not greats or _WORDS[word][0] in "AN"):
        return _farther(*_WORDS[word], greats)
    return None


def _farther(kind: str, sex: str, more: int) -> _Kin:
    """This many generations farther away."""
    way = _NEAR[kind]
    return _Kin((("P",) * more + way if kind in "PA" else way + ("C",) * more,), sex)


def _by(kin: _Kin | None, sex: str) -> _Kin | None:
    """The same on the side of one parent."""
    return _Kin(kin.ways, kin.sex, sex) if kin is not None and all(way[0] == "P" for way in kin.ways) else None


class _Family:
    """Steps between people, each everybody once, whoever somebody turned out to be."""

    def __init__(self, connection: Connection) -> None:
        self.connection = connection
        self.identity: Identity = read_identity(connection)

    def follow(self, people: set[int], kin: _Kin) -> set[int]:
        """Everybody who is that to one of these."""
        found: set[int] = set()
        for way in kin.ways:
            here = people
            for number, step in enumerate(way):
                here = self._step(here, step)
                if number == 0 and kin.side:
                    here = self._of_sex(here, kin.side)
            found |= here
        return self._of_sex(found - people, kin.sex)

    def _step(self, people: set[int], step: str) -> set[int]:
        if step == "S":
            return self._step(self._step(people, "P"), "C") - people
        if step == "A":
            near = self._step(people, "S")
            return near | (self._step(near, "M") - people)
        if step == "M":
            p, other = t.partner.c, t.partner.alias().c
            query = select(other.person_id).join(t.partner, p.family_id == other.family_id)
            return self._found(query, p.person_id, people) - people
        link = t.parent_link.c
        there, here = (link.parent_id, link.child_id) if step == "P" else (link.child_id, link.parent_id)
        parents = select(there).where(link.withdrawn == 0, link.pedigree.in_(_PARENTS))
        return self._found(parents, here, people)

    def _found(self, query: Select[Any], column: ColumnElement[int], people: set[int]) -> set[int]:
        every = set(self.identity.names(people))
        return {
            self.identity.of(id_) for id_ in self.connection.scalars(query.where(among(self.connection, column, every)))
        }

    def _of_sex(self, people: set[int], sex: str) -> set[int]:
        p = t.person.c
        if not sex or not people:
            return people
        query = select(p.id).where(among(self.connection, p.id, people), p.sex.in_((sex, "U")))
        return set(self.connection.scalars(query))
