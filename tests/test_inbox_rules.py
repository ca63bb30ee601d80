"""What a message needs and where it stands, case by case, without a survey."""

from __future__ import annotations

from dataclasses import replace
from datetime import date

import pytest

from triage.errors import UnknownError
from triage.exuviae import Site
from triage.inbox import (
    MessageFacts,
    Need,
    PhotoFacts,
    Settlement,
    Wording,
    coordinator_time,
    needs_of,
    order_of,
    place_of_site,
    place_said,
    refuse_two_places,
    state_of,
    taken_offers,
    typed_place,
)
from triage.metadata.capture_time import TimeClaim
from triage.metadata.choosing import Chosen
from triage.metadata.position import PlaceClaim

GOOD = PhotoFacts(
    photo="a" * 64,
    file_name="p.jpg",
    problem="",
    odonate=0.9,
    kind="adult",
    faces=0,
    publication="",
    has_time=True,
    has_place=True,
    others_who_sent_it=0,
    in_sighting=True,
    repeats="",
)
CLOCK = Need(kind="clock", text="a clock")


@pytest.mark.parametrize(
    ("changed", "kinds"),
    [
        ({}, []),
        ({"problem": "broken", "has_time": False}, ["unreadable"]),
        ({"odonate": None}, ["not examined"]),
        ({"has_place": False}, ["place"]),
        ({"place_doubts": ("far away",)}, ["place doubt"]),
        ({"has_time": False}, ["date"]),
        ({"clock_doubts": ("in winter",)}, ["clock"]),
        ({"date_doubts": ("3 or 8 April",)}, ["date doubt"]),
        ({"has_place": False, "has_time": False}, ["place", "date"]),
        ({"others_who_sent_it": 1}, ["two senders"]),
        ({"kind": "exuvia", "has_place": False}, ["not an adult"]),
        ({"odonate": 0.1, "in_sighting": False, "kind": "hand"}, ["not an adult"]),
        ({"odonate": 0.1, "in_sighting": True, "kind": "hand"}, []),
        ({"odonate": 0.1, "in_sighting": False, "has_place": False}, ["no insect"]),
        ({"odonate": 0.1, "in_sighting": True}, []),
        ({"faces": 1}, ["people"]),
        ({"faces": 1, "publication": "cleared"}, []),
        ({"repeats": "b" * 64, "has_place": False}, []),
    ],
)
def test_a_photo_needs_what_it_lacks(changed, kinds):
    found = needs_of([replace(GOOD, **changed)], links=(), other_files=(), least_odonate=0.5)
    assert [need.kind for need in found] == kinds


@pytest.mark.parametrize("kind", ["exuvia", "larva", "hand"])
def test_skins_larvae_and_hands_ask_for_the_lot(kind):
    photo = replace(GOOD, kind=kind, odonate=0.1, in_sighting=False)
    (need,) = needs_of([photo], links=(), other_files=(), least_odonate=0.5)
    assert "lot in" in need.text
    assert ("proof of breeding" in need.text) == (kind == "exuvia")


@pytest.mark.parametrize(
    ("changed", "text"),
    [
        ({"has_place": False}, "p.jpg: no place"),
        ({"has_place": False, "place_doubts": ("a", "b")}, "p.jpg: no place: a; b"),
        ({"place_doubts": ("far away",)}, "p.jpg: far away"),
        (
            {"kind": "exuvia"},
            "p.jpg: seems to show an exuvia. If the skin was collected, type its lot in. "
            "An adult that hangs from its skin is proof of breeding: add it as an animal",
        ),
        ({"kind": "larva"}, "p.jpg: seems to show a larva. If it was collected, type its lot in"),
        (
            {"odonate": 0.1, "in_sighting": False, "kind": "hand"},
            "p.jpg: seems to show a hand. If a skin or a larva lies in it, type the lot in",
        ),
        (
            {"odonate": 0.1, "in_sighting": False, "kind": "unsure"},
            "p.jpg: seems to show no dragonfly",
        ),
        (
            {"odonate": 0.36, "in_sighting": False, "kind": "other insect"},
            "p.jpg: seems to show another insect; perhaps an adult (36%)",
        ),
        ({"file_name": "", "problem": "broken"}, f"{'a' * 12}: broken"),
        ({"file_name": "", "odonate": None}, f"{'a' * 12}: not examined yet"),
    ],
)
def test_a_row_says_which_photo_and_what_is_wrong_with_it(changed, text):
    (need,) = needs_of([replace(GOOD, **changed)], links=(), other_files=(), least_odonate=0.5)
    assert need.text == text
    assert need.photo == GOOD.photo


def test_the_least_that_counts_as_an_insect_is_a_setting():
    seen = replace(GOOD, odonate=0.4, in_sighting=False)
    for least, kinds in ((0.4, []), (0.41, ["no insect"])):
        found = needs_of([seen], links=(), other_files=(), least_odonate=least)
        assert [need.kind for need in found] == kinds


def test_an_answer_or_a_wish_without_photos_is_not_words_only():
    for said in (Wording(answers=True), Wording(delete="Please delete it.")):
        found = needs_of([], links=(), other_files=(), least_odonate=0.5, said=said)
        assert "no photo" not in [need.kind for need in found]


def test_a_link_beside_a_photo_is_no_row():
    found = needs_of([GOOD], links=("https://example.org/p",), other_files=(), least_odonate=0.5)
    assert found == []


@pytest.mark.parametrize(
    ("links", "files", "kinds"),
    [
        (("https://example.org/p",), (), ["link"]),
        ((), ("notes.doc",), ["other file"]),
        ((), (), ["no photo"]),
    ],
)
def test_a_message_without_photos_is_read_by_a_human(links, files, kinds):
    found = needs_of([], links=links, other_files=files, least_odonate=0.5)
    assert [need.kind for need in found] == kinds


@pytest.mark.parametrize(
    ("said", "kinds"),
    [
        ({"delete": "Please delete it."}, ["delete request"]),
        ({"several": "Two different ones."}, ["several animals"]),
        ({"distribution": "list Fen News", "several": "Two different ones."}, ["newsletter"]),
        ({"distribution": "list x", "delete": "Delete me."}, ["delete request", "newsletter"]),
        ({"answer": "says: 'No idea.'", "answers": True}, ["answer"]),
    ],
)
def test_what_the_words_ask_is_a_row_and_a_wish_to_be_deleted_the_first(said, kinds):
    found = needs_of(
        [replace(GOOD)], links=(), other_files=(), least_odonate=0.5, said=Wording(**said)
    )
    assert [need.kind for need in found] == kinds


@pytest.mark.parametrize(
    ("said", "photos", "kinds", "told"),
    [
        ({"earlier": ("abc",)}, 1, ["correction"], "it may be about an earlier one (abc)"),
        ({}, 1, ["correction"], "no earlier one is known"),
        ({"earlier": ("abc",)}, 0, ["correction"], "it may be about an earlier one (abc)"),
        ({}, 0, ["correction"], "no earlier one is known"),
        ({"answers": True}, 0, [], ""),
    ],
)
def test_words_that_correct_are_a_row_whether_or_not_an_earlier_mail_is_known(
    said, photos, kinds, told
):
    wording = Wording(correction="Correction: it was Saturday.", **said)
    found = needs_of([GOOD] * photos, links=(), other_files=(), least_odonate=0.5, said=wording)
    assert [need.kind for need in found] == kinds
    assert all(told in need.text for need in found)


@pytest.mark.parametrize(
    ("facts", "kinds"),
    [
        ({}, ["private place"]),
        ({"place_is_guarded": True}, []),
        ({"public_choice": "Heron Mere", "chosen_by": 7}, ["private place"]),
        ({"in_sighting": False, "repeats": "another"}, []),
    ],
)
def test_words_of_a_home_are_asked_about_until_its_place_is_guarded(facts, kinds):
    said = Wording(private="In my garden.")
    photo = replace(GOOD, **facts)
    found = needs_of([photo], links=(), other_files=(), least_odonate=0.5, said=said)
    assert [need.kind for need in found] == kinds


def test_a_wish_to_be_deleted_names_the_command_and_the_person():
    said = Wording(delete="Please delete it.", sender="bo@example.org")
    (need,) = needs_of([GOOD], links=(), other_files=(), least_odonate=0.5, said=said)
    assert "triage withdraw PHOTO" in need.fix
    assert "triage forget bo@example.org" in need.fix


@pytest.mark.parametrize(
    ("facts", "state"),
    [
        ({}, "settled"),
        ({"needs": (CLOCK,), "photos": (GOOD,)}, "open"),
        ({"automatic": "bounce", "needs": (CLOCK,)}, "set aside"),
        ({"hand_state": "settled", "needs": (CLOCK,)}, "settled"),
        ({"hand_state": "set aside", "needs": (CLOCK,)}, "set aside"),
        ({"hand_state": "waiting", "asked": True, "needs": (CLOCK,)}, "waiting"),
        ({"hand_state": "waiting", "asked": True, "answered": True, "needs": (CLOCK,)}, "open"),
        ({"hand_state": "open", "needs": ()}, "settled"),
        ({"answers": "ABCDE"}, "settled"),
        ({"answers": "ABCDE", "needs": (Need(kind="answer", text="No idea."),)}, "open"),
        ({"answers": "ABCDE", "photos": (GOOD,), "needs": (CLOCK,)}, "open"),
    ],
)
def test_a_message_stands_where_a_person_put_it_or_where_its_facts_do(facts, state):
    assert state_of(MessageFacts(**facts))[0] == state


def test_a_message_of_known_pictures_says_so():
    facts = MessageFacts(photos=(replace(GOOD, repeats="b" * 64),))
    assert state_of(facts) == ("settled", "every photo was sent before")


@pytest.mark.parametrize(
    ("photos", "reason"),
    [
        ((), "0 photos with time and place"),
        ((GOOD,), "1 photo with time and place"),
        ((GOOD, replace(GOOD, repeats="b" * 64)), "2 photos with time and place"),
        ((replace(GOOD, repeats="b" * 64),) * 2, "every photo was sent before"),
    ],
)
def test_a_settled_message_says_what_it_brought(photos, reason):
    assert state_of(MessageFacts(photos=photos)) == ("settled", reason)


@pytest.mark.parametrize(
    ("typed", "point"),
    [
        ("53.9, 21.7", (53.9, 21.7)),
        ("90,180", (90.0, 180.0)),
        ("-90,-180", (-90.0, -180.0)),
        ("90.1,0", None),
        ("-90.1,0", None),
        ("0,180.1", None),
        ("0,-180.1", None),
        ("53.9", None),
        ("53.9,21.7,30", None),
        ("nan,21.7", None),
        ("Heron Mere", None),
        ("a,b", None),
    ],
)
def test_typed_coordinates_lie_on_the_earth(typed, point):
    claim = typed_place(typed)
    assert (claim and (claim.decimal_latitude, claim.decimal_longitude)) == point


@pytest.mark.parametrize(("typed", "metres"), [("60.1,21.7", 12_553), ("60.001,21.72", 225)])
def test_typed_coordinates_are_as_wide_as_their_digits_say(typed: str, metres: float):
    """100 m and what a step leaves open at 60 degrees: 12,461 m for 0.1, 125 m for 0.001.

    Chapman & Wieczorek (2020), table of uncertainty due to coordinate precision.
    """
    claim = typed_place(typed)
    assert claim is not None
    assert claim.coordinate_uncertainty_in_meters == pytest.approx(metres, abs=1)


def test_the_worst_and_the_oldest_come_first_and_who_waits_last():
    rows = [
        ("waiting", [Need(kind="unreadable", text="")], "2026-06-01", "a"),
        ("open", [CLOCK], "2026-06-02", "b"),
        ("open", [CLOCK], "2026-06-01", "c"),
        ("open", [Need(kind="place", text="")], "2026-06-03", "d"),
    ]
    assert [row[3] for row in sorted(rows, key=lambda row: order_of(*row))] == list("dcba")


@pytest.mark.parametrize(
    ("typed", "seconds"),
    [("2026-07-01", 86_400), ("2026-07-01T10:15", 60), ("2026-07-01/2026-07-03", 86_400)],
)
def test_a_typed_day_is_known_to_the_day_and_a_time_to_the_minute(typed, seconds):
    claim = coordinator_time(typed)
    assert (claim.event_date, claim.uncertainty_seconds) == (typed, seconds)


@pytest.mark.parametrize(
    ("typed", "kept", "seconds"),
    [
        ("1.7.2026", "2026-07-01", 86_400),
        (" 01.07.2026 10:15", "2026-07-01T10:15", 60),
        ("2026-07-01 10:15", "2026-07-01T10:15", 60),
        ("1.7.2026T10:15", "2026-07-01T10:15", 60),
        ("1.7.2026/3.7.2026", "2026-07-01/2026-07-03", 86_400),
    ],
)
def test_a_day_typed_otherwise_is_kept_as_the_standard_writes_it(typed, kept, seconds):
    claim = coordinator_time(typed)
    assert (claim.event_date, claim.uncertainty_seconds) == (kept, seconds)
    assert claim.verbatim == typed


@pytest.mark.parametrize(
    "typed",
    [
        *("yesterday", "2026-13-01", "31.06.2026", "7.2026", "1.7.26", ""),
        *("2026-07-03/2026-07-01", "3.7.2026/1.7.2026", "1726-07-01"),
    ],
)
def test_what_is_no_date_is_refused(typed):
    with pytest.raises(UnknownError):
        coordinator_time(typed)


def test_no_photo_is_of_a_day_to_come():
    with pytest.raises(UnknownError, match="no photo"):
        coordinator_time("2126-07-01", latest=date(2026, 7, 2))
    assert coordinator_time("2026-07-02T10:15", latest=date(2026, 7, 2)).event_date


@pytest.mark.parametrize(
    "decided",
    [
        {},
        {"new_person": True},
        {"accept": True, "set_aside": "double"},
        {"ask": "place", "accept": True},
        {"ask": "place", "set_aside": "double", "site": "HM"},
    ],
)
def test_a_decision_decides_something_and_leaves_a_message_in_one_state(decided):
    with pytest.raises(UnknownError):
        Settlement(**decided).refuse_contradiction()


@pytest.mark.parametrize(
    "decided", [{"site": "HM", "accept": True}, {"date": "2026-07-01"}, {"set_aside": "double"}]
)
def test_a_decision_with_its_place_or_day_is_no_contradiction(decided):
    Settlement(**decided).refuse_contradiction()


def site(name: str, *aliases: str) -> Site:
    return Site(
        location_id=name[:2].upper(),
        locality=name,
        aliases=aliases,
        decimal_latitude=53.9,
        decimal_longitude=21.7,
        coordinate_uncertainty_in_meters=50,
    )


@pytest.mark.parametrize("typed", ["Heron Mere", "HERON MERE", "he", "The Mere"])
def test_a_site_is_found_by_any_of_its_names(typed):
    sites = [site("Heron Mere", "the mere"), site("Alder Pool")]
    assert place_of_site(sites, typed).locality == "Heron Mere"


def test_a_name_of_two_sites_chooses_neither():
    with pytest.raises(UnknownError, match="2 sites"):
        place_of_site([site("Heron Mere", "pond"), site("Alder Pool", "Pond")], "pond")


def test_a_settlement_says_in_words_what_was_decided():
    said = Settlement(site="HM", date="2026-07-01", camera_offset_seconds=-3600)
    assert said.words == "site HM, date 2026-07-01, camera clock -1h"
    assert Settlement().words == "looked at"


@pytest.mark.parametrize(
    ("decided", "left"),
    [
        ({"set_aside": "double", "site": "HM"}, ("set aside", "double")),
        ({"ask": "place"}, ("waiting", "asked: place (q-1.eml)")),
        ({"accept": True, "site": "HM"}, ("settled", "accepted as it is")),
        ({"site": "HM"}, ("open", "site HM")),
    ],
)
def test_a_decision_leaves_a_message_in_the_state_that_it_names(decided, left):
    assert Settlement(**decided).leaves("q-1.eml") == left


OFFERED = PlaceClaim(
    source="sender's answer",
    decimal_latitude=53.9,
    decimal_longitude=21.7,
    coordinate_uncertainty_in_meters=100,
)
NIGHT = TimeClaim(source="camera clock", event_date="2026-07-01T02:00", uncertainty_seconds=60)


@pytest.mark.parametrize(
    ("chosen", "day", "source"),
    [
        (Chosen(time=None, place=None), None, None),
        (Chosen(time=NIGHT, place=None, offered_date="2026-07-01"), None, None),  # no doubt
        (
            Chosen(time=NIGHT, place=None, clock_doubts=("at night",), offered_date="2026-07-01"),
            "2026-07-01",
            None,
        ),
        (Chosen(time=None, place=None, offered_place=OFFERED), None, "coordinator"),
    ],
)
def test_an_offer_is_taken_as_the_coordinators_word_where_there_is_a_doubt(chosen, day, source):
    time, place = taken_offers(chosen)
    assert (time and time.event_date, place and place.source) == (day, source)


def test_a_place_that_nobody_chose_is_not_accepted():
    doubt = "the text names several sites: Alder Pool, Heron Mere"
    refuse_two_places([Chosen(time=None, place=None)], "abcdef")
    with pytest.raises(UnknownError, match="Alder Pool, Heron Mere"):
        refuse_two_places([Chosen(time=None, place=None, place_doubts=(doubt,))], "abcdef")


@pytest.mark.parametrize(("typed", "locality"), [("53.9,21.7", ""), ("heron mere", "Heron Mere")])
def test_a_place_is_typed_as_coordinates_or_as_a_site(typed: str, locality: str):
    found = place_said(typed, [site("Heron Mere")], area=None, zone="Europe/Warsaw")
    assert (found.locality, found.decimal_latitude) == (locality, 53.9)


def test_coordinates_typed_the_wrong_way_round_are_told_apart_from_a_far_photo():
    with pytest.raises(UnknownError, match="a slip explains it"):
        place_said("21.7,53.9", [site("Heron Mere")], area=(53.5, 21.0, 54.5, 22.5), zone="")
