"""Writes the tables of docs/checks.md from the code: every check with its limit and source, and the floors.

Run after a limit has changed:  python docs/make_checks.py
"""

from __future__ import annotations

from pathlib import Path

from kinphoto.scans.checks.limits import FLOORS, LIMITS, Weight

PAGE = Path(__file__).with_name("checks.md")
_MARKS = {"checks": ("<!-- checks -->", "<!-- /checks -->"), "floors": ("<!-- floors -->", "<!-- /floors -->")}
_HEADINGS = {
    Weight.REDO: "Scan it again",
    Weight.LOOK: "Look at it",
    Weight.NOTE: "Only noted: it is about the print",
}


def checks() -> str:
    """The limits, in the order of a report."""
    lines = []
    for weight, heading in _HEADINGS.items():
        lines += [f"### {heading}", "", "| finding | what | limit | where it comes from |", "| --- | --- | --- | --- |"]
        lines += [
            f"| `{each.kind}`{' (backs too)' if each.backs else ''} | {each.title} | "
            f"{f'{each.limit:g} {each.unit}' if each.unit and each.limit else each.unit or '–'} | {each.source} |"
            for each in LIMITS
            if each.weight is weight
        ]
        lines.append("")
    return "\n".join(lines).strip()


def floors() -> str:
    """The minimum resolution of each kind of original."""
    rows = [f"| `{each.original}` | {each.title} | {each.ppi:g} | {each.source} |" for each in FLOORS]
    return "\n".join(["| original | | ppi | where it comes from |", "| --- | --- | --- | --- |", *rows])


def filled(page: str) -> str:
    """The page with both tables as the code has them."""
    for name, table in (("checks", checks()), ("floors", floors())):
        begin, end = _MARKS[name]
        before, rest = page.split(begin)
        page = f"{before}{begin}\n\n{table}\n\n{end}{rest.split(end)[1]}"
    return page


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
