"""Examine received photos: measures, claims, copies and sightings follow from them.

Each step takes only what is new or changed, writes in small transactions, and can be stopped
anywhere: the next run resumes and ends in the same survey.
"""

from __future__ import annotations

from collections.abc import Collection
from dataclasses import dataclass, replace
from datetime import datetime
from functools import partial

from triage.analysis.view import Heads, shipped_heads
from triage.pipeline import claims, consents, inbox, linking, proposals, queueing
from triage.quality import tasks
from triage.quality.examination import METHOD, Examined
from triage.quality.tasks import Task, key_of
from triage.standards.counting import counted
from triage.standards.digests import digest_of
from triage.store import failures, grouping, learned, messages, originals, photos, previews
from triage.store.connection import Survey
from triage.workers.processes import Here, Work, Workers
from triage.workers.progress import Progress, silent

BATCH = 16  # photos written in one transaction: what an interruption may cost


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamineOutcome:
    """What one run did. ``failures`` are photos that could not be read."""

    photos: int = 0
    failures: int = 0
    texts: int
    links: int
    sightings: int
    messages_open: int

    @property
    def lines(self) -> list[str]:
        """The same for people."""
        return [
            f"{counted(self.photos, 'photo')} examined, {self.failures} unreadable;"
            f" {counted(self.links, 'new link')} between photos;"
            f" {counted(self.sightings, 'sighting')} proposed;"
            f" {counted(self.messages_open, 'message needs', 'messages need')} a human."
        ]


def examine(
    survey: Survey,
    *,
    now: datetime,
    processes: int | None = None,
    workers: Workers | None = None,
    originals_at: str = "",
    progress: Progress = silent,
) -> ExamineOutcome:
    """Bring everything that follows from photos and texts up to date.

    Photos are measured by ``processes`` of this machine, or by other ``workers``, for whom the
    survey's originals lie at ``originals_at``: a folder or an address that fsspec can read.
    """
    examined, failed = measure_new(
        survey,
        now=now,
        workers=workers or Here(processes=processes),
        originals_at=originals_at,
        progress=progress,
    )
    return replace(follow(survey, now=now, progress=progress), photos=examined, failures=failed)


def follow(survey: Survey, *, now: datetime, progress: Progress = silent) -> ExamineOutcome:
    """Bring up to date what follows from measured photos, texts and tables; measure nothing."""
    texts = claims.read_claims(survey, progress=progress)
    consents.read_kept_mails(survey)
    links = linking.link_new(survey, progress=progress)
    grouped = proposals.propose(survey, progress=progress)
    still_open = inbox.settle_states(survey, now=now, progress=progress)
    queueing.bring_up_to_date(survey, now=now)
    return ExamineOutcome(
        texts=texts,
        links=links,
        sightings=grouped,
        messages_open=still_open,
    )


def measure_new(
    survey: Survey,
    *,
    now: datetime,
    only: Collection[str] | None = None,
    workers: Workers | None = None,
    originals_at: str = "",
    progress: Progress = silent,
) -> tuple[int, int]:
    """Measure each photo that this method has not seen; returns photos and failures.

    A photo whose box a person corrected is measured anew in that box. ``only`` names digests and
    leaves the others for later.
    """
    survey.require_writing()
    heads = learned_heads(survey)
    usability = learned.newest_learned(survey, "usability")
    method = method_key(survey)
    boxes = photos.live_corrections(survey, "box")
    done_with = photos.examined_with(survey, boxes)
    waiting = photos.not_examined_with(survey, method)
    waiting += [photo for photo, used in done_with.items() if used == method]
    todo = [
        Task(
            photo=photo,
            path=_path(survey, photo, originals_at),
            heads=heads,
            usability=usability,
            box=boxes.get(photo, ""),
            key=key_of(method, boxes.get(photo, "")),
        )
        for photo in waiting
        if photo not in boxes or done_with[photo] != key_of(method, boxes[photo])
    ]
    todo = [task for task in todo if only is None or task.photo in only]
    unreadable = 0
    batch: list[tuple[Examined, str]] = []
    work = Work(
        function=tasks.examine_task,
        crashed=tasks.crashed,
        overdue=tasks.overdue,
        unable=partial(tasks.unable, method=METHOD),
    )
    results = (workers or Here()).results(work, todo)
    try:
        for done, (task, result) in enumerate(results, 1):
            batch.append((result, task.key))
            unreadable += bool(result.photo.problem)
            if len(batch) >= BATCH:
                _write(survey, batch, now)
                batch = []
            progress("examining", done, len(todo))
    finally:
        _write(survey, batch, now)
    return len(todo), unreadable


def measure_in_box(survey: Survey, boxed: Collection[str], *, now: datetime) -> None:
    """Measure these photos where a person says the insect is.

    What could be measured before needs no process of its own, whose start would be waited for.
    """
    rows = photos.load(survey, boxed).values()
    readable = all(row.measurement is not None for row in rows)
    measure_new(survey, now=now, only=boxed, workers=Here(processes=0 if readable else 1))


def method_key(survey: Survey) -> str:
    """Names method and everything learned: what a photo must be examined anew for."""
    content_of = {
        "heads": learned_heads(survey),
        "usability": learned.newest_learned(survey, "usability"),
    }
    return METHOD + "".join(
        f" + {kind} {digest_of(content)[:12]}"
        for kind, content in content_of.items()
        if content is not None
    )


def learned_heads(survey: Survey) -> bytes | None:
    """The survey's own heads, if they were fitted on the features of the network in use.

    A later version of the program may come with another network, whose features mean other things:
    then the shipped heads count until the survey learns anew.
    """
    content = learned.newest_learned(survey, "heads")
    try:
        fitting = content is not None and Heads.from_bytes(content).fits(shipped_heads())
    except ValueError:  # of a version whose features had another length
        return None
    return content if fitting else None


def _path(survey: Survey, photo: str, originals_at: str) -> str:
    """The kept file, as the workers name it."""
    found = originals.path_of(survey.originals, photo) or survey.originals / photo
    if originals_at:
        return f"{originals_at.rstrip('/')}/{found.relative_to(survey.originals).as_posix()}"
    return str(found.absolute())


def _write(survey: Survey, batch: list[tuple[Examined, str]], now: datetime) -> None:
    for seen, _ in batch:
        if seen.preview:
            previews.keep(survey, seen.photo.sha256, seen.preview)
    with survey.transaction():
        for seen, key in batch:
            photo, problem = seen.photo.sha256, seen.photo.problem
            again = tasks.to_be_tried_again(problem)
            photos.save_examination(survey, seen, examined_with="" if again else key)
            if problem:
                failures.add(survey, stage="examine", subject=photo, reason=problem, now=now)
            else:
                failures.clear(survey, stage="examine", subject=photo)
            messages.reread_texts(survey, grouping.messages_of_photos(survey, [photo]))
