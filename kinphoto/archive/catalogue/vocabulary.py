"""The words that people may use for what the archive calls by fixed words: one table for each vocabulary.

Commands, spreadsheets and forms all read a role, a side, a relation and so on here, so that what is understood in one
place is understood in all of them. A word whose meaning is plain is taken for the fixed one ("back" for "verso"). A
word that could mean several things is answered with the words to choose from, and a slip of the pen with the nearest
word: neither is ever guessed at. Kinds of statement have their other words in `words/kinds.py`, processes and formats
in `reason/processes.toml`.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from kinphoto.archive.catalogue.kinds import DATED_KINDS, RELATION_KINDS
from kinphoto.archive.words import kinds as words
from kinphoto.errors import InvalidValueError
from kinphoto.reason.model.evidence import Role, Trust

_NEAR = 70
"""The least likeness (0 to 100, rapidfuzz's ratio) of a word that may be a slip of the pen."""
_AS_NEAR = 10
"""By how much a word may be less like it than the likest one."""
_ARTICLES = ("the ", "a ", "an ")


@dataclass(frozen=True)
class Vocabulary:
    """The fixed words for one thing, each with what else people say for it. `unclear` are words that could mean several
    of them, each with what to do instead."""

    name: str
    also: Mapping[str, tuple[str, ...]]
    unclear: Mapping[str, str] = field(default_factory=dict)

    def read(self, text: str) -> str:
        """The fixed word that is meant. Raises InvalidValueError with the word to use."""
        wanted = plain(text)
        found = self._meaning.get(wanted)
        if found is not None:
            return found
        choices = ", ".join(self.also)
        if wanted in self.unclear:
            raise InvalidValueError(f"'{text}' is not a {self.name}", remedy=self.unclear[wanted])
        near = nearest(wanted, self._meaning)
        hint = f"Did you mean {' or '.join(near)}? " if near else ""
        raise InvalidValueError(f"unknown {self.name} '{text}'", remedy=f"{hint}Use one of {choices}.")

    @cached_property
    def _meaning(self) -> dict[str, str]:
        """Every word with the fixed word it stands for; the fixed words go before all others."""
        others = {plain(other): word for word, each in self.also.items() for other in each}
        return others | {plain(word): word for word in self.also}


def plain(text: str) -> str:
    """A word as it is compared: without case, hyphens and an article."""
    words = " ".join(text.casefold().replace("-", " ").replace("_", " ").split())
    return next((words.removeprefix(article) for article in _ARTICLES if words.startswith(article)), words)


def nearest(wanted: str, meaning: Mapping[str, str], most: int = 2) -> list[str]:
    """The fixed words whose spelling is nearest, at most `most`; none when nothing is near."""
    from rapidfuzz import fuzz, process  # not needed as long as everything is spelt as it should be

    found = process.extract(wanted, list(meaning), scorer=fuzz.ratio, limit=8, score_cutoff=_NEAR)
    best = max((score for _, score, _ in found), default=0)
    return list(dict.fromkeys(meaning[word] for word, score, _ in found if score > best - _AS_NEAR))[:most]


SIDES = Vocabulary(
    "side",
    also={
        "recto": ("front", "face", "front side", "picture", "picture side", "obverse", "image"),
        "verso": ("back", "back side", "backside", "reverse", "reverse side", "rear", "other side"),
        "detail": ("close up", "closeup", "crop", "enlargement", "part of it"),
    },
)

ROLES = Vocabulary(
    "role",
    also={role: words.KINDS[role].also for role in Role},
)

TRUSTS = Vocabulary(
    "trust level",
    also={
        Trust.CERTAIN: ("sure", "quite sure", "known", "definite", "definitely", "no doubt", "without doubt"),
        Trust.STRONG: ("very likely", "good", "reliable", "confident", "almost certain"),
        Trust.FAIR: ("medium", "average", "middling", "usual", "likely", "probable", "probably"),
        Trust.WEAK: ("unsure", "not sure", "uncertain", "doubtful", "guess", "guessed", "perhaps", "maybe",
                     "low", "possibly"),
    },
)  # fmt: skip

_EVENT = 'Use event: kinphoto state PHOTO event "wedding of Lambert and Agnes".'

KINDS = Vocabulary(
    "kind of statement",
    also={kind: words.KINDS[kind].also for kind in DATED_KINDS},
    unclear={
        "stamp": "For a date printed by the laboratory use print-stamp, for the post office's use postmark, for a "
                 "photographer's use imprint; a revenue stamp is the format tax-stamped.",
        "back": "For words on the back use inscription, for when it was sent or given away use written.",
        "note": "For words on it use inscription; what you want to add yourself goes into the note of `describe`.",
        "wedding": _EVENT, "marriage": _EVENT, "christening": _EVENT, "graduation": _EVENT,
        "process": "Use the command for it: kinphoto process PHOTO NAME.",
        "format": "Use the command for it: kinphoto format PHOTO NAME.",
        "age": "Ages are given with the name: kinphoto link PHOTO PERSON --age 7.",
        "before": "Use the command for it: kinphoto relate PHOTO before PHOTO; a date before a year is `taken`.",
        "after": "Use the command for it: kinphoto relate PHOTO after PHOTO; a date after a year is `taken`.",
    },
)  # fmt: skip

_BACK = "The back of a print is another scan of the same object: kinphoto scans join FRONT BACK."
_SAME = (
    "For two scans of one object: kinphoto scans join. For two prints of one negative use same-negative, for two "
    "pictures of one day use same-occasion, for two frames of one film same-strip."
)
_RESCAN = (
    "A rescan is another scan of the same object: kinphoto scans join, or kinphoto replace where the new one is better."
)

RELATIONS = Vocabulary(
    "relation",
    also={kind: words.KINDS[kind].also for kind in RELATION_KINDS},
    unclear={
        "back": _BACK, "back of": _BACK, "verso": _BACK, "front": _BACK, "front of": _BACK,
        "same": _SAME, "same as": _SAME, "rescan": _RESCAN, "rescan of": _RESCAN,
        "same place": "Where it was taken is described: kinphoto describe PHOTO --place TEXT.",
    },
)  # fmt: skip

TURNS = Vocabulary(
    "way to turn a picture",
    also={
        "right": ("clockwise", "to the right", "cw", "90"),
        "over": ("upside down", "half", "half way", "halfway", "180", "round", "around"),
        "left": ("anticlockwise", "counterclockwise", "anti clockwise", "counter clockwise", "to the left", "ccw",
                 "270"),
        "mirror": ("mirrored", "flip", "flipped", "wrong side", "reverse", "other side"),
        "positive": ("as positive", "as a positive", "invert", "inverted"),
        "as-scanned": ("negative", "as negative", "as a negative", "as it is"),
    },
)  # fmt: skip

AGE_BASES = Vocabulary(
    "age_basis",
    also={
        "apparent": ("looks", "look", "judged", "estimated", "by eye", "seen"),
        "stated": ("known", "told", "said", "written", "says", "actual", "real"),
    },
)

EVENTS: Mapping[str, tuple[str, ...]] = {
    "wedding": ("MARR",), "marriage": ("MARR",), "wedding day": ("MARR",), "nuptials": ("MARR",),
    "engagement": ("ENGA",), "betrothal": ("ENGA",), "divorce": ("DIV",),
    "graduation": ("GRAD",), "christening": ("CHR", "BAPM"), "baptism": ("BAPM", "CHR"),
    "confirmation": ("CONF",), "first communion": ("FCOM",), "communion": ("FCOM",), "ordination": ("ORDN",),
    "emigration": ("EMIG",), "immigration": ("IMMI",), "arrival": ("IMMI",), "naturalisation": ("NATU",),
    "naturalization": ("NATU",), "retirement": ("RETI",), "birth": ("BIRT",), "death": ("DEAT",),
    "burial": ("BURI",), "funeral": ("BURI",), "bar mitzvah": ("BARM",), "bat mitzvah": ("BASM",),
}  # fmt: skip
"""What people call an event of the tree, and the tags it can have there, the likeliest first."""
OF_COUPLES = frozenset(word for word, tags in EVENTS.items() if tags[0] in ("MARR", "ENGA", "DIV"))
"""Those that are a couple's."""

_INSTANT = (
    "The process is instant-peel-apart when the print was peeled from its negative, instant-integral when it has a "
    "wide white border below and was never peeled."
)
_FILM = (
    "The process is nitrate-negative, safety-negative or glass-negative. Nitrate film burns: where a film may be from "
    "before 1951 and does not say safety, keep it away from heat and ask a film archive first."
)
_COLOUR = "A print is chromogenic, or resin-coated-colour when it feels like plastic; a slide is colour-slide."

MADE_UNCLEAR: Mapping[str, str] = {
    "postcard": "Look at its back: the format is postcard-divided-back when a line parts message and address, "
                "postcard-undivided-back when none does, and real-photo-postcard when it is a photograph on "
                "photographic paper; several may be recorded.",
    "polaroid": _INSTANT, "instant": _INSTANT, "instant print": _INSTANT, "instant photo": _INSTANT,
    "black and white": "Most are gelatin-silver (developed) or, with warm brown tones and before about 1920, "
                       "gelatin-printing-out or albumen.",
    "colour": _COLOUR, "color": _COLOUR,
    "sepia": "Brown prints are albumen (thin and glossy, on card), gelatin-printing-out, or toned gelatin-silver.",
    "negative": _FILM, "film negative": _FILM, "film": _FILM,
    "slide": "The process is colour-slide (autochrome when it is glass); the format of a small one in a mount is "
             "slide-35mm.",
}  # fmt: skip
"""Words for a process or format that could mean several, or another kind of thing, and how to decide which."""

AGES: Mapping[str, tuple[float, float]] = {
    "newborn": (0, 1 / 12), "new born": (0, 1 / 12), "baby": (0, 1), "infant": (0, 1), "babe in arms": (0, 1),
    "toddler": (1, 3), "teenager": (13, 19), "teen": (13, 19), "teens": (13, 19), "teenage": (13, 19),
    "adolescent": (13, 19), "early teens": (13, 14), "mid teens": (15, 16), "late teens": (17, 19),
}  # fmt: skip
"""Words for an age, in completed years, lowest and highest. Judgements of the project."""

AGES_UNCLEAR: Mapping[str, str] = {
    "child": "3-12", "kid": "3-12", "boy": "3-12", "girl": "3-12", "small": "2-5", "little": "2-5",
    "small child": "2-5", "toddling": "1-3",
    "young": "18-30", "young man": "18-30", "young woman": "18-30", "adult": "20-50", "grown up": "20-50",
    "man": "20-50", "woman": "20-50", "middle aged": "40-60", "middle age": "40-60", "old": "60-80",
    "elderly": "70-85", "pensioner": "65-85", "few months": "3-9m",
    "school age": "6-14", "schoolboy": "6-14", "schoolgirl": "6-14", "schoolchild": "6-14", "pupil": "6-14",
    "old man": "60-80", "old woman": "60-80", "very old": "75+", "senior": "60-80",
}  # fmt: skip
"""Words for an age that mean another one to everybody, each with an example of what to give instead."""

NUMBERS: Mapping[str, int] = {
    word: number for number, word in enumerate(
        "nought one two three four five six seven eight nine ten eleven twelve thirteen fourteen fifteen sixteen "
        "seventeen eighteen nineteen".split()
    )
}  # fmt: skip
TENS: Mapping[str, int] = {
    word: number * 10
    for number, word in enumerate("twenty thirty forty fifty sixty seventy eighty ninety".split(), start=2)
}
DECADES: Mapping[str, int] = {f"{word[:-1]}ies": number for word, number in TENS.items()}
"""The twenties, thirties and so on of a life, with the age at which they begin."""
