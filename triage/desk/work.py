"""Files in, received and examined beside the server with progress that can be watched and stopped.

It is the same work that the command line does, on a connection of its own; stopped anywhere, the
next run resumes.
"""

from __future__ import annotations

import shutil
import threading
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from pathlib import Path

from triage.desk.said_here import at_desk
from triage.errors import TriageError
from triage.packets.answers import is_table_of_answers
from triage.pipeline import examine, match, receive
from triage.pipeline.determine import determine_from_table
from triage.store.connection import Survey, open_survey
from triage.workers.progress import Progress

Job = Callable[[Survey, Progress], list[str]]
"""A piece of long work: what came of it, in lines for people."""

WORKBOOKS = (".xlsx", ".xls", ".ods")


class Stopped(Exception):
    """Somebody asked the work to stop."""


class BusyError(TriageError):
    """Long work is under way already: only one piece is done at a time."""

    def __init__(self) -> None:
        super().__init__(
            "other work is under way",
            failing="long work",
            next_step="Wait until the bar has gone, then begin it again.",
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Stand:
    """How far the work has come. ``number`` grows with every change."""

    number: int = 0
    running: bool = False
    what: str = ""
    done: int = 0
    total: int | None = None
    said: tuple[str, ...] = ()
    problem: str = ""


class Work:
    """At most one piece of long work at a time, in a thread of its own."""

    def __init__(self, folder: Path, now: Callable[[], datetime]) -> None:
        self._folder = folder
        self._now = now
        self._changed = threading.Condition()
        self._stop = threading.Event()
        self._thread: threading.Thread | None = None
        self._stand = Stand()

    def stand(self) -> Stand:
        """Where the work stands."""
        return self._stand

    def wait(self, after: int, seconds: float) -> Stand:
        """Where the work stands once that differs from ``after``, or when the time is over."""
        with self._changed:
            self._changed.wait_for(lambda: self._stand.number != after, timeout=seconds)
        return self._stand

    def begin(self, sources: Sequence[Path], *, temporary: Path | None = None) -> None:
        """Receive these sources and examine what is new; BusyError as of :meth:`start`."""
        self.start(lambda survey, _: self._bring_in(survey, tuple(sources)), temporary=temporary)

    def start(self, job: Job, *, temporary: Path | None = None) -> None:
        """Do this on a connection of its own.

        Raises
        ------
        BusyError
            If other work is under way already.
        """
        with self._changed:
            if self._thread is not None and self._thread.is_alive():
                raise BusyError
            self._stop.clear()
            self._stand = Stand(number=self._stand.number + 1, running=True, what="starting")
            self._thread = threading.Thread(
                target=self._run, args=(job, temporary), daemon=True, name="desk work"
            )
            self._thread.start()

    def stop(self) -> None:
        """Ask the work to stop at the next photo or message."""
        self._stop.set()

    def join(self, seconds: float) -> None:
        """Wait until the work has ended."""
        if self._thread is not None:
            self._thread.join(seconds)

    def _run(self, job: Job, temporary: Path | None) -> None:
        try:
            with open_survey(self._folder) as survey:
                said = job(survey, self._progress)
            self._tell(running=False, said=tuple(said), what="done")
        except Stopped:
            self._tell(
                running=False,
                what="stopped",
                said=("Stopped. Start it again and it resumes there.",),
            )
        except TriageError as error:
            self._tell(running=False, what="failed", problem=str(error))
        except Exception as error:  # the page must say that it ended, whatever ended it
            text = f"The work ended unexpectedly ({type(error).__name__}). Start it again."
            self._tell(running=False, what="failed", problem=text)
        finally:
            if temporary is not None:
                shutil.rmtree(temporary, ignore_errors=True)

    def _bring_in(self, survey: Survey, sources: tuple[Path, ...]) -> list[str]:
        answers = [path for path in sources if is_table_of_answers(path)]
        books = [path for path in sources if path.suffix.lower() in WORKBOOKS]
        sources = tuple(path for path in sources if path not in answers and path not in books)
        said = [
            f"Not read: {path.name} is a spreadsheet's workbook. If it holds answers of a packet,"
            " save its sheet as CSV and bring that in."
            for path in books
        ]
        for path in answers:
            said += self._take_answers(survey, path)
        if said and not sources:
            return said
        if sources:
            came = receive.take_in(survey, sources, now=self._now(), progress=self._progress)
            unreadable = tuple((Path(origin).name, why) for origin, why in came.unreadable)
            said += replace(came, unreadable=unreadable).lines
        seen = examine.examine(survey, now=self._now(), progress=self._progress)
        match.refresh(survey, progress=self._progress)
        return said + seen.lines

    def _take_answers(self, survey: Survey, path: Path) -> list[str]:
        """Take the answers of a packet in; each row says itself who answers."""
        found = determine_from_table(survey, path, by="", now=self._now())
        return replace(found, file=path.name).lines

    def _progress(self, what: str, done: int, total: int | None) -> None:
        if self._stop.is_set():
            raise Stopped
        self._tell(running=True, what=what, done=done, total=total)

    def _tell(
        self,
        *,
        running: bool,
        what: str,
        done: int = 0,
        total: int | None = None,
        said: tuple[str, ...] = (),
        problem: str = "",
    ) -> None:
        with self._changed:
            self._stand = replace(
                self._stand,
                number=self._stand.number + 1,
                running=running,
                what=what,
                done=done,
                total=total,
                said=tuple(at_desk(line) for line in said),
                problem=at_desk(problem),
            )
            self._changed.notify_all()
