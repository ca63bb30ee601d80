"""Which claim stands for one exposure, whoever sent its copies."""

from __future__ import annotations

from dataclasses import replace
from types import SimpleNamespace

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.metadata.capture_time import PRECEDENCE, TimeClaim
from triage.metadata.choosing import Shown, choose, correction_for
from triage.metadata.position import PlaceClaim

ZONE = "Europe/Warsaw"
OWNER, OTHER = Shown(sender=1), Shown(sender=2)


def time(source: str, event_date: str, *, doubts: tuple[str, ...] = ()) -> TimeClaim:
    return TimeClaim(
        source=source,  # type: ignore[arg-type]
        event_date=event_date,
        uncertainty_seconds=60.0,
        verbatim=event_date,
        doubts=doubts,
    )


def place(source: str, latitude: float | None, *, doubts: tuple[str, ...] = ()) -> PlaceClaim:
    return PlaceClaim(
        source=source,  # type: ignore[arg-type]
        decimal_latitude=latitude,
        decimal_longitude=None if latitude is None else 21.7,
        coordinate_uncertainty_in_meters=None if latitude is None else 30.0,
        doubts=doubts,
    )


CAMERA = time("camera clock", "2026-06-14T12:00:00")
PHONE = time("camera clock", "2026-06-14T12:00:00+02:00")
YESTERDAY = time("message text", "2026-06-13")
SAME_DAY = time("message text", "2026-06-14")
BY_HAND = time("coordinator", "2026-06-10")


@pytest.mark.parametrize(
    ("times", "stands"),
    [
        ([], None),
        ([(CAMERA, OWNER)], CAMERA.event_date),
        ([(SAME_DAY, OWNER), (CAMERA, OWNER)], CAMERA.event_date),
        # a camera's clock, set by hand, loses against the sender's words; a phone's does not
        ([(CAMERA, OWNER), (YESTERDAY, OWNER)], YESTERDAY.event_date),
        ([(PHONE, OWNER), (BY_HAND, None)], BY_HAND.event_date),
        ([(CAMERA, OWNER), (BY_HAND, None)], BY_HAND.event_date),
        # who passed the photo on says nothing of when it was taken; his copy's file does
        ([(YESTERDAY, OTHER)], None),
        ([(CAMERA, OTHER)], CAMERA.event_date),
        ([(CAMERA, OWNER), (YESTERDAY, OTHER)], CAMERA.event_date),
        # what the coordinator says on any copy holds for the photo
        ([(CAMERA, OWNER), (BY_HAND, OTHER)], BY_HAND.event_date),
    ],
)
def test_the_time_that_stands(times, stands):
    chosen = choose(times, [], owner=1, zone=ZONE)
    assert (chosen.time and chosen.time.event_date) == stands


@pytest.mark.parametrize(
    ("places", "latitude"),
    [
        ([], None),
        ([(place("camera gps", 53.9), OTHER)], 53.9),
        ([(place("message site name", 53.8), OTHER)], None),
        ([(place("message site name", 53.8), OWNER), (place("camera gps", 53.9), OTHER)], 53.9),
        (
            [
                (place("camera gps", 0.0, doubts=("0, 0",)), OWNER),
                (place("message site name", 53.8), OWNER),
            ],
            53.8,
        ),
        ([(place("camera gps", 53.9), OWNER), (place("coordinator", 53.7), None)], 53.7),
        # a name that fits two sites has no coordinates, and a doubted point has
        (
            [
                (place("sender's answer", None, doubts=("two sites",)), None),
                (place("camera gps", 53.9, doubts=("old fix",)), OWNER),
            ],
            53.9,
        ),
    ],
)
def test_the_place_that_stands(places, latitude):
    chosen = choose([], places, owner=1, zone=ZONE)
    assert (chosen.place and chosen.place.decimal_latitude) == latitude


def test_a_corrected_clock_stands_without_its_doubts():
    doubted = time("camera clock", "2000-01-01T00:10:00", doubts=("never set",))
    shown = Shown(sender=1, offset_seconds=9661 * 86_400.0)
    chosen = choose([(doubted, shown)], [], owner=1, zone=ZONE)
    assert chosen.time is not None
    assert chosen.time.event_date == "2026-06-14T00:10:00"
    assert (chosen.time.doubts, chosen.clock_doubts) == ((), ())


def test_a_corrected_clock_that_still_shows_its_first_day_stays_in_doubt():
    doubted = time("camera clock", "2000-01-01T00:10:00", doubts=("never set",))
    chosen = choose([(doubted, Shown(sender=1, offset_seconds=3600.0))], [], owner=1, zone=ZONE)
    assert chosen.time is not None
    assert chosen.time.event_date == "2000-01-01T01:10:00"
    assert "2000-01-01 is what a clock shows that was never set" in chosen.clock_doubts


@pytest.mark.parametrize("claim", [YESTERDAY, time("camera clock", "2026-06-14")])
def test_only_a_camera_that_shows_an_hour_is_corrected(claim):
    shown = Shown(sender=1, offset_seconds=3600.0)
    chosen = choose([(claim, shown)], [], owner=1, zone=ZONE)
    assert chosen.time == claim


@pytest.mark.parametrize(
    ("settled_by", "doubts"),
    [
        (None, ("never set",)),
        ("message text", ("never set",)),
        ("coordinator", ()),
        ("sender's answer", ()),
    ],
)
def test_a_doubt_of_the_clock_is_shown_until_a_person_settles_it(settled_by, doubts):
    claims = [(time("camera clock", "2000-01-01T00:10:00", doubts=("never set",)), OWNER)]
    if settled_by:
        claims.append((time(settled_by, "2026-06-14"), OWNER))
    assert choose(claims, [], owner=1, zone=ZONE).clock_doubts == doubts


ANSWER = time("sender's answer", "2026-06-10")
THE_CLOCK = ", the camera clock says 2026-06-14 12:00:00"


@pytest.mark.parametrize(
    ("times", "doubts"),
    [
        ([CAMERA, BY_HAND], (f"what you typed is 2026-06-10{THE_CLOCK}",)),
        ([CAMERA, ANSWER], (f"the answer is 2026-06-10{THE_CLOCK}",)),
        ([PHONE, ANSWER], (f"the answer is 2026-06-10{THE_CLOCK}+02:00",)),
        ([CAMERA, YESTERDAY, BY_HAND], (f"what you typed is 2026-06-10{THE_CLOCK}",)),
        # the mail had said so before: the clock and the words were in front of whoever typed
        ([CAMERA, YESTERDAY, time("coordinator", "2026-06-13")], ()),
        ([CAMERA, YESTERDAY, time("sender's answer", "2026-06-13")], ()),
        ([CAMERA, ANSWER, BY_HAND], ()),
        # a clock that was in doubt is what they answered
        ([time("camera clock", "2020-01-01T00:03:10", doubts=("never set",)), BY_HAND], ()),
        ([CAMERA, time("coordinator", "2026-06-14")], ()),
        ([CAMERA, time("coordinator", "2026-06-13/2026-06-14")], ()),
    ],
)
def test_a_sure_clock_against_what_a_person_says_is_seen_with_both(times, doubts):
    chosen = choose([(claim, OWNER) for claim in times], [], owner=1, zone=ZONE)
    assert chosen.time is not None
    assert chosen.time.source in ("coordinator", "sender's answer")
    assert (chosen.clock_doubts, chosen.said_against) == ((), doubts)
    assert chosen.offered_date == (times[0].event_date if doubts else "")


@pytest.mark.parametrize(
    ("camera", "corrections", "stands"),
    [
        ("Maker One", {}, None),
        ("Maker One", {"Maker One": 6}, 6),
        ("Maker One", {"": 3}, 3),
        ("Maker One", {"": 3, "Maker One": 6}, 6),
        ("Maker One", {"": 7, "Maker One": 6}, 7),
        ("", {"Maker One": 6}, None),
    ],
)
def test_a_correction_is_of_its_camera_or_of_all_and_the_newest(camera, corrections, stands):
    known = {name: SimpleNamespace(action=number) for name, number in corrections.items()}
    found = correction_for(camera, known)
    assert (found and found.action) == stands


CLAIMS = st.builds(
    time,
    st.sampled_from(PRECEDENCE),
    st.sampled_from(["2026-06-13", "2026-06-14T12:00:00", "2026-06-14T12:00:00+02:00"]),
    doubts=st.sampled_from([(), ("odd",)]),
)


@settings(deadline=None)
@given(st.lists(st.tuples(CLAIMS, st.sampled_from([OWNER, OTHER, None]))))
def test_what_a_person_says_last_resort_or_not_is_never_outranked_by_a_file(times):
    chosen = choose(times, [], owner=1, zone=ZONE)
    heard = [claim for claim, shown in times if shown is not OTHER]
    if any(claim.source == "coordinator" for claim in heard):
        assert chosen.time is not None
        assert chosen.time.source == "coordinator"
    assert chosen == choose(times, [], owner=1, zone=ZONE)


@pytest.mark.parametrize(
    "order",
    [(1, 2), (2, 1)],
    ids=["in the order said", "in another order"],
)
def test_of_two_words_of_the_coordinator_the_newest_stands(order):
    times = [(replace(time("coordinator", f"2026-06-0{said}"), said=said), None) for said in order]
    places = [(replace(place("coordinator", 50.0 + said), said=said), None) for said in order]
    chosen = choose(times, places, owner=1, zone=ZONE)
    assert chosen.time is not None
    assert chosen.place is not None
    assert (chosen.time.event_date, chosen.place.decimal_latitude) == ("2026-06-02", 52.0)


@pytest.mark.parametrize(("date_said", "stands"), [(1, "2026-06-14T13:00:00"), (3, "2026-06-10")])
def test_a_corrected_clock_and_a_typed_date_stand_by_which_was_said_later(date_said, stands):
    typed = (replace(BY_HAND, said=date_said), None)
    shown = Shown(sender=1, offset_seconds=3600.0, corrected_by=2)
    chosen = choose([(CAMERA, shown), typed], [], owner=1, zone=ZONE)
    assert chosen.time is not None
    assert (chosen.time.event_date, chosen.clock_doubts) == (stands, ())


def test_a_corrected_clock_settles_the_doubts_of_every_clock_of_the_photo():
    gps = time("gps clock", "2026-06-14T10:00:00+02:00", doubts=("45 h before the camera",))
    shown = Shown(sender=1, offset_seconds=60.0, corrected_by=2)
    chosen = choose([(CAMERA, shown), (gps, shown)], [], owner=1, zone=ZONE)
    assert chosen.clock_doubts == ()


def test_what_the_coordinator_says_of_the_place_leaves_no_doubt():
    doubted = place("camera gps", 53.9, doubts=("old fix",))
    assert choose([], [(doubted, OWNER)], owner=1, zone=ZONE).place_doubts == ("old fix",)
    both = [(doubted, OWNER), (place("coordinator", 53.7), None)]
    assert choose([], both, owner=1, zone=ZONE).place_doubts == ()


SWAPPED = replace(
    place("camera gps", 21.7, doubts=("latitude and longitude may be swapped",)),
    offered=(53.9, 21.7),
)
NAMED = replace(
    place("message site name", 53.8, doubts=("the mail only mentions it",)), location_id="A"
)


@pytest.mark.parametrize(
    ("places", "latitude"),
    [
        ([SWAPPED], 53.9),
        ([SWAPPED, NAMED], 53.9),
        ([NAMED], 53.8),
        ([NAMED, replace(NAMED, location_id="B")], None),
        ([replace(NAMED, doubts=())], None),  # nothing is in doubt
        ([SWAPPED, place("coordinator", 53.0)], None),
    ],
)
def test_what_a_doubt_of_the_place_offers(places, latitude):
    offered = choose([], [(one, OWNER) for one in places], owner=1, zone=ZONE).offered_place
    assert (offered and offered.decimal_latitude) == latitude
    assert offered is None or offered.doubts == ()


def test_one_date_that_is_offered_is_an_offer_and_two_are_none():
    night = replace(CAMERA, doubts=("dark",), offered_event_date="2026-06-14T14:00:00")
    other = replace(night, offered_event_date="2026-06-15")
    assert choose([(night, OWNER)], [], owner=1, zone=ZONE).offered_date == "2026-06-14T14:00:00"
    assert choose([(night, OWNER), (other, OWNER)], [], owner=1, zone=ZONE).offered_date == ""
    assert choose([(night, OWNER), (BY_HAND, None)], [], owner=1, zone=ZONE).offered_date == ""
