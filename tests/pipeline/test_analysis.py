"""The analyst's commands on the demo: evidence, where next, report, scores, site values."""

from __future__ import annotations

import json
import re
import shutil
from collections import Counter
from datetime import timedelta
from pathlib import Path

import pytest
from tests_support import DEMO, NOW, csv_rows

from triage.cli import main
from triage.demo.walk import determine_some
from triage.determinations import Statement
from triage.errors import TableError, UnknownError
from triage.exuviae import site_values
from triage.matching import adults_at_sites
from triage.pipeline import analysis, determine, match, standing, tables
from triage.store import actions, evidence
from triage.store.connection import Survey, create_survey, open_survey

ANALYST = Path(__file__).parents[2] / "docs" / "analyst.md"


@pytest.fixture(scope="module")
def named_once(walked_once: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The walked survey with every sighting named as the scenario knows it, and matched."""
    folder = tmp_path_factory.mktemp("named") / "survey"
    shutil.copytree(walked_once, folder)
    with open_survey(folder) as here:
        assert determine_some(here, DEMO / "truth.csv", now=NOW, every=1) > 5
        _name_one_teneral(here)
        match.match(here)
    return folder


def _name_one_teneral(here: Survey) -> None:
    """A freshly emerged animal at a water that gave no exuviae of it: worth a search."""
    at = {
        s.identifier: site
        for s, site in adults_at_sites(standing.sightings(here), evidence.sites(here))
    }
    one = min(name for name, site in at.items() if site in ("LNT-05", "LNT-06", "LNT-07", "LNT-08"))
    said = Statement(taxon="Sympecma fusca", life_stage="teneral")
    for who in ("Ida Kvist", "Bela Korda"):  # two, since one name out of season proves nothing yet
        determine.determine(here, one, said, by=who, now=NOW + timedelta(hours=1), new=True)


@pytest.fixture
def named(named_once: Path, tmp_path: Path) -> Path:
    folder = tmp_path / "named"
    shutil.copytree(named_once, folder)
    return folder


def write(path: Path, text: str) -> Path:
    path.write_text(text, encoding="utf-8")
    return path


def test_evidence_hides_what_an_export_hides(named: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["evidence", "--survey", str(named), "--json"]) == 0
    released = json.loads(capsys.readouterr().out)
    assert main(["evidence", "--survey", str(named), "--json", "--internal"]) == 0
    everything = json.loads(capsys.readouterr().out)
    assert {row["location_id"] for row in everything} - {
        row["location_id"] for row in released
    } >= {"LNT-10"}
    assert any(row["scientific_name"] == "Ophiogomphus cecilia" for row in everything)
    assert all(row["scientific_name"] != "Ophiogomphus cecilia" for row in released)
    assert {"evidence", "evidence_class", "count", "first_day", "last_day"} <= released[0].keys()
    assert all(isinstance(row["count"], int) for row in released)


def test_evidence_has_the_classes_that_are_asked_for(
    named: Path, capsys: pytest.CaptureFixture[str]
):
    assert main(["evidence", "--survey", str(named), "--classes", "Central", "--json"]) == 0
    rows = json.loads(capsys.readouterr().out)
    classes = {row["evidence_class"] for row in rows if row["evidence"] == "exuviae"}
    assert classes == {"certain"}


def test_unknown_classes_are_named_with_those_there_are(named: Path):
    with open_survey(named) as here, pytest.raises(UnknownError, match="British"):
        analysis.evidence_table(here, scheme="Martian")


def test_the_table_of_evidence_counts_the_skins_in_the_jars(named: Path, tmp_path: Path):
    """Counted here from the imported tables themselves."""
    out = tmp_path / "evidence.csv"
    assert main(["evidence", "--survey", str(named), "--internal", "--csv", str(out)]) == 0
    site_of = {visit["eventID"]: visit["locationID"] for visit in csv_rows(DEMO / "visits.csv")}
    jars: Counter[tuple[str, str]] = Counter()
    for lot in csv_rows(DEMO / "lots.csv"):
        if lot["taxonRank"] == "species" and not lot["identificationQualifier"]:
            key = (site_of[lot["eventID"]], lot["scientificName"])
            jars[key] += int(lot["individualCount"])
    found = {
        (row["locationID"], row["scientificName"]): int(row["count"])
        for row in csv_rows(out)
        if row["evidence"] == "exuviae" and row["taxonRank"] == "species"
    }
    assert found == dict(jars)


def test_places_to_search_come_with_the_cautions(named: Path, capsys: pytest.CaptureFixture[str]):
    assert main(["where-next", "--survey", str(named)]) == 0
    text = capsys.readouterr().out
    assert "Never go alone" in text
    assert "Local rules" in text
    assert "Sympecma fusca" in text
    assert main(["where-next", "--survey", str(named), "--json"]) == 0
    found = json.loads(capsys.readouterr().out)
    assert [row["position"] for row in found["places"]] == [
        i + 1 for i in range(len(found["places"]))
    ]
    assert {row["location_id"] for row in found["places"]}.isdisjoint({"LNT-09", "LNT-10"})
    assert len(found["cautions"]) == 10


def test_a_report_is_written_and_says_what_was_withheld(
    named: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    out = tmp_path / "report"
    assert main(["report", "--survey", str(named), "--to", str(out), "--json"]) == 0
    outcome = json.loads(capsys.readouterr().out)
    assert {"report.html", "report.pdf", "tables/evidence.csv"} <= set(outcome["files"])
    assert outcome["leaks"] == []
    assert any("private or sensitive site" in text for text in outcome["withheld"])
    page = (out / "report.html").read_text(encoding="utf-8")
    assert "Linnet Water Survey" in page
    assert "Sundew Mire" not in page
    assert "Quince Garden" not in page
    assert "@example" not in page


def test_a_report_of_a_new_survey_says_what_is_missing(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    create_survey(tmp_path / "new", title="New Survey")
    out = tmp_path / "report"
    assert main(["report", "--survey", str(tmp_path / "new"), "--to", str(out)]) == 0
    assert "released" in capsys.readouterr().out
    assert "Still missing: sites" in (out / "report.html").read_text(encoding="utf-8")
    for command in ("evidence", "where-next"):
        assert main([command, "--survey", str(tmp_path / "new")]) == 0
        assert capsys.readouterr().out.strip()


def test_scores_are_new_changed_as_before_or_refused(survey: Survey, tmp_path: Path):
    path = write(
        tmp_path / "pond index.csv",
        "scientificName,score\nAnax imperator,4\nGomphus flavipes,7\n!!,3\nLibellula depressa,\n"
        "Aeshna cyanea,4\nSympetrum sanguineum,high\nAeshna cyanea,5\n",
    )
    first = tables.import_table(survey, "scores", path, by="Ida", now=NOW)
    assert (first.accepted, first.new, first.changed) == (2, 2, 0)
    assert [(row.line, row.column) for row in first.refused] == [
        (4, "scientificName"),
        (5, "score"),
        (6, "scientificName"),
        (7, "score"),
        (8, "scientificName"),
    ]
    # Of two differing scores of one taxon neither is taken, and each row names the other.
    assert "Aeshna cyanea in pond index stands on line 8" in first.refused[2].reason
    assert "Aeshna cyanea in pond index stands on line 6" in first.refused[4].reason
    # The synonym of the checklist counts for its accepted name.
    assert evidence.scores(survey) == {
        "pond index": {"Anax imperator": 4.0, "Stylurus flavipes": 7.0}
    }
    again = tables.import_table(survey, "scores", path, by="Ida", now=NOW)
    assert (again.new, again.changed) == (0, 0)
    write(path, "scientificName,score\nAnax imperator,6\n")
    changed = tables.import_table(survey, "scores", path, by="Ida", now=NOW)
    assert (changed.new, changed.changed) == (0, 1)
    assert [one.command for one in actions.log(survey, limit=2)] == ["scores", "scores"]


MEASURED = (
    "site,date,variable,value,unit,method\n"
    "LNT-01,2026-06-01,conductivity,310,uS/cm,field meter\n"
    "LNT-02,2026-06-01,conductivity,290,uS/cm,field meter\n"
    "LNT-03,2026-06-01,conductivity,120,uS/cm,field meter\n"
    "LNT-04,2026-06-01,conductivity,410,uS/cm,field meter\n"
    "LNT-05,2026-06-01,conductivity,205,uS/cm,field meter\n"
    "LNT-99,2026-06-01,conductivity,99,uS/cm,field meter\n"
)


def test_measurements_are_read_in_plain_words_and_in_darwin_core(survey: Survey, tmp_path: Path):
    first = tables.import_table(
        survey, "site-values", write(tmp_path / "plain.csv", MEASURED), by="Ida", now=NOW
    )
    assert (first.accepted, first.new, first.refused) == (6, 6, ())
    terms = ",".join(site_values.TERMS)
    other = write(tmp_path / "dwc.csv", MEASURED.replace(MEASURED.splitlines()[0], terms))
    same = tables.import_table(survey, "site-values", other, by="Ida", now=NOW)
    assert (same.accepted, same.new, same.changed) == (6, 0, 0)


def test_bad_measurements_are_refused_with_line_column_and_reason(survey: Survey, tmp_path: Path):
    path = write(
        tmp_path / "bad.csv",
        "site,date,variable,value,unit\n"
        "LNT-01,2026-06-01,mercury,<0.01,ng/g\n"
        "LNT-01,June,mercury,3,ng/g\n"
        ",2026-06-01,mercury,3,ng/g\n"
        "LNT-01,2026-06-02,mercury,10.4,ng/g\n"
        "LNT-01,2026-06-02,mercury,11,ng/g\n"
        "LNT-01,2026-06-03,mercury,9.8,ng/g\n",
    )
    made = tables.import_table(survey, "site-values", path, by="Ida", now=NOW)
    assert [(row.line, row.column) for row in made.refused] == [
        (2, "value"),
        (3, "date"),
        (4, "site"),
        (5, "site"),
        (6, "site"),
    ]
    assert "limit" in made.refused[0].reason
    # Of two differing values neither is taken, and each row names the other.
    assert "mercury at LNT-01 on 2026-06-02 stands on line 6" in made.refused[3].reason
    assert "mercury at LNT-01 on 2026-06-02 stands on line 5" in made.refused[4].reason
    assert made.new == 1


def test_a_table_without_the_needed_columns_is_refused_as_a_whole(survey: Survey, tmp_path: Path):
    path = write(tmp_path / "other.csv", "pond,day,thing\nA,2026-06-01,3\n")
    with pytest.raises(TableError):
        tables.import_table(survey, "site-values", path, by="Ida", now=NOW)


def test_measurements_are_joined_and_correlated_with_a_plain_warning(
    named: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
):
    path = write(tmp_path / "water.csv", MEASURED)
    assert main(["site-values", str(path), "--survey", str(named)]) == 0
    text = capsys.readouterr().out
    assert "6 new" in text
    assert "It shows no cause" in text
    with open_survey(named) as here:
        row = analysis.site_correlations(here)[0]
        assert (row.variable, row.against) == ("conductivity", "taxa found as exuviae")
        assert row.correlation.pairs == 5  # LNT-99 is no site of the survey
        lost = {(x.stage, x.reason): x.count for x in analysis.losses_of(here, [])}
    assert lost[("site values", "of a site that is not imported")] == 1


def test_losses_add_up_to_what_was_received(survey: Survey):
    found = standing.sightings(survey)
    rows = analysis.losses_of(survey, found)
    assert all(0 <= row.count <= row.total for row in rows)
    photos = [row for row in rows if row.stage == "photos"]
    used = {photo for one in found for photo in one.photos}
    assert photos[0].total == sum(row.count for row in photos) + len(used)
    undetermined = next(r for r in rows if r.reason == "not looked at by a determiner yet")
    assert undetermined.count == len(found)


def blocks_of(document: Path) -> str:
    """All python blocks of a document, one after the other."""
    text = document.read_text(encoding="utf-8")
    return "\n".join(re.findall(r"```python\n(.*?)```", text, re.DOTALL))


def test_the_walk_of_the_analyst_runs_on_the_demo(
    named: Path, tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
):
    code = blocks_of(ANALYST)
    assert code.count("\n") > 20
    shutil.move(named, tmp_path / "demo-survey")
    monkeypatch.chdir(tmp_path)
    exec(compile(code, str(ANALYST), "exec"), {})  # the document's own words
    text = capsys.readouterr().out
    assert "Chao2" in text
    assert "Jaccard" in text
    assert (tmp_path / "linnet-report" / "report.html").is_file()


def test_the_document_of_the_analyst_names_every_file_of_a_report(named: Path, tmp_path: Path):
    with open_survey(named) as here:
        made = analysis.report(here, tmp_path / "report", now=NOW)
    text = ANALYST.read_text(encoding="utf-8")
    for name in made.files:
        if name.startswith("tables/"):
            assert f"`{name.removeprefix('tables/')}`" in text, name
