"""What a determiner says: one thing, under the accepted name, with every doubt kept once."""

from __future__ import annotations

from dataclasses import replace

import pytest

from triage.checklist import Checklist, Taxon
from triage.determinations import Determination, Statement
from triage.determinations.records import said_by
from triage.determinations.statements import read_statement
from triage.errors import TriageError, UnknownError
from triage.standards.darwin_core import name_with_qualifier

LISTED = Checklist(
    [
        Taxon(
            scientific_name="Stylurus flavipes",
            rank="species",
            family="Gomphidae",
            synonyms=("Gomphus flavipes",),
        ),
        Taxon(scientific_name="Aeshna mixta", rank="species", family="Aeshnidae"),
    ]
)


def read(**said: object) -> Statement:
    return read_statement(LISTED, Statement(**said))  # type: ignore[arg-type]


@pytest.mark.parametrize(
    ("said", "taxon", "rank", "qualifier", "sex"),
    [
        ({"taxon": "Aeshna mixta"}, "Aeshna mixta", "species", "", ""),
        ({"taxon": "gomphus flavipes"}, "Stylurus flavipes", "species", "", ""),
        ({"taxon": "Aeshna"}, "Aeshna", "genus", "", ""),
        ({"taxon": "Aeshna cf. mixta"}, "Aeshna mixta", "species", "cf.", ""),
        ({"taxon": "Aeshna mixta", "qualifier": "CF"}, "Aeshna mixta", "species", "cf.", ""),
        ({"taxon": "Aeshna cf. mixta", "qualifier": "cf."}, "Aeshna mixta", "species", "cf.", ""),
        ({"taxon": "Aeshna mixta?", "qualifier": "aff."}, "Aeshna mixta", "species", "aff. ?", ""),
        ({"taxon": "Aeshna mixta ♀"}, "Aeshna mixta", "species", "", "female"),
        ({"taxon": "Aeshna mixta", "sex": "male"}, "Aeshna mixta", "species", "", "male"),
        ({"taxon": "Aeshna mixta ♂", "sex": "male"}, "Aeshna mixta", "species", "", "male"),
    ],
)
def test_a_name_is_read_with_what_stood_beside_it(said, taxon, rank, qualifier, sex):
    found = read(**said)
    assert (found.taxon, found.taxon_rank, found.qualifier, found.sex) == (
        taxon,
        rank,
        qualifier,
        sex,
    )
    assert found.outcome == "determined"
    assert found.words == name_with_qualifier(taxon, qualifier)


def test_a_pair_and_an_age_beside_a_name_are_behaviour_and_stage_unless_given():
    said = read(taxon="A. mixta tandem", sex="male")
    assert (said.taxon, said.behavior, said.sex) == ("Aeshna mixta", "tandem", "male")
    said = read(taxon="Aeshna mixta tandem", behavior="ovipositing")
    assert said.behavior == "ovipositing"
    assert read(taxon="A. mixta teneral").life_stage == "teneral"


def test_the_words_are_kept_as_they_were_written():
    assert read(taxon="Gomphus cf. flavipes").verbatim == "Gomphus cf. flavipes"


@pytest.mark.parametrize(
    "said",
    [
        {},
        {"taxon": "Aeshna mixta", "cannot_tell": "too far"},
        {"cannot_tell": "too far", "not_an_adult": "exuvia"},
        {"taxon": "Aeshna mixta", "cannot_tell": "x", "not_an_adult": "y"},
    ],
)
def test_nothing_and_two_things_at_once_are_refused(said):
    with pytest.raises(TriageError, match="one name"):
        read(**said)


def test_a_second_name_in_the_qualifier_leaves_what_both_share_and_a_denial_nothing():
    found = read(taxon="Aeshna mixta", qualifier="or Stylurus flavipes")
    assert (found.taxon, found.qualifier) == ("Anisoptera", "")
    assert found.verbatim == "Aeshna mixta or Stylurus flavipes"
    with pytest.raises(UnknownError, match="says what it is not"):
        read(taxon="Aeshna mixta", qualifier="nicht")
    young = read(taxon="Aeshna mixta juv. female?")
    assert (young.life_stage, young.sex, young.qualifier) == ("immature", "", "?")


def test_an_unknown_name_and_a_contradicted_sex_are_refused():
    with pytest.raises(UnknownError) as refused:
        read(taxon="Aeshna mixtta")
    assert "Aeshna mixta" in f"{refused.value.what} {refused.value.next_step}"
    with pytest.raises(TriageError, match="the name says female and the sex given is male"):
        read(taxon="Aeshna mixta ♀", sex="male")


@pytest.mark.parametrize(
    ("said", "outcome", "reason"),
    [
        ({"cannot_tell": "too far"}, "cannot tell", "too far"),
        ({"not_an_adult": "exuvia"}, "not an adult", "exuvia"),
    ],
)
def test_without_a_name_the_reason_stands(said, outcome, reason):
    found = read(**said)
    assert (found.outcome, found.reason, found.words) == (outcome, reason, reason)
    assert found == Statement(**said)


RECORDED = Determination(
    identifier="d1",
    sighting="s1",
    outcome="determined",
    scientific_name="Aeshna mixta",
    taxon_rank="species",
    qualifier="cf.",
    verbatim_identification="A. cf. mixta",
    sex="male",
    life_stage="adult",
    behavior="perched",
    remarks="worn",
    identified_by="P1",
    date_identified="2026-07-01T10:00:00Z",
    second_opinion=True,
)


def test_what_was_recorded_says_again_what_was_said():
    assert said_by(RECORDED) == Statement(
        taxon="Aeshna mixta",
        taxon_rank="species",
        qualifier="cf.",
        verbatim="A. cf. mixta",
        sex="male",
        life_stage="adult",
        behavior="perched",
        remarks="worn",
        second_opinion=True,
    )


@pytest.mark.parametrize(
    ("outcome", "field"), [("cannot tell", "cannot_tell"), ("not an adult", "not_an_adult")]
)
def test_a_recorded_reason_stands_under_its_outcome(outcome, field):
    bare = Determination(
        identifier="d1",
        sighting="s1",
        outcome=outcome,
        reason="too far",
        identified_by="P1",
        date_identified="2026-07-01T10:00:00Z",
    )
    assert said_by(bare) == Statement(**{field: "too far"})
    assert said_by(replace(bare, reason="other")) != Statement(**{field: "too far"})


@pytest.mark.parametrize(
    ("typed", "kept"),
    [("teneral", "teneral"), (" Imago ", "adult"), ("JUVENILE", "immature"), ("", "")],
)
def test_a_stage_of_life_is_kept_in_our_word_for_it(typed, kept):
    assert read(taxon="Aeshna mixta", life_stage=typed).life_stage == kept


def test_a_slip_of_a_stage_of_life_is_refused_with_what_may_be_meant():
    with pytest.raises(UnknownError) as refused:
        read(taxon="Aeshna mixta", life_stage="tenral")
    assert "Did you mean teneral?" in refused.value.next_step


@pytest.mark.parametrize("said", [{"cannot_tell": "  "}, {"not_an_adult": "\n"}, {"taxon": " "}])
def test_blanks_say_nothing(said):
    with pytest.raises(TriageError):
        read(**said)


@pytest.mark.parametrize(
    ("said", "sentence"),
    [
        (
            {
                "taxon": "Aeshna cf. mixta",
                "qualifier": "?",
                "sex": "female",
                "life_stage": "teneral",
                "behavior": "perched",
                "remarks": " wings ",
                "second_opinion": True,
            },
            "Aeshna cf. mixta ?; female; teneral; perched; remarks: wings;"
            " a second opinion is asked for",
        ),
        ({"cannot_tell": "blurred"}, "cannot be told: blurred"),
        ({"not_an_adult": "exuvia"}, "not an adult: exuvia"),
    ],
)
def test_all_that_was_said_is_read_back(said, sentence):
    assert read(**said).sentence == sentence
