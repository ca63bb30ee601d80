"""The report's folder: the same numbers everywhere, nothing of anybody that must not be there."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from pypdf import PdfReader
from report_making import content, material, measurements, secrets
from tests_support import NOW, csv_rows, find_leaks

from triage.analysis.images import as_jpeg
from triage.errors import TriageError
from triage.exports import ExportContent, SurveyMetadata
from triage.privacy import Leak, leaks_in
from triage.report.findings import Findings, find
from triage.report.material import Material
from triage.report.parts import with_interval
from triage.report.writing import ReportOutcome, write_report
from triage.standards.cautions import cautions

Made = tuple[Path, Material, Findings]


def read_photo(photo: str) -> bytes:
    shade = sum(photo.encode()) % 200
    return as_jpeg(np.full((48, 64, 3), shade, dtype=np.uint8), quality=90)


def write(folder: Path, here: Material, found: Findings | None = None) -> ReportOutcome:
    return write_report(
        folder, here, found or find(here), secrets=secrets(), now=NOW, read_photo=read_photo
    )


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> tuple[Path, Material, Findings]:
    folder = tmp_path_factory.mktemp("released") / "report"
    here = material(measurements=measurements(), scores={"ours": {"Coenagrion puella": 3.0}})
    found = find(here)
    assert write(folder, here, found).leaks == ()
    return folder, here, found


@pytest.fixture(scope="module")
def internal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("internal") / "report"
    write(folder, material(internal=True))
    return folder


def words_of(path: Path) -> str:
    return "\n".join(page.extract_text() for page in PdfReader(path).pages)


def test_page_pdf_plots_tables_and_sheets_are_there(released: Made):
    folder, _, found = released
    names = {path.relative_to(folder).as_posix() for path in folder.rglob("*") if path.is_file()}
    assert {"report.html", "report.pdf"} <= names
    plots = {name for name in names if name.startswith("plots/")}
    for stem in ("map", "evidence", "lists", "seasons-2026", "accumulation", "rarefaction"):
        assert {f"plots/{stem}.{kind}" for kind in ("png", "svg", "csv")} <= plots
    assert len([n for n in names if n.startswith("search-sheets/")]) == len(found.priorities) > 0


def test_page_and_pdf_show_the_same_numbers_as_the_functions(released: Made):
    folder, _, found = released
    page = (folder / "report.html").read_text(encoding="utf-8")
    paper = " ".join(words_of(folder / "report.pdf").split())
    for text in (page, paper):
        assert "Records of 2026: for each taxon" in text
    for row in found.richness:
        if row.scope == "all":
            shown = with_interval(row.estimate, 1)
            assert shown in page
            assert shown in paper
    for one in found.agreement:
        assert with_interval(one.raw) in page


def test_the_files_hold_the_numbers_of_the_functions(released: Made):
    folder, _, found = released
    rows = csv_rows(folder / "tables" / "richness.csv")
    assert len(rows) == len(found.richness)
    for row, one in zip(rows, found.richness, strict=True):
        assert row["estimator"] == one.estimator
        assert float(row["estimate"]) == pytest.approx(
            one.estimate.value, abs=0.0005001
        )  # 3 decimals
    evidence = csv_rows(folder / "plots" / "evidence.csv")
    assert [row["count"] for row in evidence] == [str(one.count) for one in found.evidence]


def test_a_released_report_gives_nobody_and_no_hidden_place_away(released: Made):
    folder, _, _ = released
    kept = secrets()
    assert "Marek Olszak" in kept.words
    assert "Quince Garden" in kept.words
    assert "Sundew Mire" in kept.words
    # Numbers inside drawn paths are no coordinates; what a plot shows is in its CSV file.
    found = [leak for leak in find_leaks(folder, kept) if not leak.file.endswith((".svg", ".pdf"))]
    assert found == []
    texts = {p.name: words_of(p).encode() for p in sorted(folder.rglob("*.pdf"))}
    assert leaks_in(texts, kept) == ()


def test_the_search_for_leaks_does_find_what_an_internal_report_says(internal: Path):
    text = {"page.html": (internal / "report-internal.html").read_bytes()}
    found = {leak.found for leak in leaks_in(text, secrets())}
    assert {"Marek Olszak", "Quince Garden", "Sundew Mire"} <= found


def test_a_sensitive_taxon_is_not_listed_at_a_site(released: Made):
    folder, _, _ = released
    for path in folder.rglob("*.csv"):
        assert "Leucorrhinia" not in path.read_text(encoding="utf-8"), path.name


def test_released_coordinates_lie_on_the_grid(released: Made):
    folder, _, _ = released
    rows = csv_rows(folder / "plots" / "map.csv")
    assert len(rows) > 6
    for row in rows:
        for name in ("decimalLatitude", "decimalLongitude"):
            assert re.fullmatch(r"\d+(\.\d{1,3})?", row[name]), row


def test_exact_coordinates_stand_in_the_internal_report_alone(internal: Path):
    rows = csv_rows(internal / "plots" / "map.csv")
    assert "53.902137" in {row["decimalLatitude"] for row in rows}


def test_only_licensed_and_cleared_photos_are_shown_and_they_carry_no_metadata(released: Made):
    folder, here, _ = released
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert page.count("data:image/jpeg;base64,") >= 2
    assert "s02-photo" not in {photo.sha256 for photo in here.content.photos}
    bare = replace(content(), photos=tuple(replace(p, licence="") for p in content().photos))
    without = material(bare)
    assert without.content.photos == ()


def test_people_are_named_by_consent_alone(released: Made):
    folder, _, _ = released
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "Anna Wilga" in page
    assert "Marek" not in page
    assert "P-2" in page


def test_every_search_sheet_has_place_days_taxa_and_all_cautions(released: Made):
    folder, _, found = released
    sheets = sorted((folder / "search-sheets").glob("*.pdf"))
    for path, one in zip(sheets, found.priorities, strict=True):
        reader = PdfReader(path)
        assert len(reader.pages) == 1
        text = " ".join(words_of(path).split())
        for caution in cautions():
            assert caution in text
        for taxon in one.taxa:
            assert taxon in text
        assert "Where" in text
        assert "When" in text


def test_the_page_needs_nothing_else_and_runs_nothing(released: Made):
    folder, _, _ = released
    page = (folder / "report.html").read_text(encoding="utf-8")
    assert "<script" not in page
    assert not re.search(r'(?:src|href)="(?!data:|#)', page)


def test_a_name_that_looks_like_markup_is_shown_and_not_obeyed(tmp_path: Path):
    sites = tuple(
        replace(site, locality="<b>Mere</b> & =1+1") if site.location_id == "HM" else site
        for site in content().sites
    )
    here = material(replace(content(), sites=sites))
    write(tmp_path / "report", here)
    page = (tmp_path / "report" / "report.html").read_text(encoding="utf-8")
    assert "<b>Mere" not in page
    assert "&lt;b&gt;Mere" in page
    assert "<b>Mere</b>" in words_of(tmp_path / "report" / "report.pdf")


def test_the_same_data_seed_and_moment_give_the_same_bytes(tmp_path: Path):
    for name in ("one", "two"):
        write(tmp_path / name, material())
    for path in sorted((tmp_path / "one").rglob("*")):
        if path.is_file():
            other = tmp_path / "two" / path.relative_to(tmp_path / "one")
            assert path.read_bytes() == other.read_bytes(), path.name


def test_nothing_is_written_over(tmp_path: Path):
    (tmp_path / "report").mkdir()
    (tmp_path / "report" / "mine.txt").write_text("mine", encoding="utf-8")
    with pytest.raises(TriageError, match="never written over"):
        write(tmp_path / "report", material())
    assert (tmp_path / "report" / "mine.txt").read_text(encoding="utf-8") == "mine"


def test_what_still_leaks_is_said(tmp_path: Path):
    survey = SurveyMetadata(title="Linnet Water Survey", version="triage 0")
    sites = tuple(
        replace(site, locality="Reed Lake") if site.location_id == "HM" else site
        for site in content().sites
    )
    here = material(replace(content(), survey=survey, sites=sites))
    watched = replace(secrets(), words=("Reed Lake",))
    made = write_report(tmp_path / "report", here, find(here), secrets=watched, now=NOW)
    assert Leak(file="report.html", found="Reed Lake") in made.leaks


def test_a_report_of_an_empty_survey_says_what_is_missing(tmp_path: Path):
    here = material(ExportContent(survey=SurveyMetadata(title="Empty", version="triage 0")))
    write(tmp_path / "report", here)
    page = (tmp_path / "report" / "report.html").read_text(encoding="utf-8")
    assert "Still missing: sites" in page
    assert "a checklist" in page
    assert "No site and no sighting has a place" in page
    assert len(PdfReader(tmp_path / "report" / "report.pdf").pages) >= 2
    assert not (tmp_path / "report" / "plots").exists()


def test_limits_sources_version_settings_and_seed_are_told(released: Made):
    folder, here, _ = released
    page = (folder / "report.html").read_text(encoding="utf-8")
    for wanted in (
        "Adults overstate breeding",
        "Searches for exuviae miss species",
        "0.49 to 0.75",
        "one study of dragonflies",
        "triage 0",
        "matching.movement_scale",
        f"Seed {here.settings.seed}",
    ):
        assert wanted in page


def test_a_report_can_be_cited_and_compared_with_an_earlier_one(released: Made, tmp_path: Path):
    folder, here, found = released
    citation = (folder / "citation.txt").read_text(encoding="utf-8")
    version = citation.partition("version ")[2].partition(".\n")[0]
    assert version in (folder / "report.html").read_text(encoding="utf-8")
    again = write_report(tmp_path / "again", here, found, secrets=secrets(), now=NOW, since=folder)
    assert (again.version, again.changes) == (version, 0)
    fewer = material(replace(content(), sightings=content().sightings[:1]))
    other = write_report(
        tmp_path / "other", fewer, find(fewer), secrets=secrets(), now=NOW, since=folder
    )
    assert other.version != version
    changes = csv_rows(tmp_path / "other" / "changes.csv")
    assert other.changes == len(changes) > 0
    assert {row["change"] for row in changes} <= {"added", "changed", "withdrawn"}
