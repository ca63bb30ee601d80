"""What people type by hand becomes a record or is refused: sites, names of lots, decisions."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest
import records_made as made

from triage.checklist import Checklist, Taxon
from triage.errors import UnknownError
from triage.exuviae import LabelProblem, new_site
from triage.exuviae.named_again import held_by, named_again
from triage.inbox import Settlement
from triage.sightings import SightingRow, member_of

HERON = replace(made.site("HM"), locality="Heron Mere", aliases=("The Mere",))
CHECKLIST = Checklist(
    [Taxon(scientific_name=name, rank="species") for name in ("Aeshna mixta", "Anax imperator")]
)
DAY = date(2026, 7, 1)


def test_a_site_has_the_same_identifier_for_the_same_name_and_point():
    one = new_site("  Otter   Reach ", 53.1234567, 21.7, [HERON], habitat=" slow  river ")
    assert (one.locality, one.decimal_latitude, one.habitat) == (
        "Otter Reach",
        53.12346,
        "slow river",
    )
    assert one.location_id == new_site("Otter Reach", 53.1234567, 21.7, []).location_id
    assert one.location_id != new_site("Otter Reach", 53.2, 21.7, []).location_id


@pytest.mark.parametrize(
    ("name", "latitude", "longitude", "what"),
    [
        ("  ", 53.0, 21.0, "needs a name"),
        ("Otter Reach", None, 21.0, "needs a point"),
        ("Otter Reach", 91.0, 21.0, "needs a point"),
        ("Otter Reach", float("nan"), 21.0, "needs a point"),
        ("heron mere", 53.0, 21.0, "is called so"),
        ("the mere", 53.0, 21.0, "is called so"),
    ],
)
def test_a_site_without_name_or_point_or_of_a_name_that_is_taken_is_refused(
    name: str, latitude: float | None, longitude: float, what: str
):
    with pytest.raises(UnknownError, match=what):
        new_site(name, latitude, longitude, [HERON])


def test_a_lot_named_again_keeps_its_number_and_count():
    lot = made.lot("7", "Aeshna sp.", 4, identification_qualifier="cf.")
    named = named_again(lot, CHECKLIST, name="Aeshna mixta", identified_by=" Ida  Kvist", day=DAY)
    assert not isinstance(named, LabelProblem)
    assert (named.catalog_number, named.individual_count) == (lot.catalog_number, 4)
    assert (named.scientific_name, named.identified_by) == ("Aeshna mixta", "Ida Kvist")
    assert (named.date_identified, named.identification_qualifier) == ("2026-07-01", "")


def test_a_name_that_the_checklist_lacks_is_asked_about_unless_it_is_meant_so():
    lot = made.lot("7", "Aeshna sp.")
    asked = named_again(lot, CHECKLIST, name="Aeshna mixtra", identified_by="Ida", day=DAY)
    assert isinstance(asked, LabelProblem)
    assert "Aeshna mixta" in asked.near
    meant = named_again(
        lot, CHECKLIST, name="Aeshna grandis", identified_by="Ida", day=DAY, as_written=True
    )
    assert not isinstance(meant, LabelProblem)
    assert meant.scientific_name == "Aeshna grandis"


def test_the_log_says_what_a_label_holds():
    assert held_by([]) == "a visit that found nothing"
    lots = [made.lot("7/1", "Aeshna mixta", 3), made.lot("7/2", "Anax imperator", 2)]
    assert held_by(lots) == "jar 7, 5 exuviae"


@pytest.mark.parametrize(
    ("decided", "of_photo"),
    [
        ({}, set()),
        ({"date": "2026-06-01"}, {"time p"}),
        ({"site": "HM"}, {"place p"}),
        ({"take_offer": True}, {"time p", "place p"}),
        ({"camera_offset_seconds": 0.0}, {"time p"}),
        ({"photographer": "Ada"}, {"photographer p"}),
        ({"accept": True}, {"state m"}),
    ],
)
def test_a_decision_speaks_of_what_it_changes(decided: dict[str, object], of_photo: set[str]):
    found = set(Settlement(**decided).speaks_of("m", ["p"]))  # type: ignore[arg-type]
    assert found == {"message m"} | of_photo


def test_a_photo_of_a_sighting_is_meant_by_its_first_digits():
    row = SightingRow(identifier="s", observer=1, members=(("abcdef1", 1), ("abcdee2", 2)))
    assert member_of(row, "ABCDEF") == ("abcdef1", 1)
    assert row.photos == ("abcdef1", "abcdee2")
    for typed in ("fedcba", "abc"):
        with pytest.raises(UnknownError):
            member_of(row, typed)
