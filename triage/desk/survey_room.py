"""The survey as a whole in; its state, log, people and tables as pages out."""

from __future__ import annotations

from collections.abc import Iterable

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from triage.desk import imports, opened
from triage.errors import UnknownError
from triage.pipeline import audit, consents, persons, undo
from triage.pipeline.log import log_of
from triage.standards.letters import alphabetical
from triage.store.actions import LASTING
from triage.store.people import Person, find, listed, with_names

room = Blueprint("survey", __name__, url_prefix="/survey")

LOG_SHOWN = 60  # actions on the first page of the log
LOG_MOST = 5000


@room.get("/")
def start() -> str:
    """The state of everything."""
    here = audit.overview_of(opened.survey(), now=opened.now(), for_determiner=opened.person())
    titles = with_names(opened.survey(), *(need.record for need in here.needs))
    needs = list(zip(here.needs, titles, strict=True))
    return render_template("survey/state.html", here=here, needs=needs)


@room.get("/log")
def log() -> str:
    """Who did what, the newest first."""
    shown = min(max(request.args.get("show", LOG_SHOWN, type=int) or LOG_SHOWN, 1), LOG_MOST)
    found = log_of(opened.survey(), limit=shown + 1, reader=opened.person(), blind=opened.blind())
    return render_template(
        "survey/log.html",
        actions=found[:shown],
        more=shown + 2 * LOG_SHOWN if len(found) > shown else 0,
        lasting=LASTING,
        taken=request.args.get("taken", type=int),
    )


@room.post("/undo")
def take_back() -> Response:
    """Take back the action of this number, whoever did it; an undo too."""
    number = request.form.get("number", "")
    if not number.isdecimal():
        raise UnknownError(
            "it is not said what to take back", failing="number", next_step="Load the log again."
        )
    undone = opened.renewed(undo.undo(opened.survey(), number=int(number[:12]), **opened.signed()))
    return redirect(url_for(".log", taken=undone.number))


@room.get("/people")
def people() -> str:
    """Everybody with what they allow; words that nobody has seen first."""
    known = listed(opened.survey())
    everybody = [one for one in known if one.name or one.addresses]
    everybody.sort(key=lambda one: (not one.unseen, alphabetical(one.name), one.code))
    return render_template(
        "survey/people.html",
        people=everybody,
        whom=request.args.get("whom", ""),
        seen={one.code: opened.state_of(one.unseen) for one in everybody if one.unseen},
        who=_who(known),
        done=opened.last_action() if request.args.get("done") else None,
    )


def _who(everybody: Iterable[Person]) -> str:
    """Which name and addresses are whose, as the page shows it to whoever joins or forgets one."""
    return opened.state_of(*((one.code, one.name, one.addresses) for one in everybody))


@room.post("/consent-seen")
def consent_seen() -> Response:
    """Say that the words of a grant were seen and do grant it, or that they grant nothing."""
    said = consents.deny_grant if request.form.get("says") == "nothing" else consents.see_consent
    survey, code = opened.survey(), request.form.get("code", "")
    with opened.unchanged(lambda: [opened.state_of(find(survey, code).unseen)]):
        said(survey, code, **opened.signed())
    return redirect(url_for(".people", done="yes"))


@room.post("/one-person")
def one_person() -> Response:
    """Say that two addresses are one person's."""
    signed, form = opened.signed(), request.form
    _wants_a_yes("that the two are one person")
    with opened.unchanged(lambda: [_who(listed(opened.survey()))]):
        persons.join(opened.survey(), form.get("first", ""), form.get("second", ""), **signed)
    return redirect(url_for(".people", done="yes"))


@room.post("/forget")
def forget() -> str:
    """Forget a person: name, contact and mail go, records stay under a code; say what is left."""
    signed, form = opened.signed(), request.form
    _wants_a_yes("that this cannot be taken back")
    opened.refuse_an_old_page([_who(listed(opened.survey()))])  # of whoever goes for good
    photos = form.get("photos") == "yes"
    outcome = persons.forget(opened.survey(), form.get("code", ""), photos=photos, **signed)
    return render_template("survey/forgotten.html", outcome=outcome)


def _wants_a_yes(what: str) -> None:
    if request.form.get("sure") != "yes":
        raise UnknownError(
            "this is for good, and was not confirmed",
            failing="confirmation",
            next_step=f"Go back and tick {what}.",
        )


@room.get("/tables")
def tables() -> str:
    """Every kind of table that the survey takes in."""
    return render_template("survey/tables.html", kinds=imports.KINDS)
