"""Writes chosen photos to be handed on: files that carry their own facts, with tables beside them.

A photo leaves only with a licence, cleared of faces, of a shown place, of a determined sighting
without open doubts, and with whatever else the survey asks for (a guardian's consent).
"""

from __future__ import annotations

from collections import Counter
from collections.abc import Callable, Iterable, Iterator, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime
from pathlib import Path

from triage import privacy
from triage.analysis import images
from triage.errors import SourceError, TriageError
from triage.exports import changes, occurrences
from triage.exports.archives import Edition
from triage.exports.content import ExportContent, MediaRow
from triage.exports.occurrences import Row, accepted_of
from triage.exports.readme import readme_text
from triage.exports.release import Release, prepare, secrets_of
from triage.exports.tables import columns_of, csv_bytes
from triage.exports.whole_folder import refuse_to_overwrite, write_whole
from triage.privacy import Leak, ReleasePolicy
from triage.sightings import Sighting
from triage.standards import audiovisual_core, darwin_core
from triage.standards.darwin_core import persistent_id
from triage.standards.digests import digest_of
from triage.standards.jpeg_segments import with_metadata
from triage.standards.photo_metadata import PhotoFacts, exif_block, iptc_block, xmp_packet

UNALTERED = "pixels as received, with new metadata"
REMADE = "new JPEG from the pixels as received"
REMADE_QUALITY = 95  # of 100; common practice for a copy that is to be looked at closely, no source


@dataclass(frozen=True, slots=True, kw_only=True)
class PackOutcome:
    """What a photo pack holds: photos with the people they are of, and what was left out and why.

    ``photos`` are pairs of sighting and held digest, by which a withdrawn consent finds its packs.
    """

    folder: Path
    version: str
    photos: tuple[tuple[str, str], ...]
    left_out: tuple[tuple[str, int], ...]
    problems: tuple[str, ...]
    changes: tuple[tuple[str, int], ...]
    leaks: tuple[Leak, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class _Packed:
    row: Row
    content: bytes
    texts: bytes


def write_photo_pack(
    folder: Path,
    content: ExportContent,
    policy: ReleasePolicy,
    *,
    read_photo: Callable[[str], bytes],
    now: datetime,
    day: date | None = None,
    since: Path | None = None,
    before_naming: Callable[[PackOutcome], None] = lambda outcome: None,
) -> PackOutcome:
    """Write the best back view and side view of each determined sighting into a new folder.

    ``before_naming`` is called when everything is written and the folder has no name yet.

    Raises
    ------
    TriageError
        If the folder already holds something or cannot be written, or ``since`` is no pack.
    """
    refuse_to_overwrite(folder, noun="photo pack")
    before = changes.read_manifest(since) if since is not None else None
    release = prepare(content, policy)
    packed: list[_Packed] = []
    left_out: list[Row] = []
    held: list[tuple[str, str]] = []
    problems: list[str] = []
    for sighting, photo, number in _chosen(content):
        reason = reason_to_hold_back(content, release, sighting, photo)
        if not reason:
            try:
                made = _packed(content, release, sighting, photo, number, read_photo)
                packed.append(made)
                held.append((sighting.identifier, photo.sha256))
                continue
            except (TriageError, OSError) as error:
                reason = "the photo cannot be read"
                problems.append(f"photo {photo.sha256}: {error}")
        left_out.append(_left_out(sighting, photo, reason))
    manifest = {("photos", one.row["identifier"]): one.row["hashValue"] for one in packed}
    edition = Edition.of(manifest, now=now, day=day)
    changed = changes.change_rows(before, manifest) if before is not None else []
    files = _files(content, packed, left_out, manifest, changed, edition)
    outcome = PackOutcome(
        folder=folder,
        version=edition.version,
        photos=tuple(held),
        left_out=_counted(row["reason"] for row in left_out),
        problems=tuple(problems),
        changes=_counted(row["change"] for row in changed),
        leaks=_leaks(content, release, files, packed),
    )
    write_whole(folder, files, noun="photo pack", before_naming=lambda: before_naming(outcome))
    return outcome


def _chosen(content: ExportContent) -> Iterator[tuple[Sighting, MediaRow, int]]:
    """The best photos of sightings with a name, numbered within their sighting."""
    photos: dict[str, list[MediaRow]] = {}
    for photo in content.photos:
        if photo.is_best:
            photos.setdefault(photo.sighting, []).append(photo)
    for sighting in sorted(content.sightings, key=lambda one: one.identifier):
        if accepted_of(content, sighting).scientific_name:
            best = sorted(photos.get(sighting.identifier, ()), key=lambda one: one.sha256)
            for number, photo in enumerate(best, 1):
                yield sighting, photo, number


def reason_to_hold_back(
    content: ExportContent, release: Release, sighting: Sighting, photo: MediaRow
) -> str:
    """Why this photo may not be handed on; empty where it may."""
    if occurrences.state_of(content, sighting) != "determined":
        return "the determination is not settled"
    if sighting.identifier in content.in_doubt:
        return f"an open question: {content.in_doubt[sighting.identifier]}"
    if photo.held_back:
        return photo.held_back
    if not photo.licence:
        return "no licence"
    if not photo.cleared_for_publication:
        return "nobody has looked for people in it yet, or it was held back"
    if release.sighting_sensitivity[sighting.identifier].hidden:
        return "the place or the taxon is sensitive, or the place is a private home"
    return ""


def _packed(
    content: ExportContent,
    release: Release,
    sighting: Sighting,
    photo: MediaRow,
    number: int,
    read_photo: Callable[[str], bytes],
) -> _Packed:
    original = read_photo(photo.sha256)
    name = f"{sighting.identifier}_{number}.jpg"
    facts = _facts(content, release, sighting, photo)
    made, variant = _with_facts(original, facts, name)
    iri, literal = audiovisual_core.subject_orientation(photo.view)
    row = {
        "file": name,
        "identifier": facts.identifier,
        "occurrenceID": facts.occurrence_id,
        "scientificName": facts.scientific_name,
        "taxonRank": accepted_of(content, sighting).taxon_rank,
        "identificationQualifier": darwin_core.identification_qualifier(
            accepted_of(content, sighting).qualifier, facts.scientific_name
        ),
        "eventDate": facts.event_date,
        "locality": facts.locality,
        **occurrences.place_terms(release.sighting_points[sighting.identifier]),
        "creator": facts.creator,
        "credit": facts.credit,
        "UsageTerms": facts.usage_terms,
        "WebStatement": facts.licence_uri,
        "subjectOrientation": iri,
        "subjectOrientationLiteral": literal,
        **audiovisual_core.region_fractions(photo.box),
        "format": "image/jpeg",
        "hashFunction": "SHA-256",
        "hashValue": digest_of(made),
        "variant": variant,
    }
    texts = b"\n".join((exif_block(facts), xmp_packet(facts), iptc_block(facts)))
    return _Packed(row=row, content=made, texts=texts)


def _with_facts(original: bytes, facts: PhotoFacts, name: str) -> tuple[bytes, str]:
    """The original's own compressed pixels where it is a JPEG, else a new JPEG of them."""
    blocks = replace(facts, orientation=images.read_header(original, name=name).orientation or 1)
    if original[:3] == b"\xff\xd8\xff":
        try:
            return _written(original, blocks, name), UNALTERED
        except SourceError:
            pass  # odd, but its pixels may still be read
    decoded = images.decode(original, name=name)
    remade = images.as_jpeg(decoded.rgb, quality=REMADE_QUALITY)
    return _written(remade, replace(facts, orientation=1), name), REMADE


def _written(jpeg: bytes, facts: PhotoFacts, name: str) -> bytes:
    return with_metadata(
        jpeg,
        exif=exif_block(facts),
        xmp=xmp_packet(facts),
        iptc=iptc_block(facts),
        name=name,
    )


def _facts(
    content: ExportContent, release: Release, sighting: Sighting, photo: MediaRow
) -> PhotoFacts:
    accepted = accepted_of(content, sighting)
    name = darwin_core.name_with_qualifier(accepted.scientific_name, accepted.qualifier)
    point = release.sighting_points[sighting.identifier]
    creator = release.person(photo.creator)
    view = {"dorsal": "back view", "lateral": "side view"}.get(photo.view, "")
    return PhotoFacts(
        identifier=persistent_id("photo", photo.sha256),
        occurrence_id=persistent_id("sighting", sighting.identifier),
        caption=", ".join(filter(None, (name, view))),
        creator=creator,
        credit=", ".join(filter(None, (creator, content.survey.title))),
        licence_uri=photo.licence,
        usage_terms=audiovisual_core.usage_terms(photo.licence),
        scientific_name=accepted.scientific_name,
        qualifier=accepted.qualifier,
        event_date=photo.capture_date or sighting.event_date,
        locality=release.place_text(sighting.locality),
        decimal_latitude=point.decimal_latitude,
        decimal_longitude=point.decimal_longitude,
        uncertainty_metres=point.coordinate_uncertainty_in_meters,
        box=photo.box,
        width=photo.width,
        height=photo.height,
    )


def _left_out(sighting: Sighting, photo: MediaRow, reason: str) -> Row:
    return {
        "identifier": persistent_id("photo", photo.sha256),
        "occurrenceID": persistent_id("sighting", sighting.identifier),
        "reason": reason,
    }


def _files(
    content: ExportContent,
    packed: Sequence[_Packed],
    left_out: Sequence[Row],
    manifest: changes.Manifest,
    changed: Sequence[Row],
    edition: Edition,
) -> dict[str, bytes]:
    files = {f"photos/{one.row['file']}": one.content for one in packed}
    sums = (f"{one.row['hashValue']}  photos/{one.row['file']}\n" for one in packed)
    files["checksums.sha256"] = "".join(sums).encode()
    files["photos.csv"] = csv_bytes(columns_of("pack"), [one.row for one in packed])
    files["left-out.csv"] = csv_bytes(columns_of("left-out"), left_out)
    files["manifest.csv"] = csv_bytes(columns_of("manifest"), changes.manifest_rows(manifest))
    if changed:
        files["changes.csv"] = csv_bytes(columns_of("changes"), changed)
    files["README.txt"] = readme_text(
        "README-photos.txt",
        content.survey,
        packed=len(packed),
        left_out=len(left_out),
        edition=edition,
    ).encode()
    return files


def _leaks(
    content: ExportContent, release: Release, files: dict[str, bytes], packed: Sequence[_Packed]
) -> tuple[Leak, ...]:
    """A search through tables and the metadata as written; pixels hold no words."""
    searched = {name: text for name, text in files.items() if not name.endswith(".jpg")}
    searched |= {f"photos/{one.row['file']} (metadata)": one.texts for one in packed}
    return privacy.leaks_in(searched, secrets_of(content, release))


def _counted(values: Iterable[str]) -> tuple[tuple[str, int], ...]:
    return tuple(sorted(Counter(values).items()))
