"""Writes the list of constants in docs/method.md from the code: each number of the reasoner, and what it means.

Run after a constant has changed:  python docs/make_constants.py
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from importlib import import_module
from numbers import Real
from pathlib import Path
from typing import Any

import kinphoto.reason

PAGE = Path(__file__).with_name("method.md")
REASON = Path(kinphoto.reason.__file__).parent
_BEGIN, _END = "<!-- constants -->", "<!-- /constants -->"
_FLOORS = {
    "model": "What the model assumes",
    "hard": "What is impossible, unlikely or set aside",
    "soft": "How posteriors are worked out",
    "": "What is answered",
    "advice": "What is asked and suggested",
}


def constants() -> str:
    """All numbers that have a name, a table for each folder of `kinphoto/reason/`."""
    lines = []
    for folder, heading in _FLOORS.items():
        lines += [f"### {heading}", "", "| file | constant | value | what it means |", "| --- | --- | --- | --- |"]
        lines += [row for path in sorted((REASON / folder).glob("*.py")) for row in _rows(path)] + [""]
    return "\n".join(lines).strip()


def _rows(path: Path) -> Iterator[str]:
    """The constants of one file, those that are assigned together in one row."""
    file = path.relative_to(REASON).as_posix()
    module = vars(import_module(".".join(("kinphoto.reason", *Path(file).with_suffix("").parts))))
    body = ast.parse(path.read_text(encoding="utf-8")).body
    for statement, below in zip(body, [*body[1:], None], strict=True):
        found = [(name, value) for name, value in _assigned(statement) if _numeric(module[name])]
        if found:
            names, values = (", ".join(f"`{each}`" for each in column) for column in zip(*found, strict=True))
            yield f"| `{file}` | {names} | {values} | {_meaning(below, file, names)} |"


def _assigned(statement: ast.stmt) -> list[tuple[str, str]]:
    """The constants that a statement names, and what it gives each, as it is written."""
    if not isinstance(statement, ast.Assign | ast.AnnAssign) or statement.value is None:
        return []
    target = statement.targets[0] if isinstance(statement, ast.Assign) else statement.target
    together = isinstance(target, ast.Tuple) and isinstance(statement.value, ast.Tuple)
    names = target.elts if together else [target]  # type: ignore[union-attr]
    values = statement.value.elts if together else [statement.value]  # type: ignore[attr-defined]
    pairs = zip(names, values, strict=True)
    return [(n.id, ast.unparse(v)) for n, v in pairs if isinstance(n, ast.Name) and n.id.isupper() and n.id[0] != "_"]


def _numeric(value: Any) -> bool:
    """Whether it is a number, or holds nothing but numbers."""
    if isinstance(value, dict):
        return bool(value) and all(map(_numeric, value.values()))
    return all(map(_numeric, value)) if isinstance(value, tuple) and value else isinstance(value, Real)


def _meaning(below: ast.stmt | None, file: str, names: str) -> str:
    """The words that stand below an assignment."""
    said = below.value.value if isinstance(below, ast.Expr) and isinstance(below.value, ast.Constant) else None
    if not isinstance(said, str):
        raise ValueError(f"{file}: nothing below {names} says what it means")
    return " ".join(said.split()).replace("|", "\\|")


def filled(page: str) -> str:
    """The page with the list as the code has it."""
    before, rest = page.split(_BEGIN)
    return f"{before}{_BEGIN}\n\n{constants()}\n\n{_END}{rest.split(_END)[1]}"


if __name__ == "__main__":
    PAGE.write_text(filled(PAGE.read_text(encoding="utf-8")), encoding="utf-8")
