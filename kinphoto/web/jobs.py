"""Work that takes longer than a page may: one thing at a time, watched from a page, finished even if nobody watches."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, field
from threading import Event, Lock, Thread

from kinphoto.errors import ArchiveError, KinphotoError

Progress = Callable[[int, int], None]


class StoppedError(Exception):
    """Somebody stopped the work."""


@dataclass
class Job:
    """One piece of work: what it is, how far it has got, and what came of it (a line each) or went wrong."""

    what: str
    done: int = 0
    total: int = 0
    running: bool = True
    lines: list[str] = field(default_factory=list)
    problem: str = ""
    can_stop: bool = False
    """Whether it can be stopped without leaving something half done."""
    ends_itself: bool = False
    """Whether the work looks itself whether it was stopped, and ends properly."""
    asked: Event = field(default_factory=Event)
    """Set when somebody stops it."""

    def progress(self, done: int, total: int) -> None:
        """So far. Raises StoppedError when somebody stopped it."""
        self.done, self.total = done, total
        if self.asked.is_set() and not self.ends_itself:
            raise StoppedError

    def stop(self) -> None:
        """Stop it at the next step, if it can be stopped."""
        if self.can_stop:
            self.asked.set()

    @property
    def stopping(self) -> bool:
        """Whether it is about to stop."""
        return self.running and self.asked.is_set()


class Jobs:
    """The one job that runs, or the last one that did."""

    def __init__(self) -> None:
        self.last: Job | None = None
        self._lock = Lock()
        self._thread: Thread | None = None

    def start(
        self, what: str, work: Callable[[Progress], list[str]], *, can_stop: bool = False, stop: Event | None = None
    ) -> Job:
        """Begin `work`, which returns a line for each thing it did. Where it `can_stop`, somebody may: what it tells of
        its progress next raises StoppedError. Work that ends by itself when `stop` is set is left to do so.

        Raises ArchiveError while another job runs.
        """
        with self._lock:
            if self.last is not None and self.last.running:
                raise ArchiveError(
                    f"something else is still running: {self.last.what}",
                    remedy="Wait until that is done, then try again.",
                )
            ends_itself = stop is not None
            job = self.last = Job(
                what, can_stop=can_stop or ends_itself, ends_itself=ends_itself, asked=stop or Event()
            )
        self._thread = Thread(target=self._run, args=(job, work), name=what)
        self._thread.start()
        return job

    def stop(self, what: str | None = None) -> None:
        """Stop the job that runs (or only this one), if it can be stopped, and wait until it has."""
        job = self.last
        if job is not None and job.running and job.can_stop and what in (None, job.what):
            job.stop()
            self.finish()

    def finish(self) -> None:
        """Wait until the job that runs is done."""
        if self._thread is not None:
            self._thread.join()

    @staticmethod
    def _run(job: Job, work: Callable[[Progress], list[str]]) -> None:
        try:
            job.lines = work(job.progress)
        except StoppedError:
            job.lines = ["It was stopped."]
        except KinphotoError as problem:
            job.problem = str(problem)
        except Exception:
            job.problem = "It stopped because of a fault in kinphoto; what was finished is kept."
            raise
        finally:
            job.running = False
