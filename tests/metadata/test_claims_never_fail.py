"""Whatever a file says, its claims are made: a hostile record costs doubts, never the batch."""

from datetime import UTC, datetime, timedelta

from exif_files import BYTE, UNDEFINED, block, jpeg, rationals, short, text
from hypothesis import given
from hypothesis import strategies as st

from triage.metadata.camera_clock import CameraTime, camera_corrections
from triage.metadata.capture_time import choose_time, time_claims
from triage.metadata.exif import read_exif
from triage.metadata.position import choose_place, place_claims
from triage.metadata.zones import time_span

fractions = st.tuples(
    st.sampled_from([0, 1, 12, 53, 59, 60, 90, 181, 2**32 - 1]), st.sampled_from([0, 1, 100])
)
triples = st.tuples(fractions, fractions, fractions)
dates = st.sampled_from(
    ["2026:06:14 10:05:12", "1970:01:01 00:00:00", "2199:12:31 23:59:59", "1826:01:01 00:00:00",
     "2026:03:29 02:30:00", "0000:00:00 00:00:00", "9999:99:99 99:99:99", ""]
)  # fmt: skip
days = st.sampled_from(["2026:06:14", "2199:12:31", "1826:01:01", "1980:01:06", "x", ""])
offsets = st.sampled_from(["+02:00", "-14:00", "+14:00", "Z", "?", ""])
letters = st.sampled_from(["N", "S", "E", "W", "n", "?", ""])


@given(dates, dates, offsets, triples, triples, triples, days, letters, letters, st.data())
def test_claims_are_made_of_any_record(
    original, changed, offset, latitude, longitude, clock, day, north, east, data
):
    content = jpeg(
        block(
            first=[text(0x10F, "Acme"), text(0x132, changed), short(0x112, 6)],
            exif=[text(0x9003, original), text(0x9011, offset)],
            gps=[
                text(1, north), rationals(2, *latitude), text(3, east), rationals(4, *longitude),
                (5, BYTE, b"\1"), rationals(7, *clock), text(0x1D, day),
                rationals(0x0B, data.draw(fractions)), rationals(0x1F, data.draw(fractions)),
                (0x1B, UNDEFINED, b"ASCII\0\0\0CELLID"),
            ],
        )
    )  # fmt: skip
    exif = read_exif(content)
    sent = data.draw(st.sampled_from([None, datetime(2026, 6, 16, tzinfo=UTC)]))
    zone = data.draw(st.sampled_from(["Europe/Warsaw", "America/New_York", "Pacific/Apia", ""]))
    times = time_claims(
        exif,
        file_name="IMG_20260614_100512.jpg",
        sent_at=sent,
        zone=zone,
        latitude=exif.gps_latitude,
        longitude=exif.gps_longitude,
        season=(91, 304),
    )
    chosen = choose_time(times)
    assert chosen is not None
    for claim in times:
        start, end = time_span(claim.event_date, zone)
        assert timedelta() < end - start <= timedelta(hours=25)
    (place,) = place_claims(exif, captured=chosen.event_date, area=(53.5, 21.0, 54.5, 22.5)) or [
        None
    ]
    if place and place.decimal_latitude is not None:
        assert abs(place.decimal_latitude) <= 90
        assert place.coordinate_uncertainty_in_meters >= 1
    choose_place([place] if place else [])
    photos = [CameraTime(photo=name, exif=exif) for name in "ab"]
    camera_corrections(photos, zone=zone)
