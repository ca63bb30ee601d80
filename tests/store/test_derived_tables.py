"""A table derived of sightings: what is made anew stands, the rest stays, the rules are noted."""

from __future__ import annotations

import random

import pytest
import records_made as made

from triage.matching import AdultAtSite
from triage.store import derived_rules, site_adults
from triage.store.connection import Survey

SITES, TAXA, YEARS = ("HM", "AP"), ("Aeshna mixta", "Libellula depressa"), (2024, 2026)


def adults(seed: int, names: list[str]) -> list[AdultAtSite]:
    draw = random.Random(seed)
    found = []
    for name in names:
        year = draw.choice(YEARS)
        day = f"{year}-06-{draw.randint(1, 28):02d}"
        one = AdultAtSite(
            sighting=name,
            location_id=draw.choice(SITES),
            scientific_name=draw.choice(TAXA),
            taxon_rank="species",
            year=year,
            evidence="adults",
            first_day=day,
            last_day=day,
        )
        found.append(one)
    return found


def counted(ones: list[AdultAtSite]) -> dict[object, tuple[int, str, str]]:
    groups: dict[object, list[str]] = {}
    for one in ones:
        groups.setdefault(one.key, []).append(one.first_day)
    return {key: (len(days), min(days), max(days)) for key, days in groups.items()}


def kept(survey: Survey) -> dict[object, tuple[int, str, str]]:
    return {
        one.key: (one.count, one.first_day, one.last_day) for one in site_adults.tallies(survey)
    }


@pytest.mark.parametrize("seed", range(6))
def test_only_what_was_looked_at_anew_is_counted_anew(empty: Survey, seed: int):
    names = [made.sighting(empty, f"s{number:02d}") for number in range(20)]
    first = adults(seed, names)
    derived_rules.replace(empty, "site_adults", names, first)
    assert kept(empty) == counted(first)
    looked_at = random.Random(seed).sample(names, 7)
    anew = adults(seed + 50, looked_at[:4])  # of the others nothing is left
    derived_rules.replace(empty, "site_adults", looked_at, anew)
    assert kept(empty) == counted([one for one in first if one.sighting not in looked_at] + anew)


def test_a_sighting_is_due_until_it_was_looked_at(empty: Survey):
    names = [made.sighting(empty, f"s{number}") for number in range(5)]
    assert site_adults.count_due(empty) == 5
    assert sorted(site_adults.due(empty, 10)) == names
    derived_rules.replace(empty, "site_adults", names[:3], [])
    assert sorted(site_adults.due(empty, 10)) == names[3:]
    derived_rules.replace(empty, "site_adults", names[3:], adults(1, names[3:]))
    assert site_adults.count_due(empty) == 0
    site_adults.make_all_due(empty, "other rules")
    assert (site_adults.count_due(empty), kept(empty)) == (5, {})


def test_each_table_stands_by_the_rules_noted_last(empty: Survey):
    assert derived_rules.noted(empty, "matches") == ""
    for table, rules in (("matches", "a"), ("site_adults", "b"), ("matches", "c"), ("matches", "")):
        derived_rules.note(empty, table, rules)
        assert derived_rules.noted(empty, table) == rules
    assert derived_rules.noted(empty, "site_adults") == "b"
