"""Our own tables, opened and saved by a spreadsheet, read again: the same, or refused in words.

What spreadsheets of different countries do to a cell (days, true and false, decimals, zeros at the
front, semicolons, the whole row in one cell) is common practice, no source.
"""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Callable, Sequence
from datetime import date
from functools import partial
from importlib import resources
from pathlib import Path
from typing import Any

import pytest

from triage.checklist import Taxon, read_checklist
from triage.determinations import read_determinations
from triage.errors import TableError
from triage.exuviae import read_lots, read_sites, read_visits
from triage.packets.answers import is_table_of_answers
from triage.report.queue_sheet import HEADINGS

DATA = Path(str(resources.files("triage.demo").joinpath("data")))
TODAY = date(2026, 11, 24)
Rows = Sequence[Sequence[str]]

ANSWERS = [
    [
        "sighting",
        "scientificName",
        "identificationQualifier",
        "sex",
        "lifeStage",
        "behavior",
        "identificationRemarks",
        "cannotTell",
        "notAnAdult",
        "secondOpinion",
    ],
    [
        "packet-7f3a2c10-01",
        "Anax imperator",
        "",
        "male",
        "",
        "",
        'worn; "old", seen twice',
        "",
        "",
        "",
    ],
    ["packet-7f3a2c10-02", "Aeshna mixta", "cf.", "", "", "", "", "", "", "true"],
    ["packet-7f3a2c10-03", "", "", "", "", "", "too dark", "blurred", "", ""],
    ["packet-7f3a2c10-04", "", "", "", "", "", "", "", "exuvia", "false"],
]
QUEUE = [
    [*HEADINGS, "scientificName", "sex", "identifiedBy"],
    ["1", "'1234567890123456", *[""] * (len(HEADINGS) - 2), "Anax imperator", "m", "Ida Kvist"],
    ["2", "'12345678901234e5", *[""] * (len(HEADINGS) - 2), "Aeshna mixta", "f", "Ida Kvist"],
]


def own_rows(name: str) -> Rows:
    return list(csv.reader(io.StringIO((DATA / name).read_text("utf-8"), newline="")))


def written(rows: Rows, delimiter: str = ",", quoting: int = csv.QUOTE_MINIMAL) -> str:
    out = io.StringIO(newline="")
    csv.writer(out, delimiter=delimiter, quoting=quoting).writerows(rows)
    return out.getvalue()


def shown(cell: str, days: str, yes: str, no: str, *, commas: bool = False) -> str:
    """What a spreadsheet saves of a cell that it took for a day, a number, or true and false."""
    if found := re.fullmatch(r"(\d{4})-(\d\d)-(\d\d)", cell):
        year, month, day = map(int, found.groups())
        serial = (date(year, month, day) - date(1899, 12, 30)).days
        return days.format(y=year, m=month, d=day, serial=serial)
    if cell in ("true", "false"):
        return yes if cell == "true" else no
    if re.fullmatch(r"0\d+", cell):
        return cell.lstrip("0")
    if re.fullmatch(r"\d+[eE]\d\d?|\d{12,}", cell):
        cell = f"{float(cell):.5E}"
    return cell.replace(".", ",") if commas and re.fullmatch(r"-?\d+\.\d+(E.*)?", cell) else cell


def each(rows: Rows, *how: str, commas: bool = False) -> list[list[str]]:
    return [[shown(cell, *how, commas=commas) for cell in row] for row in rows]


def german(rows: Rows) -> str:
    return written(each(rows, "{d:02d}.{m:02d}.{y}", "WAHR", "FALSCH", commas=True), ";")


def polish(rows: Rows) -> str:
    return written(each(rows, "{d:02d}.{m:02d}.{y}", "PRAWDA", "FAŁSZ", commas=True), ";")


def french(rows: Rows) -> str:
    return written(each(rows, "{d:02d}/{m:02d}/{y}", "VRAI", "FAUX", commas=True), ";")


def american(rows: Rows) -> str:
    return written(each(rows, "{m}/{d}/{y}", "TRUE", "FALSE"))


def serials(rows: Rows) -> str:
    return written(each(rows, "{serial}", "TRUE", "FALSE"))


def one_cell(rows: Rows) -> str:
    """A table with commas, opened and saved where semicolons are expected."""
    lines = written(rows).splitlines()
    return written([[line] for line in lines], ";")


def padded(rows: Rows) -> str:
    empty = [[""] * (len(rows[0]) + 3)] * 2
    return written([*([*row, "", "", ""] for row in rows), *empty], ";")


SAVED: list[tuple[str, str, Callable[[Rows], str]]] = [
    ("German, semicolons", "utf-8-sig", german),
    ("German, windows-1252", "cp1252", german),
    ("Polish, windows-1250", "cp1250", polish),
    ("French", "utf-8-sig", french),
    ("American", "utf-8", american),
    ("serial numbers", "utf-8", serials),
    ("Unicode text", "utf-16", lambda rows: written(rows, "\t")),
    ("each row in one cell", "utf-8-sig", one_cell),
    ("all in quotation marks", "utf-8", partial(written, quoting=csv.QUOTE_ALL)),
    ("empty rows and columns", "utf-8", padded),
]
DAYS_ASKED = {"serial numbers"}  # 46206 is refused


def survey_reader(name: str) -> Callable[[Path], tuple[list[Any], list[Any]]]:
    sites = read_sites(DATA / "sites.csv")[0]
    visits = read_visits(DATA / "visits.csv")[0]
    lots = read_lots(DATA / "lots.csv")[0]
    taxa = read_checklist(DATA / "checklist.csv")[0]
    return {
        "sites.csv": partial(read_sites, zone="Europe/Warsaw", known=sites),
        "visits.csv": partial(read_visits, today=TODAY, known=visits, sites=sites),
        "lots.csv": partial(read_lots, today=TODAY, known=lots),
        "checklist.csv": partial(read_checklist, known=taxa),
        "answers": read_determinations,
        "queue": partial(read_determinations, passed_over=HEADINGS),
    }[name]


def said(records: list[Any]) -> list[Any]:
    """Records without the line on which they stood."""
    return [
        (one.sighting, one.identified_by, one.statement) if hasattr(one, "statement") else one
        for one in records
    ]


@pytest.mark.parametrize(("saved", "encoding", "save"), SAVED, ids=[one[0] for one in SAVED])
@pytest.mark.parametrize(
    "name", ["sites.csv", "visits.csv", "lots.csv", "checklist.csv", "answers", "queue"]
)
def test_a_table_that_a_spreadsheet_saved_is_read_the_same_or_refused(
    tmp_path: Path, name: str, saved: str, encoding: str, save: Callable[[Rows], str]
):
    rows = {"answers": ANSWERS, "queue": QUEUE}.get(name) or own_rows(name)
    read, path = survey_reader(name), tmp_path / "table.csv"
    path.write_text(written(rows), "utf-8", newline="")
    meant, none = read(path)
    assert meant
    assert none == []
    path.write_bytes(save(rows).encode(encoding))
    found, wrong = read(path)
    refused = [one for one in wrong if not one.only_told]
    assert [one for one in said(found) if one not in said(meant)] == []
    assert len(found) + len(refused) == len(meant)
    days = name in ("visits.csv", "lots.csv") and saved in DAYS_ASKED
    assert all(one.column in ("eventDate", "dateIdentified") for one in refused)
    assert bool(refused) is days


@pytest.mark.parametrize(("saved", "encoding", "save"), SAVED, ids=[one[0] for one in SAVED])
def test_a_table_of_answers_is_known_however_it_was_saved(
    tmp_path: Path, saved: str, encoding: str, save: Callable[[Rows], str]
):
    path = tmp_path / "answers.csv"
    path.write_bytes(save(ANSWERS).encode(encoding))
    assert is_table_of_answers(path)
    path.write_bytes(save(own_rows("lots.csv")).encode(encoding))
    assert not is_table_of_answers(path)


def test_a_row_that_stands_in_one_cell_and_cannot_be_divided_is_refused(tmp_path: Path):
    path = tmp_path / "answers.csv"
    path.write_text(written([ANSWERS[0], ["packet-7f3a2c10-01,Anax imperator,,male"]]), "utf-8")
    found, (refused,) = read_determinations(path)
    assert found == []
    assert "whole row stands in its first cell" in refused.reason


@pytest.mark.parametrize(
    ("reader", "columns"),
    [
        (read_sites, "locationID,decimalLatitude,decimalLongitude,informationWithheld"),
        (read_visits, "eventID,locationID,eventDate,recordedBy,informationWithheld"),
        (read_lots, "catalogNumber,scientificName,individualCount,eventID,informationWithheld"),
    ],
)
def test_a_table_of_an_export_is_no_table_to_import(tmp_path: Path, reader, columns: str):
    """Its places are coarse and its people are codes: they would replace what is known."""
    path = tmp_path / "export.csv"
    path.write_text(f"{columns}\nA,53.9,21.7,\n", "utf-8")
    with pytest.raises(TableError, match="table of an export"):
        reader(path)


def test_a_column_that_the_table_lacks_leaves_what_the_survey_has(tmp_path: Path):
    sites = read_sites(DATA / "sites.csv")[0]
    garden = next(one for one in sites if one.private)
    path = tmp_path / "sites.csv"
    place = f"{garden.location_id},{garden.decimal_latitude},{garden.decimal_longitude}"
    path.write_text(f"locationID,decimalLatitude,decimalLongitude,habitat\n{place},pond\n")
    (found,), refused = read_sites(path, known=sites)
    assert refused == []
    assert found.private
    assert (found.locality, found.aliases) == (garden.locality, garden.aliases)
    assert found.coordinate_uncertainty_in_meters == garden.coordinate_uncertainty_in_meters
    assert found.habitat == "pond"
    path.write_text(f"locationID,decimalLatitude,decimalLongitude,private\n{place},\n")
    assert read_sites(path, known=sites)[0][0].private  # an empty cell takes no protection off
    path.write_text(f"locationID,decimalLatitude,decimalLongitude,private\n{place},no\n")
    assert not read_sites(path, known=sites)[0][0].private


def test_a_shape_is_of_its_point_and_a_determiner_of_the_name_given(tmp_path: Path):
    sites, lots = read_sites(DATA / "sites.csv")[0], read_lots(DATA / "lots.csv")[0]
    path = tmp_path / "table.csv"
    path.write_text("locationID,decimalLatitude,decimalLongitude\nLNT-01,53.9030,21.6960\n")
    (moved,), _ = read_sites(path, known=sites)
    assert (moved.locality, moved.footprint_wkt) == ("Heron Mere", "")
    header = "catalogNumber,eventID,scientificName,individualCount\n"
    path.write_text(f"{header}EX-0003,V02,Anax imperator,10\nEX-0004,V02,Orthetrum,6\n")
    (counted, renamed), _ = read_lots(path, known=lots)
    assert (counted.individual_count, counted.identified_by) == (10, "Ruth Fenner")
    assert (renamed.scientific_name, renamed.identified_by, renamed.recorded_by) == (
        "Orthetrum",
        "",
        "Ruth Fenner",
    )


def test_a_sensitive_taxon_stays_so_in_a_table_of_names_alone(tmp_path: Path):
    known = [Taxon(scientific_name="Aeshna viridis", rank="species", sensitive="1", needs_two=True)]
    path = tmp_path / "checklist.csv"
    path.write_text("scientificName,family\nAeshna viridis,Aeshnidae\n")
    (found,), _ = read_checklist(path, known=known)
    assert (found.family, found.sensitive, found.needs_two) == ("Aeshnidae", "1", True)
