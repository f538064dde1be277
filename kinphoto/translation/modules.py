"""What Python says in another language: each module is read through its catalogue, before it is compiled.

The same as `templates.py` does with templates: English is written in the code where it is used, and nothing is marked.
Where there are catalogues, the strings that `python.py` finds are exchanged in the syntax tree of a module, and what
they fill in goes where the other language wants it. So a message is looked up once, when its module is imported, and
only what is counted while kinphoto works. Where there are none, which means English, this is not even imported
(`kinphoto/__init__.py`), and Python reads the modules as it always does.

The compiled modules are kept beside Python's own, one a language, and made again when a module or a catalogue changes.
"""

from __future__ import annotations

import ast
import sys
from collections.abc import Mapping, Sequence
from functools import partial
from gettext import NullTranslations
from importlib.abc import MetaPathFinder
from importlib.machinery import ModuleSpec, PathFinder, SourceFileLoader
from pathlib import Path
from types import ModuleType
from typing import TYPE_CHECKING

from kinphoto.translation.catalogues import catalogue, counted, files
from kinphoto.translation.python import file_messages, replace_words

if TYPE_CHECKING:
    from _typeshed import ReadableBuffer, StrPath

SURFACES = ("labels", "sentences", "errors", "commands")
"""The catalogues of what Python says, in the order that a plural is looked for."""

_PACKAGE = Path(__file__).parents[1]


def import_in_language() -> None:
    """From now on import the modules of kinphoto in the language of whoever starts it, if there are catalogues."""
    books = {surface: book for surface in SURFACES if (book := catalogue(surface))}
    if not books or any(isinstance(each, _Modules) for each in sys.meta_path):
        return
    sys.meta_path.insert(0, _Modules(books))
    from kinphoto import phrases

    first, *others = books.values()
    for other in others:
        first.add_fallback(other)
    phrases.counted = partial(counted, first)
    if "sentences" in books:
        from kinphoto.reason.model import processes

        processes.translate = books["sentences"].gettext


class _Modules(MetaPathFinder):
    """Finds the modules of kinphoto, and nothing else."""

    def __init__(self, books: Mapping[str, NullTranslations]) -> None:
        self._books = books

    def find_spec(
        self, fullname: str, path: Sequence[str] | None, target: ModuleType | None = None
    ) -> ModuleSpec | None:
        spec = PathFinder.find_spec(fullname, path, target) if fullname.startswith("kinphoto.") else None
        if spec and isinstance(spec.loader, SourceFileLoader):
            spec.loader = _InLanguage(spec.loader.name, spec.loader.path, self._books)
        return spec


class _InLanguage(SourceFileLoader):
    """Compiles a module after its words were exchanged."""

    def __init__(self, fullname: str, path: str, books: Mapping[str, NullTranslations]) -> None:
        super().__init__(fullname, path)
        self._books = books
        self._language = "+".join(sorted({book.info().get("language", "other") for book in books.values()}))

    def source_to_code(  # type: ignore[override]  # as Python hands it over
        self, data: ReadableBuffer | str, path: ReadableBuffer | StrPath, *, _optimize: int = -1
    ) -> object:
        tree = ast.parse(bytes(data) if not isinstance(data, str) else data, str(path))
        for surface, said in list(file_messages(Path(str(path)).relative_to(_PACKAGE).as_posix(), tree)):
            if surface in self._books:
                replace_words(said, self._books[surface].gettext)
        return compile(tree, str(path), "exec", dont_inherit=True, optimize=_optimize)

    def path_stats(self, path: str) -> Mapping[str, float]:
        """The state of a module and of the catalogues: compiled ones of another state are made again."""
        stats = super().path_stats(path)
        return {**stats, "mtime": stats["mtime"] + sum(_changed(surface) for surface in self._books)}

    def get_data(self, path: str) -> bytes:
        return super().get_data(self._kept(path))

    def set_data(self, path: str, data: ReadableBuffer, *, _mode: int = 0o666) -> None:
        super().set_data(self._kept(path), data, _mode=_mode)

    def _kept(self, path: str) -> str:
        """Where a compiled module is kept, by where Python would keep the English one."""
        return path.removesuffix(".pyc") + f".{self._language}.pyc" if path.endswith(".pyc") else path


def _changed(surface: str) -> float:
    return sum(file.stat().st_mtime for file in files(surface))
