"""Sightings that wait for a name in, determinations recorded out: the determiner's room."""

from __future__ import annotations

import json
from collections.abc import Sequence

from flask import (
    Blueprint,
    Response,
    abort,
    jsonify,
    make_response,
    render_template,
    request,
    url_for,
)
from flask.typing import ResponseReturnValue
from markupsafe import Markup

from triage.analysis.view import VIEWS
from triage.desk import keys, opened, security
from triage.desk.wording import plainly
from triage.determinations import Statement
from triage.errors import UnknownError
from triage.pipeline import correct as correcting
from triage.pipeline import determine as determining
from triage.pipeline import edit, queueing, sighting_page
from triage.report.queue_sheet import Ranked
from triage.report.sighting_page import names_for_page
from triage.store import evidence, people, sightings

room = Blueprint("determine", __name__, url_prefix="/determine")

CANNOT = (
    "the photos are blurred on the insect",
    "the insect is too small",
    "the view does not show the characters",
    "the characters are hidden",
    "the species of this group cannot be told from photos",
)
OTHER = ("exuvia", "larva", "other animal", "no animal")
STAGES = ("adult", "teneral")
BEHAVIORS = ("tandem", "mating wheel", "ovipositing", "emerging", "feeding", "perched", "flying")
QUALIFIERS = ("", "cf.", "aff.")


@room.get("/")
def start() -> str:
    """The room with its first sighting."""
    names = names_for_page(evidence.checklist(opened.survey()), blind=opened.blind())
    first = _fragment(_next(()))
    return render_template(
        "determine/room.html",
        first=Markup(first),  # a page of our own, escaped where it was filled
        any_sighting=bool(first) or sightings.count(opened.survey()) > 0,
        waiting=queueing.count_waiting(
            opened.survey(), now=opened.now(), for_determiner=opened.person()
        ),
        names=json.dumps(names, ensure_ascii=False),
        blind=opened.blind(),
        without="",
        blind_required=opened.survey().settings.determinations.blind,
        acts_of_keys=keys.acts_of(keys.NAMING, keys.LOOKING, keys.MENDING),
        naming=keys.NAMING,
        looking=keys.LOOKING,
        mending=keys.MENDING,
        cannot=CANNOT,
        other=OTHER,
        stages=STAGES,
        behaviors=BEHAVIORS,
        views=VIEWS,
    )


@room.get("/next")
def following() -> ResponseReturnValue:
    """One more sighting than the browser has in hand, as a piece of the page; 204 if none waits."""
    found = _fragment(_next(request.args.getlist("have"), request.args.getlist("later")))
    return Response(found, mimetype="text/html") if found else ("", 204)


@room.get("/sighting/<identifier>")
def one(identifier: str) -> ResponseReturnValue:
    """One sighting again, after it was mended."""
    place = queueing.place_of(opened.survey(), identifier, now=opened.now())
    return Response(_shown(identifier, place), mimetype="text/html")


@room.post("/record")
def record() -> Response:
    """Record one determination, and say what others said and where the sighting stands."""
    person, form = opened.known_person(), request.form
    if (said_by := form.get("by", person)) != person:  # sent late, by a browser that changed hands
        abort(409, f"{said_by} said this, and {person} is at the desk; it waits for {said_by}.")
    statement = Statement(
        taxon=form.get("taxon", ""),
        cannot_tell=form.get("cannot_tell", ""),
        not_an_adult=form.get("not_an_adult", ""),
        qualifier=_one_of(form.get("qualifier", ""), QUALIFIERS),
        sex=_one_of(form.get("sex", ""), ("", "female", "male")),
        life_stage=form.get("life_stage", ""),
        behavior=form.get("behavior", ""),
        remarks=opened.typed("remarks"),
        second_opinion=form.get("second_opinion") == "yes",
    )
    survey, sighting = opened.survey(), form.get("sighting", "")
    before = [one.what for one in sighting_page.said_of(survey, sighting) if one.by == person]
    # Whoever came in under a name that is near somebody's said then that it is another person.
    stands = determining.determine(
        survey, sighting, statement, by=person, now=opened.now(), new=True
    )
    others = sighting_page.said_of(survey, sighting, but_by=person)
    return jsonify(
        stands=stands.state,
        name=" ".join(part for part in (stands.qualifier, stands.scientific_name) if part),
        reason=people.with_names(survey, stands.reason)[0],
        before="".join(before),
        others=[{"by": o.by, "what": o.what, "remarks": o.remarks} for o in others],
    )


@room.get("/mine")
def mine() -> Response:
    """What undoing would take back."""
    opened.known_person()
    last = opened.last_action()
    return jsonify(number=last.number if last else 0, summary=plainly(last.summary) if last else "")


@room.post("/undo")
def undo() -> Response:
    """Take back my action of this number, or bring back what my undo of this number took."""
    undone = opened.take_back()
    return jsonify(number=undone.number, summary=plainly(undone.taken.summary), holds=undone.holds)


@room.post("/correct")
def correct() -> Response:
    """Correct the view or the box of a photo."""
    form = request.form
    field = _one_of(form.get("field", ""), ("view", "box"))
    done = correcting.correct(
        opened.survey(),
        form.get("photo", ""),
        field=field,
        value=form.get("value", ""),
        **opened.signed(),
    )
    return jsonify(moved=done.moved, own=done.own, rest=done.rest)


@room.post("/two")
def two() -> Response:
    """Say that a photo shows one animal more."""
    made = edit.add_animal(opened.survey(), request.form.get("photo", ""), **opened.signed())
    return jsonify(sighting=made)


@room.post("/split")
def split() -> Response:
    """Say that these photos show another animal."""
    form = request.form
    sighting, photos = form.get("sighting", ""), form.getlist("photo")
    edit.split(opened.survey(), sighting, photos, **opened.signed())
    return jsonify(done=True)


@room.post("/merge")
def merge() -> Response:
    """Say that these sightings show one animal."""
    edit.merge(opened.survey(), request.form.getlist("sighting"), **opened.signed())
    return jsonify(done=True)


@room.get("/neighbours/<identifier>")
def neighbours(identifier: str) -> Response:
    """Sightings that may show the same animal, with all their pictures and nothing said of them."""
    undated = _undated()
    return jsonify(
        [
            {
                "word": one.identifier,
                "alt": "Animal of another sighting of this observer and day",
                "text": "" if undated else one.event_date[11:16] or "no time",
                "sources": [
                    url_for("pictures.show", photo=photo, size="fitting")
                    for photo in dict.fromkeys(one.photos)
                ],
            }
            for one in sighting_page.neighbours(opened.survey(), identifier, undated=undated)
        ]
    )


@room.post("/blind")
def blind() -> Response:
    """Blind, or with names and places, in this browser."""
    answer = make_response(jsonify(blind=request.form.get("blind") == "yes"))
    chosen = "yes" if request.form.get("blind") == "yes" else ""
    answer.set_cookie(opened.cookie("blind"), chosen, httponly=True, samesite="Strict")
    return answer


def _next(have: Sequence[str], later: Sequence[str] = ()) -> Ranked | None:
    """One more place for this browser; nobody gets one before saying who it is."""
    if not opened.person():
        return None
    return queueing.lend(
        opened.survey(),
        by=opened.person(),
        browser=security.browser(),
        now=opened.now(),
        already=have,
        not_now=later,
    )


def _fragment(place: Ranked | None) -> str:
    return _shown(place.sighting.identifier, place) if place else ""


def _shown(identifier: str, place: Ranked | None) -> str:
    whole = sighting_page.whole_sighting(
        opened.survey(), identifier, blind=opened.blind(), undated=_undated()
    )
    order = [
        {"i": number, "season": one.in_season, "near": one.found_near}
        for number, one in zip(whole.numbers, whole.names, strict=True)
    ]
    return render_template(
        "determine/sighting.html", one=whole, place=place, order=json.dumps(order)
    )


def _undated() -> bool:
    return opened.blind() and opened.survey().settings.determinations.blind_date


def _one_of(value: str, allowed: Sequence[str]) -> str:
    if value not in allowed:
        raise UnknownError(
            "the page sent a word that is not on its list",
            failing=value[:80],
            next_step="Load the page again.",
        )
    return value
