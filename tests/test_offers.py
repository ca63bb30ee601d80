"""What is offered to settle a message: sites that may be meant, days, and a clock put right."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st
from records_made import site

from triage.inbox.offers import (
    MEANT,
    ClaimedPhoto,
    NearbySite,
    meant,
    nearest_first,
    offered_times,
    preview,
    typed_clock,
)
from triage.metadata.camera_clock import CameraCorrection
from triage.metadata.capture_time import TimeClaim
from triage.metadata.position import PlaceClaim

POOL, MERE, PIT = site("Alder Pool", 53.9), site("Heron Mere", 53.91), site("Bulrush Pit", 54.2)
SITES = (PIT, MERE, POOL)


def at(latitude: float | None, source: str = "gps", **more: object) -> PlaceClaim:
    return PlaceClaim(
        source=source,  # type: ignore[arg-type]
        decimal_latitude=latitude,
        decimal_longitude=None if latitude is None else 21.7,
        coordinate_uncertainty_in_meters=None if latitude is None else 10.0,
        **more,  # type: ignore[arg-type]
    )


def when(
    event_date: str, source: str = "camera clock", offered: str = "", doubt: str = ""
) -> TimeClaim:
    return TimeClaim(
        doubts=(doubt,) if doubt else (),
        source=source,  # type: ignore[arg-type]
        event_date=event_date,
        uncertainty_seconds=1.0,
        offered_event_date=offered,
    )


def photo(name: str, *claims: TimeClaim | PlaceClaim) -> ClaimedPhoto:
    return ClaimedPhoto(
        photo=name,
        file_name=f"{name}.jpg",
        times=tuple(one for one in claims if isinstance(one, TimeClaim)),
        places=tuple(one for one in claims if isinstance(one, PlaceClaim)),
        time=None,
        place=None,
    )


@given(st.floats(53.0, 55.0), st.permutations(SITES))
def test_sites_come_nearest_first_whatever_their_order(latitude, sites):
    found = nearest_first(sites, at(latitude))
    metres = [one.metres or 0.0 for one in found]
    assert metres == sorted(metres)
    assert [one.site for one in found] == sorted(
        SITES, key=lambda one: abs(one.decimal_latitude - latitude)
    )


def test_without_a_place_sites_come_by_name():
    found = nearest_first(SITES, None)
    assert [(one.site.locality, one.metres) for one in found] == [
        ("Alder Pool", None),
        ("Bulrush Pit", None),
        ("Heron Mere", None),
    ]


TEXT = "message site name"


@pytest.mark.parametrize(
    ("claims", "near", "names"),
    [
        ([], False, []),
        ([], True, ["Alder Pool", "Heron Mere", "Bulrush Pit"]),
        ([at(53.91, TEXT, location_id="Heron Mere")], False, ["Heron Mere"]),
        (
            [at(None, TEXT, doubts=("Alder Pool or Bulrush Pit may be meant",))],
            False,
            ["Alder Pool", "Bulrush Pit"],
        ),
        (
            [at(None, TEXT, note="near Heron Mere")],
            True,
            ["Heron Mere", "Alder Pool", "Bulrush Pit"],
        ),
        ([at(53.9, "gps", doubts=("Alder Pool is a private garden",))], False, []),
    ],
)
def test_sites_that_words_name_come_before_those_that_lie_near(claims, near, names):
    sites = nearest_first(SITES, at(53.9))
    assert [one.site.locality for one in meant(sites, [photo("a", *claims)], near=near)] == names


def test_no_more_sites_are_offered_than_there_are_keys():
    many = [NearbySite(site=site(f"Pool {n}"), metres=float(n)) for n in range(MEANT + 3)]
    assert meant(many, [photo("a")], near=True) == tuple(many[:MEANT])


@pytest.mark.parametrize(
    ("photos", "offered"),
    [
        ([], []),
        ([[when("2026-07-01")]], []),
        ([[when("2026-07-01", "message text")]], [("2026-07-01", "message text")]),
        ([[when("2025-07-01T10:00", offered="2026-07-01")]], [("2026-07-01", "camera clock")]),
        (
            [[when("2026-05-06/2026-06-05", "message text", doubt="2026-05-06 or 2026-06-05")]],
            [("2026-05-06", "message text"), ("2026-06-05", "message text")],
        ),
        (
            [[when("2026-07-11/2026-07-20", "message text", doubt="after the mail")]],
            [("2026-07-11/2026-07-20", "message text")],
        ),
        ([[when("2026-07-01", "message text")], [when("2026-07-02", "message text")]], []),
        (
            [
                [when("2026-07-01", "message text"), when("2026-07-02", "message text")],
                [when("2025-07-01T10:00", offered="2026-07-02")],
            ],
            [("2026-07-02", "message text")],
        ),
    ],
)
def test_a_day_is_offered_where_every_photo_could_be_of_it(photos, offered):
    shown = [photo(str(number), *claims) for number, claims in enumerate(photos)]
    assert [(one.event_date, one.source) for one in offered_times(shown)] == offered


def test_a_typed_clock_moves_every_photo_whose_camera_shows_a_time():
    shown = [
        photo("a", when("2025-07-01T10:00:00+02:00")),
        photo("b", when("2025-07-01")),
        photo("c", when("2025-07-01T10:00:05", "gps")),
        photo("d", when("2025-07-01T23:30:00+02:00")),
    ]
    found = typed_clock(shown, 3600.0)
    assert found.correction.photos == ("a", "d")
    assert found.changes == (
        ("a.jpg", "2025-07-01T10:00:00+02:00", "2025-07-01T11:00:00+02:00"),
        ("d.jpg", "2025-07-01T23:30:00+02:00", "2025-07-02T00:30:00+02:00"),
    )


@given(st.integers(-100_000, 100_000))
def test_a_correction_and_its_opposite_give_the_time_that_the_camera_showed(seconds: int):
    shown = [photo("a", when("2026-07-01T10:00:00+02:00"))]
    [(_, before, there)] = typed_clock(shown, float(seconds)).changes
    [(_, _, back)] = typed_clock([photo("a", when(there))], float(-seconds)).changes
    assert back == before


def test_a_camera_s_correction_changes_its_own_photos_alone():
    shown = [photo(name, when("2026-07-01T10:00:00+02:00")) for name in "ab"]
    one = CameraCorrection(
        camera="x", offset_seconds=60.0, uncertainty_seconds=0.0, photos=("b",), reason="GPS"
    )
    assert [name for name, *_ in preview(shown, one).changes] == ["b.jpg"]
