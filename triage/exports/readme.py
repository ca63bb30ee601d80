"""Writes the README.txt that explains every file of a folder that is handed on."""

from __future__ import annotations

from triage.exports.content import SurveyMetadata
from triage.standards.data_files import filled


def readme_text(template: str, survey: SurveyMetadata, **told: object) -> str:
    """A template filled in, wrapped for nobody: one paragraph per line."""
    return filled(
        "triage.exports",
        template,
        escape=False,
        survey=survey,
        title=survey.title or "Untitled survey",
        contact=" ".join(filter(None, (survey.contact_name, survey.contact_address))),
        **told,
    )
