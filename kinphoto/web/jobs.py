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
    stopped: Event | None = None
    """Set when somebody stops it; None where it would leave something half done."""

    def progress(self, done: int, total: int) -> None:
        """So far."""
        self.done, self.total = done, total

    def stop(self) -> None:
        """Stop it at the next step, if it can be stopped."""
        if self.stopped is not None:
            self.stopped.set()

    @property
    def can_stop(self) -> bool:
        """Whether it can be stopped."""
        return self.stopped is not None

    @property
    def stopping(self) -> bool:
        """Whether it is about to stop."""
        return self.running and self.stopped is not None and self.stopped.is_set()


def until_stopped(progress: Progress, stop: Event) -> Progress:
    """The same `progress`, which raises StoppedError once `stop` is set."""

    def told(done: int, total: int) -> None:
        progress(done, total)
        if stop.is_set():
            raise StoppedError

    return told


class Jobs:
    """The one job that runs, or the last one that did."""

    def __init__(self) -> None:
        self.last: Job | None = None
        self._lock = Lock()
        self._thread: Thread | None = None

    def start(self, what: str, work: Callable[[Progress], list[str]], stop: Event | None = None) -> Job:
        """Begin `work`, which returns a line for each thing it did. Where there is a `stop`, somebody may stop it: once
        that is set, the work ends soon or raises StoppedError (`until_stopped`).

        Raises ArchiveError while another job runs.
        """
        with self._lock:
            if self.last is not None and self.last.running:
                raise ArchiveError(
                    f"something else is still running: {self.last.what}",
                    remedy="Wait until that is done, then try again.",
                )
            job = self.last = Job(what, stopped=stop)
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
