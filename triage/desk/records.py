"""Records that need a human in, each settled by one decision out: people, names, years."""

from __future__ import annotations

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from triage.desk import keys, opened
from triage.errors import UnknownError
from triage.mail.consent import Publication
from triage.pipeline import audit, consents, jars, persons
from triage.store import people

room = Blueprint("records", __name__, url_prefix="/inbox/records")

WORDS = {
    "consent": "words that seem to allow something",
    "unclear consent": "words about the use of photos or name",
    "photographer": "photographers who were not asked yet",
    "unresolved name": "names that the checklist does not have",
    "open reference": "visits and lots that refer to what was not imported",
    "near names": "people who may be one person",
    "impossible year": "years that cannot be",
}


@room.get("/")
def start() -> str:
    """Everything to decide of records, the first with the digits of its decisions."""
    survey = opened.survey()
    needs = audit.record_needs(survey, now=opened.now())
    needs.sort(key=lambda need: list(WORDS).index(need.kind))
    named = people.with_names(survey, *(need.record for need in needs))
    return render_template(
        "inbox/records.html",
        needs=list(zip(needs, named, map(opened.state_of, needs), strict=True)),
        words=WORDS,
        addresses={one.code: ", ".join(one.addresses) for one in people.all_people(survey)},
        undone=request.args.get("undone", ""),
        last=opened.last_action(),
        keys_inbox=keys.INBOX,
    )


@room.post("/")
def decide() -> Response:
    """Carry out the pressed decision on what the page showed."""
    survey, now, words = opened.survey(), opened.now(), opened.typed("words").strip()
    with opened.unchanged(lambda: set(map(opened.state_of, audit.record_needs(survey, now=now)))):
        _decide(words)
    return redirect(url_for(".start"))


def _decide(words: str) -> None:
    kind, _, value = request.form.get("do", "").partition(":")
    key, first, second = (request.form.get(name, "") for name in ("key", "first", "second"))
    survey, by, now = opened.survey(), opened.known_person(), opened.now()
    if kind == "grants":
        consents.see_consent(survey, key, by=by, now=now)
    elif kind == "grants nothing":
        consents.deny_grant(survey, key, by=by, now=now)
    elif kind == "said":
        consents.record_consent(survey, key, words, by=by, now=now)
    elif kind == "decided":
        said: Publication = "yes" if value == "yes" else "no" if value == "no" else "unstated"
        consents.decide_unclear(survey, key, publish=said, by=by, now=now)
    elif kind == "same":
        persons.join(survey, first, second, by=by, now=now)
    elif kind == "two":
        persons.tell_apart(survey, first, second, by=by, now=now)
    elif kind == "named":
        done = jars.name_again(survey, key, name=value, identified_by=by, by=by, now=now)
        if done.problems:
            raise UnknownError(
                done.problems[0].reason, failing=value, next_step="Open the lot and name it there."
            )
    else:
        raise UnknownError(
            "the page sent no decision", failing=kind[:40], next_step="Load the page again."
        )
