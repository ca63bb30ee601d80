"""Content and policy in, the export's folder on disk out, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage import privacy
from triage.exports import identifications, media, occurrences, places, tables
from triage.exports.content import ExportContent
from triage.exports.occurrences import Row
from triage.exports.readme import readme_text
from triage.exports.release import Release, prepare, secrets_of
from triage.exports.shortcomings import Shortcoming, shortcomings
from triage.exports.whole_folder import refuse_to_overwrite, write_whole
from triage.privacy import Leak, ReleasePolicy
from triage.standards import archive, audiovisual_core, darwin_core, eml
from triage.standards.archive import ArchiveTable
from triage.standards.darwin_core import DWC, persistent_id, term_uri


@dataclass(frozen=True, slots=True, kw_only=True)
class ExportOutcome:
    """What was written. ``counts`` is rows by file; ``withheld`` sentences on what was not.

    ``shortcomings`` are the published data-quality tests that occurrences of the archive fail.
    ``leaks`` is what a search through the finished files of a release still found: to be shown to
    the person before anything is handed on. It may be innocent, such as a pond called like a
    person; it is empty for an internal export, which is not searched.
    """

    folder: Path
    files: tuple[str, ...]
    counts: tuple[tuple[str, int], ...]
    withheld: tuple[str, ...]
    problems: tuple[str, ...]
    shortcomings: tuple[Shortcoming, ...]
    leaks: tuple[Leak, ...] = ()


def write_export(
    folder: Path,
    content: ExportContent,
    policy: ReleasePolicy,
    *,
    now: datetime,
    read_photo: Callable[[str], bytes] | None = None,
) -> ExportOutcome:
    """Write the CSV files, the Darwin Core Archive and their README into a new folder.

    Parameters
    ----------
    folder : Path
        Must not exist, or be empty. It appears under its name only when everything is written.
    content : ExportContent
        The held records.
    policy : ReleasePolicy
        What may be released; ``internal`` writes everything, marked in names and in every row.
    now : datetime
        For the publication day.
    read_photo : callable, optional
        Gives the bytes of a photo by its digest; without it no media files are carried.

    Returns
    -------
    ExportOutcome
        Files, numbers of rows, what was withheld, and what falls short.

    Raises
    ------
    TriageError
        If the folder already holds something, or cannot be written.
    """
    refuse_to_overwrite(folder, noun="export")
    release = prepare(content, policy)
    carried, problems = media.carried_photos(content, release, read_photo)
    rows_of = _all_rows(content, release, carried)
    mark = "-internal" if policy.internal else ""
    files: dict[str, bytes] = {}
    for name, (columns, rows) in rows_of.items():
        shown = [column for column in columns if column != "accessRights" or policy.internal]
        files[f"{name}{mark}.csv"] = tables.csv_bytes(shown, rows)
    core_rows = _core_rows(rows_of)
    files[f"darwin-core-archive{mark}.zip"] = _archive(
        content, release, core_rows, rows_of, mark, now
    )
    for photo in carried.values():
        files[photo.path] = photo.content
    withheld = _withheld(content, release, rows_of)
    counts = tuple((f"{name}{mark}.csv", len(rows)) for name, (_, rows) in rows_of.items())
    files[f"README{mark}.txt"] = readme_text(
        content.survey, policy, counts=counts, withheld=withheld, media=len(carried), now=now
    ).encode("utf-8")
    leaks = () if policy.internal else privacy.leaks_in(files, secrets_of(content, release))
    write_whole(folder, files, noun="export")
    return ExportOutcome(
        folder=folder,
        files=tuple(files),
        counts=counts,
        withheld=withheld,
        problems=problems,
        shortcomings=shortcomings(core_rows, now=now),
        leaks=leaks,
    )


def _all_rows(
    content: ExportContent, release: Release, carried: dict[str, media.CarriedPhoto]
) -> dict[str, tuple[tuple[str, ...], list[Row]]]:
    return {
        "sightings": (occurrences.SIGHTING_COLUMNS, occurrences.sighting_rows(content, release)),
        "determinations": (
            identifications.DETERMINATION_COLUMNS,
            identifications.determination_rows(content, release),
        ),
        "photos": (media.PHOTO_COLUMNS, media.photo_rows(content, release, carried)),
        "matches": (places.MATCH_COLUMNS, places.match_rows(content, release)),
        "sites": (places.SITE_COLUMNS, places.site_rows(content, release)),
        "visits": (places.VISIT_COLUMNS, places.visit_rows(content, release)),
        "lots": (occurrences.LOT_COLUMNS, occurrences.lot_rows(content, release)),
    }


def _core_rows(rows_of: dict[str, tuple[tuple[str, ...], list[Row]]]) -> list[Row]:
    """The occurrences of the archive: sightings that were not set aside, and exuviae lots."""
    adults = [row for row in rows_of["sightings"][1] if row["state"] != "set aside"]
    return adults + rows_of["lots"][1]


def _archive(
    content: ExportContent,
    release: Release,
    core_rows: list[Row],
    rows_of: dict[str, tuple[tuple[str, ...], list[Row]]],
    mark: str,
    now: datetime,
) -> bytes:
    known = {row["occurrenceID"] for row in core_rows}
    core = ArchiveTable(
        file_name=f"occurrence{mark}.csv",
        row_type=DWC + "Occurrence",
        columns={name: term_uri(name) for name in occurrences.OCCURRENCE_COLUMNS},
        rows=core_rows,
    )
    history = ArchiveTable(
        file_name=f"identification{mark}.csv",
        row_type=DWC + "Identification",
        columns={name: term_uri(name) for name in identifications.IDENTIFICATION_COLUMNS},
        rows=[row for row in rows_of["determinations"][1] if row["occurrenceID"] in known],
    )
    base = release.policy.media_base_uri
    photos = [
        row | {"accessURI": base + row["accessURI"] if row["accessURI"] else ""}
        for row in rows_of["photos"][1]
        if row["occurrenceID"] in known
    ]
    pictures = ArchiveTable(
        file_name=f"multimedia{mark}.csv",
        row_type=audiovisual_core.ROW_TYPE,
        columns=media.MEDIA_COLUMNS,
        rows=media.media_rows(photos),
    )
    data_set = _data_set(content, release, core_rows, now)
    return archive.archive_bytes(core, [history, pictures], eml=eml.eml_document(data_set))


def _data_set(
    content: ExportContent, release: Release, rows: list[Row], now: datetime
) -> eml.DataSet:
    """Coverage from the released rows alone, so that the document says no more than they do."""
    survey = content.survey
    points = [
        (float(r["decimalLongitude"]), float(r["decimalLatitude"]))
        for r in rows
        if r.get("decimalLatitude")
    ]
    ranges = [darwin_core.day_range(r["eventDate"]) for r in rows if r.get("eventDate")]
    days = sorted(day.isoformat() for two in ranges if two for day in two)
    names = sorted({(r["taxonRank"], r["scientificName"]) for r in rows}, key=lambda t: t[1])
    rights = (
        occurrences.INTERNAL_MARK
        if release.internal
        else f"Licence of the records: {survey.licence}. Photos carry their own licence."
        if survey.licence
        else "No licence has been stated; ask the contact before any use."
    )
    return eml.DataSet(
        package_id=persistent_id("survey", survey.title),
        title=survey.title + (" (internal)" if release.internal else ""),
        abstract=survey.description,
        creator_organisation=survey.title,
        contact_name=survey.contact_name,
        contact_address=survey.contact_address,
        publication_day=now.date().isoformat(),
        rights=rights,
        licence_uri="" if release.internal else survey.licence,
        bounds=(
            min(p[0] for p in points),
            max(p[0] for p in points),
            max(p[1] for p in points),
            min(p[1] for p in points),
        )
        if points
        else None,
        days=(days[0], days[-1]) if days else None,
        taxa=names,
        methods=(
            "Photos were sent in by volunteers; each sighting is one animal or pair, at one place "
            "and time, by one observer. Names come from determiners who looked at the photos.",
            "Exuviae (the cast skins of the last larval stage) were collected on visits to the "
            "shore; each lot is what one visit collected of one taxon.",
            f"Prepared with {survey.version}." if survey.version else "Prepared for exchange.",
        ),
    )


def _withheld(
    content: ExportContent,
    release: Release,
    rows_of: dict[str, tuple[tuple[str, ...], list[Row]]],
) -> tuple[str, ...]:
    if release.internal:
        return ()
    shown = occurrences.exported_sightings(content, release)
    generalised = sum(release.sighting_sensitivity[s.identifier].hidden for s in shown)
    numbers = (
        (len(content.sightings) - len(shown), "sightings set aside are left out"),
        (generalised, "sightings are of a sensitive place or taxon, or of a private home"),
        (
            len(content.photos) - len(rows_of["photos"][1]),
            "photo rows are left out: no licence, not cleared, or of a hidden place",
        ),
        (
            len(content.matches) - len(rows_of["matches"][1]),
            "matches are left out: they would give a hidden place away",
        ),
        (sum(s.hidden for s in release.site_sensitivity.values()), "sites are without names"),
        (sum(s.hidden for s in release.lot_sensitivity.values()), "exuviae lots are generalised"),
    )
    return tuple(f"{number} {what}" for number, what in numbers if number)
