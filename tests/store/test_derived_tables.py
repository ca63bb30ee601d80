"""A table derived of sightings: what is made anew stands, the rest stays, the rules are noted."""

from __future__ import annotations

import random

import pytest
import records_made as made

from triage.matching import AdultAtSite
from triage.store import derived_rules, matches
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
        one.key: (one.count, one.first_day, one.last_day) for one in matches.adult_tallies(survey)
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


TABLES = sorted(derived_rules.DUE)


@pytest.mark.parametrize("table", TABLES)
def test_a_sighting_is_due_until_it_was_looked_at(empty: Survey, table: str):
    names = [made.sighting(empty, f"s{number}") for number in range(5)]
    assert derived_rules.count_due(empty, table) == 5
    assert derived_rules.due(empty, table) == names
    assert derived_rules.due(empty, table, ["s3", "s9", "s1"]) == ["s1", "s3"]
    derived_rules.replace(empty, table, names[:3], [])
    assert derived_rules.due(empty, table) == names[3:]
    derived_rules.make_due(empty, table, ["s0"])
    assert derived_rules.due(empty, table) == ["s0", *names[3:]]
    derived_rules.replace_all(empty, table, [], "some rules")
    assert (derived_rules.due(empty, table), derived_rules.noted(empty, table)) == (
        [],
        "some rules",
    )
    empty.connection.execute("update sightings set suborder = 'zygoptera' where identifier = 's2'")
    assert derived_rules.due(empty, table) == ["s2"]


def test_other_rules_make_all_due_and_keep_nothing(empty: Survey):
    names = [made.sighting(empty, f"s{number}") for number in range(5)]
    derived_rules.replace_all(empty, "site_adults", adults(1, names), "these rules")
    assert kept(empty) != {}
    derived_rules.make_all_due(empty, "site_adults", "other rules")
    assert (derived_rules.due(empty, "site_adults"), kept(empty)) == (names, {})
    assert derived_rules.noted(empty, "site_adults") == "other rules"


def test_each_table_stands_by_the_rules_noted_last(empty: Survey):
    assert derived_rules.noted(empty, "matches") == ""
    for table, rules in (("matches", "a"), ("site_adults", "b"), ("matches", "c"), ("matches", "")):
        derived_rules.note(empty, table, rules)
        assert derived_rules.noted(empty, table) == rules
    assert derived_rules.noted(empty, "site_adults") == "b"
