"""What was settled in; letters to those who sent it out: shown first, then drafted, never sent."""

from __future__ import annotations

import re
from dataclasses import replace
from datetime import datetime

from flask import render_template, request

from triage.desk import opened
from triage.desk.survey_room import room
from triage.errors import UnknownError
from triage.pipeline import drafts, volunteer_letters
from triage.report.volunteer_letters import LettersOutcome
from triage.standards.counting import counted
from triage.store import people
from triage.store.connection import Survey
from triage.workers.progress import Progress


@room.get("/letters")
def letters() -> str:
    """Letters to volunteers: what may be drafted, and every draft that lies there."""
    return _page(None)


@room.post("/letters")
def show_letters() -> str:
    """The letters that would be drafted now; nothing is written."""
    survey, by, now = opened.survey(), opened.known_person(), opened.now()
    if request.form.get("what") == "season":
        return _page(volunteer_letters.season(survey, year_sent(), by=by, now=now, show=True))
    return _page(volunteer_letters.thanks(survey, by=by, now=now, show=True))


def _page(outcome: LettersOutcome | None) -> str:
    survey = opened.survey()
    return render_template(
        "survey/letters.html",
        address=survey.settings.survey.reply_address,
        year=request.form.get("year") or opened.now().year,
        season=request.form.get("what") == "season",
        drafts=drafts.drafted(survey),
        for_everybody=drafts.for_everybody(survey),
        outcome=_named(survey, outcome) if outcome else None,
    )


def _named(survey: Survey, outcome: LettersOutcome) -> LettersOutcome:
    """The outcome with people's names for their codes: this page is for the coordinator."""
    names = {one.code: one.name or one.code for one in people.all_people(survey)}
    told = (text.partition(":") for text in outcome.skipped)
    return replace(
        outcome,
        letters=tuple(replace(o, person=names.get(o.person, o.person)) for o in outcome.letters),
        skipped=tuple(f"{names.get(code, code)}:{rest}" for code, _, rest in told),
    )


def year_sent() -> int:
    """The year that the page sent, of a season letter.

    Raises
    ------
    UnknownError
        If it is no year.
    """
    text = request.form.get("year", "")
    if not re.fullmatch(r"[12][0-9]{3}", text):
        raise UnknownError(
            "a season letter is about one year",
            failing=text[:20] or "year",
            next_step="Write the year with four digits, such as 2026.",
        )
    return int(text)


def thanks(survey: Survey, progress: Progress, now: datetime, person: str) -> list[str]:
    """Draft the thanks, as a piece of long work."""
    progress("drafting letters", 0, None)
    return _said(_named(survey, volunteer_letters.thanks(survey, by=person, now=now)))


def season(year: int, survey: Survey, progress: Progress, now: datetime, person: str) -> list[str]:
    """Draft the letters about a year, as a piece of long work."""
    progress(f"drafting letters about {year}", 0, None)
    return _said(_named(survey, volunteer_letters.season(survey, year, by=person, now=now)))


def _said(made: LettersOutcome) -> list[str]:
    return [
        f"{counted(len(made.letters), 'letter')}"
        f" drafted{', and one for all' if made.files else ''};"
        " nothing is sent.",
        *(f"No letter to {text}" for text in made.skipped),
        *(f"Out of date: {text}" for text in made.stale),
    ]
