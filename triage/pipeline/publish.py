"""Load what exports and reports are made from; write the export and the photo pack."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from triage import __version__
from triage.exports import (
    ExportContent,
    ExportOutcome,
    MediaRow,
    PersonRow,
    ReleasePolicy,
    SurveyMetadata,
    write_export,
)
from triage.exports.archives import Edition
from triage.exports.media_of_sightings import in_doubt_of, media_of
from triage.exports.photo_pack import PackOutcome, write_photo_pack
from triage.exports.writing import PhotosOut
from triage.inbox import DOUBTS, Need
from triage.pipeline import (
    claims,
    consents,
    inbox,
    match,
    standing,
    tables,
)
from triage.pipeline.proposals import WITHDRAWN
from triage.sightings import Sighting
from triage.standards.counting import counted
from triage.standards.groups import in_groups
from triage.store import copies, evidence, messages, originals, packs, people, photos, unfinished
from triage.store import sightings as store
from triage.store.connection import Survey
from triage.workers.many import many_records


@many_records()
def export(
    survey: Survey,
    folder: Path,
    *,
    internal: bool = False,
    since: Path | None = None,
    day: date | None = None,
    now: datetime,
) -> ExportOutcome:
    """Write the export and note which sightings are out in the world.

    ``day`` is the day of publication, if it is not today: the same records as then are the same
    files again.
    They are frozen before the folder has its name: no export is out whose sightings may still
    change. Killed in between, the same command writes the same folder.
    """
    found = _in_use(survey)

    def freeze(edition: Edition, photos_out: PhotosOut) -> None:
        with survey.transaction():
            note_out(survey, [one.identifier for one in found.sightings], now=now)
            if not internal:
                packs.note(survey, f"{folder.name}, version {edition.version}", photos_out, now=now)

    with unfinished.written(survey, folder):
        return write_export(
            folder,
            found,
            policy(survey, internal=internal),
            now=now,
            day=day,
            read_photo=lambda photo: originals.content_of(survey.originals, photo),
            since=since,
            before_naming=freeze,
        )


def _in_use(survey: Survey) -> ExportContent:
    """Everything of the sightings that are neither set aside nor merged into another."""
    stands = standing.standing(survey)
    return content(survey, standing.in_use(survey, stands), stands)


def note_out(survey: Survey, identifiers: Iterable[str], *, now: datetime) -> None:
    """Freeze sightings and note that they are out in the world."""
    for identifier in identifiers:
        store.freeze(survey, identifier, now=now)
        store.note_export(survey, identifier, now=now)


def policy(survey: Survey, *, internal: bool) -> ReleasePolicy:
    """What may be released, as the survey sets it."""
    settings = survey.settings.publishing
    return ReleasePolicy(
        release_precision=settings.release_precision_degrees,
        private_home_precision=settings.private_home_precision_degrees,
        internal=internal,
        occurrence_status=settings.occurrence_status,
        basis_of_record=settings.basis_of_record,
        media_base_uri=settings.media_base_uri,
        include_unnamed=settings.include_unnamed,
        include_doubted=settings.include_doubted,
    )


def content(survey: Survey, found: Sequence[Sighting], stands: standing.Standing) -> ExportContent:
    """Everything that an export or a report is made from."""
    return replace(
        records(survey, found, stands),
        photos=tuple(_media(survey, found, people.all_people(survey))),
        in_doubt=_in_doubt(survey, found),
    )


def records(survey: Survey, found: Sequence[Sighting], stands: standing.Standing) -> ExportContent:
    """The same without photos and without open questions, which cost the most to load."""
    everybody = people.all_people(survey)
    settings = survey.settings
    identifiers = {one.identifier for one in found}
    sites = evidence.sites(survey)
    located = {site.location_id for site in sites}
    return ExportContent(
        survey=SurveyMetadata(
            title=settings.survey.title,
            identifier=settings.survey.identifier,
            description=settings.survey.description,
            zone=settings.survey.time_zone,
            licence=settings.publishing.licence,
            contact_name=settings.survey.contact,
            contact_address=settings.survey.reply_address
            if settings.publishing.publish_reply_address
            else "",
            country_code=settings.survey.country_code,
            institution_code=settings.publishing.institution_code,
            rights_holder=settings.publishing.rights_holder,
            version=f"triage {__version__}",
        ),
        sightings=tuple(found),
        determinations=tuple(
            d for one in found for d in stands.determinations.get(one.identifier, ())
        ),
        accepted={k: v for k, v in stands.accepted.items() if k in identifiers},
        matches=tuple(m for m in match.current(survey) if m.sighting in identifiers),
        sites=tuple(sites),
        visits=tuple(one for one in evidence.visits(survey) if one.location_id in located),
        lots=tuple(tables.counted_lots(survey)),
        measurements=tuple(evidence.site_measurements(survey)),
        people=tuple(
            PersonRow(code=p.code, name=p.name, consent_to_name=p.name_public, orcid=p.orcid)
            for p in everybody
        ),
        taxa=tuple(evidence.taxa(survey)),
        open_messages=messages.count_open(survey),
    )


def _in_doubt(survey: Survey, found: Sequence[Sighting]) -> dict[str, str]:
    """What is still an open question about a sighting, by its identifier."""
    doubts = in_groups(
        (photo, DOUBTS[need.kind])
        for entry in inbox.entries_in_doubt(survey)
        for need in entry.needs
        if need.kind in DOUBTS
        for photo in _photos_of(survey, entry, need)
    )
    of_photo = {photo: set(ones) for photo, ones in doubts.items()}
    # A sighting holds the best copies: what is in doubt of another copy is of that picture, too.
    for best, members in copies.exposures(survey, list(doubts)).items():
        of_photo.setdefault(best, set()).update(*(doubts.get(one, ()) for one in members))
    return in_doubt_of(found, of_photo)


def _photos_of(survey: Survey, entry: inbox.InboxEntry, need: Need) -> list[str]:
    """The photo that a need is about, or every one of its message, or of those it may be about."""
    if need.photo:
        return [need.photo]
    rows = [entry.message.row]
    if need.mails:
        rows = [messages.find(survey, one).row for one in need.mails]
    shown = photos.appearances_of_messages(survey, rows)
    return [one.photo for ones in shown.values() for one in ones]


def _media(
    survey: Survey, found: Sequence[Sighting], everybody: Sequence[people.Person]
) -> list[MediaRow]:
    rows = photos.load(survey, {photo for one in found for photo in one.photos})
    default = survey.settings.publishing.default_photo_licence
    codes = people.codes(survey)
    taken_by = photos.photographers_of(survey, rows)
    return list(
        media_of(
            found,
            rows,
            creators={photo: codes[person] for photo, person in taken_by.items()},
            licences={p.code: p.licence or default for p in everybody if p.publish != "no"},
            taken=claims.choose_each(survey, rows, rows=rows),
            held_back=consents.held_back(survey),
        )
    )


def photo_pack(
    survey: Survey,
    folder: Path,
    *,
    since: Path | None = None,
    day: date | None = None,
    now: datetime,
) -> PackOutcome:
    """Write the photos that may be handed on, and note which went out under which version."""

    def note(outcome: PackOutcome) -> None:
        with survey.transaction():
            note_out(survey, sorted({one for one, _ in outcome.photos}), now=now)
            packs.note(survey, f"{folder.name}, version {outcome.version}", outcome.photos, now=now)

    with unfinished.written(survey, folder):
        return write_photo_pack(
            folder,
            _in_use(survey),
            policy(survey, internal=False),
            read_photo=lambda photo: originals.content_of(survey.originals, photo),
            now=now,
            day=day,
            since=since,
            before_naming=note,
        )


def no_longer_agreed(survey: Survey) -> list[str]:
    """One sentence for each export or pack that holds photos that may not be out any more."""
    refused = {person.row for person in people.all_people(survey) if person.publish == "no"}
    handed_on = packs.handed_on(survey)
    rows = photos.load(survey, {photo for _, _, photo, _ in handed_on})
    taken_by = photos.photographers_of(survey, rows)
    counts = Counter(
        pack
        for pack, _, photo, observer in handed_on
        if taken_by.get(photo, observer) in refused
        or photo not in rows
        or rows[photo].publication in (WITHDRAWN, "withheld")
    )
    return [
        f"{counted(number, 'photo')} in {pack}: may not be published any more. Delete that folder"
        " and its copies, and ask whoever received it to take them down"
        for pack, number in sorted(counts.items())
    ]
