"""Builds the two archives of an export: occurrences with evidence, and events with searches."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date, datetime

from triage.exports import changes, events, media, occurrences, relations
from triage.exports.content import ExportContent
from triage.exports.occurrences import Row
from triage.exports.release import INTERNAL_MARK, Release
from triage.exports.tables import columns_of, words
from triage.standards import archive, audiovisual_core, darwin_core, eml, event_archive
from triage.standards.archive import ArchiveTable
from triage.standards.darwin_core import DWC
from triage.standards.event_archive import darwin_core_columns, extension_columns

Tables = dict[str, tuple[tuple[str, ...], list[Row]]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Edition:
    """Which state of the survey an export is: day of publication and digest of what it holds."""

    day: str
    digest: str

    @classmethod
    def of(cls, manifest: changes.Manifest, *, now: datetime, day: date | None = None) -> Edition:
        """The edition with this manifest, of the day of ``now`` unless another is given."""
        return cls(day=(day or now.date()).isoformat(), digest=changes.digest_of_all(manifest))

    @property
    def version(self) -> str:
        return f"{self.day}.{self.digest[:8]}"


def core_rows(content: ExportContent, release: Release, tables: Tables) -> list[Row]:
    """The occurrences of both archives: sightings that were not set aside, and exuviae lots.

    Numbers that people gave to sites and visits become globally unique identifiers here.
    """
    adults = [row for row in tables["sightings"][1] if row["state"] != "set aside"]
    return [_unique(release, row) for row in adults + tables["lots"][1]]


def _unique(release: Release, row: Row) -> Row:
    made = dict(row)
    if row.get("eventID"):
        made["eventID"] = release.identifier("visit", row["eventID"])
    if row.get("locationID") and not row["locationID"].startswith("urn:"):
        made["locationID"] = release.identifier("site", row["locationID"])
    return made


def archives(
    content: ExportContent, release: Release, core: Sequence[Row], tables: Tables, edition: Edition
) -> dict[str, bytes]:
    """Both archives of these occurrences, by the names of their files."""
    given = content, release, core, tables, _metadata(content, release, core, edition)
    return {
        f"darwin-core-archive{release.mark}.zip": _occurrence_archive(*given),
        f"event-archive{release.mark}.zip": _event_archive(*given),
    }


def _occurrence_archive(
    content: ExportContent, release: Release, core: Sequence[Row], tables: Tables, metadata: bytes
) -> bytes:
    """Occurrence core with identifications, media, relations to sites, and measures of photos."""
    known = {row["occurrenceID"] for row in core}

    def of_known(name: str) -> list[Row]:
        return [row for row in tables[name][1] if row["occurrenceID"] in known]

    relating = relations.relation_rows(content, release, tables["matches"][1], known)
    focus = relations.focus_rows(content, release, known)
    relation = columns_of("resource-relationship")
    return archive.archive_bytes(
        _file("occurrence", release, core),
        [
            _file("identification", release, of_known("determinations")),
            ArchiveTable(
                file_name=f"multimedia{release.mark}.csv",
                row_type=audiovisual_core.ROW_TYPE,
                columns=media.MEDIA_COLUMNS,
                rows=media.media_rows(of_known("photos")),
            ),
            _file("resource-relationship", release, relating, extension_columns(relation)),
            _file("measurement", release, focus, extension_columns(columns_of("measurement"))),
        ],
        eml=metadata,
    )


_ROW_TYPES = {
    "occurrence": DWC + "Occurrence",
    "identification": DWC + "Identification",
    "resource-relationship": DWC + "ResourceRelationship",
    "measurement": DWC + "MeasurementOrFact",
    "event": DWC + "Event",
    "humboldt": event_archive.HUMBOLDT_ROW_TYPE,
}


def _file(
    name: str, release: Release, rows: Sequence[Row], columns: dict[str, str] | None = None
) -> ArchiveTable:
    """A table of an archive; its columns are the Darwin Core terms declared for it, or others."""
    return ArchiveTable(
        file_name=f"{name}{release.mark}.csv",
        row_type=_ROW_TYPES[name],
        columns=columns or darwin_core_columns(columns_of(name)),
        rows=rows,
    )


def _event_archive(
    content: ExportContent, release: Release, core: Sequence[Row], tables: Tables, metadata: bytes
) -> bytes:
    """Event core (survey, searches, outings, measuring) with occurrences, effort and measures."""
    shared = occurrences.survey_terms(content, release)
    adults = [row for row in tables["sightings"][1] if row["state"] != "set aside"]
    project = events.survey_event(content, release, shared)
    visits = events.visit_events(content, release, tables["visits"][1], shared)
    outings, outing_of = events.outing_events(content, release, adults, shared)
    measuring, measured = events.measure_events(content, release, shared)
    known = {row["eventID"] for row in visits}
    hung = [
        {**row, "coreid": _event_of(row, known, outing_of) or project["eventID"]} for row in core
    ]
    own = [name for name in columns_of("occurrence") if name != "eventID"]
    effort = extension_columns(columns_of("humboldt"), vocabulary=event_archive.ECO)
    return archive.archive_bytes(
        _file("event", release, [project, *visits, *outings, *measuring]),
        [
            _file("occurrence", release, hung, {"coreid": "", **darwin_core_columns(own)}),
            _file("humboldt", release, events.humboldt_rows(content, release), effort),
            _file("measurement", release, measured, extension_columns(columns_of("measurement"))),
        ],
        eml=metadata,
    )


def _event_of(row: Row, visits: set[str], outing_of: dict[str, str]) -> str:
    """The visit of a lot, the outing of a sighting; nothing for a lot kept away from its visit."""
    own = row.get("eventID", "")
    return own if own in visits else outing_of.get(row["occurrenceID"], "")


def _metadata(
    content: ExportContent, release: Release, rows: Sequence[Row], edition: Edition
) -> bytes:
    """The document on the data set that both archives hold.

    Its coverage is that of the released rows alone, so that it says no more than they do.
    """
    survey, said = content.survey, words()["data_set"]
    ranges = [darwin_core.day_range(r["eventDate"]) for r in rows if r.get("eventDate")]
    days = sorted(day.isoformat() for two in ranges if two for day in two)
    names = sorted({(r["taxonRank"], r["scientificName"]) for r in rows}, key=lambda t: t[1])
    made = eml.DataSet(
        package_id=f"{release.identifier('survey', survey.title)}/{edition.version}",
        title=survey.title + (" (internal)" if release.internal else ""),
        abstract=survey.description,
        creator_organisation=survey.title,
        contact_position=survey.contact_name,
        contact_address=survey.contact_address,
        publication_day=edition.day,
        rights=_rights(content, release),
        licence_uri="" if release.internal else survey.licence,
        bounds=_bounds(rows),
        days=(days[0], days[-1]) if days else None,
        taxa=names,
        study_extent=_extent(content),
        sampling=said["sampling"],
        methods=(
            *said["methods"],
            f"Prepared with {survey.version}." if survey.version else "Prepared for exchange.",
        ),
    )
    return eml.eml_document(made)


def _rights(content: ExportContent, release: Release) -> str:
    if release.internal:
        return INTERNAL_MARK
    if content.survey.licence:
        return f"Licence of the records: {content.survey.licence}. Photos carry their own licence."
    return "No licence has been stated; ask the contact before any use."


def _extent(content: ExportContent) -> str:
    visits = len(content.visits)
    return f"{len(content.sites)} sites; {visits} searches for exuviae" if visits else ""


def _bounds(rows: Sequence[Row]) -> tuple[float, float, float, float] | None:
    """West, east, north, south around the released cells, rounded outwards to the grid itself: the
    edges of cells have a digit more than what is released."""
    cells = [
        (
            float(row["decimalLongitude"]),
            float(row["decimalLatitude"]),
            float(row.get("coordinatePrecision") or 0),
        )
        for row in rows
        if row.get("decimalLatitude")
    ]
    if not cells:
        return None
    return (
        max(-180.0, min(east - width for east, _, width in cells)),
        min(180.0, max(east + width for east, _, width in cells)),
        min(90.0, max(north + width for _, north, width in cells)),
        max(-90.0, min(north - width for _, north, width in cells)),
    )
