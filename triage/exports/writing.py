"""Write an export's folder, whole or not at all."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import date, datetime
from pathlib import Path

from triage import privacy
from triage.exports import changes, identifications, media, occurrences, places, tables
from triage.exports.archives import (
    Edition,
    Tables,
    archives,
    core_rows,
)
from triage.exports.content import ExportContent
from triage.exports.descriptor import descriptor_bytes
from triage.exports.map_file import geojson_bytes
from triage.exports.readme import readme_text
from triage.exports.release import INTERNAL_MARK, Release, prepare, secrets_of
from triage.exports.shortcomings import Shortcoming, shortcomings
from triage.exports.whole_folder import refuse_to_overwrite, write_whole
from triage.privacy import Leak, ReleasePolicy
from triage.standards.counting import counted


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


PhotosOut = Sequence[tuple[str, str]]  # sighting and digest of each photo that goes out


def write_export(
    folder: Path,
    content: ExportContent,
    policy: ReleasePolicy,
    *,
    now: datetime,
    day: date | None = None,
    read_photo: Callable[[str], bytes] | None = None,
    since: Path | None = None,
    before_naming: Callable[[Edition, PhotosOut], None] = lambda edition, photos: None,
) -> ExportOutcome:
    """Write the tables, both archives, the map file and their README into a new folder.

    The folder must not exist, or be empty; it appears under its name only when everything is
    written, and ``before_naming`` is called just before, with the sightings and photos whose pixels
    go out. ``read_photo`` gives the bytes of a photo by its digest; without it no media files are
    carried. ``day`` is the day of publication, that of ``now`` unless given: of the same records it
    makes the same files. ``since`` is the folder of an earlier
    export: what was added, changed or withdrawn since is listed.

    Raises
    ------
    TriageError
        If the folder already holds something, or cannot be written, or if ``since`` is no export.
    """
    refuse_to_overwrite(folder, noun="export")
    before = changes.read_manifest(since) if since is not None else None
    release = prepare(content, policy)
    carried, problems = media.carried_photos(content, release, read_photo)
    own = _own_tables(content, release, carried)
    manifest = changes.manifest_of(own)
    edition = Edition.of(manifest, now=now, day=day)
    rows_of: Tables = {
        **own,
        "manifest": (tables.columns_of("manifest"), changes.manifest_rows(manifest)),
    }
    if before is not None:
        changed = changes.change_rows(before, manifest)
        rows_of["changes"] = (tables.columns_of("changes"), changed)
    mark = release.mark
    core = core_rows(content, release, own)
    files = _table_files(content, release, rows_of, edition)
    files |= archives(content, release, core, own, edition)
    files[f"places{mark}.geojson"] = geojson_bytes(own)
    files |= {photo.path: photo.content for photo in carried.values()}
    withheld = _withheld(content, release, own)
    counts = tuple((f"{name}{mark}.csv", len(rows)) for name, (_, rows) in rows_of.items())
    abouts = [tables.declared()[name]["about"] for name in rows_of]
    files[f"README{mark}.txt"] = readme_text(
        "README.txt",
        content.survey,
        policy=policy,
        files=[(*count, about) for count, about in zip(counts, abouts, strict=True)],
        mark=mark,
        withheld=withheld,
        media=len(carried),
        edition=edition,
    ).encode("utf-8")
    leaks = () if policy.internal else privacy.leaks_in(files, secrets_of(content, release))
    shown = media.exported_photos(content, release)
    out = [(photo.sighting, photo.sha256) for photo in shown if photo.sha256 in carried]
    write_whole(folder, files, noun="export", before_naming=lambda: before_naming(edition, out))
    return ExportOutcome(
        folder=folder,
        files=tuple(files),
        counts=counts,
        withheld=withheld,
        problems=problems + _missing_addresses(rows_of, policy),
        shortcomings=shortcomings(core, now=now),
        leaks=leaks,
    )


def _table_files(
    content: ExportContent, release: Release, rows_of: Tables, edition: Edition
) -> dict[str, bytes]:
    files: dict[str, bytes] = {}
    described = {}
    for name, (columns, rows) in rows_of.items():
        shown = [column for column in columns if column != "accessRights" or release.internal]
        file = f"{name}{release.mark}.csv"
        files[file] = tables.csv_bytes(shown, rows)
        described[name] = (file, shown)
    files[f"datapackage{release.mark}.json"] = descriptor_bytes(
        content.survey,
        described,
        identifier=release.identifier("survey", content.survey.title),
        version=edition.version,
        created=edition.day,
    )
    return files


def _missing_addresses(rows_of: Tables, policy: ReleasePolicy) -> tuple[str, ...]:
    without = sum(not row["accessURI"] for row in rows_of["photos"][1])
    if not without or policy.internal:
        return ()
    return (
        f"{without} photo rows have no accessURI: set media_base_uri under [publishing] to the "
        "address at which the folder media will stand",
    )


def _own_tables(
    content: ExportContent, release: Release, carried: dict[str, media.CarriedPhoto]
) -> Tables:
    rows = {
        "sightings": occurrences.sighting_rows(content, release),
        "determinations": identifications.determination_rows(content, release),
        "photos": media.photo_rows(content, release, carried),
        "matches": places.match_rows(content, release),
        "sites": places.site_rows(content, release),
        "visits": places.visit_rows(content, release),
        "lots": occurrences.lot_rows(content, release),
    }
    for row in (row for found in rows.values() for row in found if release.internal):
        row["accessRights"] = INTERNAL_MARK
    return {name: (tables.columns_of(name), found) for name, found in rows.items()}


def _unnamed(content: ExportContent) -> int:
    return sum(
        not occurrences.accepted_of(content, one).scientific_name
        and occurrences.state_of(content, one) != "set aside"
        for one in content.sightings
    )


def _withheld(content: ExportContent, release: Release, rows_of: Tables) -> tuple[str, ...]:
    if release.internal:
        return ()
    shown = occurrences.exported_sightings(content, release)
    aside = sum(occurrences.state_of(content, one) == "set aside" for one in content.sightings)
    counts = {
        "open_messages": content.open_messages,
        "set_aside": aside,
        "in_doubt": 0
        if release.policy.include_doubted
        else sum(s.identifier in content.in_doubt for s in content.sightings),
        "unnamed": 0 if release.policy.include_unnamed else _unnamed(content),
        "sensitive": sum(release.sighting_sensitivity[s.identifier].hidden for s in shown),
        "photos": len(content.photos) - len(rows_of["photos"][1]),
        "matches": len(content.matches) - len(rows_of["matches"][1]),
        "sites": sum(s.hidden for s in release.site_sensitivity.values()),
        "lots": sum(s.hidden for s in release.lot_sensitivity.values()),
    }
    words = tables.words()["withheld"]
    return tuple(counted(count, *words[what]) for what, count in counts.items() if count)
