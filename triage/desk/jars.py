"""A jar's label typed in, its visit and lots recorded out: the room for what was collected."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from flask import Blueprint, redirect, render_template, request, url_for
from werkzeug.wrappers import Response

from triage.desk import imports, keys, opened
from triage.exuviae import Label, LabelLine, LabelProblem
from triage.pipeline import jars
from triage.store.evidence import history_of

room = Blueprint("jars", __name__, url_prefix="/jars")

LINES = 4  # taxa that a new label has room for
MOST_LINES = 60  # taxa in one jar
FIELDS = (
    *("site", "day", "until", "collector", "contact", "number"),
    *("protocol", "effort", "passes", "permit", "remarks", "identified_by"),
)
KEPT = ("collector", "protocol", "identified_by")
"""What the next jar of an evening most likely shares with the one before."""


@room.get("/")
def start() -> str:
    """An empty label, and the jars that are recorded."""
    kept: dict[str, Any] = {name: request.args.get(name, "") for name in KEPT}
    return _page(Label(site="", day="", **kept), ())


@room.post("/")
def record() -> Response | str | tuple[str, int]:
    """Record the label as typed, or show it again with what cannot be used."""
    person = opened.known_person()
    lines, asked = _lines(), request.form.get("do", "")
    if asked.startswith("use:"):
        return _page(_with_near(_label(lines), asked), (), focus=asked.split(":")[1])
    label = _label([line for line in lines if _holds(line)])
    done = jars.record_label(opened.survey(), label, by=person, now=opened.now())
    if done.problems:
        return _page(label, done.problems), 422
    kept = {name: getattr(label, name) for name in KEPT if getattr(label, name)}
    return redirect(url_for(".start", recorded=done.event_id, **kept))


def _label(lines: list[LabelLine]) -> Label:
    said: dict[str, Any] = {name: opened.typed(name) for name in FIELDS}
    return Label(**said, lines=tuple(lines))


def _lines() -> list[LabelLine]:
    return [
        LabelLine(
            name=opened.typed(f"name-{one}"),
            count=opened.typed(f"count-{one}"),
            sex=opened.typed(f"sex-{one}"),
            remarks=opened.typed(f"remarks-{one}"),
            as_written=request.form.get(f"as-written-{one}") == "yes",
        )
        for one in range(MOST_LINES)
    ]


def _holds(line: LabelLine) -> bool:
    """Whether anything stands in a line: its remarks alone, too, which need a name."""
    return any(words.strip() for words in (line.name, line.count, line.sex, line.remarks))


def _with_near(label: Label, asked: str) -> Label:
    """The label with an offered name put in ("use:site:NAME", "use:name-2:NAME")."""
    _, field, value = asked.split(":", 2) if asked.count(":") >= 2 else ("", "", "")
    if field == "site":
        return replace(label, site=value)
    lines = list(label.lines)
    place = field.removeprefix("name-")
    if place.isdecimal() and int(place) < len(lines):
        lines[int(place)] = replace(lines[int(place)], name=value)
    return replace(label, lines=tuple(lines))


def _page(label: Label, problems: tuple[LabelProblem, ...], *, focus: str = "site") -> str:
    """The room; ``focus`` is the field to type in next."""
    survey = opened.survey()
    words = request.args.get("find", "")[:100]
    offset = max(0, request.args.get("from", 0, type=int) or 0)
    found, count = jars.page(survey, words, offset=offset)
    loose, more_loose = jars.without_visit(survey, words)
    sites, taxa, people = jars.choices(survey)
    lines = [*label.lines, *[LabelLine(name="")] * (MOST_LINES - len(label.lines))]
    return render_template(
        "jars/room.html",
        keys_jars=keys.JARS,
        label=label,
        focus=focus,
        lines=lines,
        shown=max([LINES, *(at for at, line in enumerate(lines, start=1) if _holds(line))]),
        problems=_by_field(problems),
        jars=found,
        count=count,
        loose=loose,
        more_loose=more_loose,
        words=words,
        offset=offset,
        page=jars.PAGE,
        sites=sites,
        taxa=taxa,
        people=people,
        today=opened.now().date().isoformat(),
        recorded=request.args.get("recorded", ""),
        last=opened.last_action(),
        kinds={name: imports.KINDS[name] for name in imports.JARS},
    )


def _by_field(problems: tuple[LabelProblem, ...]) -> dict[str, LabelProblem]:
    return {
        one.field if one.line is None else f"{one.field}-{one.line}": one
        for one in reversed(problems)
    }


@room.get("/lot")
def lot() -> str:
    """One lot with everything that was ever recorded of it."""
    return _lot_page(request.args.get("number", ""), {}, None)


@room.post("/lot")
def name_again() -> Response | tuple[str, int]:
    """Record another name for a lot; the earlier ones stay in its history."""
    form, number = request.form, request.form.get("number", "")
    said = {
        "name": form.get("use", "") or opened.typed("name"),
        "identified_by": opened.typed("identified_by"),
        "remarks": opened.typed("remarks"),
    }
    with opened.unchanged(lambda: [_state_of(number)]):
        done = jars.name_again(
            opened.survey(),
            number,
            **said,
            as_written=form.get("as_written") == "yes",
            **opened.signed(),
        )
    if done.problems:
        return _lot_page(number, said, done.problems[0]), 422
    return redirect(url_for(".lot", number=number))


def _state_of(number: str) -> str:
    return opened.state_of(jars.lot_of_number(opened.survey(), number))


def _lot_page(number: str, said: dict[str, str], problem: LabelProblem | None) -> str:
    survey, person = opened.survey(), opened.person()
    found = jars.lot_of_number(survey, number)
    sites, taxa, people = jars.choices(survey)
    return render_template(
        "jars/lot.html",
        keys_jars=keys.JARS,
        lot=found,
        seen=_state_of(number),
        site=next((s.locality for s in sites if s.location_id == found.location_id), ""),
        steps=history_of(survey, found.catalog_number),
        said=said,
        problem=problem,
        taxa=taxa,
        people=people,
        person=person,
        last=opened.last_action(),
    )


@room.post("/undo")
def undo() -> Response:
    """Take back my action of this number, or bring back what my undo of this number took."""
    undone = opened.take_back()
    arguments: dict[str, Any] = {} if undone.holds else {"undone": undone.number}
    return redirect(url_for(".start", **arguments))
