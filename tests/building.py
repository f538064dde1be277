"""Archives for tests: the sample, made once in a run and copied, and small ones filled as a family would fill them."""

from __future__ import annotations

import fcntl
import hashlib
import json
import os
import re
import shutil
from collections import deque
from collections.abc import Callable
from copy import copy
from pathlib import Path
from types import FunctionType
from typing import Any, ClassVar

import numpy as np
import pytest
from making import make_scans
from PIL import Image
from sqlalchemy import Dialect, Engine, TupleType
from sqlalchemy.engine.interfaces import Compiled
from sqlalchemy.types import TypeEngine
from sqlalchemy.util import LRUCache, memoized_property

from kinphoto.archive import Archive
from kinphoto.archive.collection import pairing, replacing, same_print, scan_checks, scanning, watching
from kinphoto.archive.dates.contributions import WhatIf
from kinphoto.archive.faces import searching
from kinphoto.archive.statements.appearances import Link
from kinphoto.archive.statements.claims import NewClaim
from kinphoto.archive.statements.descriptions import Description
from kinphoto.reason.model.evidence import Evidence
from kinphoto.scans.beds import cutting
from kinphoto.scans.captures import corners
from kinphoto.scans.worker import reply
from kinphoto.scans.workers import Workers
from kinphoto.store import opening
from kinphoto.store import tables as t
from kinphoto.store.roots import ScanPath

WORTH_REMEMBERING = 40
"""Photographs of an archive from which it is worth while: the sample has some fifty."""
INDEXED = 738_000
"""The day (29 July 2021) on which photographs without a scan were indexed: none was taken after it."""


MEASURING = (scanning, scan_checks, replacing, watching, searching)
"""The modules that have scans measured or searched for faces."""
OF_PICTURES = (
    (pairing, "tone"), (pairing, "outline"), (pairing, "print_outline"), (same_print, "registered"),
    (cutting, "prints_on"), (corners, "corners_of"),
)  # fmt: skip
"""What pages ask of a picture again for each archive, or each time, and takes long to answer."""
OF_BYTES = ("check", "find_faces", "describe_faces", "describe_frames")
"""Of what is asked about a scan, that which is answered from the bytes of one file alone: how good it is, and what the
networks say of it."""


class MeasuredHere(Workers):
    """Measures scans in this process, one after another: to start another takes longer than most tests. What is said
    of a picture is said again of the same bytes: many tests begin with the same few prints."""

    _said: ClassVar[dict[str, str]] = {}

    def __init__(self, thumbs: Path, count: int) -> None:
        super().__init__(thumbs, min(count, 1))

    def start(self) -> None:
        """There is none to start."""

    def _ask(self, request: dict[str, Any]) -> dict[str, Any]:
        path = Path(request["path"])
        asked = ""
        if any(what in request for what in OF_BYTES) and path.exists():
            asked = json.dumps({**request, "path": hashlib.sha256(path.read_bytes()).hexdigest()})
        said = self._said.get(asked) or json.dumps(reply(request))
        found: dict[str, Any] = json.loads(said)
        if asked and "why" not in found:  # that names the path
            self._said[asked] = said
        return found


class Remembered:
    """A function of the evidence that gives for equal evidence what it gave before: a result depends on nothing else,
    and most tests begin with the same sample. `asked` is how many of its arguments decide; small archives are quick."""

    def __init__(self, function: Callable[..., Any], asked: int) -> None:
        self._function, self._asked = function, asked
        self._known: deque[tuple[tuple[Any, ...], Any]] = deque(maxlen=2)

    def __call__(self, evidence: Evidence, *more: Any) -> Any:
        """What it gives, worked out or known."""
        if len(evidence.photographs) < WORTH_REMEMBERING:
            return self._function(evidence, *more)
        asked = (evidence, *more)[: self._asked]
        for before, found in tuple(self._known):
            if before == asked:
                return found
        found = self._function(evidence, *more)
        self._known.append((asked, found))
        return found


class SeenBefore:
    """A function of pictures that says of equal pixels what it said before: most tests begin with the same scans."""

    def __init__(self, function: Callable[..., Any]) -> None:
        self._function = function
        self._said: LRUCache[Any, tuple[Any]] = LRUCache(1_000)

    def __call__(self, *given: Any) -> Any:
        """What it says, worked out or known."""
        asked = tuple(map(self._named, given))
        if (said := self._said.get(asked)) is None:
            said = self._said[asked] = (self._function(*given),)
        return said[0]

    @staticmethod
    def _named(one: Any) -> Any:
        """What tells one argument from all others."""
        if isinstance(one, tuple):
            return tuple(map(SeenBefore._named, one))
        if not isinstance(one, np.ndarray | Image.Image):
            return one
        pixels = np.asarray(one)
        return pixels.shape, pixels.dtype, getattr(one, "mode", ""), hashlib.sha256(pixels.tobytes()).digest()


class MadeBefore:
    """`derived.make` for what pages show of scans, which is named after the bytes of a scan and how it is turned: what
    was made in this process is copied for an archive with the same scan, from the folder `kept`."""

    def __init__(self, make: Callable[[Path, Path, Callable[[Path], None]], None], kept: Path) -> None:
        self._make, self._kept = make, kept

    def __call__(self, path: Path, root: Path, write: Callable[[Path], None]) -> None:
        """As `derived.make` does."""
        before = self._kept / path.relative_to(root)
        if not before.exists():
            self._make(before, self._kept, write)
        self._make(path, root, lambda part: _copied_to(part, before))


def _copied_to(part: Path, before: Path) -> None:
    if before.is_dir():
        shutil.copytree(before, part, copy_function=os.link)
    else:
        shutil.copyfile(before, part)


def sharing_what_ifs(make: Callable[..., None]) -> Callable[..., None]:
    """`WhatIf.__init__`, after which what was worked out for equal evidence is not worked out again: the same few
    photographs of the sample are explained in many tests, and each statement behind one of them costs a dating."""
    known: deque[WhatIf] = deque(maxlen=64)

    def init(new: WhatIf, *given: Any) -> None:
        make(new, *given)
        for before in known:
            if (before.code, before.births, before.evidence) == (new.code, new.births, new.evidence):
                new._made = before._made
                return
        known.append(new)

    return init


class CompiledOnce(LRUCache[Any, Compiled]):
    """An engine's questions as SQL, which the engines of a process share: those who use kinphoto open one archive, the
    tests thousands. Where its scans are belongs to each archive: what has their paths in it is shared but for what
    gives and takes the values.

    SQLAlchemy's keys begin with the dialect, of which each engine has one of its own, all alike.
    """

    _shared: LRUCache[Any, Compiled] = LRUCache(5_000)
    _of_paths: LRUCache[Any, Compiled] = LRUCache(5_000)

    def get(self, key: tuple[Any, ...], default: Any = None) -> Any:
        """The SQL of a question that was asked before, here or of another archive."""
        found = self._shared.get(key[1:])
        if found is None and (found := super().get(key)) is None and (other := self._of_paths.get(key[1:])) is not None:
            found = _for_another(other, key[0])
            super().__setitem__(key, found)
        return default if found is None else found

    def __setitem__(self, key: tuple[Any, ...], compiled: Any) -> None:
        if any(map(_of_paths, (*(bound.type for bound in compiled.binds.values()), *_types_found(compiled)))):
            self._of_paths[key[1:]] = compiled
            super().__setitem__(key, compiled)
        else:
            self._shared[key[1:]] = compiled


def _for_another(compiled: Any, dialect: Dialect) -> Any:
    """The same SQL for the archive of this dialect: all that was looked up with the other one is looked up again."""
    own = copy(compiled)
    own.dialect, own._cached_metadata = dialect, None
    for name in tuple(vars(own)):
        if isinstance(getattr(type(own), name, None), memoized_property | FunctionType):
            del vars(own)[name]
    return own


class CreatedOnce:
    """Makes the database of a new archive: the first one as kinphoto does, the others as copies of that."""

    def __init__(self, create: Callable[[Engine], None]) -> None:
        self.create = create
        self._empty = b""

    def __call__(self, engine: Engine) -> None:
        """As `opening.create` does."""
        if not engine.url.database:  # in memory
            self.create(engine)
            return
        path = Path(engine.url.database)
        if self._empty:
            opening._make_empty(path)
            path.write_bytes(self._empty)
        else:
            self.create(engine)
            opening.close(engine)
            self._empty = path.read_bytes()


def _types_found(compiled: Any) -> list[TypeEngine[Any]]:
    """Of the columns that a statement gives."""
    return [column.type for column in compiled._result_columns or ()]


def _of_paths(one: TypeEngine[Any]) -> bool:
    return isinstance(one, ScanPath) or (isinstance(one, TupleType) and any(map(_of_paths, one.types)))


def made_once(folder: Path, make: Callable[[Path], object]) -> Path:
    """`folder`, filled by `make` unless another process of this run did so or is about to."""
    with folder.with_name(folder.name + ".lock").open("a+") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        lock.seek(0)
        if not lock.read():
            shutil.rmtree(folder, ignore_errors=True)  # what is left of an attempt that failed
            make(folder)
            lock.write("made")
    return folder


def of_the_run(temporary: pytest.TempPathFactory) -> Path:
    """A folder that the processes of one run share: pytest-xdist gives each a folder of its own inside it."""
    own = temporary.getbasetemp()
    return own.parent if "PYTEST_XDIST_WORKER" in os.environ else own


def copied(folder: Path, to: Path) -> Archive:
    """A copy of an archive, opened. Of the pictures nothing but the names is copied, for nobody writes to them."""
    shutil.copytree(folder, to, copy_function=_link_unless_rows)
    return Archive.open(to)


def brought_along(place: Path, to: Path) -> Archive:
    """A copy of the archive in `place` and of the scans beside it, opened in `to`. It finds its scans there, as it does
    when somebody moves the whole. For a test that changes both, where they take longer to make than to copy."""
    shutil.copytree(place, to, dirs_exist_ok=True)
    return Archive.open(to / "archive")


def _link_unless_rows(source: str, target: str) -> None:
    (shutil.copy2 if Path(source).name.startswith("kinphoto.db") else os.link)(source, target)


def archive_with(place: Path, tree: str = "", *, scans: int = 0, photographs: int = 0) -> Archive:
    """A new archive in a folder of `place`, with a tree file of this text, this many small scans of noise (seed 1), and
    this many photographs without a scan: those take no time, and are enough to make statements about."""
    archive = Archive.create(place / "archive")
    if tree:
        (place / "tree.ged").write_text(tree, encoding="utf-8")
        archive.tree.import_file(place / "tree.ged")
    if scans:
        make_scans(place / "scans", scans, seed=1)
        archive.scans.add([place / "scans"])
    if photographs:
        with archive.working("photographs") as work:
            rows = [{"code": f"K{number:05}", "indexed": INDEXED} for number in range(1, photographs + 1)]
            work.insert(t.photograph, rows)
    return archive


def tree_of(*people: str) -> str:
    """A tree file of these people, each a name as GEDCOM writes it and perhaps a year of birth: `Ada /Marsh/ 1890`."""
    lines = ["0 HEAD", "1 GEDC", "2 VERS 7.0"]
    for number, person in enumerate(people, 1):
        name, born = re.fullmatch(r"(.*?/)(?: (\d+))?", person).groups()  # type: ignore[union-attr]
        lines += [f"0 @I{number}@ INDI", f"1 NAME {name}", *(["1 BIRT", f"2 DATE {born}"] if born else [])]
    return "\n".join([*lines, "0 TRLR", ""])


NUMBERS = (3, 12, 9, 1, 14, 6, 11, 2, 17, 5)
"""Of the photographs in `numbered_tin`, as they lie."""


def numbered_tin(place: Path) -> Archive:
    """Ten photographs in a tin, numbered on their backs from an album. Of six a year is known, later for a higher
    number; in the others, among them number 12 (K2), is Ada Marsh (1880 to 1960)."""
    archive = archive_with(place, photographs=10)
    archive.photographs.move([f"K{i}" for i in range(1, 11)], "Tin")
    archive.people.add("Ada Marsh", born="1880", died="1960")
    for i, number in enumerate(NUMBERS, 1):
        archive.photographs.describe(f"K{i}", Description(former_number=f"No. {number}"))
        if number in (3, 9, 14, 11, 2, 17):
            archive.statements.record(NewClaim(photograph=f"K{i}", kind="inscription", date=str(1920 + number)))
        else:
            archive.statements.link(Link(photograph=f"K{i}", person="X1", age="20-60"))
    archive.dates.estimates()
    return archive
