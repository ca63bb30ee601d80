"""What one message claims of each of its photos: files, layers of the mail, answers."""

from __future__ import annotations

from dataclasses import replace
from datetime import UTC, datetime

import pytest

from triage.metadata.choosing import Shown, choose
from triage.metadata.exif import ExifRecord
from triage.metadata.position import NamedPlace
from triage.metadata.reading import SentPhoto, Surroundings, claims_of_message, read_layer
from triage.metadata.text import TextEvidence

SENT = datetime(2026, 6, 15, 18, 0, tzinfo=UTC)
MERE = NamedPlace(
    location_id="A",
    locality="Heron Mere",
    aliases=(),
    decimal_latitude=53.9,
    decimal_longitude=21.7,
    coordinate_uncertainty_in_meters=100.0,
)
POOL = replace(MERE, location_id="B", locality="Alder Pool", decimal_latitude=53.8)
AROUND = Surroundings(places=[MERE, POOL], zone="Europe/Warsaw")


def photo(digest: str = "p", envelope: int = 0, **exif: object) -> SentPhoto:
    return SentPhoto(
        photo=digest,
        exif=ExifRecord(**exif),  # type: ignore[arg-type]
        file_name="a.jpg",
        sent_at=SENT,
        envelope=envelope,
    )


def layer(subject: str, text: str) -> TextEvidence:
    return read_layer(subject, text, sent_at=SENT, around=AROUND)


def sources(claimed: tuple[list, list]) -> tuple[list[str], list[str]]:
    times, places = claimed
    return [one.source for one in times], [one.source for one in places]


@pytest.mark.parametrize(
    ("subject", "named"),
    [("at Heron Mere", True), ("Re: at Heron Mere", False), ("Odp: Heron Mere", False)],
)
def test_the_subject_of_a_reply_is_the_other_sides(subject, named):
    assert bool(layer(subject, "").places) is named


def test_a_photo_has_the_claims_of_its_file_and_of_its_mail():
    (claimed,) = claims_of_message(
        [
            photo(
                date_time_original="2026-06-14T12:00:00", gps_latitude=53.90001, gps_longitude=21.7
            )
        ],
        {0: layer("", "Yesterday at Heron Mere.")},
        [],
        AROUND,
    )
    assert sources(claimed) == (
        ["camera clock", "message text"],
        ["camera gps", "message site name"],
    )
    assert claimed[1][0].doubts == ()


def test_a_forwarders_words_count_only_where_the_author_is_silent():
    layers = {0: layer("", "Seen today, I think."), 1: layer("", "Yesterday.")}
    own, silent = claims_of_message([photo("p", 1), photo("q", 2)], layers, [], AROUND)
    assert [one.event_date for one in own[0]] == ["2026-06-14"]
    assert [one.event_date for one in silent[0]] == ["2026-06-15"]


def test_an_answer_is_marked_as_one():
    (claimed,) = claims_of_message([photo()], {}, [layer("", "On 13 June at Heron Mere")], AROUND)
    assert sources(claimed) == (["sender's answer"], ["sender's answer"])


def test_gps_far_from_the_site_that_the_text_names_is_doubted():
    far = photo(date_time_original="2026-06-14T12:00:00", gps_latitude=54.5, gps_longitude=21.7)
    (claimed,) = claims_of_message([far], {0: layer("", "at Heron Mere")}, [], AROUND)
    assert "km from Heron Mere" in claimed[1][0].doubts[-1]


@pytest.mark.parametrize(
    ("latitude", "text", "doubts"),
    [
        (54.23, "at Heron Mere", ("36.7 km from Heron Mere, both uncertainties allow 130 m",)),
        (53.918, "at Heron Mere", ("2.0 km from Heron Mere, both uncertainties allow 130 m",)),
        (53.9045, "at Heron Mere", ("501 m from Heron Mere, both uncertainties allow 130 m",)),
        (53.9005, "at Heron Mere", ()),
        # what is only said of a home is compared with nothing
        (54.23, "I live near Heron Mere.", ()),
        # any other mention is
        (53.918, "Tea by Heron Mere", ("2.0 km from Heron Mere, both uncertainties allow 130 m",)),
        # of two sites the fix agrees with one
        (53.9005, "First Alder Pool, then Heron Mere", ()),
    ],
)  # fmt: skip
def test_the_fix_stands_and_its_distance_from_the_named_site_is_seen(latitude, text, doubts):
    fix = {"gps_latitude": latitude, "gps_longitude": 21.700011}
    one = photo(date_time_original="2026-06-14T12:00:00", **fix)
    (claimed,) = claims_of_message([one], {0: layer("", text)}, [], AROUND)
    chosen = choose(
        [], [(claim, Shown(sender=1)) for claim in claimed[1]], owner=1, zone="Europe/Warsaw"
    )
    assert chosen.place is not None
    assert chosen.place.source == "camera gps"
    assert chosen.place_doubts == doubts


def test_the_doubts_of_a_fix_are_seen_where_a_site_stands_instead():
    one = photo(gps_latitude=0.0, gps_longitude=0.0)
    (claimed,) = claims_of_message([one], {0: layer("", "at Heron Mere")}, [], AROUND)
    chosen = choose([], [(claim, None) for claim in claimed[1]], owner=1, zone="Europe/Warsaw")
    assert chosen.place is not None
    assert chosen.place.location_id == "A"
    assert any(doubt.startswith("the photo's own fix: 0, 0") for doubt in chosen.place_doubts)


def test_the_age_of_a_fix_is_told_by_the_corrected_clock():
    moment = datetime(2026, 6, 14, 10, 0, tzinfo=UTC)
    ahead = photo(
        date_time_original="2026-06-14T14:00:00", offset_time="+02:00",
        gps_latitude=53.90001, gps_longitude=21.7, gps_instant=moment,
    )  # fmt: skip
    for offset, doubted in ((0.0, True), (-7200.0, False), (3600.0, True)):
        (claimed,) = claims_of_message([replace(ahead, offset_seconds=offset)], {}, [], AROUND)
        assert bool(claimed[1][0].doubts) is doubted


def test_a_fix_repeated_to_the_last_digit_minutes_later_is_doubted():
    first, later = (
        photo(digest, date_time_original=f"2026-06-14T12:{minute}:00", gps_latitude=53.90001,
              gps_longitude=21.7, make="M")
        for digest, minute in (("a", "00"), ("b", "30"))
    )  # fmt: skip
    claimed = claims_of_message([later, first], {}, [], AROUND)
    assert [bool(places[0].doubts) for _, places in claimed] == [True, False]


def test_a_message_without_photos_claims_nothing():
    assert claims_of_message([], {0: layer("", "yesterday")}, [], AROUND) == []


SWAPPED, MIRRORED = "latitude and longitude may be swapped", "the sign of the longitude may be lost"


@pytest.mark.parametrize(
    ("point", "doubt", "offered"),
    [
        ((53.91, 21.71), "", None),
        ((52.1, 20.9), "", None),  # 200 km away: a trip
        ((48.2, 16.4), "", None),  # Vienna: nothing explains it, and it is not so far
        ((21.71, 53.91), SWAPPED, (53.91, 21.71)),
        ((53.91, -21.71), MIRRORED, (53.91, 21.71)),
        ((-3.1, -60.0), "outside what lies around the survey's sites", None),  # Brazil
    ],
)
def test_without_an_area_the_sites_tell_that_a_fix_is_far_away(point, doubt, offered):
    one = photo(gps_latitude=point[0], gps_longitude=point[1])
    for message, answers in (({}, []), ({0: layer("", f"{point[0]}, {point[1]}")}, [])):
        ((_, places),) = claims_of_message([one], message, answers, AROUND)
        for claim in places:
            assert [d for d in claim.doubts if "survey's sites" in d][:1] == (
                [d for d in claim.doubts if doubt in d][:1] if doubt else []
            )
            assert claim.offered == offered
    ((_, places),) = claims_of_message([one], {}, [], replace(AROUND, places=[]))
    assert not any("survey" in doubt for doubt in places[0].doubts)


@pytest.mark.parametrize(
    ("text", "shown", "doubted"),
    [
        ("At Heron Mere.", "2026-06-14T02:05:00", True),  # the sun is 11 degrees below
        ("At Heron Mere.", "2026-06-14T14:05:00", False),
        ("At Heron Mere.", "2026-06-14T21:30:00", False),  # dusk
        ("A nice one.", "2026-06-14T02:05:00", False),  # nothing tells where
        ("Not at Heron Mere.", "2026-06-14T02:05:00", False),
    ],
)
def test_a_camera_without_a_receiver_shows_the_night_where_its_mail_says_it_was(
    text, shown, doubted
):
    one = photo(date_time_original=shown)
    ((times, _),) = claims_of_message([one], {0: layer("", text)}, [], AROUND)
    (clock,) = [claim for claim in times if claim.source == "camera clock"]
    assert any("dark" in doubt or "night" in doubt for doubt in clock.doubts) is doubted
