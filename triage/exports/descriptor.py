"""Describes an export's tables, every column of them, as a Frictionless data package.

References
----------
Data Package specification, version 1. https://specs.frictionlessdata.io/data-package/
"""

from __future__ import annotations

import csv
import json
from collections.abc import Mapping, Sequence
from functools import cache
from importlib import resources

from triage.exports.changes import KEYS
from triage.exports.content import SurveyMetadata
from triage.standards.darwin_core import term_uri

OURS = frozenset(
    (
        *("state", "stateReason", "placeSource", "timeSource", "outcome", "standing", "reason"),
        *("secondOpinionWanted", "file", "focus", "best", "heldDigest", "distanceInMeters"),
        *("leastDistanceInMeters", "greatestDistanceInMeters", "leastDays", "greatestDays"),
        *("season", "taxonAgreement", "agreementRank", "passesInItsDays", "presenceProbability"),
        *("relativeAbundance", "movementDensity", "likelihood", "share", "shareLow", "shareHigh"),
        *("privateHome", "sensitivityCategory", "passes", "permit"),
        *("table", "sha256", "change"),
    )
)
"""Columns without a term of a standard."""


def descriptor_bytes(
    survey: SurveyMetadata,
    tables: Mapping[str, tuple[str, Sequence[str]]],
    *,
    identifier: str,
    version: str,
    created: str,
) -> bytes:
    """The document ``datapackage.json``.

    Parameters
    ----------
    survey : SurveyMetadata
        For title, description and licence.
    tables : mapping
        From the name of a table to its file name and columns.
    identifier, version, created : str
        Of the survey, of this edition of it, and the day of the edition.

    Raises
    ------
    ValueError
        If a column has no description: columns.csv describes each.
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
    if name in KEYS and len(KEYS[name]) == 1:
        schema["primaryKey"] = KEYS[name][0]
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
    described = _columns().get(column)
    if described is None:
        raise ValueError(f"the column {column} has no description in exports/columns.csv")
    kind, description = described
    term = {} if column in OURS else {"rdfType": _term(column)}
    return {"name": column, "type": kind, "description": description, **term}


def _term(column: str) -> str:
    from triage.standards.audiovisual_core import TERMS

    return TERMS[column] if column in TERMS and column != "type" else term_uri(column)


@cache
def _columns() -> dict[str, tuple[str, str]]:
    text = resources.files("triage.exports").joinpath("columns.csv").read_text(encoding="utf-8")
    return {
        row["name"]: (row["type"], row["description"]) for row in csv.DictReader(text.splitlines())
    }
