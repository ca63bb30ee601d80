"""Keep what the survey remembers between runs, under a name."""

from __future__ import annotations

from triage.store.connection import Survey


def write(survey: Survey, name: str, value: str) -> None:
    """Remember a value under a name, in the place of an earlier one."""
    with survey.transaction():
        survey.insert("notes", {"name": name, "value": value}, replace=True)


def read(survey: Survey, name: str) -> str | None:
    """What is remembered under a name, or None."""
    found: str | None = survey.first("select value from notes where name = ?", name)
    return found


def beginning_with(survey: Survey, start: str) -> list[str]:
    """Names of notes that begin so."""
    query = "select name from notes where substr(name, 1, ?) = ? order by name"
    return survey.column(query, len(start), start)


def remove(survey: Survey, name: str) -> None:
    """Remember nothing under this name any longer."""
    with survey.transaction():
        survey.run("delete from notes where name = ?", name)
