"""What the inbox must know of a message: the facts of its photos, what its words ask and offer."""

from __future__ import annotations

from collections.abc import Collection, Mapping
from dataclasses import dataclass, replace
from typing import TypedDict

from triage.analysis.geodesy import metres_between
from triage.exuviae import Site
from triage.inbox.needs import Need, PhotoFacts, Wording, severity
from triage.mail.header_words import with_own_subject
from triage.mail.kept import AppearanceRow, MessageRow, PartRow
from triage.mail.photographers import another_took_it
from triage.mail.wishes import asks_to_delete
from triage.metadata.camera_clock import CameraCorrection, CameraTime, camera_corrections
from triage.metadata.choosing import Chosen, is_by_hand
from triage.metadata.clock_words import ClockWords, corrections_said, read_clock_words
from triage.metadata.corrections import words_of_a_correction
from triage.metadata.durations import typed_span
from triage.metadata.exif import ExifRecord
from triage.metadata.position import PlaceClaim
from triage.metadata.text_dates import days_of_no_calendar
from triage.quality.kept import Exposures
from triage.sightings.words import words_of_several
from triage.standards.darwin_core import place_words
from triage.standards.iso_dates import moment_of
from triage.standards.person_names import likeness


@dataclass(frozen=True, slots=True, kw_only=True)
class Known:
    """What is loaded of a batch of messages, their photos, and all copies of those."""

    shown: dict[int, list[AppearanceRow]]  # by message
    photos: Exposures
    in_sightings: set[str]  # best copies
    other_files: dict[int, list[PartRow]]  # by message
    texts: dict[int, str]  # by message
    sites: list[str]  # their names
    private_sites: list[Site]
    photographers: dict[str, int]  # by photo, who is said to have taken it


def photos_of(known: Known, message: int, *, of_home: bool) -> list[PhotoFacts]:
    """The facts of a message's photos, in its order; ``of_home`` if words tell of a home."""
    return [_photo(known, one, of_home=of_home) for one in known.shown.get(message, ())]


def _photo(known: Known, one: AppearanceRow, *, of_home: bool) -> PhotoFacts:
    best = known.photos.best_of[one.photo]
    first = known.photos.everywhere[best][0]
    chosen, measured = known.photos.chosen[best], known.photos.rows[best].measurement
    time, place = chosen.time, chosen.place
    by_hand = time.said if time and chosen.time_doubts else 0
    others = {a.person for a in known.photos.everywhere[best]} - {first.person}
    return PhotoFacts(
        photo=one.photo,
        file_name=one.file_name,
        problem=known.photos.rows[one.photo].photo.problem,
        odonate=measured.odonate if measured else None,
        kind=measured.kind if measured else "",
        faces=measured.faces if measured else 0,
        publication=known.photos.rows[best].publication or known.photos.rows[one.photo].publication,
        has_time=time is not None,
        time_said=time is not None and is_by_hand(time),
        clock_doubts=chosen.clock_doubts,
        date_doubts=() if chosen.clock_doubts else chosen.time_doubts,
        offered_date=_shown_date(chosen),
        carried_by=chosen.carried.action if chosen.carried else by_hand,
        has_place=place is not None and place.decimal_latitude is not None,
        place_doubts=chosen.place_doubts,
        placed_by=place.said if place and chosen.place_doubts else 0,
        offered_place=_shown_place(chosen.offered_place),
        others_who_sent_it=len(others) if one.person != first.person else 0,
        in_sighting=best in known.in_sightings,
        repeats=first.photo if _repeats(one, first) else "",
        photographer_known=one.photo in known.photographers,
        **_guard(chosen, known.private_sites, of_home=of_home),
    )


class _Guard(TypedDict, total=False):
    place_is_guarded: bool
    private_water: str
    public_choice: str
    chosen_by: int


def _guard(chosen: Chosen, private: Collection[Site], *, of_home: bool) -> _Guard:
    """What guards a photo's place; asked only where words tell of a home, or somebody chose it."""
    place = chosen.place
    if place is None or not (of_home or place.source == "coordinator"):
        return {}
    if _private_water(place, private):
        return {"place_is_guarded": True}
    if place.source != "coordinator":
        return {}
    # A fix is compared whatever doubts it, words only where they are sure.
    others = [one for one in chosen.places if one.source == "camera gps" or not one.doubts]
    waters = (_private_water(one, private) for one in others if one.source != "coordinator")
    water = next(filter(None, waters), "")
    if not (of_home or water):
        return {}
    return {
        "private_water": water,
        "public_choice": _shown_place(place),
        "chosen_by": place.said,
    }


def _private_water(place: PlaceClaim, private: Collection[Site]) -> str:
    """The private or sensitive water that a place is or touches; empty for none."""
    reach = place.coordinate_uncertainty_in_meters or 0.0
    for site in private:
        apart = metres_between(place, site)
        near = apart is not None and apart <= reach + site.coordinate_uncertainty_in_meters
        if near or (place.location_id and place.location_id == site.location_id):
            return site.locality
    return ""


def _shown_date(chosen: Chosen) -> str:
    """The offered day or time; the correction, where one of all photos of a camera is offered."""
    if chosen.carried:
        return f"the same correction ({typed_span(chosen.carried.offset_seconds)})"
    return chosen.offered_date


def _shown_place(place: PlaceClaim | None) -> str:
    """A place as a person reads it; empty for none."""
    if place is None:
        return ""
    return place_words(place.locality, place.decimal_latitude, place.decimal_longitude)


def _repeats(one: AppearanceRow, first: AppearanceRow) -> bool:
    """Whether this picture came earlier, in another message, from the same sender."""
    return first.message != one.message and first.person == one.person


WORDS_SHOWN = 240  # characters of a mail's own words in a row


def shortened(text: str) -> str:
    """The beginning of a text, in one line."""
    line = " ".join(text.split())
    return line if len(line) <= WORDS_SHOWN else line[: WORDS_SHOWN - 3] + "..."


def wording(
    row: MessageRow, text: str, places: Collection[str], *, private: str, of_photos: str
) -> Wording:
    """What the words of a message ask or tell that no claim says.

    ``private`` is what they, or an answer, say of a home or of a place to keep; ``of_photos`` what
    those wrote whose the photos are, where a mail only passes them on.
    """
    sentence, name = another_took_it(of_photos, places=places)
    if name and row.sender_name and likeness(name, row.sender_name) == "same":
        sentence = name = ""  # a caption with the sender's own name
    return Wording(
        delete=asks_to_delete(f"{row.subject}.\n{text}"),
        correction=words_of_a_correction(f"{row.subject}\n\n{text}"),
        private=private,
        several=words_of_several(text),
        no_day=days_of_no_calendar(with_own_subject(row.subject, of_photos)),
        photographer=sentence,
        photographer_name=name,
        forwarder=row.sender_name,
        sender=row.sender_address or "",
        distribution=row.distribution,
    )


def with_camera_offer(row: MessageRow, needs: list[Need], known: Known, *, zone: str) -> list[Need]:
    """One constant error of a camera is offered as one correction for all its photos."""
    shown = known.shown.get(row.row, ())
    words = ClockWords()
    asked = any(need.kind == "clock" for need in needs)
    if asked or any(
        _stands_by_its_clock(known.photos.chosen[known.photos.best_of[one.photo]]) for one in shown
    ):
        words = read_clock_words(known.texts.get(row.row, ""))
    if not asked:
        if not words.sentence:
            return needs
        said = Need(kind="clock", text=f"the mail says: '{words.sentence}'")
        needs = sorted([*needs, said], key=severity)
    exifs = {one.photo: known.photos.rows[one.photo].exif for one in shown}
    offers = clock_offers(row, exifs, words, zone=zone)
    if not offers:
        return needs
    spans = " or ".join(typed_span(one.offset_seconds) for one in offers)
    count = len(offers[0].photos)
    whole = "its photo" if count == 1 else f"all {count} photos of this camera"
    offer = f"--correct-camera {spans} for {whole}"
    return [replace(need, offer=offer) if need.kind == "clock" else need for need in needs]


def _stands_by_its_clock(chosen: Chosen) -> bool:
    """Whether a photo's time is its camera's, and nobody has said anything of it."""
    time = chosen.time
    return time is not None and time.source == "camera clock" and not time.said


def clock_offers(
    row: MessageRow, exifs: Mapping[str, ExifRecord], words: ClockWords, *, zone: str
) -> tuple[CameraCorrection, ...]:
    """What the clocks of a message's photos may be corrected by: as GPS shows, else as it says."""
    sent_at = moment_of(row.sent_at)
    times = [CameraTime(photo=photo, exif=exif, sent_at=sent_at) for photo, exif in exifs.items()]
    return camera_corrections(times, zone=zone) or corrections_said(words, times, zone=zone)
