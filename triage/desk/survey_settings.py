"""The settings with their meaning in; as typed back, checked and written whole, out."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any, Literal, get_args, get_origin

from flask import redirect, render_template, request, url_for
from pydantic.fields import FieldInfo
from werkzeug.wrappers import Response

from triage.desk import opened
from triage.desk.survey_room import room
from triage.pipeline import settings_change
from triage.store.settings import Settings

FIXED = frozenset({"survey.identifier"})  # stands in every export: changing it would break them
TITLES = {
    "survey": "The survey",
    "intake": "Mail",
    "sightings": "Sightings",
    "queue": "Queue",
    "determinations": "Determinations",
    "matching": "Matching",
    "publishing": "What is released",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Field:
    """One setting as a field of the page."""

    name: str
    title: str
    meaning: str
    kind: Literal["text", "number", "yes or no", "choice", "list"]
    value: str
    default: str
    choices: tuple[str, ...] = ()
    fixed: bool = False


@room.get("/settings")
def settings() -> str:
    """Every setting with its meaning and default."""
    return _page(dict(_typed_of(opened.survey().settings)), {})


@room.post("/settings")
def change() -> Response | tuple[str, int]:
    """Write the settings if every one can be used, else show what is wrong beside each."""
    form = {name: opened.typed(name) for name in request.form}
    before = opened.survey().settings
    wrong = settings_change.change_settings(
        opened.survey(),
        _raw(before, form),
        seen=form.get("seen", ""),
        **opened.signed(),
    )
    if wrong:
        typed = {f.name: form.get(f.name, "") for _, fields in _sections(before) for f in fields}
        return _page(typed, wrong), 422
    return redirect(url_for("survey.settings", saved="yes"))


def _page(typed: dict[str, str], wrong: dict[str, str]) -> str:
    survey = opened.survey()
    return render_template(
        "survey/settings.html",
        sections=[(TITLES[name], fields) for name, fields in _sections(survey.settings)],
        typed=typed,
        wrong=wrong,
        seen=settings_change.state_of_file(survey),
        saved=request.args.get("saved") == "yes",
    )


def _sections(settings: Settings) -> Iterator[tuple[str, list[Field]]]:
    for section in type(settings).model_fields:
        held = getattr(settings, section)
        fields = type(held).model_fields.items()
        yield section, [_field(section, name, info, getattr(held, name)) for name, info in fields]


def _field(section: str, name: str, info: FieldInfo, value: object) -> Field:
    choices = get_args(info.annotation) if get_origin(info.annotation) is Literal else ()
    kind: Literal["text", "number", "yes or no", "choice", "list"] = "text"
    if choices:
        kind = "choice"
    elif info.annotation is bool:
        kind = "yes or no"
    elif info.annotation in (int, float):
        kind = "number"
    elif info.annotation is not str:
        kind = "list"
    return Field(
        name=f"{section}.{name}",
        title=name.replace("_", " "),
        meaning=info.description or "",
        kind=kind,
        value=_shown(value),
        default=_shown(info.default),
        choices=choices,
        fixed=f"{section}.{name}" in FIXED,
    )


def _shown(value: object) -> str:
    if isinstance(value, bool):
        return "yes" if value else ""
    if isinstance(value, tuple):
        return ", ".join(_shown(one) for one in value)
    if isinstance(value, float):
        return f"{value:g}" if value != int(value) else str(int(value))
    return "" if value is None else str(value)


def _typed_of(settings: Settings) -> Iterator[tuple[str, str]]:
    for _, fields in _sections(settings):
        for field in fields:
            yield field.name, field.value


def _raw(settings: Settings, form: dict[str, str]) -> dict[str, dict[str, Any]]:
    """The typed words as the values that are checked; what may not change stays as it is."""
    return {
        section: {
            field.name.partition(".")[2]: field.value
            if field.fixed
            else _value(field, form.get(field.name, "").strip())
            for field in fields
        }
        for section, fields in _sections(settings)
    }


def _value(field: Field, typed: str) -> Any:
    if field.kind == "yes or no":
        return typed == "yes"
    if field.kind == "list":
        parts = [part.strip() for part in typed.split(",") if part.strip()]
        return parts or None
    if field.kind == "number":
        return typed.replace(",", ".")
    return typed
