"""The pages that the header leads to: one line for each, in the order they are shown."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Entry:
    """A page: its address, the word for it, whether strangers see it too, and whether it is under *More*."""

    address: str
    word: str
    for_anybody: bool = False
    more: bool = False


ENTRIES = (
    Entry("/boxes", "Boxes", for_anybody=True),
    Entry("/years", "Years", for_anybody=True),
    Entry("/people", "People", for_anybody=True),
    Entry("/table", "Table"),
    Entry("/questions", "Questions"),
    Entry("/conflicts", "Conflicts"),
    Entry("/bring-in", "Add to the archive", more=True),
    Entry("/scanning", "At the scanner", more=True),
    Entry("/scan-checks", "Scans to redo", more=True),
    Entry("/names", "Names of scans", more=True),
    Entry("/inside", "In the files", more=True),
    Entry("/pairs", "Fronts and backs", more=True),
    Entry("/cut", "Cut apart", more=True),
    Entry("/straighten", "Straighten", more=True),
    Entry("/faces", "Finding faces", more=True),
    Entry("/progress", "Progress", more=True),
    Entry("/give", "Give", more=True),
    Entry("/keep", "Keep", more=True),
    Entry("/kinship", "How two are related", more=True),
    Entry("/tree-check", "Check the tree", more=True),
    Entry("/hindsight", "How well dates are estimated", more=True),
    Entry("/informants", "Who told us", more=True),
    Entry("/stories", "Stories", more=True),
    Entry("/log", "History", more=True),
)


def entries(keeper: bool, *, more: bool) -> list[Entry]:
    """Those that this visitor is shown in the header itself, or under *More*."""
    return [one for one in ENTRIES if one.more is more and (keeper or one.for_anybody)]
