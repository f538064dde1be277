"""What a part of the archive is: a table of contents, whose lines say in which unit of work a function is carried out.

A part holds no code of its own. Each line names a function of the modules below, and what kind of method that makes:

- `reads` gives it a view of the rows (`Connection`); nothing is written.
- `writes` gives it one change (`Work`): one transaction and one line of the log, or no line where nothing was changed.
- `rehearses` gives it a change that is carried out and never kept: a plan.
- `derives` keeps what follows from everything else: no line of the log. It may take several units of work, so the
  function is given the `Engine` and begins them.
- `writes_in_steps` is for a change that commits as it goes, or that looks at files before it begins: the function is
  given the `Engine`, and its units of work extend one line of the log as long as nobody else writes in between.

`fresh` has the estimates made again first, where something was changed since; it may be a question that is asked of the
rows and of the same arguments. A method has the signature and the words of its function, without what that is given
first, so both stand once. Parts name modules through `later`, so that a command loads only what it calls.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import AbstractContextManager, nullcontext
from enum import StrEnum
from functools import cached_property, partial, wraps
from importlib import import_module
from types import MethodType
from typing import Any, Concatenate, Generic, ParamSpec, TypeVar, overload

from sqlalchemy import Connection, Engine

from kinphoto.store import session
from kinphoto.store.session import Work

P = ParamSpec("P")
R = TypeVar("R")


class Part:
    """A part of the archive. Its public methods are made by `reads`, `writes` and the like."""

    def __init__(self, engine: Engine) -> None:
        self._engine = engine


class Kind(StrEnum):
    """What a method does to the archive."""

    READS = "reads"
    WRITES = "writes"
    REHEARSES = "rehearses"
    DERIVES = "derives"


class Method(Generic[P, R]):
    """A function of a module below as a method of a part."""

    def __init__(
        self,
        kind: Kind,
        function: Callable[Concatenate[Any, P], R],
        begin: Callable[[Engine], AbstractContextManager[Any]],
        fresh: bool | Callable[Concatenate[Connection, P], bool] = False,
    ) -> None:
        self.kind = kind
        self._function, self._begin, self._fresh = function, begin, fresh

    @overload
    def __get__(self, part: None, owner: type[Part]) -> Callable[..., R]: ...
    @overload
    def __get__(self, part: Part, owner: type[Part]) -> Callable[P, R]: ...
    def __get__(self, part: Part | None, owner: type[Part]) -> Callable[..., R]:
        if part is None:
            return self._method
        bound: Callable[..., R] = MethodType(self._method, part)
        return bound

    @cached_property
    def _method(self) -> Callable[..., R]:
        function, fresh = _loaded(self._function), _loaded(self._fresh)

        @wraps(function)
        def method(part: Part, /, *args: P.args, **kwargs: P.kwargs) -> R:
            engine = part._engine
            if callable(fresh):
                with session.reading(engine) as connection:
                    wanted = fresh(connection, *args, **kwargs)
            else:
                wanted = fresh
            if wanted:
                from kinphoto.archive.dates.estimates import refresh

                refresh(engine)
            with self._begin(engine) as unit:
                done: R = function(unit, *args, **kwargs)
                return done

        return method


def reads(
    function: Callable[Concatenate[Connection, P], R],
    *,
    fresh: bool | Callable[Concatenate[Connection, P], bool] = False,
) -> Method[P, R]:
    """A look at the rows as they are at one moment."""
    return Method(Kind.READS, function, session.reading, fresh)


def writes(
    function: Callable[Concatenate[Work, P], R], *, fresh: bool | Callable[Concatenate[Connection, P], bool] = False
) -> Method[P, R]:
    """One change, all of it or nothing. The function gives it its words (`Work.what`)."""
    return Method(Kind.WRITES, function, partial(session.working, what=""), fresh)


def writes_in_steps(function: Callable[Concatenate[Engine, P], R]) -> Method[P, R]:
    """One change that the function begins, and commits as it goes."""
    return Method(Kind.WRITES, function, nullcontext)


def rehearses(function: Callable[Concatenate[Work, P], R]) -> Method[P, R]:
    """What a change would do."""
    return Method(Kind.REHEARSES, function, session.rehearsing)


def derives(function: Callable[Concatenate[Engine, P], R]) -> Method[P, R]:
    """What follows from everything else, kept in the database or in memory."""
    return Method(Kind.DERIVES, function, nullcontext)


def later(room: str, names: str) -> Iterator[Any]:
    """Stand-ins for modules of a folder of the archive, each imported when a function of it is first called. What
    checks types reads of the modules themselves, under TYPE_CHECKING."""
    return (_Later(f"kinphoto.archive.{room}.{name}") for name in names.split())


class _Later:
    """A module, or something in it, that is not loaded yet."""

    def __init__(self, module: str, name: str = "") -> None:
        self._module, self._name = module, name

    def __getattr__(self, name: str) -> _Later:
        return _Later(self._module, name)

    def load(self) -> Any:
        return getattr(import_module(self._module), self._name)


def _loaded(what: Any) -> Any:
    return what.load() if isinstance(what, _Later) else what
