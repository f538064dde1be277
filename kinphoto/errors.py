"""Every error a person can meet: one root, and each says what happened, where, and what to do about it.

A message is one line. `where` and `remedy` are kept apart so that programs and pages can show them in their own place;
`str(error)` joins the three. Anything else that reaches the command line is a fault of the program, not of the person
using it.
"""

from __future__ import annotations

from collections.abc import Iterable
from itertools import islice

from kinphoto.phrases import counted


class KinphotoError(Exception):
    """The root. `what` happened, `where` (a file and line, a photograph, a row), and the `remedy`."""

    def __init__(self, what: str, *, where: str = "", remedy: str = "") -> None:
        super().__init__(what, where, remedy)
        self.what = what
        self.where = where
        self.remedy = remedy

    def __str__(self) -> str:
        line = f"{self.where}: {self.what}" if self.where else self.what
        if self.remedy:
            line = f"{line}{'' if line.endswith(('?', '.')) else '.'} {self.remedy}"
        return " ".join(line.split())


class NotFoundError(KinphotoError):
    """A person, photograph, scan, informant, change or file that is not there; `suggestion` asks whether another one is
    meant, where there are some."""

    def __init__(self, what: str, *, where: str = "", remedy: str = "", suggestion: str = "") -> None:
        super().__init__(what, where=where, remedy=remedy)
        self.suggestion = suggestion


class AmbiguousError(KinphotoError):
    """A name or path with several matches; `candidates` lists them in words."""

    NAMED = 8
    """Candidates named in a message about many."""

    def __init__(self, what: str, candidates: list[str], *, where: str = "", remedy: str = "") -> None:
        super().__init__(f"{what}: {'; '.join(candidates)}", where=where, remedy=remedy)
        self.candidates = candidates

    @classmethod
    def of_many(cls, what: str, candidates: Iterable[str], count: int, remedy: str) -> AmbiguousError:
        """Of `count` candidates only the first few are named."""
        more = [f"and {count - cls.NAMED} more"] if count > cls.NAMED else []
        return cls(what, [*islice(candidates, cls.NAMED), *more], remedy=remedy)


class InvalidValueError(KinphotoError):
    """A date, age, region, trust or name of a process that cannot be understood."""


class UnclearDateError(InvalidValueError):
    """A date with several meanings: `choices` are those, each as a date with one meaning.

    With `otherwise` it may also be no date with a year at all, so that even one choice is not certain. `means` words
    the choices in more detail.
    """

    def __init__(
        self, text: str, choices: list[str], *, means: list[str] | None = None, otherwise: bool = False, remedy: str
    ) -> None:
        super().__init__(f'"{text}" could be {" or ".join(means or choices)}', remedy=remedy)
        self.choices = choices
        self.otherwise = otherwise


class ImpossibleDateError(InvalidValueError):
    """A day that never was, or on which no photograph was taken: before there were any, or in the future."""


class UnreadableFileError(KinphotoError):
    """A tree, scan or spreadsheet that cannot be read."""


class ArchiveError(KinphotoError):
    """The archive itself: missing, in use, from a newer version, or a change that cannot be undone."""


class ChangedMeanwhileError(KinphotoError):
    """What somebody is about to change was changed by somebody else since they looked at it."""


class RowsRejectedError(KinphotoError):
    """A bulk import with bad rows: `rejected` holds (line number, why) and nothing was changed."""

    def __init__(self, rejected: list[tuple[int, str]], *, where: str = "") -> None:
        shown = "; ".join(f"line {line}: {why.rstrip('.')}" for line, why in rejected[:5])
        more = f"; and {len(rejected) - 5} more" if len(rejected) > 5 else ""
        super().__init__(
            f"{counted(len(rejected), 'row')} cannot be used, so nothing was changed: {shown}{more}",
            where=where,
            remedy="Make the corrections, or use --keep-going to apply the other rows.",
        )
        self.rejected = rejected
