"""Taxa, sites, visits, lots and matches in, rows out; and back."""

from __future__ import annotations

import dataclasses
import json
import sqlite3
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from triage.checklist import Taxon
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import Match
from triage.store.connection import Survey


def save_taxa(survey: Survey, taxa: Iterable[Taxon]) -> tuple[int, int]:
    """Insert or update taxa by name; returns how many were new and how many changed."""
    rows = []
    for taxon in taxa:
        values = dataclasses.asdict(taxon)
        first, last = values.pop("season") or (None, None)
        values.update(
            synonyms=json.dumps(list(taxon.synonyms), ensure_ascii=False),
            season_first=first,
            season_last=last,
            needs_two=int(taxon.needs_two),
        )
        rows.append(values)
    return _upsert(survey, "taxa", "scientific_name", rows)


def taxa(survey: Survey) -> list[Taxon]:
    """The checklist, by name."""
    found = []
    for row in survey.connection.execute("select * from taxa order by scientific_name"):
        first, last = row["season_first"], row["season_last"]
        found.append(
            Taxon(
                scientific_name=row["scientific_name"],
                rank=row["rank"],
                authorship=row["authorship"],
                family=row["family"],
                suborder=row["suborder"],
                parent=row["parent"],
                vernacular_name=row["vernacular_name"],
                synonyms=tuple(json.loads(row["synonyms"])),
                season=(first, last) if first and last else None,
                needs_two=bool(row["needs_two"]),
                sensitive=row["sensitive"],
            )
        )
    return found


def save_sites(survey: Survey, sites: Iterable[Site]) -> tuple[int, int]:
    """Insert or update sites by locationID."""
    rows = []
    for site in sites:
        values = dataclasses.asdict(site)
        values["aliases"] = json.dumps(list(site.aliases), ensure_ascii=False)
        values["private"] = int(site.private)
        rows.append(values)
    return _upsert(survey, "sites", "location_id", rows)


def sites(survey: Survey) -> list[Site]:
    """All sites, by locationID."""
    found = []
    for row in survey.connection.execute("select * from sites order by location_id"):
        values = dict(row)
        values["aliases"] = tuple(json.loads(values["aliases"]))
        values["private"] = bool(values["private"])
        found.append(Site(**values))
    return found


def save_visits(survey: Survey, visits: Iterable[Visit]) -> tuple[int, int]:
    """Insert or update visits by eventID."""
    return _upsert(survey, "visits", "event_id", [dataclasses.asdict(v) for v in visits])


def visits(survey: Survey) -> list[Visit]:
    """All visits, by eventID."""
    rows = survey.connection.execute("select * from visits order by event_id")
    return [Visit(**dict(row)) for row in rows]


def save_lots(survey: Survey, lots: Iterable[ExuviaeLot]) -> tuple[int, int]:
    """Insert or update exuviae lots by catalogNumber, their names as written."""
    rows = [dataclasses.asdict(lot) for lot in lots]
    for row in rows:
        del row["verbatim_identification"]  # made from the written name when lots are resolved
    return _upsert(survey, "lots", "catalog_number", rows)


def lots(survey: Survey) -> list[ExuviaeLot]:
    """All lots, by catalogNumber."""
    rows = survey.connection.execute("select * from lots order by catalog_number")
    return [ExuviaeLot(**dict(row)) for row in rows]


def replace_matches(survey: Survey, matches: Iterable[Match]) -> int:
    """Write the matches in place of the earlier ones; returns how many there are."""
    survey.connection.execute("delete from matches")
    names = [field.name for field in dataclasses.fields(Match)]
    cursor = survey.connection.executemany(
        f"insert into matches ({', '.join(names)}) values ({', '.join('?' * len(names))})",
        (_match_values(match, names) for match in matches),
    )
    return cursor.rowcount if cursor.rowcount > 0 else 0


def matches(survey: Survey, sighting: str | None = None) -> list[Match]:
    """Matches of one sighting or of all, the likeliest first within each sighting."""
    where = "where sighting = ?" if sighting else "where ? is null"
    rows = survey.connection.execute(
        f"select * from matches {where} order by sighting, share desc, location_id", (sighting,)
    )
    return [
        Match(**{**dict(row), "exuviae_years": tuple(json.loads(row["exuviae_years"]))})
        for row in rows
    ]


def _match_values(match: Match, names: Sequence[str]) -> list[Any]:
    return [
        json.dumps(value) if isinstance(value := getattr(match, name), tuple) else value
        for name in names
    ]


def save_scores(survey: Survey, rows: Sequence[Mapping[str, Any]]) -> tuple[int, int]:
    """Insert or update scores of taxa under an index's name."""
    return _upsert(survey, "taxon_scores", "index_name, scientific_name", rows)


def scores(survey: Survey) -> dict[str, dict[str, float]]:
    """Scores by index and taxon."""
    found: dict[str, dict[str, float]] = {}
    for row in survey.connection.execute("select * from taxon_scores"):
        found.setdefault(row["index_name"], {})[row["scientific_name"]] = row["score"]
    return found


def save_site_measurements(survey: Survey, rows: Sequence[Mapping[str, Any]]) -> tuple[int, int]:
    """Insert or update measurements taken at sites."""
    key = "location_id, measured_on, variable, method"
    return _upsert(survey, "site_measurements", key, rows)


def site_measurements(survey: Survey) -> list[sqlite3.Row]:
    """All measurements taken at sites."""
    return survey.connection.execute(
        "select * from site_measurements order by location_id, variable, measured_on, method"
    ).fetchall()


def _upsert(
    survey: Survey, table: str, key: str, rows: Sequence[Mapping[str, Any]]
) -> tuple[int, int]:
    """Insert rows, update those whose key exists and whose values differ."""
    new = changed = 0
    keys = [name.strip() for name in key.split(",")]
    for row in rows:
        where = " and ".join(f"{name} = ?" for name in keys)
        found = survey.connection.execute(
            f"select * from {table} where {where}", [row[name] for name in keys]
        ).fetchone()
        if found is not None and all(found[name] == value for name, value in row.items()):
            continue
        new, changed = (new + 1, changed) if found is None else (new, changed + 1)
        names = list(row)
        updates = ", ".join(f"{name} = excluded.{name}" for name in names)
        survey.connection.execute(
            f"insert into {table} ({', '.join(names)}) values ({', '.join('?' * len(names))})"
            f" on conflict ({key}) do update set {updates}",
            [row[name] for name in names],
        )
    return new, changed
