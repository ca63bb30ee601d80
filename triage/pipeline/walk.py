"""Bring a survey from mail up to its ranked queue with matched sites."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage.pipeline import match, queueing, receive
from triage.pipeline.examine import ExamineOutcome, examine, follow
from triage.pipeline.receive import ReceiveOutcome
from triage.report.queue_sheet import Ranked
from triage.standards.counting import counted
from triage.store import matches as kept
from triage.store.connection import Survey, create_survey, open_survey
from triage.workers.progress import Progress, silent


@dataclass(frozen=True, slots=True, kw_only=True)
class WalkOutcome:
    """What came in, what was seen, how many matches there are, and the queue."""

    received: ReceiveOutcome
    examined: ExamineOutcome
    matches: int
    queue: list[Ranked]

    @property
    def lines(self) -> list[str]:
        """The same for people, without the queue."""
        matched = f"{counted(self.matches, 'match', 'matches')} of sightings with sites."
        return [*self.received.lines, *self.examined.lines, matched]


def run(
    sources: Sequence[Path],
    folder: Path,
    *,
    now: datetime,
    processes: int | None = None,
    progress: Progress = silent,
) -> WalkOutcome:
    """Do all of the inbox work at once, in a survey that is made if there is none."""
    create_survey(folder)
    with open_survey(folder) as survey:
        received = receive.take_in(survey, sources, now=now, progress=progress)
        examined = examine(survey, now=now, processes=processes, progress=progress)
        matches = match.match(survey)
        return WalkOutcome(
            received=received,
            examined=examined,
            matches=len(matches),
            queue=queueing.queue(survey, now=now),
        )


def renew(survey: Survey, *, now: datetime, progress: Progress = silent) -> None:
    """Bring up to date what rests on tables: texts read with the sites, sightings, mails, matches.

    Costs nothing where nothing changed; stopped anywhere, the next examination finishes it.
    """
    follow(survey, now=now, progress=progress)
    if kept.any_kept(survey):
        match.refresh(survey, progress=progress)
