"""What a person must decide of records: each kind alone, with the command that settles it."""

from __future__ import annotations

from datetime import date
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from triage.exuviae import UnresolvedReference
from triage.inbox.records import Dated, RecordNeed, needs_of_records

LATEST = date(2026, 7, 2)


def needs(**given_: Any) -> list[RecordNeed]:
    none: dict[str, Any] = {"unresolved": (), "people": (), "dated": (), "latest": LATEST}
    return needs_of_records(**(none | given_))


def name_of(lot: str, value: str, column: str = "scientificName") -> UnresolvedReference:
    return UnresolvedReference(
        record="lot", identifier=lot, column=column, value=value, reason="correct the name"
    )


@pytest.mark.parametrize(
    ("records", "kind", "record", "key", "fix"),
    [
        ({"grants": [("P-1", "you may")]}, "consent", "person P-1", "P-1", "--consent-seen P-1"),
        (
            {"unclear": [("P-1", "only online")]},
            "unclear consent",
            "person P-1",
            "P-1",
            "--consent P-1 --words",
        ),
        (
            {"photographers": [("P-2", "Ida Brenn", 3)]},
            "photographer",
            "person P-2",
            "P-2",
            "--consent P-2 --words",
        ),
        (
            {"unresolved": [name_of("EX-1", "Aesna")]},
            "unresolved name",
            "lot EX-1",
            "EX-1",
            "correct the name",
        ),
        (
            {"people": [("P-1", "Ida Brenn"), ("P-2", "ida  brenn")]},
            "near names",
            "Ida Brenn / ida  brenn",
            "",
            "--same P-1 P-2",
        ),
        (
            {"dated": [Dated(record="visit V1", first_day="2027-06-01", last_day="2027-06-01")]},
            "impossible year",
            "visit V1",
            "",
            "import it again",
        ),
    ],
)
def test_each_kind_names_its_record_and_what_settles_it(records, kind, record, key, fix):
    [need] = needs(**records)
    assert (need.kind, need.record, need.key) == (kind, record, key)
    assert fix in need.fix


def test_words_and_names_stand_in_the_row_as_they_were_said():
    rows = needs(
        grants=[("P-1", "Use them!")],
        unclear=[("P-3", "not in print")],
        photographers=[("P-2", "", 2)],
        unresolved=[name_of("EX-1", "Aesna")],
    )
    for need, words in zip(rows, ("Use them!", "not in print", "P-2 took 2", "Aesna"), strict=True):
        assert words in need.text


def test_a_name_comes_with_what_the_checklist_may_mean():
    near = {"Aesna": ["Aeshna"]}
    odd = [name_of("EX-1", "Aesna"), name_of("EX-2", "Bug"), name_of("EX-3", "V9", "eventID")]
    found = needs(unresolved=odd, nearest=near)
    assert [(need.record, need.choices) for need in found] == [
        ("lot EX-1", ("Aeshna",)),
        ("lot EX-2", ()),
        ("lot EX-3", ()),
    ]


@pytest.mark.parametrize(
    ("first", "last", "impossible"),
    [
        ("2026-07-02", "2026-07-02", False),
        ("2026-07-02", "2026-07-03", True),
        ("2026-07-02T23:59", "2026-07-02T23:59", False),
        ("1826-01-01", "1826", False),
        ("1825-12-31", "1825-12-31", True),
        ("1825", "2026", True),
        ("2026", "2026", False),
        ("0202-06-01", "0202-06-01", True),
    ],
)
def test_a_year_before_photography_or_a_day_to_come_cannot_be(first, last, impossible):
    found = needs(dated=[Dated(record="visit V1", first_day=first, last_day=last)])
    assert [need.kind for need in found] == ["impossible year"] * impossible
    assert all(first in need.text and last in need.text for need in found)


@given(st.lists(st.sampled_from(["Ida Brenn", "IDA BRENN", " Ida  Brenn", "Bo Lind", ""])))
def test_people_of_one_name_are_each_paired_with_each_other_once(names: list[str]):
    people = [(f"P-{number}", name) for number, name in enumerate(names)]
    plain = [" ".join(name.split()).casefold() for name in names]
    wanted = {
        (f"P-{one}", f"P-{other}")
        for one in range(len(names))
        for other in range(one + 1, len(names))
        if plain[one] and plain[one] == plain[other]
    }
    found = [need.choices for need in needs(people=people) if "the same name" in need.text]
    assert len(found) == len(set(found))
    assert set(found) == wanted


def test_of_two_near_names_the_one_that_is_written_out_is_offered_to_stay():
    [need] = needs(people=[("P-1", "J Kaeferst"), ("P-2", "Jörg Käferstein")])
    assert need.record == "Jörg Käferstein / J Kaeferst"
    assert need.choices == ("P-2", "P-1")
    assert "--same P-2 P-1" in need.fix
