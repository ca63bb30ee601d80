"""Which photos are to be grouped anew: told by method, in portions that keep a sender together."""

from __future__ import annotations

import pytest
import records_made as made
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import tried
from tests_support import NOW

from triage.sightings import Edit
from triage.store import actions, grouping, notes, people, photos, sightings
from triage.store.connection import Survey

SENDERS = ("ada", "bo", "cy")
SENT = st.lists(st.sampled_from(SENDERS), min_size=1, max_size=14)


def send(survey: Survey, by: list[str]) -> list[str]:
    """A message with one photo for each name, by that person."""
    digests = []
    for number, name in enumerate(by):
        digests.append(made.photo(survey, number))
        sender = people.by_address(survey, f"{name}@example.org", name=name)
        made.message(survey, number, digests[-1], sender_id=sender)
    return digests


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=50)
@given(SENT, st.integers(1, 8))
def test_portions_hold_each_photo_once_and_a_sender_whole(empty: Survey, by, most):
    with tried(empty):
        digests = send(empty, by)
        sender = dict(zip(digests, by, strict=True))
        portions = list(grouping.by_sender(empty, digests, most=most))
        assert sorted(one for portion in portions for one in portion) == sorted(digests)
        for portion in portions:
            assert len(portion) <= most or len({sender[one] for one in portion}) == 1
        homes = [{sender[one] for one in portion} for portion in portions]
        assert sum(len(home) for home in homes) == len(set(by))


def test_nothing_to_group_is_no_portion(empty: Survey):
    assert list(grouping.by_sender(empty, [], most=3)) == []


def test_dirty_is_what_was_examined_and_stands_by_another_method(empty: Survey):
    a, b, c, d = send(empty, ["ada"] * 4)
    empty.connection.execute("update photos set examined_with = 'x' where sha256 <> ?", (d,))
    assert grouping.dirty(empty, "m 2") == [a, b, c]
    grouping.mark_grouped(empty, [a], "m 2")
    grouping.mark_grouped(empty, [b], "m 1")
    assert grouping.dirty(empty, "m 2") == [b, c]
    grouping.mark_dirty(empty, [a])
    assert grouping.dirty(empty, "m 2") == [a, b, c]
    grouping.mark_grouped(empty, [a, b, c], "m 2")
    grouping.mark_everything_dirty(empty)
    assert grouping.dirty(empty, "m 2") == [a, b, c]


def test_a_partition_finds_its_photos_and_a_photo_its_partition(empty: Survey):
    a, b, c = send(empty, ["ada"] * 3)
    grouping.set_partitions(empty, {a: "1 2026-07-01", b: "1 2026-07-01", c: ""})
    assert grouping.partitions_of(empty, [a, b, c]) == {"1 2026-07-01"}
    assert grouping.partitions_of(empty, [c]) == set()
    assert grouping.photos_in_partitions(empty, ["1 2026-07-01"]) == {a, b}
    grouping.set_partitions(empty, {b: "2 2026-07-01"})
    assert grouping.photos_in_partitions(empty, ["1 2026-07-01"]) == {a}


def test_what_is_noted_under_a_name_is_what_was_noted_last(empty: Survey):
    assert notes.read(empty, "rules") is None
    for rules in ("first", "second"):
        notes.write(empty, "rules", rules)
        assert notes.read(empty, "rules") == rules


def test_a_merged_sighting_holds_no_photo_of_its_own_until_the_merge_is_undone(empty: Survey):
    a, b = send(empty, ["ada", "ada"])
    older, younger = made.sighting(empty, "old", a), made.sighting(empty, "young", b)
    assert set(grouping.sightings_by_photo(empty, [a, b])) == {a, b}
    action = actions.record(empty, "sightings merge", "x", by="Bo", now=NOW)
    sightings.add_members(empty, older, [(b, 1)], action=action)
    sightings.supersede(empty, younger, older, action=action)
    assert grouping.sightings_of_photos(empty, [b]) == {older}
    actions.undo(empty, by="Bo", now=NOW)
    assert grouping.sightings_of_photos(empty, [b]) == {younger}


@pytest.mark.parametrize("what", ["photographer", "edit"])
def test_an_action_touches_what_it_spoke_of_and_what_stands_with_it(empty: Survey, what: str):
    a, b, c = send(empty, ["ada"] * 3)
    made.sighting(empty, "one", a, b)
    made.sighting(empty, "two", c)
    action = actions.record(empty, "x", "x", by="Bo", now=NOW)
    if what == "photographer":
        photos.add_photographer(empty, a, people.add(empty, "Ida Kvist"), action=action)
    else:
        edit = Edit(kind="split", members=((a, 1),))
        sightings.add_edit(empty, edit, action=action)
    assert grouping.photos_of_action(empty, action) == {a, b}
    other = actions.record(empty, "x", "x", by="Bo", now=NOW)
    assert grouping.photos_of_action(empty, other) == set()
