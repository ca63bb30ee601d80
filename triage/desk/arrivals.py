"""Receive and examine files dropped onto the page, with progress."""

from __future__ import annotations

import json
import re
import tempfile
from collections.abc import Iterator
from dataclasses import asdict
from pathlib import Path

from flask import Blueprint, Response, jsonify, request

from triage.desk import opened
from triage.desk.work import BusyError, Stand, Work

room = Blueprint("arrivals", __name__, url_prefix="/arrivals")

NAME_LENGTH = 120  # characters kept of a dropped file's name, its ending among them
WATCHED_SECONDS = 25.0  # one answer of the progress; the browser asks again by itself
_FORBIDDEN = re.compile(r'[<>:"|?*\x00-\x1f\x7f]')  # in file names on Windows, and unseen


@room.post("/drop")
def drop() -> Response:
    """Receive what was dropped: folders, mailboxes, mails, archives, photos."""
    opened.known_person()
    work = opened.work()
    if work.stand().running:
        raise BusyError
    folder = Path(tempfile.mkdtemp(prefix="triage-drop-"))
    sources = []
    for number, file in enumerate(request.files.getlist("files"), 1):
        place = folder / f"{number:05d}"
        place.mkdir()
        path = place / safe_name(file.filename or "")
        file.save(path)
        sources.append(path)
    work.begin(sources, temporary=folder)
    return jsonify(files=len(sources))


@room.post("/examine")
def examine() -> Response:
    """Examine what is new, or resume where it was stopped."""
    opened.known_person()
    opened.work().begin(())
    return jsonify(files=0)


@room.post("/stop")
def stop() -> Response:
    """Stop at the next photo; what is done is kept."""
    opened.work().stop()
    return jsonify(stopping=True)


@room.get("/progress")
def progress() -> Response:
    """Where the work stands, told as it goes on (server-sent events, WHATWG HTML 9.2)."""
    return told(opened.work())


def told(work: Work) -> Response:
    """How far long work has come, as an answer that goes on until it has ended."""
    return Response(_told(work), mimetype="text/event-stream")


def _told(work: Work) -> Iterator[str]:
    stand = work.stand()
    yield _event(stand)
    while stand.running:
        after = work.wait(stand.number, WATCHED_SECONDS)
        if after.number == stand.number:
            return  # nothing new for a while: the browser asks again
        stand = after
        yield _event(stand)


def _event(stand: Stand) -> str:
    return f"retry: 1000\ndata: {json.dumps(asdict(stand), ensure_ascii=False)}\n\n"


def safe_name(name: str) -> str:
    """The last part of a name, without what a file name may not hold anywhere.

    Examples
    --------
    >>> safe_name("../../etc/passwd"), safe_name("C:\\\\mail\\\\a?.eml"), safe_name("..")
    ('passwd', 'a_.eml', 'file')
    """
    last = re.split(r"[/\\]", name)[-1]
    clean = _FORBIDDEN.sub("_", last).strip(" .")[-NAME_LENGTH:]
    return clean or "file"
