"""Kinship in English: what a relation makes one person to another, "great-aunt", "wife's first cousin once removed".

Where English has a usual word it is taken, with up to three greats ("great-great-great-grandmother"), then they are
counted ("four-times-great-grandmother"). Cousins are counted and removed; "half" is added wherever the tree shows that
the two at the top had one parent in common. *Sister-in-law* means a spouse's sister or a brother's wife, and *aunt* may
be an uncle's wife, so those are spelled out: "wife's sister", "brother's wife", "uncle's wife". Of somebody whose sex
is not recorded, or is neither, the words say neither.
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterator, Mapping, Sequence
from dataclasses import dataclass
from functools import reduce

from kinphoto.archive.people.kin_paths import MOST, PEDIGREES, KinLine, KinRelation

YOU = "you"
"""Whoever relationships are given for."""
_COUNTS = "no once twice three four five six seven eight nine ten eleven twelve".split()
_ORDINALS = "zeroth first second third fourth fifth sixth seventh eighth ninth tenth eleventh twelfth".split()
_GREATS = 3  # said one by one, beyond that they are counted
_Noun = tuple[str, str, str]
"""A word for a man, for a woman, and for somebody whose sex is not recorded, where there is one."""
_PARENT: _Noun = ("father", "mother", "parent")
_CHILD: _Noun = ("son", "daughter", "child")
_SIBLING: _Noun = ("brother", "sister", "sibling")
_UNCLE: _Noun = ("uncle", "aunt", "")
_NEPHEW: _Noun = ("nephew", "niece", "")
_SPOUSE: _Noun = ("husband", "wife", "spouse")
_BEFORE = {"adopted": "adoptive ", "foster": "foster ", "step": "step"}
"""What is said before a parent, child or sibling who is one in another way than by birth."""
_BEHIND = {
    "adopted": "by adoption",
    "foster": "through fostering",
    "step": "through a step-parent",
    "sealing": "by sealing",
    "unknown": "by a link whose kind is not recorded",
}


@dataclass(frozen=True, slots=True)
class KinFacts:
    """What the words need to know: everybody's sex (M, F, X or U), and whether two can have lived at one time."""

    sex: Mapping[int, str]
    overlap: Callable[[int, int], bool]

    def noun(self, what: _Noun, id_: int, before: str = "") -> str:
        """A word for somebody by their sex, with `before` before it: "great-uncle", "great-uncle or great-aunt"."""
        he, she, either = what
        sex = self.sex.get(id_, "U")
        neutral = f"{before}{either}" if either else f"{before}{he} or {before}{she}"
        return {"M": before + he, "F": before + she}.get(sex, neutral)


def words(relation: KinRelation, persons: KinFacts) -> str:
    """What the person at the end of a relation is to the one at its beginning."""
    return _in_one_word(relation, persons) or reduce(_of, _chain(relation, persons))


def _of(whole: str, part: str) -> str:
    """ "wife" and "sister": "wife's sister" """
    return f"{whole}'s {part}"


def together(relations: Sequence[KinRelation], persons: KinFacts) -> str:
    """All of them: "first cousin, and second cousin through another line"; "" for none."""
    said = list(each(relations, persons))
    return ", and ".join(filter(None, (", ".join(said[:-1]), *said[-1:])))


def each(relations: Sequence[KinRelation], persons: KinFacts) -> Iterator[str]:
    """The different ones among them, those that are there more than once as one: "double first cousin"."""
    kin = False
    counts = Counter((words(relation, persons), bool(relation.bonds)) for relation in relations)
    for relation in relations:
        key = words(relation, persons), bool(relation.bonds)
        if count := counts.pop(key, 0):
            said = _often(key[0], count, relation)
            lines = "another line" if count == 1 else "other lines"
            yield f"{said} through {lines}" if kin and not relation.bonds else said
            kin = kin or not relation.bonds


def _often(said: str, count: int, relation: KinRelation) -> str:
    if count == 1:
        return said
    line = relation.lines[-1]
    if count == 2 and not relation.bonds and line.up > 1 and line.down > 1:
        return f"double {said}"
    return f"{said} {_times(count) if count < MOST else 'many times'} over"


def step_pairs(relation: KinRelation) -> tuple[tuple[int, int], ...]:
    """Who must have lived at one time with whom for a relation to be a step-parent's, stepchild's or stepbrother's."""
    if len(relation.bonds) != 1:
        return ()
    one, other = relation.lines
    pairs = {
        (1, 0, 0, 0): ((one.start, other.end),),
        (0, 0, 0, 1): ((one.start, other.end),),
        (1, 0, 0, 1): ((one.start, other.start), (one.end, other.end)),
    }
    return pairs.get((one.up, one.down, other.up, other.down), ())


def _in_one_word(relation: KinRelation, persons: KinFacts) -> str:
    """The word there is for close kin by one marriage that lasted: "mother-in-law", "stepson"."""
    if relation.bonds != ("married",) or any(line.kinds for line in relation.lines):
        return ""
    one, other = relation.lines
    who = other.end
    if (one.civil, other.up, other.down) == (0, 1, 0):
        return f"{persons.noun(_PARENT, who)}-in-law"
    if (one.up, one.down, other.civil) == (0, 1, 0):
        return f"{persons.noun(_CHILD, who)}-in-law"
    pairs = step_pairs(relation)
    if not pairs or not all(persons.overlap(*pair) for pair in pairs):
        return ""
    return persons.noun(_SIBLING if one.up and other.down else _PARENT if one.up else _CHILD, who, "step")


def _chain(relation: KinRelation, persons: KinFacts) -> Iterator[str]:
    """A word for each line and each marriage, from the first person to the last."""
    for at, line in enumerate(relation.lines):
        if at:
            other = at == 2 and not relation.lines[1].civil  # another husband or wife of the same person
            yield _spouse(line.start, relation.bonds[at - 1], persons, other)
        if line.civil:
            yield line_words(line, persons)


def _spouse(id_: int, bond: str, persons: KinFacts, other: bool) -> str:
    word = "partner" if bond == "partner" else persons.noun(_SPOUSE, id_)
    if bond == "former":
        return f"former {word}"
    return f"other {word}" if other else word


def line_words(line: KinLine, persons: KinFacts) -> str:
    """What the person at the end of a line is to the one at its beginning."""
    near = line.civil == 1 or (line.up, line.down) == (1, 1)
    if near and len(line.kinds) == 1 and (kind := next(iter(line.kinds))) in _BEFORE:
        return _raised(line, kind, persons)
    how = " and ".join(_BEHIND[kind] for kind in PEDIGREES if kind in line.kinds)
    return f"{_by_birth(line, persons)} {how}".rstrip()


def _raised(line: KinLine, kind: str, persons: KinFacts) -> str:
    """A parent, child or sibling otherwise than by birth: "adoptive mother", "adopted son", "stepbrother"."""
    what = _SIBLING if line.civil == 2 else _PARENT if line.up else _CHILD
    before = "adopted " if kind == "adopted" and what is _CHILD else _BEFORE[kind]
    return persons.noun(what, line.end, before)


def _by_birth(line: KinLine, persons: KinFacts) -> str:
    up, down, who = line.up, line.down, line.end
    half = line.full is False
    if not down:
        return persons.noun(_PARENT, who, "" if up == 1 else f"{_great(up - 2)}grand")
    if not up:
        return persons.noun(_CHILD, who, "" if down == 1 else f"{_great(down - 2)}grand")
    if up > 1 and down > 1:
        cousin = f"{_ordinal(min(up, down) - 1)} cousin{_removed(abs(up - down))}"
        return f"half {cousin}" if half else cousin
    before = "half-" if half else ""
    if up == down:
        return persons.noun(_SIBLING, who, before)
    return persons.noun(_UNCLE if up > 1 else _NEPHEW, who, before + _great(max(up, down) - 2))


def _great(count: int) -> str:
    if count <= _GREATS:
        return "great-" * count
    return f"{_COUNTS[count] if count < len(_COUNTS) else count}-times-great-"


def _ordinal(number: int) -> str:
    if number < len(_ORDINALS):
        return _ORDINALS[number]
    ending = "th" if number % 100 in (11, 12, 13) else {1: "st", 2: "nd", 3: "rd"}.get(number % 10, "th")
    return f"{number}{ending}"


def _removed(generations: int) -> str:
    return f" {_times(generations)} removed" if generations else ""


def _times(count: int) -> str:
    """ "once", "twice", "three times" """
    said = _COUNTS[count] if count < len(_COUNTS) else str(count)
    return said if count < 3 else f"{said} times"
