"""What no figure counts, and why: each record is lost to one reason at most."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pictures_made import MEASURED

from triage.report import losses
from triage.sightings import Sighting

SEEN = replace(MEASURED, usability=0.9)


def counts(found) -> dict[str, int]:
    return {one.reason: one.count for one in found if one.count}


def test_messages_that_wait_or_were_set_aside_are_counted():
    found = losses.message_losses(["open", "open", "settled", "waiting", "set aside"])
    assert [one.count for one in found] == [2, 1, 1]
    assert {one.total for one in found} == {5}


@pytest.mark.parametrize(
    ("measured", "copy", "reason"),
    [
        (None, False, losses.NOT_READ),
        (SEEN, False, losses.OTHER),
        (SEEN, True, losses.COPY),
        (None, True, losses.COPY),
        (replace(SEEN, kind="exuvia"), False, losses.NO_ADULT),
        (replace(SEEN, odonate=0.1), False, losses.NO_INSECT),
        (replace(SEEN, odonate=0.5), False, losses.OTHER),
    ],
)
def test_a_photo_in_no_sighting_has_one_reason(measured, copy, reason):
    found = losses.photo_losses(
        {"p": measured}, total=1, copies=("p",) if copy else (), least_odonate=0.5
    )
    assert counts(found) == {reason: 1}


def test_a_photo_that_is_used_is_not_lost():
    found = losses.photo_losses({}, total=1, copies=(), least_odonate=0.5)
    assert counts(found) == {}
    assert {one.total for one in found} == {1}


@pytest.mark.parametrize(
    ("facts", "reason"),
    [
        ({"state": "set aside"}, "set aside (not an adult, or by hand)"),
        ({"event_date": ""}, "no date"),
        ({"event_date": "2026-07"}, "date not known to the day"),
        ({"decimal_latitude": None}, "no place"),
        ({"coordinate_uncertainty_in_meters": 1001.0}, "place not known to 1 km"),
        ({"state": "queued"}, "not looked at by a determiner yet"),
        ({"state": "second opinion"}, "waiting for a second look: counted under no name"),
        ({"state": "undeterminable"}, "cannot be determined from its photos"),
        ({"taxon_rank": "genus"}, "named to a coarser rank than species"),
    ],
)
def test_a_sighting_is_lost_to_what_it_lacks(facts, reason):
    whole = Sighting(
        identifier="s",
        observer="P-1",
        event_date="2026-07-01",
        decimal_latitude=53.9,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=50.0,
        state="determined",
        scientific_name="Aeshna mixta",
        taxon_rank="species",
    )
    assert counts(losses.sighting_losses([whole])) == {}
    assert counts(losses.sighting_losses([replace(whole, **facts)])) == {reason: 1}


def test_values_of_unknown_sites_and_unresolved_lots_are_counted():
    found = losses.search_losses({"A"}, [], [], ["A", "B", "B"], unresolved=2)
    lost = {(one.stage, one.reason): (one.count, one.total) for one in found}
    assert lost["site values", "of a site that is not imported"] == (2, 3)
    assert lost["lots", "bears a name that the checklist does not resolve"] == (2, 2)
