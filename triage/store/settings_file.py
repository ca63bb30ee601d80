"""Write survey.toml for a new survey from the settings: each default with its meaning."""

from __future__ import annotations

import json
import shutil
from collections.abc import Iterator
from pathlib import Path

from pydantic import BaseModel

from triage.store import whole_files
from triage.store.settings import Settings

_HEAD = (
    "# Settings of this survey. Every value may be changed;"
    " a mistake is named when the survey opens."
)
_COLUMN = 32  # where the meaning of a setting stands beside its value


def write_default_settings(path: Path, *, title: str, identifier: str = "") -> None:
    """Write the defaults, each with its meaning, unless the file exists."""
    if path.exists():
        return
    survey = Settings().survey.model_copy(update={"title": title, "identifier": identifier})
    text = settings_text(Settings().model_copy(update={"survey": survey}))
    path.write_text(text, encoding="utf-8", newline="\n")


def replace_settings(path: Path, settings: Settings) -> None:
    """Write the settings whole in the place of the earlier file, which is kept as ``.before``."""
    with whole_files.written(path) as part:
        part.write_text(settings_text(settings), encoding="utf-8", newline="\n")
        whole_files.flush(part)
        if path.exists():
            shutil.copyfile(path, path.with_name(path.name + ".before"))


def settings_text(settings: Settings) -> str:
    """The settings as TOML: a heading for each section, a line with its meaning for each value."""
    lines = [_HEAD]
    for section in type(settings).model_fields:
        lines += ["", f"[{section}]", *_section_lines(getattr(settings, section))]
    return "\n".join(lines) + "\n"


def _section_lines(section: BaseModel) -> Iterator[str]:
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        if value is None:  # TOML has no word for nothing: an example that counts once it is opened
            line = f"# {name} = {_toml((field.examples or [''])[0])}"
        else:
            line = f"{name} = {_toml(value)}"
        yield f"{line:<{_COLUMN - 1}} # {field.description}" if field.description else line


def _toml(value: object) -> str:
    """A value in TOML 1.0; its strings, numbers, truth values and lists are written as in JSON."""
    if isinstance(value, float) and value == int(value):
        value = int(value)
    plain = list(value) if isinstance(value, tuple) else value
    return json.dumps(plain, ensure_ascii=False).replace("\x7f", "\\u007f")
