"""Who is at the desk, light or dark, and stopping: what belongs to no room."""

from __future__ import annotations

from urllib.parse import quote, urlsplit

from flask import Blueprint, current_app, jsonify, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from triage.desk import opened, security
from triage.errors import UnknownError
from triage.pipeline import persons
from triage.standards.person_names import names_nobody

room = Blueprint("entrance", __name__)
YEAR_SECONDS = 31_536_000


@room.get("/")
def start() -> Response:
    """To the first room."""
    return redirect(url_for("inbox.start"))


@room.get("/token")
def token() -> Response:
    """This browser's token, for a page that was loaded before the browser got it."""
    return jsonify(token=security.token())


@room.post("/who")
def who() -> Response | str:
    """Remember in this browser who is at the desk; a name that may be a slip is asked about."""
    name = opened.clean_name(opened.typed("name", opened.NAME_LENGTH))
    if names_nobody(name):
        raise UnknownError(
            "a name is needed", failing=name or "your name", next_step="Type the name for the log."
        )
    near = persons.names_near(opened.survey(), name)
    if near and request.form.get("sure") != "yes":
        return render_template(
            "near.html", name=name, near=near[:5], back=request.form.get("back", "/")
        )
    answer = _back()
    answer.set_cookie(
        opened.cookie("who"), quote(name), httponly=True, samesite="Strict", max_age=YEAR_SECONDS
    )
    return answer


@room.post("/theme")
def theme() -> Response:
    """Light, dark, or as the system has it."""
    chosen = request.form.get("theme", "")
    answer = _back()
    answer.set_cookie(
        opened.cookie("theme"),
        chosen if chosen in ("light", "dark") else "",
        httponly=True,
        samesite="Strict",
        max_age=YEAR_SECONDS,
    )
    return answer


@room.post("/stop")
def stop() -> str:
    """End the server; everything acknowledged is on the disk."""
    ending = current_app.config["STOP"]
    opened.work().stop()
    page = render_template("stopped.html")
    if ending is not None:
        ending()
    return page


def _back() -> Response:
    """To the page that asked, as a path of this desk only."""
    came_from = urlsplit(request.form.get("back", "/")).path
    safe = came_from.startswith("/") and not came_from.startswith(("//", "/\\"))
    return redirect(came_from if safe else "/")
