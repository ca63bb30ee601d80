"""Exports: what is in the folder, what an independent reader sees, and what nobody may see."""

from __future__ import annotations

import csv
import io
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path

import pytest
from dwca.read import DwCAReader
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree
from tests_support import find_leaks

from triage import exports, privacy
from triage.checklist import Taxon
from triage.determinations import Accepted, Determination
from triage.errors import TriageError
from triage.exports import (
    ExportContent,
    MediaRow,
    PersonRow,
    ReleasePolicy,
    SurveyMetadata,
)
from triage.exports.places import match_rows
from triage.exports.release import prepare
from triage.exports.tables import csv_bytes
from triage.exuviae import ExuviaeLot, Site, Visit
from triage.matching import Match
from triage.privacy import Secrets
from triage.sightings import Sighting
from triage.standards.darwin_core import DWC, persistent_id

NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
BY = "https://creativecommons.org/licenses/by/4.0/"
CORE = DWC + "Occurrence"
RELEASE = ReleasePolicy(include_unnamed=True)


def sighting(identifier: str = "s-open", **changes: object) -> Sighting:
    fields: dict[str, object] = {
        "identifier": identifier,
        "observer": "obs-7",
        "event_date": "2026-06-13T14:07:05+02:00",
        "decimal_latitude": 53.912341,
        "decimal_longitude": 21.718762,
        "coordinate_uncertainty_in_meters": 12.0,
        "location_id": "HM",
        "locality": "Heron Mere",
        "photos": (f"{identifier:0<64}",),
        "state": "determined",
    }
    return Sighting(**(fields | changes))  # type: ignore[arg-type]


def named(sighting_id: str, name: str, by: str, number: int, **changes: object) -> Determination:
    fields: dict[str, object] = {
        "identifier": f"d{number}",
        "sighting": sighting_id,
        "outcome": "determined" if name else "cannot tell",
        "scientific_name": name,
        "taxon_rank": "species" if " " in name else "genus",
        "identified_by": by,
        "date_identified": f"2026-07-0{number}T08:00:00Z",
    }
    return Determination(**(fields | changes))  # type: ignore[arg-type]


def site(location_id: str, locality: str, **changes: object) -> Site:
    fields: dict[str, object] = {
        "location_id": location_id,
        "locality": locality,
        "decimal_latitude": 53.912,
        "decimal_longitude": 21.719,
        "coordinate_uncertainty_in_meters": 80.0,
    }
    return Site(**(fields | changes))  # type: ignore[arg-type]


def photo(sighting_id: str, view: str = "dorsal", **changes: object) -> MediaRow:
    fields: dict[str, object] = {
        "sighting": sighting_id,
        "sha256": f"{sighting_id:0<64}",
        "format": "JPEG",
        "width": 4000,
        "height": 3000,
        "view": view,
        "box": (0.25, 0.25, 0.75, 0.5),
        "capture_date": "2026-06-13T14:07:05",
        "creator": "obs-7",
        "licence": BY,
        "cleared_for_publication": True,
    }
    return MediaRow(**(fields | changes))  # type: ignore[arg-type]


def match(sighting_id: str, location_id: str, distance: float | None) -> Match:
    return Match(
        sighting=sighting_id,
        location_id=location_id,
        distance=distance,
        distance_least=distance,
        distance_most=distance,
        days_least=3,
        days_most=5,
        season="within",
        taxon_agreement="same",
        agreement_rank="species",
        movement_density=8.731,
        presence=1.0,
        abundance=1.0,
        likelihood=8.731,
        likelihood_near=8.731,
        likelihood_far=8.731,
        share=0.6173,
        share_low=0.4,
        share_high=0.8,
        reason=f"{distance} m from {location_id}",
    )


def content() -> ExportContent:
    """One open sighting, one in a private garden, one of a sensitive species, one set aside."""
    return ExportContent(
        survey=SurveyMetadata(
            title="Linnet Water Survey",
            description="Dragonflies and their exuviae, lakes & ponds <2026>.",
            zone="Europe/Warsaw",
            licence=BY,
            contact_name="Survey office",
            contact_address="survey@example.org",
            version="triage 0.1.0",
        ),
        sightings=(
            sighting(scientific_name="Anax imperator"),
            sighting(
                "s-garden",
                decimal_latitude=53.955553,
                decimal_longitude=21.801117,
                location_id="GP",
                locality="Quince Cottage",
                observer="obs-9",
            ),
            sighting("s-rare", observer="obs-9", event_date="2026-06-14T09:31:22+02:00"),
            sighting("s-net", state="set aside"),
        ),
        determinations=(
            named("s-open", "Anax", "Ida Marsh", 1),
            named("s-open", "Anax imperator", "Ida Marsh", 2, qualifier="cf."),
            named("s-open", "Anax parthenope", "Tom Sedge", 3, remarks="by Bo Wren, 53.91234 N"),
            named("s-rare", "Leucorrhinia pectoralis", "Ida Marsh", 4, remarks="by the old sluice"),
            named("s-garden", "", "Tom Sedge", 5, reason="blurred, at Quince Cottage"),
        ),
        accepted={
            "s-open": Accepted(
                state="determined",
                scientific_name="Anax imperator",
                taxon_rank="species",
                qualifier="cf.",
            ),
            "s-rare": Accepted(
                state="determined",
                scientific_name="Leucorrhinia pectoralis",
                taxon_rank="species",
            ),
            "s-garden": Accepted(state="undeterminable", reason="blurred"),
        },
        photos=(
            photo("s-open", is_best=True),
            photo("s-open", "oblique", sha256="1" * 64),
            photo("s-open", sha256="2" * 64, licence=""),
            photo("s-open", sha256="3" * 64, cleared_for_publication=False),
            photo("s-garden"),
            photo("s-rare"),
        ),
        matches=(
            match("s-open", "HM", 41.37),
            match("s-open", "AP", 1234.56),
            match("s-open", "GP", 7000.1),
            match("s-open", "", None),
            match("s-garden", "HM", 6801.7),
            match("s-rare", "HM", 41.37),
        ),
        sites=(
            site("HM", "Heron Mere", footprint_wkt="POINT (21.719123 53.912456)"),
            site("AP", "Alder Pool", decimal_latitude=53.9231, decimal_longitude=21.7177),
            site(
                "GP",
                "Quince Cottage",
                aliases=("Bo's pond",),
                decimal_latitude=53.955512,
                decimal_longitude=21.801174,
                private=True,
                location_remarks="ring twice",
            ),
        ),
        visits=(
            Visit(
                event_id="v1",
                location_id="HM",
                first_day="2026-06-01",
                last_day="2026-06-02",
                recorded_by="Ida Marsh; Bo Wren",
                permit="P-778",
            ),
            Visit(
                event_id="GP-v2",
                location_id="GP",
                first_day="2026-06-05",
                last_day="2026-06-05",
                recorded_by="Ida Marsh",
            ),
        ),
        lots=(
            ExuviaeLot(
                catalog_number="L-1",
                event_id="v1",
                location_id="HM",
                first_day="2026-06-01",
                last_day="2026-06-02",
                scientific_name="Anax imperator",
                taxon_rank="species",
                individual_count=37,
                recorded_by="Bo Wren",
                identified_by="Ida Marsh",
            ),
            ExuviaeLot(
                catalog_number="GP-L2",
                event_id="GP-v2",
                location_id="GP",
                first_day="2026-06-05",
                last_day="2026-06-05",
                scientific_name="Coenagrion",
                taxon_rank="genus",
                individual_count=0,
            ),
        ),
        people=(
            PersonRow(
                code="det-1", name="Ida Marsh", consent_to_name=True, orcid="0000-0002-1825-0097"
            ),
            PersonRow(code="det-2", name="Tom Sedge"),
            PersonRow(code="obs-7", name="Bo Wren"),
            PersonRow(code="obs-9", name="Una Quill"),
        ),
        taxa=(
            Taxon(scientific_name="Leucorrhinia", rank="genus", sensitive="2"),
            Taxon(scientific_name="Anax imperator", rank="species", family="Aeshnidae"),
        ),
    )


SECRETS = Secrets(
    words=(
        *("Bo Wren", "Una Quill", "Tom Sedge", "Quince Cottage", "Bo's pond", "ring twice"),
        *("P-778", "GP-v2", "GP-L2", "the old sluice", "09:31:22", "obs-9", "s-net"),
    ),
    points=(
        (53.912341, 21.718762, 3),
        (53.955553, 21.801117, 2),
        (53.955512, 21.801174, 2),
        (53.912456, 21.719123, 3),
    ),
)


def rows(path: Path) -> list[dict[str, str]]:
    text = path.read_bytes().decode("utf-8")
    return [
        {key: value.removeprefix("'") for key, value in row.items()}
        for row in csv.DictReader(io.StringIO(text, newline=""))
    ]


def numbered(path: Path) -> dict[str, dict[str, str]]:
    return {row["otherCatalogNumbers"]: row for row in rows(path)}


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("released") / "export"
    exports.write_export(folder, content(), RELEASE, now=NOW)
    return folder


@pytest.fixture(scope="module")
def internal(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("internal") / "export"
    exports.write_export(folder, content(), ReleasePolicy(internal=True), now=NOW)
    return folder


def test_the_folder_holds_its_tables_two_archives_and_a_readme_that_names_them(released):
    names = {path.name for path in released.iterdir()}
    assert names == {
        *(f"{n}.csv" for n in ("sightings", "determinations", "photos", "matches", "sites")),
        *("visits.csv", "lots.csv", "darwin-core-archive.zip", "README.txt", "manifest.csv"),
        *("event-archive.zip", "places.geojson", "datapackage.json"),
    }
    readme = (released / "README.txt").read_text(encoding="utf-8")
    assert all(name in readme for name in names - {"README.txt"})


def test_a_release_gives_away_none_of_the_secrets(released):
    assert find_leaks(released, SECRETS) == ()


def test_the_same_secrets_are_found_in_an_internal_export_so_the_search_works(internal):
    found = {leak.found for leak in find_leaks(internal, SECRETS)}
    assert {"Bo Wren", "Quince Cottage", "P-778", "GP-v2", "09:31:22", "s-net"} <= found
    assert "53.912341 as 53.912341" in found


def test_an_independent_reader_opens_the_archive_with_history_and_media(released):
    with DwCAReader(str(released / "darwin-core-archive.zip")) as archive:
        assert archive.descriptor.core.type == CORE
        assert archive.metadata is not None
        assert archive.metadata.findtext("dataset/title") == "Linnet Water Survey"
        by_id = {row.id: row for row in archive}
        assert len(by_id) == 5
        row = by_id[persistent_id("sighting", "s-open")]
        assert row.data[DWC + "scientificName"] == "Anax imperator"
        assert row.data[DWC + "identificationQualifier"] == "cf. imperator"
        assert row.data[DWC + "decimalLatitude"] == "53.912"
        history = [e for e in row.extensions if e.rowtype == DWC + "Identification"]
        remarks = [e.data[DWC + "identificationRemarks"].split(";")[0] for e in history]
        assert remarks == ["superseded", "accepted", "differs from the accepted"]
        pictures = [e.data for e in row.extensions if e.rowtype.endswith("/ac/terms/Multimedia")]
        photos = [p for p in pictures if p["http://purl.org/dc/terms/type"].endswith("StillImage")]
        regions = [p for p in pictures if p["http://rs.tdwg.org/ac/terms/isROIOf"]]
        assert len(photos) == len(regions) == 2
        assert [p["http://rs.tdwg.org/ac/terms/subjectOrientation"] for p in photos] == [
            "http://rs.tdwg.org/acorient/values/r0006",
            "http://rs.tdwg.org/acorient/values/r0000",
        ]
        assert photos[1]["http://rs.tdwg.org/ac/terms/comments"] == "view: oblique"
        assert photos[0]["http://ns.adobe.com/xap/1.0/CreateDate"] == "2026-06-13T14:07:05"
        assert photos[0]["http://ns.adobe.com/xap/1.0/rights/UsageTerms"].endswith("(CC BY 4.0)")
        assert regions[0]["http://purl.org/dc/terms/type"].endswith("/RegionOfInterest")
        assert regions[0]["http://rs.tdwg.org/ac/terms/widthFrac"] == "0.500000"


def lot_id(number: str) -> str:
    return persistent_id("lot", number, survey="Linnet Water Survey")


def test_exuviae_are_specimens_of_the_last_larval_stage_and_an_empty_lot_is_a_search(released):
    with DwCAReader(str(released / "darwin-core-archive.zip")) as archive:
        by_id = {row.id: row.data for row in archive}
    lot = by_id[lot_id("L-1")]
    assert lot[DWC + "basisOfRecord"] == "PreservedSpecimen"
    assert (lot[DWC + "lifeStage"], lot[DWC + "organismQuantityType"]) == ("larva", "exuviae")
    assert lot[DWC + "eventDate"] == "2026-06-01/2026-06-02"
    assert lot[DWC + "recordedBy"] == "obs-7"
    nothing = by_id[lot_id("GP-L2")]
    assert nothing[DWC + "occurrenceStatus"] == "absent"
    assert nothing[DWC + "basisOfRecord"] == "HumanObservation"
    assert (nothing[DWC + "preparations"], nothing[DWC + "vitality"]) == ("", "")


def test_names_appear_only_with_consent(released, internal):
    history = rows(released / "determinations.csv")
    assert {(row["identifiedBy"], row["identifiedByID"]) for row in history} == {
        ("Ida Marsh", "https://orcid.org/0000-0002-1825-0097"),
        ("det-2", ""),
    }
    assert rows(released / "visits.csv")[0]["recordedBy"] == "Ida Marsh | obs-7"
    held = rows(internal / "visits-internal.csv")[0]
    assert held["recordedBy"] == "Ida Marsh | Bo Wren"


def test_a_private_home_keeps_its_cell_and_loses_name_time_and_observer(released):
    home = numbered(released / "sightings.csv")["s-garden"]
    assert (home["decimalLatitude"], home["decimalLongitude"]) == ("53.96", "21.80")
    assert (home["locality"], home["recordedBy"], home["eventTime"]) == ("", "", "")
    assert home["eventDate"] == "2026-06-13"
    assert "private home" in home["dataGeneralizations"]
    assert "more exact coordinates are held (private home)" in home["informationWithheld"]


def test_a_visit_to_a_private_home_names_nobody_not_even_with_consent(released):
    by_day = {row["eventDate"]: row for row in rows(released / "visits.csv")}
    assert by_day["2026-06-05"]["recordedBy"] == ""
    assert by_day["2026-06-05"]["informationWithheld"] == "observer and remarks withheld"


def test_a_photo_from_the_garden_is_a_private_home_even_when_no_site_is_named(tmp_path):
    stray = sighting(
        "s-stray", location_id="", locality="", decimal_latitude=53.9556, decimal_longitude=21.8011
    )
    exports.write_export(tmp_path / "x", replace(content(), sightings=(stray,)), RELEASE, now=NOW)
    assert "private home" in rows(tmp_path / "x" / "sightings.csv")[0]["dataGeneralizations"]


def test_a_sensitive_genus_hides_its_species_and_whatever_shares_their_photo(tmp_path):
    held = content()
    shared = sighting("s-beside", photos=held.sightings[2].photos)
    exports.write_export(
        tmp_path / "x",
        replace(held, sightings=(*held.sightings, shared)),
        RELEASE,
        now=NOW,
    )
    table = numbered(tmp_path / "x" / "sightings.csv")
    for identifier in ("s-rare", "s-beside"):
        assert table[identifier]["coordinatePrecision"] == "0.1"
        assert table[identifier]["locality"] == ""
    assert table["s-open"]["coordinatePrecision"] == "0.001"


def test_released_distances_are_between_released_points_and_hidden_matches_are_left_out(
    released, internal
):
    table = rows(released / "matches.csv")
    assert [row["locationID"] for row in table] == ["HM", "AP", ""]
    assert table[0]["distanceInMeters"] == "0"
    assert (table[0]["likelihood"], table[0]["reason"]) == ("", "")
    # s-open has a row at a private home: what is left must not be published as if it were all.
    assert [row["share"] for row in table] == ["", "", ""]
    assert all("shares withheld" in row["informationWithheld"] for row in table)
    assert len(rows(internal / "matches-internal.csv")) == 6
    held = [row["distanceInMeters"] for row in rows(internal / "matches-internal.csv")]
    assert sorted(held) == ["", "1235", "41", "41", "6802", "7000"]


def test_released_shares_are_the_held_ones():
    held = [
        replace(match("s-open", place, 41.37), share=share)
        for place, share in (("HM", 0.64), ("AP", 0.07), ("", 0.29))
    ]
    whole = replace(content(), matches=tuple(held))
    found = match_rows(whole, prepare(whole, ReleasePolicy()))
    assert {row["locationID"]: row["share"] for row in found} == {
        "HM": "0.6",
        "AP": "0.1",
        "": "0.3",
    }


def test_an_internal_export_says_so_in_every_file_name_and_every_row(internal):
    for path in internal.iterdir():
        assert "internal" in path.name
        if path.suffix == ".csv" and not path.name.startswith("manifest"):
            assert all(row["accessRights"].startswith("internal") for row in rows(path))
    with zipfile.ZipFile(internal / "darwin-core-archive-internal.zip") as archive:
        assert b"internal: for the survey's own eyes" in archive.read("eml.xml")
        for name in archive.namelist():
            assert name in ("meta.xml", "eml.xml") or "internal" in name
        table = list(
            csv.DictReader(io.TextIOWrapper(archive.open("occurrence-internal.csv"), "utf-8"))
        )
        assert table
        assert all(row["accessRights"].startswith("internal") for row in table)


def test_the_same_content_gives_the_same_bytes(released, tmp_path):
    exports.write_export(tmp_path / "again", content(), RELEASE, now=NOW)
    for path in released.iterdir():
        assert path.read_bytes() == (tmp_path / "again" / path.name).read_bytes()


def test_an_existing_export_is_not_written_over(tmp_path):
    folder = tmp_path / "export"
    folder.mkdir()
    (folder / "mine.txt").write_text("keep", encoding="utf-8")
    with pytest.raises(TriageError, match="never written over"):
        exports.write_export(folder, content(), RELEASE, now=NOW)
    assert [path.name for path in tmp_path.rglob("*")] == ["export", "mine.txt"]


def test_a_failure_half_way_leaves_no_folder_behind(tmp_path, monkeypatch):
    def full(*_: object) -> None:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr("triage.exports.whole_folder.os.replace", full)
    with pytest.raises(TriageError, match="No space left"):
        exports.write_export(tmp_path / "export", content(), RELEASE, now=NOW)
    assert list(tmp_path.iterdir()) == []


def test_an_empty_survey_exports_headers_and_an_archive_that_opens(tmp_path):
    empty = ExportContent(survey=SurveyMetadata(title=""))
    exports.write_export(tmp_path / "x", empty, RELEASE, now=NOW)
    with DwCAReader(str(tmp_path / "x" / "darwin-core-archive.zip")) as archive:
        assert list(archive) == []


def test_photos_are_carried_without_their_metadata_and_only_when_allowed(tmp_path):
    from PIL import Image

    picture = Image.new("RGB", (40, 30), "green")
    exif = picture.getexif()
    exif[0x0112] = 6
    exif.get_ifd(0x8825)[1] = "N"
    exif[0x010F] = "Quince Cottage camera"
    buffer = io.BytesIO()
    picture.save(buffer, "JPEG", exif=exif)
    asked: list[str] = []

    def read_photo(sha256: str) -> bytes:
        asked.append(sha256)
        return buffer.getvalue()

    outcome = exports.write_export(
        tmp_path / "x", content(), RELEASE, now=NOW, read_photo=read_photo
    )
    assert asked == [f"{'s-open':0<64}", "1" * 64]
    files = sorted((tmp_path / "x" / "media").iterdir())
    assert len(files) == 2
    assert privacy.has_metadata(buffer.getvalue())
    assert not any(privacy.has_metadata(path.read_bytes()) for path in files)
    with Image.open(files[0]) as upright:
        assert upright.size == (30, 40)
    assert find_leaks(tmp_path / "x", SECRETS) == ()
    assert outcome.problems == (
        "2 photo rows have no accessURI: set media_base_uri under [publishing] to the address at "
        "which the folder media will stand",
    )
    table = rows(tmp_path / "x" / "photos.csv")
    import hashlib

    for row in table:
        file = tmp_path / "x" / row["file"]
        assert hashlib.sha256(file.read_bytes()).hexdigest() == row["hashValue"]


def test_a_photo_that_cannot_be_decoded_is_reported_and_the_export_goes_on(tmp_path):
    outcome = exports.write_export(
        tmp_path / "x", content(), RELEASE, now=NOW, read_photo=lambda _: b"no picture"
    )
    assert sum("not carried" in problem for problem in outcome.problems) == 2
    assert rows(tmp_path / "x" / "photos.csv")[0]["file"] == ""


def test_a_cell_that_is_missing_or_nothing_is_empty_and_a_number_stays_one():
    rows: list[dict[str, object]] = [{"a": None, "b": 1.5, "c": "=1+1"}, {"c": -3, "d": "unasked"}]
    assert csv_bytes(["a", "b", "c"], rows) == b"a,b,c\r\n,1.5,'=1+1\r\n,,-3\r\n"


def test_a_table_follows_rfc_4180():
    written = csv_bytes(["locality", "n"], [{"locality": 'the "Mere", east\nbank', "n": "-2.5"}])
    assert written == b'locality,n\r\n"the ""Mere"", east\nbank",-2.5\r\n'


def test_the_finished_files_are_searched_before_they_are_handed_on(tmp_path):
    held = content()
    clean = exports.write_export(tmp_path / "a", held, RELEASE, now=NOW)
    assert clean.leaks == ()
    careless = replace(held, survey=replace(held.survey, licence="ask Una Quill, 53.912341"))
    leaky = exports.write_export(tmp_path / "b", careless, RELEASE, now=NOW)
    assert {leak.found for leak in leaky.leaks} == {"Una Quill", "53.912341 as 53.912341"}


def test_a_formula_in_a_remark_reaches_the_table_as_text(tmp_path):
    held = content()
    poisoned = named("s-open", "Anax", "Tom Sedge", 6, reason='=HYPERLINK("http://x","y")')
    exports.write_export(
        tmp_path / "x",
        replace(held, determinations=(poisoned,)),
        ReleasePolicy(internal=True),
        now=NOW,
    )
    written = (tmp_path / "x" / "determinations-internal.csv").read_text(encoding="utf-8")
    assert "'=HYPERLINK" in written
    assert ",=HYPERLINK" not in written


def test_the_vocabulary_switches_reach_the_rows(tmp_path):
    policy = ReleasePolicy(occurrence_status="present", basis_of_record="MachineObservation")
    exports.write_export(tmp_path / "x", content(), policy, now=NOW)
    row = numbered(tmp_path / "x" / "sightings.csv")["s-open"]
    assert (row["occurrenceStatus"], row["basisOfRecord"]) == ("present", "MachineObservation")
    statuses = {r["individualCount"]: r["occurrenceStatus"] for r in rows(tmp_path / "x/lots.csv")}
    assert statuses == {"37": "present", "0": "absent"}


def test_the_metadata_document_covers_what_is_released_and_no_more(released):
    with zipfile.ZipFile(released / "darwin-core-archive.zip") as archive:
        document = etree.fromstring(archive.read("eml.xml"))
    box = document.find("dataset/coverage/geographicCoverage/boundingCoordinates")
    assert box is not None
    assert [float(side.text) for side in box] == [21.6, 21.81, 54.0, 53.8]
    dates = document.find("dataset/coverage/temporalCoverage/rangeOfDates")
    assert dates is not None
    # The lot of the private pond is released as its month alone.
    assert [day.text for day in dates.iter("calendarDate")] == ["2026-06-01", "2026-06-30"]


def test_the_order_of_rows_says_nothing_of_the_order_of_arrival(tmp_path):
    held = content()
    turned = replace(
        held,
        sightings=held.sightings[::-1],
        photos=held.photos[::-1],
        lots=held.lots[::-1],
    )
    for name, given_content in (("a", held), ("b", turned)):
        exports.write_export(tmp_path / name, given_content, RELEASE, now=NOW)
    for table in ("sightings.csv", "lots.csv"):
        first = [row["occurrenceID"] for row in rows(tmp_path / "a" / table)]
        assert first == sorted(first)
        assert first == [row["occurrenceID"] for row in rows(tmp_path / "b" / table)]


def test_a_determination_of_a_hidden_sighting_keeps_its_day_alone(released):
    dates = {
        row["scientificName"]: row["dateIdentified"]
        for row in rows(released / "determinations.csv")
    }
    assert dates["Leucorrhinia pectoralis"] == "2026-07-04"
    assert dates["Anax"] == "2026-07-01T08:00:00Z"
    assert numbered(released / "sightings.csv")["s-rare"]["dateIdentified"] == "2026-07-04"


def test_a_qualifier_stands_before_what_it_makes_uncertain(released):
    table = {row["scientificName"]: row for row in rows(released / "determinations.csv")}
    assert table["Anax imperator"]["verbatimIdentification"] == "Anax cf. imperator"
    assert table[""]["verbatimIdentification"] == "cannot tell"
    assert table[""]["taxonRank"] == ""


def test_a_pond_that_shares_a_name_with_an_observer_keeps_it_in_full(tmp_path):
    held = content()
    people = (*held.people, PersonRow(code="obs-1", name="Alder Quince"))
    exports.write_export(tmp_path / "x", replace(held, people=people), RELEASE, now=NOW)
    assert "Alder Pool" in {row["locality"] for row in rows(tmp_path / "x" / "sites.csv")}


def test_somebody_missing_from_the_list_of_people_is_never_named(tmp_path):
    held = content()
    visit = replace(held.visits[0], recorded_by="Zed Fern", event_remarks="Zed Fern fell in")
    exports.write_export(tmp_path / "x", replace(held, visits=(visit,)), RELEASE, now=NOW)
    (row,) = rows(tmp_path / "x" / "visits.csv")
    assert row["recordedBy"] == "unlisted person 1"
    assert row["eventRemarks"] == "[withheld] fell in"


def test_whoever_changed_their_mind_is_not_credited_with_the_old_name(tmp_path):
    held = content()
    third = named("s-open", "Anax imperator", "Una Quill", 8)
    changed = named("s-open", "Anax parthenope", "Ida Marsh", 9)
    exports.write_export(
        tmp_path / "x",
        replace(held, determinations=(*held.determinations, third, changed)),
        RELEASE,
        now=NOW,
    )
    assert numbered(tmp_path / "x" / "sightings.csv")["s-open"]["identifiedBy"] == "obs-9"


def test_a_name_that_two_share_only_at_genus_is_credited_to_both(tmp_path):
    held = content()
    accepted = {
        "s-open": Accepted(state="second opinion", scientific_name="Anax", taxon_rank="genus")
    }
    exports.write_export(tmp_path / "x", replace(held, accepted=accepted), RELEASE, now=NOW)
    row = numbered(tmp_path / "x" / "sightings.csv")["s-open"]
    assert row["identifiedBy"] == "Ida Marsh | det-2"
    assert row["identificationVerificationStatus"] == ""
    standings = {
        (r["scientificName"], r["standing"]) for r in rows(tmp_path / "x" / "determinations.csv")
    }
    assert ("Anax imperator", "finer than the accepted") in standings
    assert ("Anax", "superseded") in standings


def test_two_determiners_who_agree_are_both_credited(tmp_path):
    held = content()
    more = named("s-open", "Anax imperator", "Tom Sedge", 7)
    exports.write_export(
        tmp_path / "x",
        replace(held, determinations=(*held.determinations, more)),
        RELEASE,
        now=NOW,
    )
    row = numbered(tmp_path / "x" / "sightings.csv")["s-open"]
    assert row["identifiedBy"] == "Ida Marsh | det-2"
    assert row["dateIdentified"] == "2026-07-07T08:00:00Z"


REMARKS = st.sampled_from(
    ["", "by Bo Wren", "BO WREN's pond", "see 53.955512/21.801174", "Quince Cottage, left", "=1+1"]
)
POINTS = st.tuples(st.floats(-89.9, 89.9), st.floats(-180, 180), st.floats(0.5, 9000)) | st.just(
    (53.955512, 21.801174, 5.0)
)


@st.composite
def contents(draw):
    """Surveys of any shape: shared photos, hidden sites and taxa, remarks that say too much."""
    held = content()
    found, determinations, photos, matches = [], [], [], []
    for number in range(draw(st.integers(0, 4))):
        latitude, longitude, radius = draw(POINTS)
        name = draw(st.sampled_from(["", "Anax", "Leucorrhinia pectoralis", "Anax imperator"]))
        one = sighting(
            f"s{number}",
            decimal_latitude=round(latitude, 7),
            decimal_longitude=round(longitude, 7),
            coordinate_uncertainty_in_meters=radius,
            location_id=draw(st.sampled_from(["", "HM", "GP", "gone"])),
            locality=draw(REMARKS),
            behavior=draw(REMARKS),
            observer=draw(st.sampled_from(["obs-7", "obs-9", "det-1", "nobody"])),
            event_date=draw(st.sampled_from(["", "2026-06", "2026-06-13T09:31:22+02:00"])),
            state=draw(st.sampled_from(["queued", "set aside"])),
            scientific_name=name,
            photos=(draw(st.sampled_from("abc")) * 64,),
        )
        found.append(one)
        determinations.append(
            named(one.identifier, name, "Tom Sedge", 1, reason=draw(REMARKS), remarks=draw(REMARKS))
        )
        photos.append(photo(one.identifier, sha256=one.photos[0]))
        matches += [match(one.identifier, draw(st.sampled_from(["HM", "AP", "GP", ""])), 12.3456)]
    visits = tuple(replace(visit, event_remarks=draw(REMARKS)) for visit in held.visits)
    lots = tuple(replace(lot, occurrence_remarks=draw(REMARKS)) for lot in held.lots)
    return replace(
        held,
        sightings=tuple(found),
        determinations=tuple(determinations),
        accepted={},
        photos=tuple(photos),
        matches=tuple(matches),
        visits=visits,
        lots=lots,
    )


@settings(max_examples=60, deadline=None)
@given(given_content=contents())
def test_no_survey_of_any_shape_leaks_and_every_archive_opens(tmp_path_factory, given_content):
    folder = tmp_path_factory.mktemp("any") / "export"
    outcome = exports.write_export(folder, given_content, RELEASE, now=NOW)
    assert outcome.leaks == ()
    secrets = Secrets(words=("Bo Wren", "Una Quill", "Tom Sedge", "Quince Cottage", "GP-v2"))
    assert find_leaks(folder, secrets) == ()
    with DwCAReader(str(folder / "darwin-core-archive.zip")) as archive:
        shown = [row.data for row in archive]
    for data in shown:
        hidden = "private home" in data[DWC + "dataGeneralizations"]
        assert not (hidden and (data[DWC + "locality"] or data[DWC + "recordedBy"]))
    assert len(shown) == len(given_content.lots) + sum(
        one.state != "set aside" for one in given_content.sightings
    )
