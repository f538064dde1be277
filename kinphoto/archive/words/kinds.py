"""Every kind of statement in words: one block a kind, in which each of its sentences stands once.

A sentence says of `[so|not so]` the first where it tells the statement, the second where it tells what would be so
without it, as a way out of a conflict. What stands in braces is filled in by `Sentences`.
"""

from __future__ import annotations

import re
from dataclasses import dataclass

from kinphoto.reason.model import evidence as ev

_EITHER = re.compile(r"\[([^|\]]*)\|([^|\]]*)\]")


def one_of(text: str, so: bool) -> str:
    """A sentence as it tells the statement, or what would be so without it."""
    return _EITHER.sub(r"\1" if so else r"\2", text)


@dataclass(frozen=True, slots=True, kw_only=True)
class Words:
    """The words of one kind.

    `sentence` is behind every explanation and conflict, `question` at the head of a conflict, `called` what it is
    called in passing ("without the inscription it could be ..."). `quoting` takes the place of the sentence where
    somebody's own words are there, which otherwise follow it; and `label_quoting` that of the label.

    `label` stands where it is plain which photograph is meant, `turned` where that is the other one of a relation,
    which scripts then call `other_way`. `fact` stands in front of what was recorded, on the photograph's page;
    `choice` is what a form calls the kind, and `also` are other words that people use for it.
    """

    sentence: str
    quoting: str = ""
    question: str = "When was {photo} taken?"
    called: str = "the {kind}"
    label: str = ""
    label_quoting: str = ""
    turned: str = ""
    other_way: str = ""
    fact: str = ""
    choice: str = ""
    also: tuple[str, ...] = ()

    def label_from(self, other: bool = False, quoting: bool = False) -> str:
        """The label; where none is given, the sentence without the photograph."""
        if other:
            return self.turned or self.label_from().replace("{other}", "{photo}")
        given = (quoting and self.label_quoting) or self.label
        return given or re.sub("^it (is |was )?", "", one_of(self.sentence, True).replace("{photo}", "it"))


def _who(sentence: str, label: str = "", choice: str = "", also: tuple[str, ...] = ()) -> Words:
    return Words(
        sentence=sentence, question="Is that {who} in {photo}?", called="{who}", label=label, choice=choice, also=also
    )


def _life(sentence: str, question: str) -> Words:
    return Words(sentence=sentence, question=question, called="the {kind} of {who}")


def _made(fact: str, choice: str) -> Words:
    return Words(
        sentence="{photo} is[| not] {a} {title}[, {known}|]", question="What kind of picture is {photo}?",
        label="{title}, {known}", fact=fact, choice=choice,
    )  # fmt: skip


def _tie(
    sentence: str, also: tuple[str, ...], *, label: str = "", turned: str = "", other_way: str = "", choice: str = ""
) -> Words:
    return Words(
        sentence=sentence, question="How do {photo} and {other} hang together?", called="the tie to {other}",
        label=label, turned=turned, other_way=other_way, also=also,
        choice=choice or one_of(sentence, True).removeprefix("{photo} ").removesuffix(" {other}"),
    )  # fmt: skip


KINDS: dict[str, Words] = {
    # Who is in it: an appearance by its role, or denied.
    "present": _who(
        "[{who} is|it is not {who}] in {photo}",
        choice="there in person",
        also=("in person", "in the flesh", "there", "alive", "living", "sitter", "himself", "herself"),
    ),
    "likeness": _who(
        "[a likeness of {who} is|it is not a likeness of {who}] in {photo}",
        choice="a likeness (a picture in the picture, a gravestone)",
        also=("portrait", "painting", "picture", "picture in the picture", "picture of a picture", "framed picture",
              "photo in the photo", "photograph in the photograph", "bust", "statue", "gravestone", "silhouette"),
    ),
    "laid-out": _who(
        "[{who} is laid out|it is not {who} who is laid out] in {photo}",
        choice="photographed after death",
        also=("dead", "deceased", "after death", "post mortem", "postmortem", "deathbed", "on the deathbed",
              "in coffin", "in the coffin", "laid out after death", "photographed after death"),
    ),
    "denied": _who("it is[ not|] {who} in {photo}[| after all]", label="it is not {who}"),
    # How old they are.
    "apparent-age": Words(
        sentence="{who} [looks|was not] {age}{where}[{unseen}|]", question="How old was {who} in {photo}?",
        called="{age_of}", label="… and looks {age}", fact="looks",
    ),
    "stated-age": Words(
        sentence="{who} [is said to be|was not] {age}{where}[{unseen}|]", question="How old was {who} in {photo}?",
        called="{age_of}", label="… and is said to be {age}", fact="aged",
    ),
    # Dates on or about it, in the order of the form.
    "inscription": Words(
        sentence="[{photo} is inscribed {when}|the inscription of {photo} does not tell when it was taken]",
        quoting="{photo} is inscribed {quoted}, read as {date}",
        label="written on it as its date: {date}", label_quoting="written on it: {quoted}",
        fact="Written on it", choice="words on it, about the picture",
        also=("inscribed", "caption", "captioned", "label", "title on it", "words on it", "writing", "written on it",
              "written on the back", "note on the back", "handwriting", "album caption"),
    ),
    "written": Words(
        sentence="[something was written on {photo} or it was given away {when}, so it is not later"
                 "|{photo} was not written on or given away {when}]",
        called="what was written", label="written on or given away {when}, so not later",
        fact="Written on or given away by", choice="written on or given away by this date",
        also=("sent", "given", "given away", "dedication", "dedicated", "letter", "inscribed to"),
    ),
    "taken": Words(
        sentence="{photo} was[| not] taken {when}", called="what was said of when it was taken",
        fact="Taken", choice="somebody says when it was taken",
        also=("date", "dated", "date taken", "day", "shot", "exposed", "when", "year"),
    ),
    "recollection": Words(
        sentence="{photo} [is remembered as|was not] taken {when}",
        fact="Remembered", choice="somebody remembers when",
        also=("memory", "remembered", "remembers", "recalled", "told", "says", "story", "hearsay", "oral history"),
    ),
    "print-stamp": Words(
        sentence="{photo} was[| not] printed {when}[, as its border says|]",
        fact="Printer's date", choice="a printer's date on the border",
        also=("printed", "print date", "border date", "date on the border", "date in the border", "processing date",
              "lab stamp", "developed"),
    ),
    "postmark": Words(
        sentence="{photo} was[| not] postmarked {when}", label="postmarked {when}, so not later",
        fact="Postmarked", choice="a postmark",
        also=("postmarked", "postal mark", "post mark", "cancellation", "franked", "posted"),
    ),
    "imprint": Words(
        sentence="the photographer [named on|of] {photo} worked there [{when}|at another time]",
        label="the photographer worked there {when}",
        fact="Photographer's mark", choice="a photographer's mark, with the years of work there",
        also=("studio", "photographer", "studio imprint", "studio mark", "photographers mark", "photographer's mark",
              "studio stamp", "studio name", "maker"),
    ),
    "event": Words(
        sentence="{photo} [shows|does not show] {event}", question="Is {occasion} shown in {photo}?", called="{event}",
        fact="Shows", choice="an event in the tree (wedding of Lambert and Agnes)",
        also=("shows", "occasion", "tree event"),
    ),
    # What it is.
    "process": _made("Process", "How it was made"),
    "format": _made("Format", "What kind of object it is"),
    # How it hangs together with another.
    "before": _tie(
        "{photo} was[| not] taken before {other}",
        ("earlier", "earlier than", "older", "older than", "taken before", "precedes"),
        turned="taken after {photo}", other_way="after",
    ),
    "after": _tie(
        "{photo} was[| not] taken after {other}",
        ("later", "later than", "younger", "younger than", "newer", "newer than", "taken after", "follows"),
        turned="taken before {photo}", other_way="before",
    ),
    "same-occasion": _tie(
        "{photo} was[| not] taken on the same occasion as {other}",
        ("same day", "same day as", "same occasion as", "same event", "same time", "same party", "same session",
         "same sitting", "same shoot", "same series"),
        label="the same occasion as {other}",
    ),
    "copy-of": _tie(
        "{photo} is[| not] a copy of {other}",
        ("copy", "is a copy of", "copied from", "reproduction", "reproduction of", "duplicate", "duplicate of",
         "rephotographed from"),
        turned="the original of {photo}", other_way="copied as",
    ),
    "same-negative": _tie(
        "{photo} is[| not] from the same negative as {other}",
        ("same negative as", "same plate", "same exposure", "another print", "another print of",
         "print from the same negative"),
    ),
    "part-of": _tie(
        "{photo} is[| not] mounted on {other}",
        ("on", "on page", "on the page", "page", "album page", "in album", "mounted on", "pasted on", "glued on",
         "belongs to page"),
        turned="carries {photo}", other_way="carries", choice="is mounted on the page",
    ),
    # What the tree says.
    "birth": _life("{who} was[| not] born {when}", "When was {who} born?"),
    "christening": _life("{who} was[| not] christened {when}", "When was {who} christened?"),
    "death": _life("{who} [died|did not die] {when}", "When did {who} die?"),
    "burial": _life("{who} was[| not] buried {when}", "When was {who} buried?"),
    "alive": _life("{who} was[| not] alive {when}", "Was {who} alive {when}?"),
    "event-date": Words(sentence="{event} was[| not] {when}", question="When was {event}?", called="that"),
    "parent-link": Words(
        sentence="{parent} [is {a_role}|was not the {role} by birth] of {child}",
        question="Who was the {role} of {child}?", called="that",
    ),
    "marriage": Words(sentence="{who} [married|did not marry]", question="Did {who} marry?", called="that"),
}  # fmt: skip


def words_of(said: ev.Statement) -> Words:
    """The words of a statement's kind."""
    if isinstance(said, ev.Appearance):
        return KINDS["denied" if said.denied else said.role]
    return KINDS[said.kind]
