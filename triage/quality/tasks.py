"""Examine one kept photo in a process of its own, or on another machine that may lack the means."""

from __future__ import annotations

import json
from dataclasses import dataclass
from pathlib import Path

from triage.analysis.view import Heads
from triage.quality.examination import METHOD, Examined, examine_content, failed
from triage.quality.usability import STARTING_MODEL, model_from_bytes
from triage.workers.processes import SECONDS_EACH

CRASHED = "reading the photo ended the program that read it"
NOT_FOUND = "the kept file cannot be read"


@dataclass(frozen=True, slots=True, kw_only=True)
class Task:
    """One kept photo to be examined, and what it is to be examined with."""

    photo: str
    path: str
    heads: bytes | None
    usability: bytes | None
    box: str  # as corrected, JSON; empty if nobody said
    key: str  # what the photo is then examined with


def key_of(method: str, box: str) -> str:
    """What a photo is examined with: a method, and the box that a person gave."""
    return f"{method} + box {box}" if box else method


def _content_of(path: str) -> bytes:
    if "://" not in path:
        return Path(path).read_bytes()
    import fsspec

    with fsspec.open(path, "rb") as file:
        content: bytes = file.read()
    return content


def unable(task: Task, method: str = METHOD) -> str:
    """Why the machine that runs this cannot examine the survey's photos, or nothing.

    The method is sent along as the asking program knows it; here stands what this machine has.
    """
    if method != METHOD:
        return f"its triage examines by {METHOD!r}, this one by {method!r}"
    _content_of(task.path)
    return ""


def examine_task(task: Task) -> Examined:
    """What one photo gives; whatever its file makes a library do is told as its problem."""
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


def to_be_tried_again(problem: str) -> bool:
    """Whether the cause may be gone at the next run: it need not lie in the photo."""
    return problem == CRASHED or problem.startswith(NOT_FOUND)


def crashed(task: Task) -> Examined:
    """What stands for a photo that ended the process which read it."""
    return failed(task.photo, CRASHED)


def overdue(task: Task) -> Examined:
    """What stands for one that took too long; not tried again: it would cost every run as long."""
    return failed(
        task.photo,
        f"it was not read within {SECONDS_EACH:.0f} seconds, and examining it was ended. Ask the"
        " sender for it as an ordinary JPEG.",
    )
