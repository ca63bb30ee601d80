"""Build the desk of one survey as a WSGI application; each room is a blueprint of its own."""

from __future__ import annotations

import sqlite3
from collections.abc import Callable, Mapping
from datetime import UTC, datetime
from pathlib import Path
from urllib.parse import urlsplit

from flask import Flask, Response, jsonify, render_template, request
from jinja2 import StrictUndefined
from werkzeug.exceptions import HTTPException, RequestEntityTooLarge

from triage.desk import opened, pictures, rooms, security, wording
from triage.desk.said_here import at_desk
from triage.desk.work import BusyError, Work
from triage.errors import ChangedMeanwhileError, TriageError, UnknownError

UPLOAD_BYTES = 4 * 2**30  # what one drop may bring: a season's mailbox; common practice, no source
FORM_BYTES = 2 * 2**20  # everything that is no drop: a name, a letter, a few numbers


def create_app(
    folder: Path,
    *,
    keys: Mapping[str, str] | None = None,
    hosts: frozenset[str] = security.LOOPBACK,
    now: Callable[[], datetime] = lambda: datetime.now(UTC),
    stop: Callable[[], None] | None = None,
) -> Flask:
    """The desk of one survey.

    ``keys`` are the keys of a shared desk with the name of the person each belongs to; ``hosts``
    the names under which the page may be asked for; ``stop`` ends the server.
    """
    app = Flask("triage.desk")
    app.config.update(
        SURVEY_FOLDER=folder.resolve(),  # a file to send is looked for beside the program otherwise
        SHARE_KEYS=dict(keys or {}),
        HOSTS=hosts,
        NOW=now,
        STOP=stop,
        MAX_CONTENT_LENGTH=UPLOAD_BYTES,
        MAX_FORM_MEMORY_SIZE=FORM_BYTES,
        FORM_BYTES=FORM_BYTES,
        LARGE_UPLOADS=frozenset({"arrivals.drop", "imports.take_in"}),
        SEND_FILE_MAX_AGE_DEFAULT=0,
    )
    app.jinja_env.undefined = StrictUndefined
    app.jinja_env.trim_blocks = app.jinja_env.lstrip_blocks = True
    wording.install(app)
    security.install(app)
    opened.install(app)
    app.extensions["work"] = Work(folder, now)
    app.extensions["figures"] = Work(folder, now)  # long figures, which pages wait for
    app.register_blueprint(pictures.room)
    rooms.install(app)
    _say_errors(app)
    app.after_request(_say_where)
    return app


def _say_where(answer: Response) -> Response:
    """A page that stays until its form is taken is told where to go, not taken there."""
    if answer.status_code == 302 and request.headers.get("X-Desk-Stays"):
        answer.status_code = 204
        answer.set_data(b"")
    return answer


def _say_errors(app: Flask) -> None:
    @app.errorhandler(TriageError)
    def told(error: TriageError) -> tuple[Response | str, int]:
        status = 404 if isinstance(error, UnknownError) and request.method == "GET" else 400
        status = 409 if isinstance(error, BusyError) else status
        status = 412 if isinstance(error, ChangedMeanwhileError) else status
        return _sentence(error.what, error.failing, error.next_step, status)

    @app.errorhandler(sqlite3.OperationalError)
    def hindered(_: sqlite3.OperationalError) -> tuple[Response | str, int]:
        return _sentence(
            "the survey cannot be written to just now; nothing was recorded by this request",
            "survey.db",
            "Another command may be at work in it, or the disk is full. Try again in a minute.",
            503,
        )

    @app.errorhandler(RequestEntityTooLarge)
    def too_large(_: RequestEntityTooLarge) -> tuple[Response | str, int]:
        return _sentence(
            "that is more than the desk takes at once",
            "what was sent",
            "Drop fewer files at a time, or use 'triage receive' for a very large mailbox.",
            413,
        )

    @app.errorhandler(HTTPException)
    def other(error: HTTPException) -> tuple[Response | str, int]:
        said = {
            404: "there is no such page",
            405: "this page takes no such request",
            500: "something went wrong in the desk; nothing was recorded by this request",
        }
        what = said.get(error.code or 500, error.description or "the request cannot be answered")
        return _sentence(what, request.path, "Go back and try another way.", error.code or 500)


def _sentence(what: str, failing: str, next_step: str, status: int) -> tuple[Response | str, int]:
    what, failing, next_step = at_desk(what), at_desk(failing), at_desk(next_step)
    if request.headers.get("X-Desk-Token") or "application/json" in request.headers.get(
        "Accept", ""
    ):
        return jsonify(what=what, failing=failing, next_step=next_step), status
    came_from = urlsplit(request.referrer or "")
    back = came_from.path if came_from.netloc == request.host else ""
    return render_template(
        "problem.html", what=what, failing=failing, next_step=next_step, back=back
    ), status
