"""Tables of sites as people read them: every year named, no volunteer sent without end."""

from __future__ import annotations

from dataclasses import replace

from report_making import material

from triage.report import findings
from triage.report.tables_of_sites import evidence_table, passes_text


def test_a_row_of_evidence_names_every_year_that_has_it():
    here = material()
    known = findings.find(here).evidence
    row = next(one for one in known if one.evidence == "exuviae")
    table = evidence_table(here, [row, replace(row, year=row.year - 1)])
    shown = dict(zip(table.headings, *table.shown, strict=True))
    assert shown["years"] == f"{row.year - 1}, {row.year}"
    assert shown["count"] == str(row.count)


def test_more_passes_than_a_season_has_are_not_asked_of_anybody():
    place = replace(findings.find(material()).priorities[0], passes=1, detection=0.063)
    few = passes_text(replace(place, more_passes=2))
    assert few.startswith("1 pass made in these days so far this season; 2 more would find")
    of_two = passes_text(replace(place, location_id="A", taxa=("Anax imperator", "Aeshna mixta")))
    assert of_two.startswith("1 pass made in the days of the least searched of these taxa so far")
    many = passes_text(replace(place, more_passes=29))
    assert "29" not in many
    assert "chance of 6 %" in many
    assert passes_text(replace(place, more_passes=0)).endswith("this season.")
