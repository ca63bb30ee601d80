"""Make the claims of time and place on each photo of a message."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from triage.analysis.geodesy import Area, is_inside
from triage.mail.header_words import with_own_subject
from triage.metadata.camera_clock import camera_of
from triage.metadata.capture_time import TimeClaim, time_claims
from triage.metadata.day_forms import is_offer_of_day
from triage.metadata.exif import ExifRecord
from triage.metadata.place_forms import OF_SOME_PHOTOS, ONLY_MENTIONED
from triage.metadata.position import (
    Fix,
    NamedPlace,
    PlaceClaim,
    choose_place,
    doubts_against,
    frozen_fixes,
    place_claims,
    position_doubts_of,
)
from triage.metadata.text import TextEvidence, read_text
from triage.metadata.text_places import is_denied


@dataclass(frozen=True, slots=True, kw_only=True)
class Surroundings:
    """What texts and clocks are read with: the survey's sites, time zone, area and season.

    ``area`` is south, west, north, east in degrees; ``season`` the first and last day of the year.
    """

    places: Sequence[NamedPlace]
    zone: str
    area: Area | None = None
    season: tuple[int, int] | None = None

    def around_sites(self, degrees: float) -> Area | None:
        """So many degrees of latitude around all sites; None without sites or beside a pole."""
        if not self.places:
            return None
        latitudes = [one.decimal_latitude for one in self.places]
        longitudes = [one.decimal_longitude for one in self.places]
        south, north = min(latitudes) - degrees, max(latitudes) + degrees
        if max(-south, north) >= POLAR_DEGREES:
            return None
        wide = degrees / math.cos(math.radians(max(-south, north)))
        return south, min(longitudes) - wide, north, max(longitudes) + wide


SLIP_DEGREES, FAR_DEGREES = 2.0, 10.0
# Of a survey without an area: a slip that leads so near the sites is offered, and a point farther
# away than the second is asked about whatever explains it; our own bands, no source.
AROUND_THE_SITES = "what lies around the survey's sites"
POLAR_DEGREES = 80.0  # of latitude; nearer the pole a box in degrees says nothing


@dataclass(frozen=True, slots=True, kw_only=True)
class SentPhoto:
    """A photo in a message; ``envelope`` says in which of its layers, 0 for the outermost.

    ``offset_seconds`` is what a person added to its camera's clock.
    """

    photo: str
    exif: ExifRecord
    file_name: str
    sent_at: datetime | None
    envelope: int = 0
    offset_seconds: float = 0.0


Claimed = tuple[list[TimeClaim], list[PlaceClaim]]


def read_layer(
    subject: str,
    text: str,
    *,
    sent_at: datetime | None,
    around: Surroundings,
    without: int | None = None,
) -> TextEvidence:
    """What the author of one layer of a mail says, the subject included if it is the author's.

    ``without`` names a fold of the batches that the likeness of mentions was not learned from.
    """
    return read_text(
        with_own_subject(subject, text),
        sent_at=sent_at,
        places=around.places,
        zone=around.zone,
        area=around.area,
        without=without,
    )


def claims_of_message(
    photos: Sequence[SentPhoto],
    layers: Mapping[int, TextEvidence],
    answers: Sequence[TextEvidence],
    around: Surroundings,
) -> list[Claimed]:
    """What files, texts and later answers claim of each photo, in the order of the photos."""
    frozen = _frozen(photos)
    reach = _reach_of(around)
    found = []
    for one in photos:
        position = [
            _doubted_far_away(claim, reach)
            for claim in _position(one, frozen.get(one.photo, ()), around)
        ]
        said_times, said_places = _said(layers, one.envelope)
        if len(photos) == 1:
            # "The second photo" of a mail that brings one is that one: the first came before.
            said_places = [_without(OF_SOME_PHOTOS, claim) for claim in said_places]
        for answer in answers:
            said_times += [time_in_answer(claim) for claim in answer.times]
            said_places += [as_answer(claim) for claim in answer.places]
        said_places = [_doubted_far_away(claim, reach) for claim in said_places]
        times = [*_clock(one, [*position, *said_places], around), *said_times]
        found.append((times, _compared(position, said_places)))
    return found


def as_answer(claim: PlaceClaim) -> PlaceClaim:
    """A place in an answer: what was asked for need not stand in a form that says it is meant."""
    return replace(_without(ONLY_MENTIONED, claim), source="sender's answer")


def _without(words: str, claim: PlaceClaim) -> PlaceClaim:
    """A claim without the doubts that begin with the words."""
    left = tuple(doubt for doubt in claim.doubts if not doubt.startswith(words))
    return replace(claim, doubts=left)


def time_in_answer(claim: TimeClaim) -> TimeClaim:
    """A day in an answer: what was asked for need not stand in a form that says it is meant."""
    doubts = tuple(doubt for doubt in claim.doubts if not is_offer_of_day(doubt))
    return replace(claim, source="sender's answer", doubts=doubts)


def _position(one: SentPhoto, doubts: tuple[str, ...], around: Surroundings) -> list[PlaceClaim]:
    found = place_claims(one.exif, captured=_captured(one), area=around.area)
    return [replace(claim, doubts=(*claim.doubts, *doubts)) for claim in found]


def _reach_of(around: Surroundings) -> tuple[Area, Area] | None:
    """What lies near all sites and what far from none; None where the settings name an area."""
    near, far = around.around_sites(SLIP_DEGREES), around.around_sites(FAR_DEGREES)
    return (near, far) if around.area is None and near and far else None


def _doubted_far_away(claim: PlaceClaim, reach: tuple[Area, Area] | None) -> PlaceClaim:
    """Coordinates doubted by where the survey's sites lie."""
    latitude, longitude = claim.decimal_latitude, claim.decimal_longitude
    if reach is None or claim.location_id or claim.offered or latitude is None or longitude is None:
        return claim
    near, far = reach
    doubts, offered = position_doubts_of(latitude, longitude, near, known_as=AROUND_THE_SITES)
    if offered is None and is_inside(latitude, longitude, far):
        return claim
    fresh = [doubt for doubt in doubts if doubt not in claim.doubts]
    return replace(claim, doubts=(*claim.doubts, *fresh), offered=offered)


def _captured(one: SentPhoto) -> str:
    """When the camera says that it was taken, put right where its clock was corrected."""
    shown = one.exif.date_time_original
    if not (shown and one.offset_seconds):
        return shown
    moment = datetime.fromisoformat(shown + one.exif.offset_time)
    return (moment + timedelta(seconds=one.offset_seconds)).isoformat()


def _clock(
    one: SentPhoto, places: Sequence[PlaceClaim], around: Surroundings
) -> tuple[TimeClaim, ...]:
    # A doubted place picks no zone: a lost sign would put the clock an ocean away. A camera without
    # a receiver has the place of the words: by it a clock that shows the night is told, too.
    fix = choose_place([claim for claim in places if not claim.doubts])
    return time_claims(
        one.exif,
        file_name=one.file_name,
        sent_at=one.sent_at,
        zone=around.zone,
        latitude=fix.decimal_latitude if fix else None,
        longitude=fix.decimal_longitude if fix else None,
        season=around.season,
    )


def _frozen(photos: Sequence[SentPhoto]) -> dict[str, tuple[str, ...]]:
    """Doubts on photos of one message whose receiver repeated an earlier fix."""
    fixes = {
        one.photo: Fix(
            photo=one.photo,
            camera=camera_of(one.exif),
            clock_time=one.exif.date_time_original,
            latitude=one.exif.gps_latitude,
            longitude=one.exif.gps_longitude,
            gps_instant=one.exif.gps_instant,
        )
        for one in photos
        if one.exif.date_time_original
        and one.exif.gps_latitude is not None
        and one.exif.gps_longitude is not None
    }
    found: dict[str, tuple[str, ...]] = {}
    for photo, doubt in frozen_fixes([fixes[photo] for photo in sorted(fixes)]):
        found[photo] = (*found.get(photo, ()), doubt)
    return found


def _said(layers: Mapping[int, TextEvidence], envelope: int) -> Claimed:
    """What the author of this layer says; a forwarder's words only where the author is silent."""
    own = layers.get(envelope, TextEvidence())
    outer = layers.get(0, TextEvidence()) if envelope else TextEvidence()
    return list(own.times or outer.times), list(own.places or outer.places)


def _compared(position: Sequence[PlaceClaim], said: Sequence[PlaceClaim]) -> list[PlaceClaim]:
    """The photo's fix and the places that people say, each doubted where they exclude each other.

    A fix at one of several places that are named agrees. Where a sound fix contradicts, the words
    are doubted too, so that the fix stands and the doubt is seen.
    """
    meant = [claim for claim in said if claim.decimal_latitude is not None and not is_denied(claim)]
    fixes, against = [], dict[int, str]()
    for fix in position:
        doubts = [doubts_against(fix, claim) for claim in meant]
        if doubts and all(doubts):
            if not fix.doubts:
                against = {id(claim): one[0] for claim, one in zip(meant, doubts, strict=True)}
            fix = replace(fix, doubts=(*fix.doubts, *doubts[0]))
        fixes.append(fix)
    words = [
        replace(claim, doubts=(*claim.doubts, f"the photo's own fix is {against[id(claim)]}"))
        if id(claim) in against
        else claim
        for claim in said
    ]
    return [*fixes, *words]
