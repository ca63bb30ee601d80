"""Names of sites as people write them; slips are read, other ponds are not, doubts are asked."""

import pytest

from triage.metadata.position import NamedPlace
from triage.metadata.text_places import find_sites, fold


def site(location_id, locality, *aliases):
    return NamedPlace(
        location_id=location_id,
        locality=locality,
        aliases=aliases,
        decimal_latitude=53.9,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=150.0,
    )


SITES = [
    site("S1", "Heron Mere", "the heronry"),
    site("S2", "Alder Pool", "alders", "Erlenteich"),
    site("S3", "Kingcup Marsh", "north marsh"),
    site("S4", "Otter Reach"),
    site("S5", "Bulrush Pit", "Rohrkolbengrube"),
    site("S6", "Upper Mill Pond", "mill pond"),
    site("S7", "Lower Mill Pond", "mill pond"),
    site("S8", "Pit 12"),
    site("S9", "Pit 13"),
    site("S10", "Jezioro Święte"),
    site("S11", "Long"),
]


def found(text):
    claims, questions, _ = find_sites(text, SITES)
    return [claim.location_id for claim in claims if not claim.doubts], claims, questions


@pytest.mark.parametrize(
    ("text", "location_id"),
    [
        ("Seen at Alder Pool yesterday", "S2"),
        ("ALDER POOL", "S2"),
        ("alder pool", "S2"),
        ("Alder-Pool", "S2"),
        ("Alder  Pool's east bank", "S2"),
        ("Alderpool", "S2"),
        ("am Erlenteich", "S2"),
        ("Alder Poll", "S2"),
        ("Aldr Pool", "S2"),
        ("Kingcup Mash", "S3"),
        ("Kingcupp Marsh", "S3"),
        ("Bullrush Pit", "S5"),
        ("at Bullrush Pitt", "S5"),
        ("Herron Mere", "S1"),
        ("the heronry", "S1"),
        ("Pit 12", "S8"),
        ("jezioro swiete", "S10"),
        ("Jezioro Święte", "S10"),
        ("Upper Mill Pond", "S6"),
        ("LOWER MILL POND", "S7"),
        ("Otter Reach (otter reach)", "S4"),
        ("at Long this morning", "S11"),
    ],
)
def test_a_site_is_read_by_name_alias_or_slip(text, location_id):
    sure, claims, questions = found(text)
    assert sure == [location_id], claims
    assert questions == []
    assert claims[0].source == "message site name"
    assert claims[0].decimal_latitude == 53.9


@pytest.mark.parametrize(
    "text",
    [
        "seen at the pool",
        "a pond near the mill",
        "Pit 14",
        "Pit 1",
        "South Marsh",
        "north pond",
        "Middle Pool",
        "older pool",
        "the old mere",
        "a long walk",
        "Heron and coot on the lake",
        "an otter within reach",
        "alder trees around the pool",
        "",
    ],
)
def test_other_words_are_no_site(text):
    sure, claims, _ = found(text)
    assert sure == [], claims


@pytest.mark.parametrize("label", ["SITE", "LOCATION", "ORT", "MIEJSCE", "LIEU"])
def test_a_field_of_a_form_that_asks_for_the_place_needs_no_likeness(label: str):
    remarks = "MY NEIGHBOUR SAYS IT IS RARE, HE SAW ONE ON THE COAST."
    text = f"{label}: OTTER REACH\nDATE: 26 AUGUST 2026\nREMARKS: {remarks}"
    assert found(text)[0] == ["S4"]


def test_a_name_of_two_sites_is_asked():
    sure, claims, questions = found("at the mill pond")
    assert sure == []
    assert claims[0].decimal_latitude is None
    assert claims[0].doubts == (
        "the name fits several sites: Upper Mill Pond (S6), Lower Mill Pond (S7)",
    )
    assert questions == ["Which site is mill pond: Upper Mill Pond (S6), Lower Mill Pond (S7)?"]


def test_a_name_only_like_a_site_is_asked():
    sure, claims, questions = found("at Otter Beach")
    assert sure == []
    assert claims[0].location_id == "S4"
    assert questions == ["Is Otter Beach the site Otter Reach?"]


def test_several_sites_are_all_claimed_doubted_and_asked():
    sure, claims, questions = found("First Alder Pool, then Heron Mere")
    assert sure == []
    assert {claim.location_id for claim in claims} == {"S1", "S2"}
    assert questions == ["Which site is the photo from: Alder Pool, Heron Mere?"]


def test_a_slip_is_noted():
    _, claims, _ = found("at Alder Poll")
    assert claims[0].note == "Alder Poll read as Alder Pool"
    assert claims[0].verbatim == "Alder Poll"


def test_the_longest_name_wins():
    sites = [site("A", "Mill Pond"), site("B", "Mill Pond North")]
    claims, _, _ = find_sites("at Mill Pond North", sites)
    assert [claim.location_id for claim in claims] == ["B"]


def test_a_survey_without_sites_finds_none():
    assert find_sites("at Alder Pool", []) == ([], [], [])


def test_folding_forgets_case_diacritics_and_punctuation():
    assert fold("  JEZIORO  Święte-Małe (płn.) ") == "jezioro swiete male pln"


HALVES = [
    site("W", "Sedge Pond (West)"),
    site("E", "Sedge Pond (East)"),
]


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("Seen yesterday at Sedge Pond, the western one.", {"W"}),
        ("Gestern am östlichen Sedge Pond fotografiert.", {"E"}),
        ("Wczoraj nad zachodnim Sedge Pond.", {"W"}),
        ("Vue hier au Sedge Pond, celui de l'est.", {"E"}),
        ("Seen yesterday at Sedge Pond (East).", {"E"}),
        ("Seen yesterday on the west bank of Sedge Pond.", {""}),
        ("Vue hier au Sedge Pond, elle est belle.", {""}),
        ("Seen yesterday at Sedge Pond, whether east or west I forget.", {""}),
    ],
)
def test_sites_of_one_name_are_told_apart_by_their_quarter_or_asked(text: str, meant: set[str]):
    claims, questions, _ = find_sites(text, HALVES)
    assert {claim.location_id for claim in claims} == meant
    if meant == {""}:
        assert questions[0].startswith("Which site is Sedge Pond: Sedge Pond (East)")


@pytest.mark.parametrize(
    "text",
    [
        "We were at Heron Mere and then at Otter Reach; the photo is from today.",
        "At Otter Reach first, and then at Heron Mere.",
        "Wir waren am Otter Reach und dann am Heron Mere; das Bild ist von heute.",
        "We saw few at Heron Mere, then at Otter Reach many.",
        "Neither from Heron Mere nor from Otter Reach.",
        "At Heron Mere or Otter Reach.",
    ],
)
def test_of_two_sites_none_is_chosen_unseen_however_they_are_doubted(text):
    sure, claims, _ = found(text)
    assert not sure
    doubt = "the text names several sites: Heron Mere, Otter Reach"
    assert all(doubt in claim.doubts for claim in claims), claims
    assert len(claims) == 2
