"""What the archive advises, in the words of the pages: where it names a command of the command line, the page that does
the same is named instead, as a link."""

from __future__ import annotations

import re

from markupsafe import Markup, escape

Place = tuple[str, str]
"""What somebody reads instead of a command, and the address it leads to ("" for none)."""

_PHOTOGRAPH = ("the page of the photograph", "/boxes")
_ADD = ("Add to the archive", "/bring-in")
_BOXES = ("Boxes", "/boxes")
_GIVE = ("Give", "/give")
_KEEP = ("Keep", "/keep")
_TOLD = ("Who told us", "/informants")
_UNUSED = ("“Don't use this any more” beside it", "")
PLACES: dict[str, Place] = {
    "init": ("a new archive", ""), "demo": ("a new archive", ""), "serve": ("these pages", "/"),
    "help": ("the menu above", ""), "find": ("Search", "/search"), "show": ("Search", "/search"),
    "list": _BOXES, "people": ("People", "/people"), "people add": ("People, at the foot", "/people"),
    "people same": ("the page of that person", "/people"), "families": ("People", "/people"),
    "pictures": ("Search", "/search"), "kin": ("How two people are related", "/kinship"),
    "proband": ("“This is me” on the page of a person", "/people"),
    "container": _BOXES, "progress": ("Progress", "/progress"), "link": _PHOTOGRAPH, "frame": _PHOTOGRAPH,
    "unname": ("“Remove the name, keep the face” beside it", ""), "state": _PHOTOGRAPH, "read": _PHOTOGRAPH,
    "process": _PHOTOGRAPH, "format": _PHOTOGRAPH, "relate": _PHOTOGRAPH, "describe": _PHOTOGRAPH,
    "informant": _TOLD, "informants": _TOLD, "dates": ("Years", "/years"),
    "explain": ("“When, and why” on the page of the photograph", ""), "conflicts": ("Conflicts", "/conflicts"),
    "settle": ("Conflicts", "/conflicts"), "hindsight": ("How well dates are estimated", "/hindsight"),
    "ask": ("Questions", "/questions"), "who": ("“who it could be” beside a face", ""), "give": _GIVE,
    "withdraw": _UNUSED, "reinstate": ("“Use it again” beside it", ""),
    "remove": ("“Remove it from the archive” on its page", ""), "replace": ("“Use a better scan” on its page", ""),
    "undo": ("History", "/log"), "log": ("History", "/log"), "keep": _KEEP, "tree": _ADD, "tree import": _ADD,
    "tree check": ("Check the tree", "/tree-check"), "tree write": ("The tree with its pictures", "/tree-check"),
    "scans": _ADD, "scans add": _ADD, "scans cut": ("Cut apart", "/cut"),
    "scans straighten": ("Straighten", "/straighten"), "scans capture": ("Straighten", "/straighten"),
    "scans compare": ("Fronts and backs", "/pairs"),
    "faces": ("Finding faces", "/faces"),
    "scans watch": ("At the scanner", "/scanning"),
    "scans join": ("“Join into one photograph” in its box", "/boxes"), "scans pair": ("Fronts and backs", "/pairs"),
    "scans part": ("“Make it a separate photograph” on its page", ""), "scans turn": ("“Turn” on its page", ""),
    "scans names": ("Names of scans", "/names"), "scans rename": ("Names of scans", "/names"),
    "scans inside": ("In the files", "/inside"), "stories": ("Stories", "/stories"),
    "tell": ("Stories", "/stories"), "scans where": _ADD, "scans find": _ADD,
    "scans check": ("Scans to redo", "/scan-checks"), "scans floor": ("Scans to redo", "/scan-checks"),
}  # fmt: skip
"""Each command with the place in the pages where the same is done; of a group, what holds for all its commands that are
not named."""

_NAMES = "|".join(sorted((name.replace(" ", " +") for name in PLACES), key=len, reverse=True))
_ANYTHING = r"(?:(?!(?<!\.)\.(?:\s|$)|[;,)`]).)*"
_ARGUMENTS = r"""(?:\s+(?:--[a-z-]+|[A-Z][A-Z0-9./-]*(?:\.ged)?|"[^"]*"|“[^”]*”|/\S+|\d+)(?=[\s.,;)`]|$))*"""
_OF_GROUP = r"(?:(?<=keep|give) +[a-z]+|(?<=faces) +[a-z]+|(?<=container) +[a-z-]+)?"
_MENTION = re.compile(
    rf"(?:(?<=: )kinphoto +({_NAMES})\b{_ANYTHING}|`kinphoto +({_NAMES})\b[^`]*`|kinphoto +({_NAMES})\b"
    rf"{_OF_GROUP}{_ARGUMENTS})"
)


def on_pages(text: str, here: str = "") -> Markup:
    """A sentence of the archive for a page: "To see them all: kinphoto log." becomes "To see them all: History.", and
    "see below" on that page itself (`here` is its address). One that was made for a page stays as it is."""
    if isinstance(text, Markup):
        return text
    made, at = Markup(), 0
    for found in _MENTION.finditer(text):
        words, address = PLACES[re.sub(r" +", " ", next(filter(None, found.groups())))]
        link = Markup('<a href="{}">{}</a>').format(address, words) if address else Markup(escape(words))
        link = Markup("see below") if address and address == here else link
        made += escape(text[at : found.start()].replace("`", "")) + link
        at = found.end()
    return made + escape(text[at:].replace("`", ""))
