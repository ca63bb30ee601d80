"""Whatever stands behind "from the" or "at the" is another place, unless it is known to be none."""

from __future__ import annotations

import pytest

from triage.metadata.place_forms import offer_of_mention
from triage.metadata.place_kinds import unknown_spot


@pytest.mark.parametrize(
    "text",
    [
        "This one is from the brickworks.",
        "taken at the sewage works",
        "It sat at my swimming lesson",
        "Das Bild ist vom Baggersee.",
        "aus der Kleingartenanlage",
        "Wir wohnen in Altenau? Near Marling it was.",
        "zdjęcie z Krakowa",
        "It is from my sister's",
    ],
)
def test_an_unknown_thing_is_another_place(text: str):
    assert unknown_spot(text)


@pytest.mark.parametrize(
    "text",
    [
        "seen from the little footbridge",
        "at the edge of the reeds at the same time",
        "Sent from my phone",
        "vom Nordufer aus",
        "aus der Hand, vom Boot",
        "at the weekend, in July",
        "Dragonfly photo from my son",
        "A picture from our neighbour",
    ],
)
def test_a_part_of_the_shore_a_time_or_a_way_of_looking_is_none(text: str):
    assert unknown_spot(text) == ""


def test_a_site_that_hangs_by_of_on_another_thing_is_an_offer():
    assert offer_of_mention("Here is a calendar sheet of ", "Heron Mere", ", 3 August.")
    assert offer_of_mention("Here is a photo of ", "Heron Mere", ", 3 August.") == ""
