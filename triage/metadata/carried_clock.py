"""What was said of a camera's clock in one mail in, what it means for its other photos out.

A clock that was wrong in one mail is perhaps wrong in the next: nobody sets it because we put it
right here. It may have been set in between, though, and a phone sets itself, so nothing is
corrected by itself: what was said is offered where it can hold. Which word is the nearest is told
on the camera's own clock, which counts on from photo to photo whatever day it shows.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace
from datetime import datetime, timedelta

from triage.metadata.camera_clock import signed_duration
from triage.metadata.capture_time import MAIL_CLOCK_SECONDS, TimeClaim, corrected, overlap
from triage.metadata.exif import ExifRecord
from triage.metadata.zones import time_span

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
