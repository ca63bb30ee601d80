"""A photo's digest and a size in, an upright JPEG out: no other picture leaves the desk."""

from __future__ import annotations

from typing import Literal

from flask import Blueprint, Response, abort, send_file

from triage.desk import opened
from triage.store import previews

room = Blueprint("pictures", __name__, url_prefix="/picture")


@room.get("/<photo>/<any(small, fitting, whole):size>")
def show(photo: str, size: Literal["small", "fitting", "whole"]) -> Response:
    """One photo in one size; its digest never means another picture, so it may be kept."""
    if len(photo) != 64:
        abort(404)
    path = previews.picture(opened.survey(), photo, size)
    answer = send_file(path, mimetype="image/jpeg", conditional=True, max_age=86_400)
    answer.headers["Cache-Control"] = "private, max-age=86400, immutable"
    return answer
