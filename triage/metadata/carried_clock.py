"""What was said of a camera's clock in one mail in, what it means for its other photos out.

A clock that was wrong in one mail is perhaps wrong in the next: nobody sets it because we put it
right here. It may have been set in between, though, and a phone sets itself, so nothing is
corrected by itself: what was said is offered where it can hold. Which word is the nearest is told
on the camera's own clock, which counts on from photo to photo whatever day it shows.
"""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import date, datetime, timedelta
from zoneinfo import ZoneInfo

from triage.metadata.camera_clock import seconds_behind, signed_duration
from triage.metadata.capture_time import MAIL_CLOCK_SECONDS, TimeClaim, corrected, overlap
from triage.metadata.exif import ExifRecord
from triage.metadata.zones import time_span

MINUTE = 60.0  # seconds: as finely as a time is typed, and two clocks agree
IN_WORDS = {
    3600: "an hour",
    86_400: "a day",
    365 * 86_400: "a year",
    366 * 86_400: "a year",
}  # seconds


@dataclass(frozen=True, slots=True, kw_only=True)
class PutRight:
    """A photo whose camera's clock a person put right in a mail; 0 seconds: called right.

    ``action`` is the number of the action that said so, ``message`` the mail as a person knows it.
    """

    exif: ExifRecord
    offset_seconds: float
    action: int
    message: str


@dataclass(frozen=True, slots=True, kw_only=True)
class TypedTime:
    """The day or time that a person typed for a photo, by the action of this number.

    ``mail`` is the number of the mail that brought it, ``message`` that mail as a person knows it.
    """

    exif: ExifRecord
    event_date: str
    action: int
    mail: int
    photo: str
    message: str


def words_of_typed_times(
    typed: Iterable[TypedTime], *, zone: str
) -> dict[tuple[int, str], PutRight]:
    """What typed days and times say of the clocks that they contradict, by mail and photo.

    A time tells the clock's error to the minute, a day in whole days, if it is one number for all
    photos of that camera and mail: a day typed for a whole outing tells nothing of its clock.
    """
    found: dict[tuple[int, str], PutRight] = {}
    days: dict[tuple[int, str, str], set[float]] = defaultdict(set)
    whole_days: list[tuple[tuple[int, str, str], TypedTime]] = []
    for one in typed:
        error = _typed_error(one, zone)
        if error is None:
            continue
        if "T" in one.event_date:
            found[one.mail, one.photo] = _word(one, error)
        else:
            camera = (one.mail, one.exif.make, f"{one.exif.model} {one.exif.body_serial_number}")
            days[camera].add(error)
            whole_days.append((camera, one))
    for camera, one in whole_days:
        if len(days[camera]) == 1 and any(days[camera]):
            found[one.mail, one.photo] = _word(one, *days[camera])
    return found


def _word(one: TypedTime, error: float) -> PutRight:
    return PutRight(exif=one.exif, offset_seconds=error, action=one.action, message=one.message)


def _typed_error(one: TypedTime, zone: str) -> float | None:
    """How many seconds the clock of a photo was behind what was typed; None if that tells none."""
    shown = one.exif.date_time_original
    if not shown or "/" in one.event_date:
        return None
    if "T" not in one.event_date:
        days = date.fromisoformat(one.event_date) - date.fromisoformat(shown[:10])
        return days.total_seconds()
    moment = datetime.fromisoformat(one.event_date)
    moment = moment if moment.tzinfo else moment.replace(tzinfo=ZoneInfo(zone or "UTC"))
    error = seconds_behind(shown + one.exif.offset_time, moment, zone)
    to_the_minute = len(one.event_date.split("T")[1].split("+")[0].rstrip("Z")) <= len("14:05")
    error = round(error / MINUTE) * MINUTE if to_the_minute else error
    return 0.0 if abs(error) <= MINUTE else error


def shown_by_clock(exif: ExifRecord) -> datetime | None:
    """What a camera's clock showed, as it is written; None where the file does not say."""
    text = exif.date_time_original or exif.date_time_digitized or exif.date_time
    return datetime.fromisoformat(text).replace(tzinfo=None) if text else None


def may_be_one_camera(one: ExifRecord, other: ExifRecord) -> bool:
    """Whether two files name the same make and model, and no serial numbers that differ.

    >>> may_be_one_camera(ExifRecord(model="X1", body_serial_number="7"), ExifRecord(model="X1"))
    True
    >>> may_be_one_camera(ExifRecord(), ExifRecord())
    False
    """
    named = bool(one.make or one.model) and (one.make, one.model) == (other.make, other.model)
    serials = {one.body_serial_number, other.body_serial_number} - {""}
    return named and len(serials) < 2


def words_on(exif: ExifRecord, known: Iterable[PutRight]) -> tuple[PutRight, ...]:
    """The words on this camera that are the last before and the first after a photo of it.

    By what its clock showed; the nearer first. A clock that was called right needs none.
    """
    shown = shown_by_clock(exif)
    if shown is None:
        return ()
    dated = [
        (moment, word.action, word)
        for word in known
        if may_be_one_camera(exif, word.exif) and (moment := shown_by_clock(word.exif)) is not None
    ]
    before = max((one for one in dated if one[0] <= shown), key=lambda d: d[:2], default=None)
    after = min((one for one in dated if one[0] > shown), key=lambda d: (d[0], -d[1]), default=None)
    nearest = sorted(filter(None, (before, after)), key=lambda one: abs(one[0] - shown))
    found = {word.offset_seconds: word for _, _, word in reversed(nearest) if word.offset_seconds}
    return tuple(word for _, _, word in nearest if found.get(word.offset_seconds) is word)


def doubted_by(
    claim: TimeClaim,
    words: Sequence[PutRight],
    others: Sequence[TimeClaim],
    *,
    sent_at: datetime | None,
    zone: str,
) -> tuple[TimeClaim, PutRight | None]:
    """A camera's time doubted by the first of these words that can hold, with that word.

    It cannot hold where it would set the photo later than its mail, nor where another of the
    photo's ``others`` agrees with the clock as it is and not with the corrected one. GPS time that
    contradicts the clock already offers better.
    """
    sure = [one for one in others if not one.doubts]
    if claim.offered_event_date and any(one.source == "gps clock" for one in sure):
        return claim, None
    for word in words:
        right = corrected(claim, word.offset_seconds)
        if _can_hold(claim, right, sure, sent_at, zone):
            doubt = (
                f"other photos of this camera were {in_words(word.offset_seconds)}"
                f" ({word.message}): {right.event_date.replace('T', ' ')} if this one was, too"
            )
            doubts = (*claim.doubts, doubt)
            return replace(claim, doubts=doubts, offered_event_date=right.event_date), word
    return claim, None


def _can_hold(
    claim: TimeClaim,
    right: TimeClaim,
    sure: Sequence[TimeClaim],
    sent_at: datetime | None,
    zone: str,
) -> bool:
    start, _ = time_span(right.event_date, zone)
    if sent_at is not None and start > sent_at + timedelta(seconds=MAIL_CLOCK_SECONDS):
        return False
    return not any(overlap(claim, one, zone) and not overlap(right, one, zone) for one in sure)


def in_words(offset_seconds: float) -> str:
    """How a clock was wrong that needs so many seconds more.

    >>> in_words(365 * 86_400), in_words(-5400)
    ('a year behind', '1 h 30 min ahead')
    """
    size = IN_WORDS.get(round(abs(offset_seconds)), signed_duration(offset_seconds)[1:])
    return f"{size} {'behind' if offset_seconds > 0 else 'ahead'}"
