"""Make claims of when a photo was taken, doubts included, from Exif, file name and mail.

A clock is checked, not believed: against GPS time, the place's zone and its summer time, the day
the mail was sent, the season, and the dates that clocks show when nobody set them. Dates are ISO
8601-1:2019 as Darwin Core's eventDate has them; docs/metadata.md states each rule and its source.
"""

from __future__ import annotations

import re
from collections.abc import Iterable
from dataclasses import dataclass, replace
from datetime import UTC, date, datetime, time, timedelta
from typing import Literal
from zoneinfo import ZoneInfo

from triage.metadata.camera_clock import (
    GPS_FIX_SECONDS,
    GPS_ROLLOVER,
    seconds_behind,
    signed_duration,
)
from triage.metadata.day_forms import is_offer_of_day
from triage.metadata.daylight import sun_altitude
from triage.metadata.exif import ExifRecord
from triage.metadata.zones import CLOCK_TIME, summer_time, time_span, zone_at

TimeSource = Literal[
    "coordinator", "sender's answer", "gps clock", "camera clock", "message text", "file name"
]

# The camera's clock comes before GPS because it marks the exposure, where a GPS time marks the
# last fix; a clock that GPS contradicts is doubted.
PRECEDENCE: tuple[TimeSource, ...] = (
    "coordinator",
    "sender's answer",
    "camera clock",
    "gps clock",
    "message text",
    "file name",
)

# Common practice, no source: cameras drift by seconds a week and are set by hand to a minute.
CAMERA_CLOCK_SECONDS = 60.0
OLD_FIX_SECONDS = 1800.0  # common practice: an older fix says little about the clock, either way
MAIL_CLOCK_SECONDS = 600.0  # common practice: the sender's computer may be wrong by minutes
DAY_SECONDS = 86_400.0
DARK_DEGREES = -6.0  # the sun's altitude at the end of civil twilight
FIRST_EXIF_YEAR = 1995  # the first Exif version; no camera file is older


@dataclass(frozen=True, slots=True, kw_only=True)
class TimeClaim:
    """One statement of when, with its source; a claim is never overwritten, only outranked.

    ``event_date`` is ISO 8601-1: an instant with offset, a local time without, a day, or an
    interval of days. ``doubts`` are one-clause reasons not to believe it as it stands; a claim
    with a doubt is shown to the coordinator. ``zone`` is an IANA name or empty. The true time
    lies within the span of ``event_date`` widened by ``uncertainty_seconds`` at both ends.
    """

    source: TimeSource
    event_date: str
    uncertainty_seconds: float
    verbatim: str = ""
    zone: str = ""
    doubts: tuple[str, ...] = ()
    note: str = ""
    offered_event_date: str = ""  # what the doubts suggest instead, where they suggest one
    said: int = 0  # the number of the action by which a person said or corrected it; 0 for none


def time_claims(
    exif: ExifRecord,
    *,
    file_name: str,
    sent_at: datetime | None,
    zone: str,
    latitude: float | None,
    longitude: float | None,
    season: tuple[int, int] | None = None,
) -> tuple[TimeClaim, ...]:
    """Return what one photo claims of its time, the most trusted source first.

    ``sent_at`` is the mail's date (aware); ``zone`` the survey's IANA zone, used where no
    coordinates tell the place's own; ``season`` the first and last day of the year of the flight
    season (first > last wraps over New Year).
    """
    place_zone = zone_at(latitude, longitude) or zone
    place = None
    if latitude is not None and longitude is not None and abs(latitude) <= 90:
        place = latitude, longitude
    checks = _Checks(sent_at=sent_at, zone=place_zone, season=season, place=place)
    gps = _gps_claim(exif, checks)
    camera = _camera_claim(exif, checks)
    by_name = _file_name_claim(file_name, checks)
    return tuple(claim for claim in (camera, gps, by_name) if claim)


def choose_time(claims: Iterable[TimeClaim]) -> TimeClaim | None:
    """Return the claim to believe: the coordinator's, undoubted ones, by PRECEDENCE, the newest."""

    def rank(numbered: tuple[int, TimeClaim]) -> tuple[bool, int, int, int]:
        number, claim = numbered
        standing = 0 if claim.said else PRECEDENCE.index(claim.source)
        later = -number if standing <= PRECEDENCE.index("sender's answer") else number
        return bool(claim.doubts) and standing > 0, standing, -claim.said, later

    return min(enumerate(claims), key=rank, default=(0, None))[1]


def contradicted(claims: Iterable[TimeClaim], *, zone: str) -> tuple[TimeClaim, ...]:
    """Return the claims of one photo, a clock and a message that exclude each other doubted.

    Only a sure clock contradicts: one known to be wrong says nothing against the sender. A day
    that the mail only mentions is compared, too. Days and local times are read in ``zone``.
    """
    given = tuple(claims)
    sure = [claim for claim in given if all(map(is_offer_of_day, claim.doubts))]
    clocks = [claim for claim in sure if claim.source in ("camera clock", "gps clock")]
    said = [claim for claim in sure if claim.source in ("message text", "sender's answer")]
    against: dict[int, str] = {}
    for clock in clocks:
        for words in said:
            if not overlap(clock, words, zone):
                against[id(clock)] = f"the message says {words.event_date} ({words.verbatim})"
                against[id(words)] = f"the {clock.source} says {clock.event_date}"
    return tuple(
        replace(c, doubts=(*c.doubts, against[id(c)])) if id(c) in against else c for c in given
    )


def overlap(one: TimeClaim, other: TimeClaim, zone: str) -> bool:
    """Whether two claims may be of one moment, as well as each is known."""
    start, end = time_span(one.event_date, zone)
    other_start, other_end = time_span(other.event_date, zone)
    slack = timedelta(seconds=one.uncertainty_seconds + other.uncertainty_seconds)
    return start - slack < other_end and other_start < end + slack


def corrected(claim: TimeClaim, offset_seconds: float) -> TimeClaim:
    """Return the claim with its clock put right by an offset (positive: the clock ran behind).

    Raises ValueError if the claim is no instant or local time: a day has no clock to correct.
    """
    if not CLOCK_TIME.fullmatch(claim.event_date):
        raise ValueError(f"{claim.event_date} is not a clock time")
    moment = datetime.fromisoformat(claim.event_date) + timedelta(seconds=offset_seconds)
    if moment.tzinfo and claim.zone:
        moment = moment.astimezone(ZoneInfo(claim.zone))
    return replace(
        claim,
        event_date=_rounded(moment).isoformat(),
        doubts=(),
        note=f"clock corrected by {signed_duration(offset_seconds)}",
    )


def _rounded(moment: datetime) -> datetime:
    return (moment + timedelta(microseconds=500_000)).replace(microsecond=0)


@dataclass(frozen=True, slots=True, kw_only=True)
class _Checks:
    """What every claim of one photo is held against."""

    sent_at: datetime | None
    zone: str
    season: tuple[int, int] | None
    place: tuple[float, float] | None

    @property
    def local(self) -> ZoneInfo:
        return ZoneInfo(self.zone or "UTC")

    def doubts(self, moment: datetime) -> list[str]:
        """Return the doubts of an aware local moment that need no other clock."""
        found = []
        unset = unset_clock(moment.date(), self.sent_at)
        if unset:
            found.append(unset)
        if self.sent_at and moment > self.sent_at + timedelta(seconds=MAIL_CLOCK_SECONDS):
            sent = _rounded(self.sent_at).isoformat()
            found.append(f"later than the mail, which was sent {sent}")
        outside = outside_season(moment.date(), self.season)
        if outside and not unset:
            found.append(outside)
        return found


def unset_clock(day: date, sent_at: datetime | None) -> str:
    """Say why a day looks like a clock that nobody set, or nothing.

    Clocks restart at the start of a year (1970, 1980, 2000 and each maker's own) or at GPS's first
    day, 1980-01-06; west of Greenwich the day before.
    """
    if day.year < FIRST_EXIF_YEAR:
        return f"{day.isoformat()} is before there were digital cameras: the clock was not set"
    edge = (day.month, day.day) == (1, 1) or (day.month, day.day, day.year) == (12, 31, 1999)
    fresh = sent_at is not None and timedelta() <= sent_at.date() - day <= timedelta(days=45)
    if edge and not fresh:
        return f"{day.isoformat()} is what a clock shows that was never set"
    return ""


def outside_season(day: date, season: tuple[int, int] | None) -> str:
    """Say that a day lies outside the season (first and last day of the year), or nothing."""
    if season is None:
        return ""
    first, last = season
    number = day.timetuple().tm_yday
    inside = first <= number <= last if first <= last else number >= first or number <= last
    return "" if inside else f"day {number} of the year is outside the season ({first} to {last})"


def _gps_claim(exif: ExifRecord, checks: _Checks) -> TimeClaim | None:
    if exif.gps_instant is None:
        return None
    moment = _rounded(exif.gps_instant.astimezone(checks.local))
    doubts = checks.doubts(moment)
    camera = _camera_moment(exif, checks)
    offered = ""
    if camera and abs(exif.gps_instant + GPS_ROLLOVER - camera) < timedelta(days=2):
        later = _rounded((exif.gps_instant + GPS_ROLLOVER).astimezone(checks.local))
        offered = later.isoformat()
        doubts = [f"the receiver's week count rolled over, 1024 weeks later is {offered}"]
    elif camera and (camera - exif.gps_instant).total_seconds() > GPS_FIX_SECONDS:
        age = signed_duration((camera - exif.gps_instant).total_seconds())[1:]
        doubts.append(f"{age} before the camera's time: the fix may be older than the photo")
    if exif.gps_status == "V":
        doubts.append("the receiver marked its fix void")
    return TimeClaim(
        source="gps clock",
        event_date=moment.isoformat(),
        uncertainty_seconds=GPS_FIX_SECONDS,
        offered_event_date=offered,
        verbatim=exif.gps_instant.isoformat(),
        zone=checks.zone,
        doubts=tuple(doubts),
    )


def _camera_moment(exif: ExifRecord, checks: _Checks) -> datetime | None:
    """Return the camera's time as an aware moment: by its own offset, else in the place's zone."""
    text, offset, _ = _camera_text(exif)
    if not text:
        return None
    moment = datetime.fromisoformat(text + offset)
    return moment if moment.tzinfo else moment.replace(tzinfo=checks.local)


def _camera_text(exif: ExifRecord) -> tuple[str, str, str]:
    """Return the camera's local time, its offset or nothing, and the doubt of its kind."""
    if exif.date_time_original:
        offset = exif.offset_time
        if not offset and exif.date_time == exif.date_time_original:
            offset = exif.offset_time_file  # the same moment under its other name
        return exif.date_time_original, offset, ""
    if exif.date_time_digitized:
        kind = "only the time it was digitised is known: it may be a scan"
        return exif.date_time_digitized, "", kind
    if exif.date_time:
        kind = "only the time the file was last changed is known"
        return exif.date_time, exif.offset_time_file, kind
    return "", "", ""


def _camera_claim(exif: ExifRecord, checks: _Checks) -> TimeClaim | None:
    text, offset, kind = _camera_text(exif)
    moment = _camera_moment(exif, checks)
    if moment is None:
        return None
    doubts = [kind] if kind else []
    notes: list[str] = []
    uncertainty = CAMERA_CLOCK_SECONDS
    elsewhere = [s for s in exif.other_sources if s.startswith("date_time_original: ")]
    notes.extend(f"from {source.partition(': ')[2]}" for source in elsewhere)
    if not offset:
        summer = summer_time(datetime.fromisoformat(text), checks.zone)
        if summer == "gap":
            doubts.append(f"{checks.zone} skipped this hour: summer time began")
        elif summer == "twice":
            uncertainty += 3600.0
            notes.append(f"{checks.zone} had this hour twice: summer time ended")
    else:
        doubts.extend(_offset_doubt(moment, checks))
    doubts.extend(checks.doubts(moment.astimezone(checks.local)))
    doubt, note, uncertainty = _against_gps(exif, checks, uncertainty)
    offered = ""
    if doubt and exif.gps_instant and exif.gps_status != "V":
        offered = _rounded(exif.gps_instant.astimezone(checks.local)).isoformat()
    if not doubts and not doubt and not note:
        doubt, offered = _dark(moment, checks)
    doubts.extend(doubt)
    notes.extend(note)
    return TimeClaim(
        source="camera clock",
        offered_event_date=offered,
        event_date=text + offset,
        uncertainty_seconds=uncertainty,
        verbatim=text + offset,
        zone=checks.zone,
        doubts=tuple(doubts),
        note="; ".join(notes),
    )


def _dark(moment: datetime, checks: _Checks) -> tuple[list[str], str]:
    """Doubt a time in the dark that twelve hours away is by day; offer that one."""
    if checks.place is None or sun_altitude(*checks.place, moment) >= DARK_DEGREES:
        return [], ""
    other = moment.astimezone(checks.local) + timedelta(hours=12 if moment.hour < 12 else -12)
    if sun_altitude(*checks.place, other) < 0:
        return [], ""
    latest = checks.sent_at + timedelta(seconds=MAIL_CLOCK_SECONDS) if checks.sent_at else other
    offered = other.isoformat() if other <= latest else ""
    return ["it was dark at that hour: a.m. and p.m. may be swapped"], offered


def _offset_doubt(moment: datetime, checks: _Checks) -> list[str]:
    there = moment.astimezone(checks.local).utcoffset()
    if not checks.zone or there == moment.utcoffset():
        return []
    told, known = (t.strftime("%z") for t in (moment, moment.astimezone(checks.local)))
    told, known = f"{told[:3]}:{told[3:]}", f"{known[:3]}:{known[3:]}"
    return [f"the camera's offset {told} is not that of {checks.zone} ({known})"]


def _against_gps(
    exif: ExifRecord, checks: _Checks, uncertainty: float
) -> tuple[list[str], list[str], float]:
    """Return doubts, notes and uncertainty of the camera's time in the light of GPS time."""
    behind = _behind_gps(exif, checks)
    if behind is None:
        return [], [], uncertainty
    if abs(behind) <= GPS_FIX_SECONDS:
        return [], [f"GPS time agrees within {abs(behind):.0f} s"], max(1.0, abs(behind))
    if abs(behind + GPS_ROLLOVER.total_seconds()) < 2 * DAY_SECONDS:
        return [], [], uncertainty
    steps = round(behind / 900)
    direction = "behind" if behind > 0 else "ahead of"
    size = signed_duration(behind)[1:]
    if abs(behind - steps * 900) <= GPS_FIX_SECONDS and abs(steps) <= 14 * 4:
        why = "a.m. and p.m. swapped" if abs(steps) == 48 else "another zone or summer time"
        return [f"the clock is {size} {direction} GPS time: {why}"], [], uncertainty
    if -OLD_FIX_SECONDS <= behind < 0:
        return [], [f"the GPS fix is {size} older than the photo"], uncertainty
    return [f"the clock is {size} {direction} GPS time"], [], uncertainty


def _behind_gps(exif: ExifRecord, checks: _Checks) -> float | None:
    """Seconds by which the camera's clock is behind GPS time; by the time of day if undated."""
    text, offset, _ = _camera_text(exif)
    if not text:
        return None
    if exif.gps_instant is not None:
        return seconds_behind(text + offset, exif.gps_instant, checks.zone)
    moment = _camera_moment(exif, checks)
    if not exif.gps_time_of_day or moment is None:
        return None
    utc = moment.astimezone(UTC)
    of_day = time.fromisoformat(exif.gps_time_of_day)
    seconds = (datetime.combine(utc.date(), of_day, tzinfo=UTC) - utc).total_seconds()
    return (seconds + DAY_SECONDS / 2) % DAY_SECONDS - DAY_SECONDS / 2


# Names that programs give to files; what each kind means is common practice, no source.
_FILE_NAME_TIME = re.compile(
    r"(?<![0-9])(?P<y>(?:19|20)\d\d)(?P<s>[-_.]?)(?P<m>[01]\d)(?P=s)(?P<d>[0-3]\d)"
    r"(?:(?:[-_ T.]| at )(?P<H>[0-2]\d)[-_.:h]?(?P<M>[0-5]\d)[-_.:m]?(?P<S>[0-5]\d)\d{0,3})?"
    r"(?![0-9])"
)


def _file_name_claim(file_name: str, checks: _Checks) -> TimeClaim | None:
    found = _FILE_NAME_TIME.search(file_name)
    if not found:
        return None
    try:
        day = date(int(found["y"]), int(found["m"]), int(found["d"]))
        clock = time(int(found["H"]), int(found["M"]), int(found["S"])) if found["H"] else None
    except ValueError:
        return None
    note = "day from the file name"
    if file_name.upper().startswith("PXL_") and clock:
        # These phones write UTC into the name.
        day = datetime.combine(day, clock, tzinfo=UTC).astimezone(checks.local).date()
        note = "day from the file name, which is in UTC"
    doubts = checks.doubts(datetime.combine(day, time(), tzinfo=checks.local))
    if re.search(r"-WA\d{4}|(?i:screenshot|received|signal|image \d{4}-)", file_name):
        doubts.append("such names carry the day of sending or saving")
    return TimeClaim(
        source="file name",
        event_date=day.isoformat(),
        uncertainty_seconds=DAY_SECONDS,
        verbatim=file_name,
        zone=checks.zone,
        doubts=tuple(doubts),
        note=note,
    )
