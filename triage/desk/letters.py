"""A drafted letter in; shown, edited, saved and printed out: the desk never sends one."""

from __future__ import annotations

import io

from flask import Blueprint, redirect, render_template, request, send_file, url_for
from flask.typing import ResponseReturnValue

from triage.desk import opened
from triage.pipeline import drafts
from triage.replies.editing import LETTER_LENGTH

room = Blueprint("letters", __name__, url_prefix="/letter")


@room.get("/<code>")
def letter(code: str) -> str:
    """A drafted letter: shown, to be edited, never sent; with those drafted together with it."""
    survey = opened.survey()
    found = drafts.letter(survey, code)
    also = request.args.get("also", "").split()
    return render_template(
        "letter.html",
        code=code,
        letter=found,
        seen=opened.state_of(found.words),
        also={one: drafts.letter(survey, one) for one in also},
        ending=drafts.path_of_letter(survey, code).suffix,
        saved=request.args.get("saved") == "yes",
        back=request.args.get("back", ""),
    )


@room.post("/<code>")
def save(code: str) -> ResponseReturnValue:
    """Keep the letter with the words as edited."""
    opened.known_person()
    survey, words = opened.survey(), opened.typed("words", LETTER_LENGTH)
    with opened.unchanged(lambda: [opened.state_of(drafts.letter(survey, code).words)]):
        drafts.save_words(survey, code, words)
    return redirect(url_for(".letter", code=code, saved="yes", back=request.form.get("back", "")))


@room.get("/<code>.eml")
def file(code: str) -> ResponseReturnValue:
    """The letter as a file for the mail program."""
    path = drafts.path_of_letter(opened.survey(), code)
    return send_file(path, mimetype="message/rfc822", as_attachment=True, download_name=path.name)


@room.get("/<code>.pdf")
def sheet(code: str) -> ResponseReturnValue:
    """The letter to print."""
    pages = io.BytesIO(drafts.sheet(opened.survey(), code))
    return send_file(pages, mimetype="application/pdf", download_name=f"{code}.pdf")
