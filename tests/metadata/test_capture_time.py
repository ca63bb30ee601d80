"""Clocks held against GPS, zones, mail and season; published files as numbers with their source."""

from datetime import UTC, datetime, timedelta

import pytest

from triage.metadata import capture_time
from triage.metadata.capture_time import (
    TimeClaim,
    choose_time,
    contradicted,
    corrected,
    time_claims,
)
from triage.metadata.exif import ExifRecord
from triage.metadata.zones import summer_time, time_span, zone_at

SENT = datetime(2026, 6, 16, 18, 0, tzinfo=UTC)
POND = {"latitude": 53.9, "longitude": 21.7}


def claims(exif=None, *, file_name="IMG_0001.JPG", sent_at=SENT, place=POND, season=None, **fields):
    return time_claims(
        exif or ExifRecord(**fields),
        file_name=file_name,
        sent_at=sent_at,
        zone="Europe/Warsaw",
        season=season,
        **place,
    )


def only(*args, **kwargs) -> TimeClaim:
    (claim,) = claims(*args, **kwargs)
    return claim


def instant(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def test_a_clock_without_offset_gives_a_local_time_without_offset():
    claim = only(date_time_original="2026-06-14T10:05:12")
    assert claim.event_date == "2026-06-14T10:05:12"
    assert (claim.source, claim.zone, claim.doubts) == ("camera clock", "Europe/Warsaw", ())


def test_a_clock_with_offset_gives_an_instant():
    claim = only(date_time_original="2026-06-14T10:05:12", offset_time="+02:00")
    assert claim.event_date == "2026-06-14T10:05:12+02:00"
    assert claim.doubts == ()


def test_an_offset_that_is_not_the_places_is_doubted():
    claim = only(date_time_original="2026-06-14T10:05:12", offset_time="+01:00")
    assert claim.doubts == ("the camera's offset +01:00 is not that of Europe/Warsaw (+02:00)",)


def test_the_zone_comes_from_the_coordinates():
    # Helsinki keeps +03:00 in summer (IANA time zone database).
    claim = only(
        date_time_original="2026-06-14T10:05:12",
        offset_time="+03:00",
        place={"latitude": 60.17, "longitude": 24.94},
    )
    assert (claim.zone, claim.doubts) == ("Europe/Helsinki", ())


@pytest.mark.parametrize(
    ("place", "zone"),
    [
        ((53.9, 21.7), "Europe/Warsaw"),
        ((0.0, 0.0), ""),
        ((None, 21.7), ""),
        ((95.0, 10.0), ""),
        ((15.0, 60.0), ""),
    ],
)
def test_a_zone_is_told_only_where_there_is_a_place(place, zone):
    assert zone_at(*place) == zone


def test_gps_time_that_agrees_makes_the_clock_more_certain():
    # A published sample file: HMD Nokia 8.3, 2022-08-14 14:12:31 +03:00, GPS 11:12:32 UTC
    # (exif-samples, jpg/mobile).
    camera, gps = claims(
        date_time_original="2022-08-14T14:12:31",
        offset_time="+03:00",
        gps_instant=instant("2022-08-14T11:12:32"),
        place={"latitude": 60.17, "longitude": 24.94},
    )
    assert camera.doubts == gps.doubts == ()
    assert camera.uncertainty_seconds == 1.0
    assert camera.note == "GPS time agrees within 1 s"


def test_a_file_time_an_hour_off_its_gps_time_of_day_is_undecidable_and_doubted():
    # A published sample file: HMD Nokia 8.3 (exif-samples, heic/mobile), only DateTime and
    # GPSTimeStamp, in Spain (UTC+1): either the date is UTC or GPS time is local.
    claim = only(
        date_time="2022-02-03T14:44:07",
        gps_time_of_day="14:44:09",
        place={"latitude": 40.789, "longitude": -4.005},
    )
    assert claim.zone == "Europe/Madrid"
    assert claim.doubts == (
        "only the time the file was last changed is known",
        "the clock is 1 h 2 s behind GPS time: another zone or summer time",
    )


@pytest.mark.parametrize(
    ("clock", "reason"),
    [
        ("2026-06-14T09:05:12", "the clock is 1 h behind GPS time: another zone or summer time"),
        ("2026-06-14T11:05:40", "the clock is 1 h 28 s ahead of GPS time: another zone or summer"
                                " time"),
        ("2026-06-13T22:05:12", "the clock is 12 h behind GPS time: a.m. and p.m. swapped"),
        ("2026-06-13T10:06:40", "the clock is 23 h 58 min 32 s behind GPS time"),
    ],
)  # fmt: skip
def test_a_clock_that_gps_contradicts_is_doubted_and_gps_is_believed(clock, reason):
    found = claims(date_time_original=clock, gps_instant=instant("2026-06-14T08:05:12"))
    assert reason in found[0].doubts
    assert found[0].offered_event_date == "2026-06-14T10:05:12+02:00"
    chosen = choose_time(found)
    ahead = "ahead" in reason
    assert chosen.source == ("camera clock" if ahead else "gps clock")


def test_an_old_fix_does_not_make_the_clock_wrong():
    camera, gps = claims(
        date_time_original="2026-06-14T10:25:12", gps_instant=instant("2026-06-14T08:05:12")
    )
    assert camera.doubts == ()
    assert camera.note == "the GPS fix is 20 min older than the photo"
    assert gps.doubts == ("20 min before the camera's time: the fix may be older than the photo",)


def test_a_receiver_whose_week_count_rolled_over_is_doubted_not_the_camera():
    # The week number has ten bits: 1024 weeks are 7,168 days (IS-GPS-200).
    true = instant("2026-06-14T08:05:12")
    camera, gps = claims(
        date_time_original="2026-06-14T10:05:14", gps_instant=true - timedelta(days=7168)
    )
    assert camera.doubts == ()
    assert gps.offered_event_date == "2026-06-14T10:05:12+02:00"
    assert "rolled over" in gps.doubts[0]
    assert choose_time([gps, camera]) is camera


@pytest.mark.parametrize(
    "clock",
    ["1970-01-01T00:10:00", "1980-01-01T00:00:00", "1980-01-06T02:00:00", "2000-01-01T00:03:21",
     "1999-12-31T19:00:00", "2012-01-01T12:00:00", "2016-01-01T00:00:40"],
)  # fmt: skip
def test_dates_of_clocks_never_set_are_doubted(clock):
    (doubt,) = only(date_time_original=clock, place={"latitude": None, "longitude": None}).doubts
    assert "set" in doubt


def test_new_year_is_believed_in_a_mail_of_that_winter():
    claim = only(date_time_original="2026-01-01T12:00:00", sent_at=datetime(2026, 1, 4, tzinfo=UTC))
    assert claim.doubts == ()


def test_a_time_after_the_mail_is_doubted():
    claim = only(date_time_original="2026-06-17T10:05:12")
    assert claim.doubts == ("later than the mail, which was sent 2026-06-16T18:00:00+00:00",)


def test_a_time_outside_the_season_is_doubted():
    claim = only(date_time_original="2026-02-14T12:00:00", season=(91, 304))
    assert claim.doubts == ("day 45 of the year is outside the season (91 to 304)",)
    assert only(date_time_original="2026-02-14T12:00:00", season=(300, 60)).doubts == ()


def test_a_time_in_the_dark_offers_the_other_half_of_the_day():
    claim = only(date_time_original="2026-05-14T01:05:12")
    assert claim.doubts == ("it was dark at that hour: a.m. and p.m. may be swapped",)
    assert claim.offered_event_date == "2026-05-14T13:05:12+02:00"


@pytest.mark.parametrize(
    ("local", "expected"),
    [
        (datetime(2026, 3, 29, 2, 30), "gap"),  # Directive 2000/84/EC: last Sunday of March
        (datetime(2026, 10, 25, 2, 30), "twice"),  # and of October
        (datetime(2026, 6, 14, 2, 30), "once"),
        (datetime(2026, 3, 29, 3, 0), "once"),
    ],
)
def test_summer_time_skips_and_repeats_an_hour(local, expected):
    assert summer_time(local, "Europe/Warsaw") == expected


def test_an_hour_that_came_twice_widens_the_uncertainty():
    claim = only(
        date_time_original="2026-10-25T02:30:00",
        sent_at=None,
        place={"latitude": None, "longitude": None},
    )
    assert claim.uncertainty_seconds == pytest.approx(3660)
    assert claim.doubts == ()


def test_an_hour_that_never_was_is_doubted():
    claim = only(
        date_time_original="2026-03-29T02:30:00", place={"latitude": None, "longitude": None}
    )
    assert claim.doubts == ("Europe/Warsaw skipped this hour: summer time began",)


def test_a_scan_is_no_time_of_capture():
    assert only(date_time_digitized="2026-06-14T10:05:12").doubts == (
        "only the time it was digitised is known: it may be a scan",
    )


@pytest.mark.parametrize(
    ("name", "day", "doubted"),
    [
        ("IMG_20260614_100512.jpg", "2026-06-14", False),
        ("2026-06-14 10.05.12.jpg", "2026-06-14", False),
        ("PXL_20260613_230512345.jpg", "2026-06-14", False),  # UTC: after midnight in Warsaw
        ("IMG-20260614-WA0003.jpg", "2026-06-14", True),
        ("Screenshot_20260614-100512.png", "2026-06-14", True),
        ("20260614_100512.heic", "2026-06-14", False),
        ("IMG_20270614_100512.jpg", "2027-06-14", True),
    ],
)
def test_file_names_are_weak_evidence_of_a_day(name, day, doubted):
    claim = only(file_name=name)
    assert (claim.source, claim.event_date) == ("file name", day)
    assert bool(claim.doubts) == doubted


@pytest.mark.parametrize(
    "name", ["IMG_0001.JPG", "DSC20261399.jpg", "photo-1234567890123.jpg", "P1020304.JPG", "",
             "scan 19991301.jpg", "20260632.jpg", "0620260614123.jpg"],
)  # fmt: skip
def test_other_numbers_in_file_names_are_no_days(name):
    assert claims(file_name=name) == ()


def claim_of(source, event_date="2026-06-14", doubts=()):
    return TimeClaim(source=source, event_date=event_date, uncertainty_seconds=0, doubts=doubts)


def test_claims_are_chosen_in_the_documented_order():
    order = [claim_of(source) for source in capture_time.PRECEDENCE]
    while order:
        assert choose_time(reversed(order)) is order[0]
        order.pop(0)
    assert choose_time([]) is None


def test_doubted_claims_sink_save_the_coordinators():
    text = claim_of("message text")
    assert choose_time([claim_of("camera clock", doubts=("wrong",)), text]) is text
    coordinator = claim_of("coordinator", doubts=("unlikely",))
    assert choose_time([text, coordinator]) is coordinator


@pytest.mark.parametrize(
    ("clock", "said", "agree"),
    [
        ("2026-06-14T10:05:12", "2026-06-14", True),
        ("2026-06-14T10:05:12", "2026-06-13/2026-06-14", True),
        ("2026-06-14T23:59:50", "2026-06-15", True),  # within the clock's minute
        ("2026-06-14T10:05:12+02:00", "2026-06-15", False),
        ("2026-06-11T10:05:12", "2026-06-13/2026-06-14", False),
    ],
)
def test_a_clock_and_a_message_that_exclude_each_other_are_both_doubted(clock, said, agree):
    camera = TimeClaim(source="camera clock", event_date=clock, uncertainty_seconds=60)
    words = TimeClaim(
        source="message text", event_date=said, uncertainty_seconds=0, verbatim="on Sunday"
    )
    found = contradicted([camera, words], zone="Europe/Warsaw")
    assert [bool(claim.doubts) for claim in found] == [not agree, not agree]
    if not agree:
        assert found[0].doubts == (f"the message says {said} (on Sunday)",)


def test_a_doubted_clock_contradicts_nobody():
    camera = claim_of("camera clock", "2012-01-01T00:00:00", doubts=("never set",))
    words = claim_of("message text")
    assert contradicted([camera, words], zone="Europe/Warsaw") == (camera, words)


@pytest.mark.parametrize(
    ("event_date", "seconds", "expected"),
    [
        ("2026-06-13T10:06:44", 86308.0, "2026-06-14T10:05:12"),
        ("2026-06-14T10:05:12+02:00", -3600.0, "2026-06-14T09:05:12+02:00"),
        ("2026-03-29T01:30:00+01:00", 3600.0, "2026-03-29T03:30:00+02:00"),
    ],
)
def test_a_correction_moves_the_clock_and_clears_its_doubts(event_date, seconds, expected):
    claim = TimeClaim(
        source="camera clock",
        event_date=event_date,
        uncertainty_seconds=60,
        zone="Europe/Warsaw",
        doubts=("the clock is wrong",),
    )
    put_right = corrected(claim, seconds)
    assert (put_right.event_date, put_right.doubts) == (expected, ())


def test_a_day_has_no_clock_to_correct():
    with pytest.raises(ValueError, match="not a clock time"):
        corrected(claim_of("message text"), 3600)


@pytest.mark.parametrize(
    ("event_date", "start", "end"),
    [
        ("2026-06-14", "2026-06-14T00:00:00+02:00", "2026-06-15T00:00:00+02:00"),
        ("2026-06-14T15:00", "2026-06-14T15:00:00+02:00", "2026-06-14T15:01:00+02:00"),
        ("2026-06-14T15:00:10Z", "2026-06-14T15:00:10+00:00", "2026-06-14T15:00:11+00:00"),
    ],
)
def test_an_event_date_spans_what_it_says_and_no_more(event_date, start, end):
    found = time_span(event_date, "Europe/Warsaw")
    assert [moment.isoformat() for moment in found] == [start, end]


def test_a_day_of_summer_times_end_has_25_hours():
    start, end = time_span("2026-10-25", "Europe/Warsaw")
    assert end.astimezone(UTC) - start.astimezone(UTC) == timedelta(hours=25)


@pytest.mark.parametrize("text", ["2026-06", "June", "2026-13-01", ""])
def test_what_is_no_day_or_time_has_no_span(text):
    with pytest.raises(ValueError):  # noqa: PT011 - the library's own words for a bad month
        time_span(text, "Europe/Warsaw")
