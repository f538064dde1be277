"""The laws behind what does not fit in a tree, and the limits of what is unlikely, in words, with their sources."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Iterator

from kinphoto.archive.words.sentences import Sentences
from kinphoto.reason.hard import unlikely
from kinphoto.reason.hard.unlikely import ImplausibleFact
from kinphoto.reason.model import evidence as ev
from kinphoto.reason.model import limits

OURS = "a judgement of the project"


def laws_behind(statement: Iterable[ev.Statement]) -> tuple[str, ...]:
    """The laws that bear on these statements together."""
    return tuple(dict.fromkeys(_laws(list(statement))))


def _laws(statement: list[ev.Statement]) -> Iterator[str]:
    lives = [s for s in statement if isinstance(s, ev.LifeDate)]
    events = {s.event for s in lives}
    ends = {ev.LifeEvent.DEATH, ev.LifeEvent.BURIAL, ev.LifeEvent.ALIVE}
    if any(count > 1 for count in Counter(s.person for s in lives).values()) and events & ends:
        yield "nobody dies before being born, or is alive before the birth or after the death"
        yield f"nobody lives longer than {limits.LONGEST_LIFE} years (the longest documented life: 122 years, 164 days)"
    if {ev.LifeEvent.CHRISTENING, ev.LifeEvent.BURIAL} & events:
        yield "a christening is not before the birth, a burial not before the death"
    for link in (s for s in statement if isinstance(s, ev.ParentLink)):
        yield _OF_PARENTS[link.parent_sex if link.parent_sex in "FM" else "U"]
    if any(isinstance(s, ev.Marriage) for s in statement):
        yield f"at a marriage both are alive and at least {limits.YOUNGEST_SPOUSE} ({OURS})"


_OLDER = f"is {limits.YOUNGEST_PARENT} to {{}} years older than the child ({OURS})"
_OF_PARENTS = {
    "F": f"a mother {_OLDER.format(limits.OLDEST_MOTHER)}, and alive when it is born",
    "M": f"a father {_OLDER.format(limits.OLDEST_FATHER)}, and dead for a year at most when it is born",
    "U": f"a parent {_OLDER.format(limits.OLDEST_FATHER)}, and dead for a year at most when it is born",
}


def limit(kind: str) -> str:
    """The limit of a kind of oddity."""
    return _LIMITS[kind] if kind.startswith("two-") else f"{_LIMITS[kind]} ({OURS})"


_LIMITS = {
    "long-life": f"hardly anybody lives longer than {unlikely.LONG_LIFE} years",
    "late-burial": f"people are buried within {unlikely.BURIED_WITHIN} days",
    "old-mother": f"mothers are hardly ever older than {unlikely.OLD_MOTHER}",
    "young-mother": f"mothers are hardly ever younger than {unlikely.YOUNG_MOTHER}",
    "old-father": f"fathers are hardly ever older than {unlikely.OLD_FATHER}",
    "young-father": f"fathers are hardly ever younger than {unlikely.YOUNG_FATHER}",
    "after-fathers-death": f"a child is born at most {unlikely.LONG_PREGNANCY} days after its father's death",
    "many-children": f"a mother hardly ever has more than {unlikely.MOST_CHILDREN} children",
    "siblings-close": f"children of one mother are twins, or at least {unlikely.SIBLINGS_APART} days apart",
    "old-spouse": f"hardly anybody marries older than {unlikely.OLD_SPOUSE}",
    "young-spouse": f"hardly anybody marries younger than {unlikely.YOUNG_SPOUSE}",
    "two-births": "nobody is born twice; the first date counts",
    "two-deaths": "nobody dies twice; the first date counts",
    "far-apart-spouses": f"spouses are hardly ever more than {unlikely.YEARS_BETWEEN_SPOUSES} years apart",
}


def in_words(found: ImplausibleFact, say: Sentences) -> str:
    """Something unlikely as a sentence without its full stop."""
    return _WORDS[found.kind].format(*(say.name(person) for person in found.people), figure=int(found.figure))


_WORDS = {
    "long-life": "{0} lived at least {figure} years",
    "late-burial": "{0} was buried {figure} days or more after the death",
    "old-mother": "{0} was {figure} or older when {1} was born",
    "young-mother": "{0} was {figure} or younger when {1} was born",
    "old-father": "{0} was {figure} or older when {1} was born",
    "young-father": "{0} was {figure} or younger when {1} was born",
    "after-fathers-death": "{1} was born {figure} days or more after {0} died",
    "many-children": "{0} has {figure} children",
    "siblings-close": "{0} and {1}, children of {2}, were born within {figure} days of each other",
    "old-spouse": "{0} married at {figure} or older",
    "young-spouse": "{0} married at {figure} or younger",
    "two-births": "{0} has two dates of birth that cannot both be true",
    "two-deaths": "{0} has two dates of death that cannot both be true",
    "far-apart-spouses": "{0} and {1}, who married, were born {figure} years or more apart",
}
