"""What must be decided of records is listed in the inbox and by the audit."""

from datetime import date

import pytest
from tests_support import NOW

from triage.cli import main
from triage.exuviae import UnresolvedReference
from triage.inbox import Dated, needs_of_records
from triage.mail.consent import read_consent
from triage.pipeline import audit
from triage.pipeline.audit import record_needs
from triage.store import consents, people
from triage.store.connection import Survey, open_survey

LATEST = date(2026, 11, 24)


@pytest.mark.parametrize(
    ("first", "last", "impossible"),
    [
        ("2026-06-13", "2026-06-13", False),
        ("2026-11-24", "2026-11-24", False),
        ("2026-11-25", "2026-11-25", True),
        ("2126-06-13", "2126-06-13", True),
        ("2026-06-13", "2126-06-14", True),
        ("1026-06-13", "1026-06-13", True),
        ("1926-06-13", "1926-06-13", False),
    ],
)
def test_a_day_to_come_or_before_photography_is_impossible(first, last, impossible):
    dated = [Dated(record="visit V1", first_day=first, last_day=last)]
    found = needs_of_records(unresolved=[], people=[], dated=dated, latest=LATEST)
    assert [one.kind for one in found] == ["impossible year"] * impossible


def test_near_names_and_unresolved_lots_are_listed_with_what_to_do():
    lot = UnresolvedReference(
        record="lot",
        identifier="L1",
        column="scientificName",
        value="Aesna mixta",
        reason="Near: Aeshna mixta.",
    )
    found = needs_of_records(
        unresolved=[lot],
        people=[("P-1", "Ruth Fenner"), ("P-2", "R. Fenner"), ("P-3", "Bo Holm"), ("P-4", "")],
        dated=[],
        latest=LATEST,
    )
    assert [(one.kind, one.record) for one in found] == [
        ("unresolved name", "lot L1"),
        ("near names", "Ruth Fenner / R. Fenner"),
    ]
    assert all(one.fix for one in found)


def test_people_of_one_name_are_asked_about_and_each_with_those_of_near_names():
    people = [("P-1", "Ruth Fenner"), ("P-2", "ruth  fenner"), ("P-3", "R. Fenner"), ("P-4", " ")]
    found = needs_of_records(unresolved=[], people=people, dated=[], latest=LATEST)
    assert [(set(one.choices), one.text) for one in found] == [
        ({"P-1", "P-2"}, "may be one person: the same name"),
        ({"P-3", "P-1"}, "may be one person: one has only the initial"),
        ({"P-3", "P-2"}, "may be one person: one has only the initial"),
    ]
    assert "'triage people --same P-1 P-2'" in found[0].fix


def spoil(survey: Survey) -> None:
    run = survey.connection.execute
    run("update lots set scientific_name = 'Felis catus', taxon_rank = '' where rowid = 1")
    run("update visits set first_day = '2126-05-24', last_day = '2126-05-24' where rowid = 1")
    run("insert into people (code, name) values ('P-1', 'Ida Brenn'), ('P-2', 'I. Brenn')")


def test_a_sound_survey_has_a_grant_to_see_and_a_spoilt_one_lists_each(survey: Survey):
    (grant,) = record_needs(survey, now=NOW)
    assert (grant.kind, "CC BY-NC 4.0" in grant.text) == ("consent", True)
    spoil(survey)
    kinds = {one.kind for one in record_needs(survey, now=NOW)}
    assert kinds - {"consent"} == {
        "unresolved name",
        "open reference",  # lots named before that visit
        "near names",
        "impossible year",
    }
    lines = audit.check(survey, now=NOW).not_done
    for words in ("scientificName Felis catus", "near names: Ida Brenn", "impossible year: visit"):
        assert any(words in line for line in lines), words


def test_audit_tells_people_of_one_name_apart(survey: Survey):
    survey.connection.execute(
        "insert into people (code, name) values"
        " ('P-1', 'Ida Brenn'), ('P-2', 'I. Brenn'), ('P-3', 'I. Brenn')"
    )
    lines = [one for one in audit.check(survey, now=NOW).not_done if one.startswith("near names")]
    assert len(set(lines)) == len(lines) == 3
    assert "near names: I. Brenn / I. Brenn (P-2 / P-3): may be one person: the same name" in lines


def test_the_inbox_shows_them(walked, capsys):
    with open_survey(walked) as survey, survey.transaction():
        spoil(survey)
    assert main(["inbox", "--survey", str(walked)]) == 0
    shown = capsys.readouterr().out
    assert "'Felis catus' is not resolved" in shown
    assert "Ida Brenn / I. Brenn" in shown
    assert "2126-05-24" in shown


def test_everything_that_the_inbox_lists_of_records_the_audit_lists(survey: Survey):
    with survey.transaction():
        for name, words in (
            ("Nell Reedwater", ("You may publish it.",)),
            ("N. Reedwater", ("You may publish it.", "Ask me before you print it anywhere.")),
        ):
            row = people.by_address(survey, f"{name[:3]}@example.org", name=name)
            assert row is not None
            for one in words:
                consents.add(survey, row, read_consent(one))
    needs = record_needs(survey, now=NOW)
    assert {"consent", "unclear consent", "near names"} <= {one.kind for one in needs}
    listed = "\n".join(audit.check(survey, now=NOW).not_done)
    for one in needs:
        assert one.record.split(" ")[-1] in listed, one
        assert one.text.rpartition(": ")[2] in listed, one
