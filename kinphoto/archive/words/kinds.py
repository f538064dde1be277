"""Every kind of statement in words: one block for each kind. `Sentences` fills in what is in braces."""

from __future__ import annotations

from dataclasses import dataclass

from kinphoto.reason.model import evidence as ev


@dataclass(frozen=True, slots=True, kw_only=True)
class KindWords:
    """The words of one kind.

    `sentence` is used in every explanation and conflict; `doubt` is what withdrawing the statement would mean, as a way
    out of a conflict; `question` heads a conflict; `called` is its name in passing ("without the inscription it could
    be ..."). Where somebody's own words are recorded, `quoting` replaces the sentence and `label_quoting` the label.

    `label` is for places that already name the photograph, `turned` for those that name the other one of a relation,
    which scripts then call `other_way`. `fact` introduces a recorded value on the photograph's page; `choice` is the
    kind in a form, and `also` are other words that people use for it. `given` are the words before the date in a copy
    that is given away; without them it is not said there.
    """

    sentence: str
    doubt: str
    called: str
    quoting: str = ""
    question: str = "When was {photo} taken?"
    label: str = ""
    label_quoting: str = ""
    turned: str = ""
    other_way: str = ""
    fact: str = ""
    choice: str = ""
    also: tuple[str, ...] = ()
    given: str = ""

    def label_from(self, other: bool = False, quoting: bool = False) -> str:
        """The label; where none is given, the sentence, which then names no photograph."""
        if other:
            return self.turned or self.label_from().replace("{other}", "{photo}")
        return (quoting and self.label_quoting) or self.label or self.sentence


def _who(sentence: str, doubt: str, label: str, choice: str = "", also: tuple[str, ...] = ()) -> KindWords:
    return KindWords(
        sentence=sentence, doubt=doubt, question="Is that {who} in {photo}?", called="{who}", label=label,
        choice=choice, also=also,
    )  # fmt: skip


def _age(sentence: str, label: str, fact: str) -> KindWords:
    return KindWords(
        sentence=sentence, doubt="{who} may not have been {age}{where}", question="How old was {who} in {photo}?",
        called="{age_of}", label=label, fact=fact,
    )  # fmt: skip


def _life(sentence: str, question: str, doubt: str, called: str) -> KindWords:
    return KindWords(sentence=sentence, doubt=doubt, question=question, called=called)


def _made(called: str, fact: str, choice: str) -> KindWords:
    return KindWords(
        sentence="{photo} is {a_title}, {known}", doubt="{photo} may not be {a_title}",
        question="What kind of picture is {photo}?", called=called, label="{title}, {known}", fact=fact, choice=choice,
    )  # fmt: skip


def _relation(
    sentence: str, doubt: str, question: str, *,
    label: str, choice: str, also: tuple[str, ...], turned: str = "", other_way: str = "",
    called: str = "the link to {other}",
) -> KindWords:  # fmt: skip
    return KindWords(
        sentence=sentence, doubt=doubt, question=question, called=called,
        label=label, turned=turned, other_way=other_way, also=also, choice=choice,
    )  # fmt: skip


KINDS: dict[str, KindWords] = {
    # Where it is kept, and its number there: not recorded as statements, but shown among those of a photograph.
    "container": KindWords(
        sentence="{photo} is kept {place}", doubt="{photo} may not belong where it is kept",
        question="Where does {photo} belong?", called="where it is kept", label="kept {place}",
    ),
    "number": KindWords(
        sentence="its number {number} {place}", doubt="its number {number} may be from another time",
        question="Where is the number of {photo} from?", called="its number", fact="Number",
    ),
    # Who is in it: an appearance by its role, or denied.
    "present": _who(
        "{who} is in {photo}",
        "it may not be {who} in {photo}",
        "{who} is in it",
        choice="there in person",
        also=("in person", "in the flesh", "there", "alive", "living", "sitter", "himself", "herself"),
    ),
    "likeness": _who(
        "a likeness of {who} is in {photo}",
        "the likeness in {photo} may not be {who}",
        "a likeness of {who} is in it",
        choice="a likeness (a picture in the picture, a gravestone)",
        also=("portrait", "painting", "picture", "picture in the picture", "picture of a picture", "framed picture",
              "photo in the photo", "photograph in the photograph", "bust", "statue", "gravestone", "silhouette"),
    ),
    "laid-out": _who(
        "{who} is in {photo}, photographed after death",
        "the person photographed after death in {photo} may not be {who}",
        "{who} is in it, photographed after death",
        choice="photographed after death",
        also=("dead", "deceased", "after death", "post mortem", "postmortem", "deathbed", "on the deathbed",
              "in coffin", "in the coffin", "laid out after death", "photographed after death"),
    ),
    "denied": _who("it is not {who} in {photo}", "it may be {who} in {photo} after all", "it is not {who}"),
    # How old they are.
    "apparent-age": _age("{who} looks {age}{where}{unseen}", "… and looks {age}", "looks"),
    "stated-age": _age("{who} is {age}{where}{unseen}", "… aged {age}", "aged"),
    # Dates on or about it, in the order of the form.
    "inscription": KindWords(
        sentence="“{as_written}” is written on {photo}",
        doubt="the date written on {photo} may not be when it was taken", called="the inscription",
        quoting="{quoted} is written on {photo}, read as {date}",
        label="“{as_written}” is written on it", label_quoting="{quoted} is written on it",
        fact="Written on it", choice="words on it, about the picture",
        also=("inscribed", "caption", "captioned", "label", "title on it", "words on it", "writing", "written on it",
              "written on the back", "note on the back", "handwriting", "album caption"),
    ),
    "written": KindWords(
        sentence="{photo} was written on or given away {by}",
        doubt="{photo} may have been written on or given away later",
        called="what was written", label="written on {by}",
        given="written on", fact="Written on or given away by", choice="written on or given away by this date",
        also=("sent", "given", "given away", "dedication", "dedicated", "letter", "inscribed to"),
    ),
    "taken": KindWords(
        sentence="{photo} was taken {when}", doubt="{photo} may not have been taken {at}",
        called="the date given for it", label="taken {when}", fact="Taken", choice="somebody says when it was taken",
        also=("date", "dated", "date taken", "day", "shot", "exposed", "when", "year"),
    ),
    "recollection": KindWords(
        sentence="{photo} was taken {when}, from memory", doubt="{photo} may not have been taken {at}",
        called="the recollection", label="taken {when}, from memory",
        fact="Remembered", choice="somebody remembers when",
        also=("memory", "remembered", "remembers", "recalled", "told", "says", "story", "hearsay", "oral history"),
    ),
    "print-stamp": KindWords(
        sentence="the border of {photo} says it was printed {when}",
        doubt="{photo} may not have been printed {at}", called="the print stamp",
        label="printed {when}, by its border",
        given="printed", fact="Printer's date", choice="a printer's date on the border or back",
        also=("printed", "print date", "border date", "date on the border", "date in the border", "processing date",
              "processed", "lab stamp", "laboratory stamp", "back print", "developed"),
    ),
    "postmark": KindWords(
        sentence="{photo} was postmarked {when}", doubt="{photo} may not have been postmarked {at}",
        called="the postmark", label="postmarked {when}, so taken by then",
        given="postmarked", fact="Postmarked", choice="a postmark",
        also=("postmarked", "postal mark", "post mark", "cancellation", "franked", "posted"),
    ),
    "imprint": KindWords(
        sentence="the photographer named on {photo} worked there {when}",
        doubt="the photographer named on {photo} may have worked there at a different time",
        called="the imprint", label="the photographer worked there {when}",
        given="imprint of", fact="Photographer's mark", choice="a photographer's mark, with the years of work there",
        also=("studio", "photographer", "studio imprint", "studio mark", "photographers mark", "photographer's mark",
              "studio stamp", "studio name", "maker"),
    ),
    "event": KindWords(
        sentence="{photo} shows {event}", doubt="{photo} may not show {event}",
        question="Does {photo} show {occasion}?", called="{event}", label="shows {event}",
        fact="Shows", choice="an event in the tree (wedding of Lambert and Agnes)",
        also=("shows", "occasion", "tree event"),
    ),
    # What it is.
    "process": _made("the process", "Process", "How it was made"),
    "format": _made("the format", "Format", "What kind of object it is"),
    # How it is related to another photograph.
    "before": _relation(
        "{photo} was taken before {other}",
        "{photo} may not have been taken before {other}",
        "Which came first, {photo} or {other}?",
        label="taken before {other}", choice="was taken before",
        also=("earlier", "earlier than", "older", "older than", "taken before", "precedes"),
        turned="taken after {photo}", other_way="after",
    ),
    "after": _relation(
        "{photo} was taken after {other}",
        "{photo} may not have been taken after {other}",
        "Which came first, {photo} or {other}?",
        label="taken after {other}", choice="was taken after",
        also=("later", "later than", "younger", "younger than", "newer", "newer than", "taken after", "follows"),
        turned="taken before {photo}", other_way="before",
    ),
    "same-occasion": _relation(
        "{photo} was taken on the same occasion as {other}",
        "{photo} may not have been taken on the same occasion as {other}",
        "Were {photo} and {other} taken on the same day?",
        label="the same occasion as {other}", choice="was taken on the same occasion as",
        also=("same day", "same day as", "same occasion as", "same event", "same time", "same party", "same session",
         "same sitting", "same shoot", "same series"),
    ),
    "copy-of": _relation(
        "{photo} is a copy of {other}",
        "{photo} may not be a copy of {other}",
        "Is {photo} a copy of {other}?",
        label="a copy of {other}", choice="is a copy of",
        also=("copy", "is a copy of", "copied from", "reproduction", "reproduction of", "duplicate", "duplicate of",
         "rephotographed from"),
        turned="the original of {photo}", other_way="copied as",
    ),
    "same-negative": _relation(
        "{photo} is from the same negative as {other}",
        "{photo} may not be from the same negative as {other}",
        "Are {photo} and {other} from the same negative?",
        label="from the same negative as {other}", choice="is from the same negative as",
        also=("same negative as", "same plate", "same exposure", "another print", "another print of",
         "print from the same negative"),
    ),
    "same-strip": _relation(
        "{photo} is on the same strip of film as {other}",
        "{photo} may not be on the same strip of film as {other}",
        "Are {photo} and {other} on the same strip of film?",
        label="on the same strip of film as {other}", choice="is on the same strip of film as",
        called="that strip of film",
        also=("strip", "same strip as", "film strip", "filmstrip", "negative strip", "strip of negatives", "same film",
         "same film as", "same roll", "same roll as", "same roll of film", "roll", "film", "neighbouring frame",
         "next frame", "on one strip", "on one strip with"),
    ),
    "part-of": _relation(
        "{photo} is mounted on {other}",
        "{photo} may not be mounted on {other}",
        "Is {photo} mounted on {other}?",
        label="mounted on {other}", choice="is mounted on the page",
        also=("on", "on page", "on the page", "page", "album page", "in album", "mounted on", "pasted on", "glued on",
         "belongs to page"),
        turned="carries {photo}", other_way="carries",
    ),
    # What the tree says.
    "birth": _life(
        "{who} was born {when}", "When was {who} born?",
        "the birth date of {who} may not be right", "the birth of {who}",
    ),
    "christening": _life(
        "{who} was christened {when}", "When was {who} christened?",
        "the christening date of {who} may not be right", "the christening of {who}",
    ),
    "death": _life(
        "{who} died {when}", "When did {who} die?",
        "the death date of {who} may not be right", "the death of {who}",
    ),
    "burial": _life(
        "{who} was buried {when}", "When was {who} buried?",
        "the burial date of {who} may not be right", "the burial of {who}",
    ),
    "alive": _life(
        "{who} was alive {when}", "Was {who} alive {when}?",
        "{who} may not have been alive {at}", "the sign of life of {who}",
    ),
    "event-date": KindWords(
        sentence="{event} was {when}", doubt="the date of {event} may not be right", question="When was {event}?",
        called="that",
    ),
    "parent-link": KindWords(
        sentence="{parent} is {a_role} of {child}", doubt="{parent} may not be the {role} of {child} by birth",
        question="Who was the {role} of {child}?", called="that",
    ),
    "marriage": KindWords(
        sentence="{who} married", doubt="{who} may not have married", question="Did {who} marry?", called="that"
    ),
}  # fmt: skip


def words_of(statement: ev.Statement) -> KindWords:
    """The words of a statement's kind."""
    if isinstance(statement, ev.Appearance):
        return KINDS["denied" if statement.denied else statement.role]
    return KINDS[statement.kind]


@dataclass(frozen=True, slots=True)
class Parent:
    """The words for a parent by their sex."""

    role: str
    a_role: str


PARENTS = {"F": Parent("mother", "the mother"), "M": Parent("father", "the father")}
A_PARENT = Parent("parent", "a parent")
"""For somebody whose sex is not recorded, or is neither."""
