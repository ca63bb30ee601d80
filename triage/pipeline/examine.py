"""Examine received photos: measures, claims, copies and sightings follow from them.

Each step takes only what is new or changed, writes in small transactions, and can be stopped
anywhere: the next run resumes and ends in the same survey.
"""

from __future__ import annotations

import json
from collections.abc import Collection
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from pathlib import Path

from triage.analysis.view import Heads, shipped_heads
from triage.pipeline import claims, inbox, linking, proposals, queueing
from triage.quality.examination import Examined, examine_content, failed
from triage.quality.usability import STARTING_MODEL, model_from_bytes
from triage.standards.digests import digest_of
from triage.store import (
    failures,
    grouping,
    learned,
    originals,
    photos,
    previews,
    text_reading,
)
from triage.store.connection import Survey
from triage.workers.processes import SECONDS_EACH, Here, Work, Workers
from triage.workers.progress import Progress, silent

METHOD = "examination 7"  # raised with every change of what a photo gives; all is examined anew
BATCH = 16  # photos written in one transaction: what an interruption may cost
CRASHED = "reading the photo ended the program that read it"
NOT_FOUND = "the kept file cannot be read"


@dataclass(frozen=True, slots=True, kw_only=True)
class ExamineOutcome:
    """What one run did. ``failures`` are photos that could not be read."""

    photos: int
    failures: int
    texts: int
    links: int
    sightings: int
    messages_open: int


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
    texts = claims.read_claims(survey, progress=progress)
    links = linking.link_new(survey, progress=progress)
    grouped = proposals.propose(survey, now=now, progress=progress)
    still_open = inbox.settle_states(survey, now=now)
    queueing.bring_up_to_date(survey, now=now)
    return ExamineOutcome(
        photos=examined,
        failures=failed,
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
    tasks = [
        _Task(
            photo=photo,
            path=_path(survey, photo, originals_at),
            heads=heads,
            usability=usability,
            box=boxes.get(photo, ""),
            key=_key(method, boxes.get(photo, "")),
        )
        for photo in waiting
        if photo not in boxes or done_with[photo] != _key(method, boxes[photo])
    ]
    tasks = [task for task in tasks if only is None or task.photo in only]
    unreadable = 0
    batch: list[tuple[Examined, str]] = []
    work = Work(
        function=_examine_task,
        crashed=_crashed,
        overdue=_overdue,
        unable=partial(_unable, method=METHOD),
    )
    results = (workers or Here()).results(work, tasks)
    try:
        for done, (task, result) in enumerate(results, 1):
            batch.append((result, task.key))
            unreadable += bool(result.photo.problem)
            if len(batch) >= BATCH:
                _write(survey, batch, now)
                batch = []
            progress("examining", done, len(tasks))
    finally:
        _write(survey, batch, now)
    return len(tasks), unreadable


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


def _key(method: str, box: str) -> str:
    return f"{method} + box {box}" if box else method


@dataclass(frozen=True, slots=True, kw_only=True)
class _Task:
    photo: str
    path: str
    heads: bytes | None
    usability: bytes | None
    box: str  # as corrected, JSON; empty if nobody said
    key: str  # what the photo is then examined with


def _path(survey: Survey, photo: str, originals_at: str) -> str:
    """The kept file, as the workers name it."""
    found = originals.path_of(survey.originals, photo) or survey.originals / photo
    if originals_at:
        return f"{originals_at.rstrip('/')}/{found.relative_to(survey.originals).as_posix()}"
    return str(found.absolute())


def _content_of(path: str) -> bytes:
    if "://" not in path:
        return Path(path).read_bytes()
    import fsspec

    with fsspec.open(path, "rb") as file:
        content: bytes = file.read()
    return content


def _unable(task: _Task, method: str = METHOD) -> str:
    """Why the machine that runs this cannot examine the survey's photos, or nothing.

    The method is sent along as the asking program knows it; here stands what this machine has.
    """
    if method != METHOD:
        return f"its triage examines by {METHOD!r}, this one by {method!r}"
    _content_of(task.path)
    return ""


def _examine_task(task: _Task) -> Examined:
    try:
        content = _content_of(task.path)
    except OSError as error:
        return failed(task.photo, f"{NOT_FOUND} ({error.strerror})")
    try:
        return examine_content(
            content,
            heads=None if task.heads is None else Heads.from_bytes(task.heads),
            box=tuple(json.loads(task.box)) if task.box else None,
            usability_model=model_from_bytes(task.usability) if task.usability else STARTING_MODEL,
        )
    except Exception as error:  # whatever a file makes a library do, the others go on
        return failed(task.photo, f"it cannot be examined ({type(error).__name__}: {error})")


def _to_be_tried_again(problem: str) -> bool:
    """Whether the cause may be gone at the next run: it need not lie in the photo."""
    return problem == CRASHED or problem.startswith(NOT_FOUND)


def _crashed(task: _Task) -> Examined:
    return failed(task.photo, CRASHED)


def _overdue(task: _Task) -> Examined:
    """Not tried again: it would cost every later run as long."""
    return failed(
        task.photo,
        f"it was not read within {SECONDS_EACH:.0f} seconds, and examining it was ended. Ask the"
        " sender for it as an ordinary JPEG.",
    )


def _write(survey: Survey, batch: list[tuple[Examined, str]], now: datetime) -> None:
    for seen, _ in batch:
        if seen.preview:
            previews.keep(survey, seen.photo.sha256, seen.preview)
    with survey.transaction():
        for seen, key in batch:
            photo, problem = seen.photo.sha256, seen.photo.problem
            again = _to_be_tried_again(problem)
            photos.save_examination(survey, seen, examined_with="" if again else key)
            if problem:
                failures.add(survey, stage="examine", subject=photo, reason=problem, now=now)
            else:
                failures.clear(survey, stage="examine", subject=photo)
            for row in grouping.messages_of_photos(survey, [photo]):
                text_reading.reread_texts(survey, row)
