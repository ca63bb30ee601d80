"""Writes the README.txt that explains every file of a folder that is handed on."""

from __future__ import annotations

from triage.exports.content import SurveyMetadata


def readme_text(template: str, survey: SurveyMetadata, **told: object) -> str:
    """A template filled in, wrapped for nobody: one paragraph per line."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("triage.exports"),
        autoescape=False,  # plain text
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
    return environment.get_template(template).render(
        survey=survey,
        title=survey.title or "Untitled survey",
        contact=" ".join(filter(None, (survey.contact_name, survey.contact_address))),
        **told,
    )
