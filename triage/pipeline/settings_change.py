"""Change the settings of a survey: all of them checked, the file written whole, the log told."""

from __future__ import annotations

from collections.abc import Mapping
from datetime import datetime
from typing import Any

from triage.errors import ChangedMeanwhileError
from triage.standards.digests import short_digest_of
from triage.store import actions, settings
from triage.store.connection import SETTINGS, Survey
from triage.store.settings import Settings, changes_of, mistakes


def state_of_file(survey: Survey) -> str:
    """Stands for the file as it is, so that two people do not write over each other."""
    path = survey.folder / SETTINGS
    return short_digest_of(path.read_text(encoding="utf-8")) if path.exists() else ""


def change_settings(
    survey: Survey,
    typed: Mapping[str, Mapping[str, Any]],
    *,
    seen: str,
    by: str,
    now: datetime,
) -> dict[str, str]:
    """Write these settings if every one of them can be used; what is wrong, by name, otherwise.

    The file as it was is kept beside it; the log says what changed from what.

    Raises
    ------
    ChangedMeanwhileError
        If the file was changed since ``seen``.
    """
    if seen != state_of_file(survey):
        raise ChangedMeanwhileError(
            "the settings were changed by somebody else meanwhile",
            failing=str(SETTINGS),
            next_step="Load the page again: what you typed will stand beside what is there.",
        )
    wrong = mistakes(typed)
    if wrong:
        return wrong
    new = Settings.model_validate(typed)
    changes = changes_of(survey.settings, new)
    if changes:
        with actions.acting(survey, "settings", "; ".join(changes), by=by, now=now):
            settings.replace_settings(survey.folder / SETTINGS, new)
        survey.settings = new
    return {}
