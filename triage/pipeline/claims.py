"""Examined photos and received texts in, claims of time and place on every appearance out.

A claim hangs on an appearance (a photo in a message). What file and text claim by themselves is
computed anew whenever the list of sites changes, so that the order of imports never matters; what
people claim is appended and never touched.
"""

from __future__ import annotations

import hashlib
import re
from collections.abc import Sequence
from dataclasses import dataclass, replace

from triage.mail.header_words import is_answer
from triage.metadata.camera_clock import camera_of
from triage.metadata.capture_time import (
    TimeClaim,
    choose_time,
    contradicted,
    corrected,
    time_claims,
)
from triage.metadata.position import (
    Area,
    Fix,
    PlaceClaim,
    choose_place,
    doubts_against,
    frozen_fixes,
    place_claims,
)
from triage.metadata.text import NamedPlace, TextEvidence, read_text
from triage.pipeline.progress import Progress, silent
from triage.store import claims, evidence, grouping, messages, photos, questions
from triage.store.connection import Survey

METHOD = "claims 3"


@dataclass(frozen=True, slots=True, kw_only=True)
class Chosen:
    """The claims that stand for one photo, over all that is claimed of it and its copies."""

    time: TimeClaim | None
    place: PlaceClaim | None
    clock_doubts: tuple[str, ...] = ()


def named_places(survey: Survey) -> list[NamedPlace]:
    """The survey's sites as the reader of texts needs them."""
    return [
        NamedPlace(
            location_id=site.location_id,
            locality=site.locality,
            aliases=site.aliases,
            decimal_latitude=site.decimal_latitude,
            decimal_longitude=site.decimal_longitude,
            coordinate_uncertainty_in_meters=site.coordinate_uncertainty_in_meters,
        )
        for site in evidence.sites(survey)
    ]


def read_claims(survey: Survey, *, progress: Progress = silent) -> int:
    """Read files and texts of every message not yet read with these sites; returns how many."""
    key = _key(survey, named_places(survey))
    return read_claims_of(survey, messages.texts_not_read_with(survey, key), progress=progress)


def read_claims_of(survey: Survey, rows: Sequence[int], *, progress: Progress = silent) -> int:
    """Read files and texts of these messages with the sites as they are; returns how many."""
    if not rows:
        return 0
    places = named_places(survey)
    key = _key(survey, places)
    answers = _answers(survey)
    for done, row in enumerate(rows, 1):
        with survey.transaction():
            touched = _read_message(survey, row, places, answers.get(row, ()))
            grouping.mark_dirty(survey, touched)
            messages.mark_texts_read(survey, [row], key)
            messages.make_due(survey, [row])
        progress("reading texts", done, len(rows))
    return len(rows)


def _key(survey: Survey, places: Sequence[NamedPlace]) -> str:
    settings = survey.settings.survey
    text = repr((METHOD, settings.time_zone, settings.area, settings.season, list(places)))
    return hashlib.sha256(text.encode()).hexdigest()[:16]


def _answers(survey: Survey) -> dict[int, list[int]]:
    """By questioned message: the messages that answered."""
    found: dict[int, list[int]] = {}
    for question in questions.live(survey):
        if question["answered_by"] is not None:
            found.setdefault(question["message_id"], []).append(question["answered_by"])
    return found


def _read_message(
    survey: Survey, row: int, places: Sequence[NamedPlace], answers: Sequence[int]
) -> list[str]:
    settings = survey.settings.survey
    texts = {
        envelope.number: _read_envelope(envelope, places, settings.time_zone, settings.area)
        for envelope in messages.envelopes_of(survey, row)
    }
    answered = [
        _read_envelope(envelope, places, settings.time_zone, settings.area)
        for answer in answers
        for envelope in messages.envelopes_of(survey, answer)[:1]
    ]
    appearances = photos.appearances_of_message(survey, row)
    known = photos.load(survey, [one.photo for one in appearances])
    frozen = _frozen(known)
    for one in appearances:
        record = known[one.photo].exif
        position: Sequence[PlaceClaim] = place_claims(
            record, captured=record.date_time_original, area=settings.area
        )
        position = [
            replace(claim, doubts=(*claim.doubts, *frozen.get(one.photo, ()))) for claim in position
        ]
        # A doubted place picks no zone: a lost sign would put the clock an ocean away.
        fix = choose_place([claim for claim in position if not claim.doubts])
        times = time_claims(
            record,
            file_name=one.file_name,
            sent_at=messages.parse_moment(one.sent_at),
            zone=settings.time_zone,
            latitude=fix.decimal_latitude if fix else None,
            longitude=fix.decimal_longitude if fix else None,
            season=settings.season,
        )
        said_times, said_places = _said(texts, one.envelope)
        for evidence_of_answer in answered:
            said_times += [replace(c, source="sender's answer") for c in evidence_of_answer.times]
            said_places += [replace(c, source="sender's answer") for c in evidence_of_answer.places]
        claims.replace_derived(
            survey,
            one.photo,
            one.part,
            [*times, *said_times],
            [*_with_site_doubts(position, said_places, places), *said_places],
        )
    return [one.photo for one in appearances]


def _read_envelope(
    envelope: messages.EnvelopeRow, places: Sequence[NamedPlace], zone: str, area: Area | None
) -> TextEvidence:
    # The subject of a reply is the other side's: it may name their place, not the author's.
    own_subject = "" if is_answer(envelope.subject) else envelope.subject
    return read_text(
        f"{own_subject}\n{envelope.text}",
        sent_at=messages.parse_moment(envelope.sent_at),
        places=places,
        zone=zone,
        area=area,
    )


def _frozen(known: dict[str, photos.PhotoRow]) -> dict[str, tuple[str, ...]]:
    """Doubts on photos of one message whose receiver repeated an earlier fix."""
    fixes = [
        Fix(
            photo=photo,
            camera=camera_of(row.exif),
            clock_time=row.exif.date_time_original,
            latitude=row.exif.gps_latitude,
            longitude=row.exif.gps_longitude,
            gps_instant=row.exif.gps_instant,
        )
        for photo, row in known.items()
        if row.exif.date_time_original
        and row.exif.gps_latitude is not None
        and row.exif.gps_longitude is not None
    ]
    found: dict[str, tuple[str, ...]] = {}
    for photo, doubt in frozen_fixes(fixes):
        found[photo] = (*found.get(photo, ()), doubt)
    return found


def _said(
    texts: dict[int, TextEvidence], envelope: int
) -> tuple[list[TimeClaim], list[PlaceClaim]]:
    """What the author of this layer says; a forwarder's words only where the author is silent."""
    own = texts.get(envelope, TextEvidence())
    outer = texts.get(0, TextEvidence()) if envelope else TextEvidence()
    return list(own.times or outer.times), list(own.places or outer.places)


def _with_site_doubts(
    position: Sequence[PlaceClaim], said: Sequence[PlaceClaim], places: Sequence[NamedPlace]
) -> list[PlaceClaim]:
    """A GPS place far from the one site that the text names is doubted."""
    sites = {place.location_id: place for place in places}
    named = {claim.location_id for claim in said if claim.location_id}
    if len(named) != 1:
        return list(position)
    site = sites[named.pop()]
    return [
        replace(claim, doubts=(*claim.doubts, *doubts_against(claim, site))) for claim in position
    ]


def choose(survey: Survey, groups: dict[str, list[str]]) -> dict[str, Chosen]:
    """By group (its representative): the standing claims over all members' appearances.

    ``groups`` maps a representative to every photo that is a copy of it, itself included. What a
    sender says counts only from the sender whose appearance came first; what the files say
    counts from every copy, since it is one exposure.
    """
    every = [photo for members in groups.values() for photo in members]
    claimed = claims.of_photos(survey, every)
    shown = photos.appearances(survey, every)
    by_photo: dict[str, list[photos.AppearanceRow]] = {}
    for one in shown:
        by_photo.setdefault(one.photo, []).append(one)
    corrections = claims.camera_corrections(survey, {one.message for one in shown})
    cameras = {photo: camera_of(row.exif) for photo, row in photos.load(survey, every).items()}
    chosen = {}
    for representative, members in groups.items():
        rows = sorted((one for m in members for one in by_photo.get(m, ())), key=lambda r: r.part)
        owner = rows[0].person if rows else None
        parts = {row.part: row for row in rows}
        times: list[TimeClaim] = []
        positions: list[PlaceClaim] = []
        for member in members:
            for part, time in claimed[member].times:
                row = parts.get(part) if part is not None else None
                if row and row.person != owner and not _of_file(time.source):
                    continue
                if row and time.source == "camera clock":
                    offset = _offset(corrections.get(row.message, {}), cameras[member])
                    time = _put_right(time, offset)
                times.append(time)
            for part, place in claimed[member].places:
                row = parts.get(part) if part is not None else None
                if row and row.person != owner and not _of_file(place.source):
                    continue
                positions.append(place)
        times = _with_clock_doubts(times, survey.settings.survey.time_zone)
        stands = choose_time(times)
        by_hand = stands is not None and stands.source in ("coordinator", "sender's answer")
        chosen[representative] = Chosen(
            time=stands,
            place=choose_place(positions),
            clock_doubts=()
            if by_hand
            else tuple(dict.fromkeys(d for t in times if _is_clock(t) for d in t.doubts)),
        )
    return chosen


def _is_clock(claim: TimeClaim) -> bool:
    return claim.source in ("gps clock", "camera clock")


def _with_clock_doubts(times: Sequence[TimeClaim], zone: str) -> list[TimeClaim]:
    """Doubt a clock and words that exclude each other; words stand against an unchecked clock.

    A phone's clock (it states its offset) or GPS may be righter than "yesterday"; a camera's clock
    is set by hand, once, or never.
    """
    found = contradicted(times, zone=zone)
    checked = any(
        one.source == "gps clock" or re.search(r"T.*[+-]\d\d:\d\d$", one.event_date)
        for one in times
        if _is_clock(one)
    )
    if checked:
        return list(found)
    return [new if _is_clock(old) else old for old, new in zip(times, found, strict=True)]


def _put_right(time: TimeClaim, offset: float | None) -> TimeClaim:
    """A camera's time with the coordinator's correction; a day has no clock to correct."""
    if offset is None or "T" not in time.event_date:
        return time
    return replace(corrected(time, offset), doubts=())


def _of_file(source: str) -> bool:
    return source in ("gps clock", "camera clock", "camera gps")


def _offset(corrections: dict[str, float], camera: str) -> float | None:
    return corrections.get(camera, corrections.get(""))
