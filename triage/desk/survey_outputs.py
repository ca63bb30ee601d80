"""What goes out of a survey and what keeps it safe: each written beside the server, then listed."""

from __future__ import annotations

import tempfile
from collections.abc import Callable, Mapping
from datetime import datetime
from functools import partial
from pathlib import Path

from flask import (
    Response,
    jsonify,
    redirect,
    render_template,
    request,
    send_file,
    url_for,
)
from flask.typing import ResponseReturnValue

from triage.desk import opened, packet_page, survey_letters
from triage.desk.survey_room import room
from triage.errors import UnknownError
from triage.pipeline import analysis, audit, backup, match, packet
from triage.report import releases
from triage.report.releases import KINDS
from triage.standards.counting import counted
from triage.standards.letters import alphabetical
from triage.store import people
from triage.store.connection import Survey
from triage.workers.progress import Progress

PACKETS = "packets"  # the survey's folder of them
MOST_PACKED = 400
Job = Callable[[Survey, Progress, datetime, str], list[str]]


@room.get("/hand-on")
def hand_on() -> str:
    """Reports, exports and photo packs: made here, with what they leave out and why."""
    survey = opened.survey()
    return render_template(
        "survey/hand_on.html",
        kinds=KINDS,
        releases=releases.listed(survey.folder / releases.FOLDER),
        packets=_packets(survey),
        names=sorted({one.name for one in people.listed(survey)} - {""}, key=alphabetical),
    )


@room.post("/packet")
def make_packet() -> ResponseReturnValue:
    """Begin a packet for a determiner far away, who is a person of the survey."""
    by, form, now = opened.known_person(), request.form, opened.now()
    whom, new = opened.typed("whom"), form.get("new") == "yes"
    if not new:  # who is unknown is said at once, not when the packet is made
        whom = people.determiner(opened.survey(), whom).code
    count = form.get("count", "")
    if not count.isdecimal() or not 1 <= int(count) <= MOST_PACKED:
        raise UnknownError(
            f"a packet holds 1 to {MOST_PACKED} sightings",
            failing=count[:40],
            next_step="Write another number.",
        )

    def job(survey: Survey, progress: Progress) -> list[str]:
        target = survey.folder / PACKETS / f"packet-{now:%Y-%m-%d-%H%M%S}.zip"
        made = packet.make(
            survey, target, whom=whom, count=int(count), megabytes=packet.MEGABYTES,
            page=packet_page.page, by=by, now=now, new=new, progress=progress,
        )  # fmt: skip
        return list(made.lines)

    opened.work().start(job)
    return redirect(url_for(".hand_on"))


@room.get("/packet/<name>.zip")
def packed(name: str) -> ResponseReturnValue:
    """A packet as a file to send."""
    survey = opened.survey()
    if name not in _packets(survey):
        raise UnknownError(
            "there is no such packet", failing=name[:80], next_step="Choose one of the list."
        )
    path = (survey.folder / PACKETS / f"{name}.zip").resolve()
    return send_file(path, mimetype="application/zip", as_attachment=True, download_name=path.name)


def _packets(survey: Survey) -> list[str]:
    """The packets made here, the newest first."""
    return sorted((path.stem for path in (survey.folder / PACKETS).glob("*.zip")), reverse=True)


@room.get("/release/<name>.zip")
def release(name: str) -> ResponseReturnValue:
    """One release as a file to keep or to send."""
    packed = tempfile.TemporaryFile()  # noqa: SIM115 - closed by the answer that sends it
    try:
        releases.pack(opened.survey().folder / releases.FOLDER, name, packed)
    except BaseException:
        packed.close()
        raise
    packed.seek(0)
    return send_file(
        packed, mimetype="application/zip", as_attachment=True, download_name=f"{name}.zip"
    )


@room.get("/safety")
def safety() -> str:
    """Whether nothing is lost or damaged, and the backup."""
    here = audit.overview_of(opened.survey(), now=opened.now())
    return render_template(
        "survey/safety.html", here=here, place=_backup_place(opened.survey(), opened.now())
    )


def _backup_place(survey: Survey, now: datetime) -> Path:
    folder = survey.folder.resolve()
    return folder.with_name(f"{folder.name}-backup-{now:%Y-%m-%d}.zip")


@room.post("/begin")
def begin() -> Response:
    """Begin one piece of long work; the progress is told where that of new mail is."""
    person, what = opened.known_person(), request.form.get("what", "")
    if what.startswith("release:"):
        job = _releasing(what.removeprefix("release:"))
    elif what == "season":
        job = partial(survey_letters.season, survey_letters.year_sent())
    elif what in _JOBS:
        job = _JOBS[what]
    else:
        raise UnknownError(
            "there is no such work", failing=what[:40], next_step="Load the page again."
        )
    now = opened.now()
    opened.work().start(lambda survey, progress: job(survey, progress, now, person))
    return jsonify(begun=what)


def _releasing(kind: str) -> Job:
    if kind not in KINDS:
        raise UnknownError(
            "there is no such kind of release", failing=kind[:40], next_step="Choose one."
        )

    def write(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
        progress(f"writing: {KINDS[kind].title}", 0, None)
        return analysis.release(survey, kind, now=now)

    return write


def _audit(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    return audit.check(survey, now=now, progress=progress).lines


def _backup(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    made = backup.back_up(survey, _backup_place(survey, now), now=now, progress=progress)
    return [*made.lines, "Copy it to another disk."]


def _match(survey: Survey, progress: Progress, now: datetime, _: str) -> list[str]:
    progress("matching", 0, None)
    return [f"{counted(len(match.match(survey)), 'match', 'matches')} of sightings with sites."]


_JOBS: Mapping[str, Job] = {
    "audit": _audit,
    "backup": _backup,
    "match": _match,
    "thanks": survey_letters.thanks,
}
