"""What goes out of a survey and what keeps it safe: each written beside the server, then listed."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from datetime import datetime
from pathlib import Path

from flask import Response, current_app, jsonify, render_template, request, send_file
from flask.typing import ResponseReturnValue

from triage.desk import opened
from triage.desk.survey_room import room
from triage.desk.work import Work
from triage.errors import UnknownError
from triage.pipeline import audit, backup, match, overview, releases, volunteer_letters
from triage.pipeline.progress import Progress
from triage.store.connection import Survey

Job = Callable[[Survey, Progress, datetime, str], list[str]]


@room.get("/hand-on")
def hand_on() -> str:
    """Reports, exports and photo packs: made here, with what they leave out and why."""
    return render_template(
        "survey/hand_on.html", kinds=releases.KINDS, releases=releases.listed(opened.survey())
    )


@room.get("/release/<name>.zip")
def release(name: str) -> ResponseReturnValue:
    """One release as a file to keep or to send."""
    packed = tempfile.TemporaryFile()  # noqa: SIM115 - closed by the answer that sends it
    try:
        releases.pack(opened.survey(), name, packed)
    except BaseException:
        packed.close()
        raise
    packed.seek(0)
    return send_file(
        packed, mimetype="application/zip", as_attachment=True, download_name=f"{name}.zip"
    )


@room.get("/letters")
def letters() -> str:
    """Letters to volunteers: what would be drafted, and what lies drafted."""
    drafts = sorted(opened.survey().replies.glob("*.eml"))
    return render_template(
        "survey/letters.html", drafts=[path.name for path in drafts], outcome=None
    )


@room.post("/letters")
def show_letters() -> str:
    """The thanks that would be drafted now; nothing is written."""
    survey = opened.survey()
    outcome = volunteer_letters.thanks(
        survey, by=opened.known_person(), now=opened.now(), show=True
    )
    drafts = sorted(path.name for path in survey.replies.glob("*.eml"))
    return render_template("survey/letters.html", drafts=drafts, outcome=outcome)


@room.get("/draft/<name>")
def draft(name: str) -> ResponseReturnValue:
    """A drafted letter as a file for the mail program."""
    known = {path.name: path for path in opened.survey().replies.glob("*.eml")}
    if name not in known:
        raise UnknownError(
            "there is no such letter", failing=name[:80], next_step="Choose one of the list."
        )
    return send_file(known[name], mimetype="message/rfc822", as_attachment=True, download_name=name)


@room.get("/safety")
def safety() -> str:
    """Whether nothing is lost or damaged, and the backup."""
    here = overview.overview_of(opened.survey(), now=opened.now())
    return render_template(
        "survey/safety.html", here=here, place=_backup_place(opened.survey(), opened.now())
    )


def _backup_place(survey: Survey, now: datetime) -> Path:
    folder = survey.folder.resolve()
    return folder.with_name(f"{folder.name}-backup-{now:%Y-%m-%d}.zip")


@room.post("/begin")
def begin() -> tuple[Response, int] | Response:
    """Begin one piece of long work; the progress is told where that of new mail is."""
    person, what = opened.known_person(), request.form.get("what", "")
    if what.startswith("release:"):
        job = _releasing(what.removeprefix("release:"))
    elif what in _JOBS:
        job = _JOBS[what]
    else:
        raise UnknownError(
            "there is no such work", failing=what[:40], next_step="Load the page again."
        )
    work: Work = current_app.extensions["work"]
    now = opened.now()
    if not work.start(lambda survey, progress: job(survey, progress, now, person)):
        told = {
            "what": "other work is under way",
            "failing": what,
            "next_step": "Wait until the bar has gone, then begin it again.",
        }
        return jsonify(told), 409
    return jsonify(begun=what)


def _releasing(kind: str) -> Job:
    if kind not in releases.KINDS:
        raise UnknownError(
            "there is no such kind of release", failing=kind[:40], next_step="Choose one."
        )

    def write(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
        progress(f"writing: {releases.KINDS[kind].title}", 0, None)
        return releases.make(survey, kind, now=now)

    return write


def _audit(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    found = audit.check(survey, now=now, progress=progress)
    return [
        f"{found.messages} message(s), {found.parts} part(s), {found.files} kept file(s).",
        *(f"Damaged: {text}" for text in found.damage),
        *(f"Not done yet: {text}" for text in found.not_done),
        *(() if found.damage else ("Nothing is damaged or lost.",)),
    ]


def _backup(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    made = backup.back_up(survey, _backup_place(survey, now), now=now, progress=progress)
    return [
        f"{made.path}: {made.files} file(s) and the database, {made.byte_size / 1e6:.1f} MB,"
        " read back and found whole. Copy it to another disk.",
        *(f"Missing in the survey already: {text}" for text in made.missing),
    ]


def _match(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    progress("matching", 0, None)
    return [f"{len(match.match(survey))} match(es) of sightings with sites."]


def _thanks(survey: Survey, progress: Progress, now: datetime, person: str) -> list[str]:
    progress("drafting letters", 0, None)
    made = volunteer_letters.thanks(survey, by=person, now=now)
    return [
        f"{len(made.letters)} letter(s) drafted; nothing is sent.",
        *(f"No letter: {text}" for text in made.skipped),
        *(f"Out of date: {text}" for text in made.stale),
    ]


_JOBS: Mapping[str, Job] = {
    "audit": _audit,
    "backup": _backup,
    "match": _match,
    "thanks": _thanks,
}
