"""Describes an export's tables, every column of them, as a Frictionless data package.

References
----------
Data Package specification, version 1. https://specs.frictionlessdata.io/data-package/
"""

from __future__ import annotations

import json
from collections.abc import Mapping, Sequence

from triage.exports.content import SurveyMetadata
from triage.exports.tables import declared
from triage.standards.audiovisual_core import TERMS
from triage.standards.darwin_core import term_uri


def descriptor_bytes(
    survey: SurveyMetadata,
    tables: Mapping[str, tuple[str, Sequence[str]]],
    *,
    identifier: str,
    version: str,
    created: str,
) -> bytes:
    """The document ``datapackage.json``.

    ``tables`` has the file name and columns of each table by its name; identifier and version are
    those of the survey and of this edition of it, ``created`` is the day of the edition.

    Raises
    ------
    ValueError
        If a column has no description in tables.toml.
    """
    document = {
        "profile": "tabular-data-package",
        "name": "triage-export",
        "id": identifier,
        "title": survey.title or "Untitled survey",
        "description": survey.description,
        "version": version,
        "created": f"{created}T00:00:00Z",
        "licenses": [{"path": survey.licence}] if survey.licence else [],
        "resources": [
            _resource(name, file_name, columns) for name, (file_name, columns) in tables.items()
        ],
    }
    kept = {key: value for key, value in document.items() if value not in ("", [])}
    return (json.dumps(kept, ensure_ascii=False, indent=1) + "\n").encode("utf-8", "replace")


def _resource(name: str, file_name: str, columns: Sequence[str]) -> dict[str, object]:
    schema: dict[str, object] = {"fields": [_field(column) for column in columns]}
    key = declared()[name].get("key", ())
    if len(key) == 1:
        schema["primaryKey"] = key[0]
    return {
        "profile": "tabular-data-resource",
        "name": name,
        "path": file_name,
        "format": "csv",
        "mediatype": "text/csv",
        "encoding": "utf-8",
        "schema": schema,
    }


def _field(column: str) -> dict[str, str]:
    described = declared()["column"].get(column)
    if described is None:
        raise ValueError(f"the column {column} has no description in exports/tables.toml")
    own = {"name": column, "type": described["type"], "description": described["says"]}
    if described.get("ours"):
        return own
    of_media = column in TERMS and column != "type"
    return own | {"rdfType": TERMS[column] if of_media else term_uri(column)}
