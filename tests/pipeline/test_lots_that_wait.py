"""A lot or visit whose day or site is not imported yet is kept, listed, and goes out nowhere."""

from tests_support import NOW, csv_rows

from triage.cli import main
from triage.pipeline import audit, publish, tables
from triage.pipeline.audit import record_needs
from triage.store.connection import open_survey

VISITS = "eventID,locationID,eventDate\nV-31,LNT-01,2026-06-13\nV-32,LNT-99,2026-06-14\n"
LOTS = (
    "catalogNumber,eventID,scientificName,individualCount\n"
    "W-1,V-31,Anax imperator,3\nW-2,V-32,Anax imperator,4\n"
)


def released(survey, folder):
    publish.export(survey, folder, now=NOW)
    lots = {row["catalogNumber"] for row in csv_rows(folder / "lots.csv")}
    visits = {row["eventID"] for row in csv_rows(folder / "visits.csv")}
    return lots & {"W-1", "W-2"}, visits & {"V-31", "V-32"}


def waiting(survey):
    return {
        (one.record, one.text)
        for one in record_needs(survey, now=NOW)
        if one.kind == "open reference"
    }


def test_a_lot_goes_out_with_its_day_and_place_or_not_at_all(survey, tmp_path):
    def taken(kind, content):
        path = tmp_path / f"{kind}.csv"
        path.write_text(content)
        return tables.import_table(survey, kind, path, by="Ruth Fenner", now=NOW).unresolved

    assert [one.identifier for one in taken("lots", LOTS)] == ["W-1", "W-2"]
    assert waiting(survey) == {("lot W-1", "eventID V-31"), ("lot W-2", "eventID V-32")}
    assert released(survey, tmp_path / "first") == (set(), set())
    assert any("W-1, eventID V-31" in line for line in audit.check(survey, now=NOW).not_done)
    (left,) = taken("visits", VISITS)
    assert "Import the site" in left.reason
    assert waiting(survey) == {("visit V-32", "locationID LNT-99")}
    assert released(survey, tmp_path / "second") == ({"W-1"}, {"V-31"})


def test_the_inbox_says_what_to_import(walked, tmp_path, capsys):
    path = tmp_path / "lots.csv"
    path.write_text(LOTS)
    assert main(["lots", str(path), "--survey", str(walked)]) == 0
    assert "No visit has this eventID" in capsys.readouterr().out
    assert main(["inbox", "--survey", str(walked)]) == 0
    assert "Import the visit, or correct the lot" in capsys.readouterr().out
    with open_survey(walked) as survey:
        assert "W-1" not in {lot.catalog_number for lot in tables.counted_lots(survey)}
