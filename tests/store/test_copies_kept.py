"""Links and groups of copies: what was kept reads back, and exposures divide the photos."""

from __future__ import annotations

import random

import pytest
import records_made as made
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import tried

from triage.duplicates import PhotoLink
from triage.store import copies
from triage.store.connection import Survey

COUNT = 9
DIVISIONS = st.lists(st.integers(0, 4), min_size=COUNT, max_size=COUNT)


@pytest.fixture
def photos(empty: Survey) -> list[str]:
    return [made.photo(empty, number) for number in range(COUNT)]


def link(first: str, second: str, kind: str = "copy") -> PhotoLink:
    return PhotoLink(
        first=first,
        second=second,
        kind=kind,  # type: ignore[arg-type]
        evidence="x",
        picture_share_first=1.0,
        picture_share_second=0.5,
    )


def divide(survey: Survey, photos: list[str], division: list[int], seed: int = 0) -> list[set[str]]:
    """Keep the photos of one number as one group, those of number 0 as none."""
    draw = random.Random(seed)
    groups = [
        [one for one, of in zip(photos, division, strict=True) if of == number]
        for number in range(1, 5)
    ]
    found = [(f"g{n}", ones, draw.choice(ones)) for n, ones in enumerate(groups) if len(ones) > 1]
    copies.save_groups(survey, "copy", found, set(photos))
    return [set(ones) for _, ones, _ in found]


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=60)
@given(DIVISIONS, st.sets(st.integers(0, COUNT - 1)))
def test_exposures_hold_every_copy_of_what_was_asked_for_once(empty, photos, division, asked):
    with tried(empty):
        groups = divide(empty, photos, division)
        wanted = [photos[number] for number in sorted(asked)]
        found = copies.exposures(empty, wanted)
        held = [one for everyone in found.values() for one in everyone]
        assert len(held) == len(set(held))
        together = {one: next((g for g in groups if one in g), {one}) for one in photos}
        assert {frozenset(ones) for ones in found.values()} == {
            frozenset(together[one]) for one in wanted
        }
        for best, everyone in found.items():
            assert best in everyone
            assert everyone == sorted(everyone)
            assert copies.exposures(empty, everyone) == {best: everyone}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture], max_examples=40)
@given(DIVISIONS, DIVISIONS)
def test_groups_saved_anew_replace_those_before(empty, photos, first, second):
    with tried(empty):
        divide(empty, photos, first)
        groups = divide(empty, photos, second, seed=1)
        kept = copies.groups(empty, "copy")
        assert set(kept) == set().union(*groups)
        for group in groups:
            assert len({kept[one][0] for one in group}) == 1
            assert sum(kept[one][1] for one in group) == 1
        assert copies.groups(empty, "burst") == {}
        assert copies.groups_of(empty, "copy", photos) == kept


def test_links_read_back_from_either_end_once(empty: Survey, photos: list[str]):
    a, b, c, d, *_ = photos
    kept = [link(a, b), link(b, c, "burst"), link(c, d)]
    copies.save_links(empty, kept, photos=[a, b, c, d], method="m")
    assert copies.links_among(empty, [b]) == kept[:2]
    assert copies.links_among(empty, [a, b, c, d]) == kept
    assert copies.links_among(empty, []) == []
    assert copies.count_linked(empty, "m", most=9) == 4
    assert copies.count_linked(empty, "m", most=3) == 3
    assert copies.count_linked(empty, "other", most=9) == 0


def test_forgotten_links_name_who_else_they_touched(empty: Survey, photos: list[str]):
    a, b, c, d, *_ = photos
    copies.save_links(empty, [link(a, b), link(b, c), link(c, d)], photos=photos, method="m")
    assert copies.forget_links(empty, [b]) == {a, b, c}
    assert copies.links_among(empty, photos) == [link(c, d)]
    assert copies.forget_links(empty, [b]) == set()


def test_a_link_saved_again_is_the_newer_one(empty: Survey, photos: list[str]):
    a, b, *_ = photos
    copies.save_links(empty, [link(a, b)], photos=[], method="m")
    newer = PhotoLink(
        first=a,
        second=b,
        kind="copy",
        evidence="newer",
        picture_share_first=0.1,
        picture_share_second=0.2,
    )
    copies.save_links(empty, [newer], photos=[], method="m")
    assert copies.links_among(empty, [a]) == [newer]
