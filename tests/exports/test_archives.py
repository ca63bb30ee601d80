"""Both archives: searches and their effort, registered terms, independent readers of each file."""

from __future__ import annotations

import csv
import io
import json
import tomllib
import zipfile
from dataclasses import replace
from datetime import UTC, datetime
from pathlib import Path
from xml.etree import ElementTree

import pytest
import shapely.geometry
from dwca.read import DwCAReader
from tests_support import csv_rows

from triage import exports
from triage.checklist import Taxon
from triage.determinations import Accepted
from triage.exports import ExportContent, MediaRow, PersonRow, ReleasePolicy, SurveyMetadata
from triage.exports.events import _sample_size
from triage.exuviae import ExuviaeLot, Site, SiteMeasurement, Visit
from triage.sightings import Sighting
from triage.standards.darwin_core import DWC, persistent_id

NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)
BY = "https://creativecommons.org/licenses/by/4.0/"
ECO = "http://rs.tdwg.org/eco/terms/"
SURVEY = "e3c1a5a0-0000-4000-8000-000000000001"
TERMS = tomllib.loads(
    (Path(__file__).parent.parent / "data" / "registered_terms.toml").read_text(encoding="utf-8")
)


def adult(identifier: str, name: str = "Anax imperator", **changes: object) -> Sighting:
    fields: dict[str, object] = {
        "identifier": identifier,
        "observer": "obs-7",
        "event_date": "2026-06-13T14:07:05+02:00",
        "decimal_latitude": 53.9123,
        "decimal_longitude": 21.7187,
        "coordinate_uncertainty_in_meters": 12.0,
        "location_id": "HM",
        "locality": "Heron Mere",
        "state": "determined" if name else "queued",
        "scientific_name": name,
        "taxon_rank": "species" if name else "",
    }
    return Sighting(**(fields | changes))  # type: ignore[arg-type]


def visit(event_id: str, day: str, **changes: object) -> Visit:
    fields: dict[str, object] = {
        "event_id": event_id,
        "location_id": "HM",
        "first_day": day,
        "last_day": day,
        "sampling_protocol": "exuviae search along the bank",
        "sampling_effort": "60 min, 100 m",
        "recorded_by": "Ida Marsh",
        "passes": 2,
    }
    return Visit(**(fields | changes))  # type: ignore[arg-type]


def lot(number: str, event_id: str, name: str, count: int, **changes: object) -> ExuviaeLot:
    fields: dict[str, object] = {
        "catalog_number": number,
        "event_id": event_id,
        "location_id": "HM",
        "first_day": "2026-06-01",
        "last_day": "2026-06-01",
        "scientific_name": name,
        "taxon_rank": "species",
        "individual_count": count,
        "identified_by": "Ida Marsh",
    }
    return ExuviaeLot(**(fields | changes))  # type: ignore[arg-type]


def site(location_id: str, locality: str, **changes: object) -> Site:
    fields: dict[str, object] = {
        "location_id": location_id,
        "locality": locality,
        "decimal_latitude": 53.912,
        "decimal_longitude": 21.719,
        "coordinate_uncertainty_in_meters": 80.0,
        "water_body": locality,
    }
    return Site(**(fields | changes))  # type: ignore[arg-type]


def content(**changes: object) -> ExportContent:
    fields: dict[str, object] = {
        "survey": SurveyMetadata(
            title="Linnet Water Survey",
            identifier=SURVEY,
            description="Dragonflies and their exuviae.",
            licence=BY,
            contact_name="survey office",
            country_code="PL",
            institution_code="LWS",
            rights_holder="Linnet Water Survey",
            version="triage 0.1.0",
        ),
        "sightings": (
            adult("s1"),
            adult("s2", event_date="2026-06-13T15:00:00+02:00"),
            adult("s3", event_date="2026-07-01T09:00:00+02:00", observer="obs-8"),
            adult("s4", ""),
        ),
        "photos": (
            MediaRow(
                sighting="s1",
                sha256="a" * 64,
                format="JPEG",
                width=4000,
                height=3000,
                view="dorsal",
                box=(0.25, 0.25, 0.75, 0.5),
                focus=0.93,
                focus_method="focus 7",
                capture_date="2026-06-13T14:07:05",
                creator="obs-7",
                licence=BY,
                cleared_for_publication=True,
            ),
        ),
        "sites": (site("HM", "Heron Mere"),),
        "visits": (visit("v1", "2026-06-01"), visit("v2", "2026-06-20", passes=1)),
        "lots": (
            lot("EX-1", "v1", "Anax imperator", 37),
            lot("EX-2", "v1", "Aeshna mixta", 0),
        ),
        "measurements": (
            SiteMeasurement(
                location_id="HM",
                measured_on="2026-06-01",
                variable="electrical conductivity",
                value=412.0,
                unit="uS/cm",
                method="hand-held meter",
            ),
        ),
        "people": (
            PersonRow(code="det-1", name="Ida Marsh", consent_to_name=True),
            PersonRow(code="obs-7", name="Bo Wren"),
            PersonRow(code="obs-8", name="Una Quill"),
        ),
        "taxa": (
            Taxon(
                scientific_name="Anax imperator",
                rank="species",
                family="Aeshnidae",
                authorship="Leach, 1815",
            ),
        ),
    }
    return ExportContent(**(fields | changes))  # type: ignore[arg-type]


@pytest.fixture(scope="module")
def released(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("released") / "export"
    exports.write_export(folder, content(), ReleasePolicy(), now=NOW)
    return folder


def events_of(folder: Path) -> dict[str, dict[str, object]]:
    """Each event with its own terms and its extension rows, through an independent reader."""
    (path,) = folder.glob("event-archive*.zip")
    found = {}
    with DwCAReader(str(path)) as archive:
        assert archive.descriptor.core.type == DWC + "Event"
        for row in archive:
            found[row.id] = {
                "data": row.data,
                "occurrences": [e.data for e in row.extensions if e.rowtype == DWC + "Occurrence"],
                "effort": [e.data for e in row.extensions if e.rowtype == ECO + "Event"],
                "measures": [
                    e.data for e in row.extensions if e.rowtype == DWC + "MeasurementOrFact"
                ],
            }
    return found


def own(kind: str, number: str) -> str:
    return persistent_id(kind, number, survey=SURVEY)


def test_a_search_travels_with_its_effort_and_with_what_it_found(released):
    event = events_of(released)[own("visit", "v1")]
    assert event["data"][DWC + "fieldNumber"] == "v1"
    assert event["data"][DWC + "samplingEffort"] == "60 min, 100 m"
    assert event["data"][DWC + "sampleSizeValue"] == "100"
    assert event["data"][DWC + "sampleSizeUnit"] == "metre"
    assert event["data"][DWC + "parentEventID"] == own("survey", "Linnet Water Survey")
    (effort,) = event["effort"]
    assert effort[ECO + "samplingEffortValue"] == "2"
    assert effort[ECO + "samplingEffortUnit"] == "passes"
    assert effort[ECO + "isSamplingEffortReported"] == "true"
    assert effort[ECO + "targetTaxonomicScope"] == "Odonata"
    assert effort[ECO + "absentTaxa"] == "Aeshna mixta"
    counts = {o[DWC + "scientificName"]: o[DWC + "individualCount"] for o in event["occurrences"]}
    assert counts == {"Anax imperator": "37", "Aeshna mixta": "0"}


def test_a_visit_that_found_nothing_is_an_event_that_reports_absence(released):
    event = events_of(released)[own("visit", "v2")]
    assert event["occurrences"] == []
    (effort,) = event["effort"]
    assert effort[ECO + "isAbsenceReported"] == "true"
    assert effort[ECO + "absentTaxa"] == "Odonata"
    assert effort[ECO + "samplingEffortUnit"] == "pass"


def test_no_search_claims_completeness_while_a_lot_is_kept_away_from_its_visit(tmp_path):
    rare = lot("EX-3", "v2", "Leucorrhinia pectoralis", 4)
    held = content(
        lots=(*content().lots, rare),
        taxa=(Taxon(scientific_name="Leucorrhinia pectoralis", rank="species", sensitive="2"),),
    )
    exports.write_export(tmp_path / "x", held, ReleasePolicy(), now=NOW)
    events = events_of(tmp_path / "x")
    for number in ("v1", "v2"):
        (effort,) = events[own("visit", number)]["effort"]
        assert effort[ECO + "isTaxonomicScopeFullyReported"] == "false"
    (effort,) = events[own("visit", "v2")]["effort"]
    assert effort[ECO + "absentTaxa"] == ""
    hidden = events[own("survey", "Linnet Water Survey")]["occurrences"]
    assert [o[DWC + "scientificName"] for o in hidden] == ["Leucorrhinia pectoralis"]


def test_an_outing_is_one_observers_adults_at_one_place_on_one_day(released):
    outings = [e for e in events_of(released).values() if e["data"][DWC + "eventType"] == "outing"]
    sizes = sorted((e["data"][DWC + "eventDate"], len(e["occurrences"])) for e in outings)
    assert sizes == [("2026-06-13", 2), ("2026-07-01", 1)]
    assert all(e["effort"] == [] for e in outings)


def test_a_hidden_sighting_keeps_no_company_in_an_outing(tmp_path):
    home = site("HM", "Quince Cottage", private=True)
    exports.write_export(tmp_path / "x", content(sites=(home,)), ReleasePolicy(), now=NOW)
    outings = [
        e for e in events_of(tmp_path / "x").values() if e["data"][DWC + "eventType"] == "outing"
    ]
    assert sorted(len(e["occurrences"]) for e in outings) == [1, 1, 1]


def test_a_measure_of_a_site_is_an_event_with_its_value(released):
    found = [e for e in events_of(released).values() if e["measures"]]
    (measure,) = found[0]["measures"]
    assert len(found) == 1
    assert measure[DWC + "measurementType"] == "electrical conductivity"
    assert (measure[DWC + "measurementValue"], measure[DWC + "measurementUnit"]) == ("412", "uS/cm")


@pytest.mark.parametrize(
    ("effort", "expected"),
    [
        ("60 min, 100 m", "100"),
        ("2.5 km of shore", "2500"),
        ("60 min", None),
        ("100 m and 50 m", None),
        ("40 m2", None),
        ("10 m²", None),
        ("30 minutes", None),
    ],
)
def test_the_length_of_shore_is_read_where_one_is_stated(effort, expected):
    made = _sample_size(visit("v", "2026-06-01", sampling_effort=effort))
    assert made.get("sampleSizeValue") == expected


def test_a_sharp_photo_says_so_and_a_match_is_a_relation(tmp_path):
    from exports.test_exports import match

    held = content(matches=(match("s1", "HM", 41.0), match("s1", "", None)))
    exports.write_export(tmp_path / "x", held, ReleasePolicy(), now=NOW)
    with DwCAReader(str(tmp_path / "x" / "darwin-core-archive.zip")) as archive:
        row = next(r for r in archive if r.id == persistent_id("sighting", "s1"))
        extensions = {e.rowtype.rsplit("/", 1)[1]: e.data for e in row.extensions}
    relation = extensions["ResourceRelationship"]
    assert relation[DWC + "relatedResourceID"] == own("site", "HM")
    assert relation[DWC + "relationshipOfResource"] == "may have emerged at"
    assert extensions["MeasurementOrFact"][DWC + "measurementValue"] == "0.93"


def test_the_survey_speaks_for_itself_in_every_occurrence(released):
    with DwCAReader(str(released / "darwin-core-archive.zip")) as archive:
        row = next(r.data for r in archive if r.id == persistent_id("sighting", "s1"))
    assert row[DWC + "countryCode"] == "PL"
    assert row[DWC + "institutionCode"] == "LWS"
    assert row["http://purl.org/dc/terms/rightsHolder"] == "Linnet Water Survey"
    assert row[DWC + "scientificNameAuthorship"] == "Leach, 1815"
    assert row[DWC + "datasetID"] == own("survey", "Linnet Water Survey")
    assert row[DWC + "locationID"] == own("site", "HM")


def test_what_nobody_has_named_is_released_only_when_asked(tmp_path, released):
    unnamed = persistent_id("sighting", "s4")
    assert unnamed not in (released / "sightings.csv").read_text(encoding="utf-8")
    outcome = exports.write_export(
        tmp_path / "asked", content(), ReleasePolicy(include_unnamed=True), now=NOW
    )
    assert unnamed in (tmp_path / "asked" / "sightings.csv").read_text(encoding="utf-8")
    assert not any("without a name" in text for text in outcome.withheld)
    again = exports.write_export(tmp_path / "plain", content(), ReleasePolicy(), now=NOW)
    assert "1 sighting without a name yet is left out" in again.withheld


def test_the_same_numbers_in_two_surveys_are_different_records(tmp_path):
    other = replace(content().survey, identifier="e3c1a5a0-0000-4000-8000-000000000002")
    identifiers = []
    for name, survey in (("a", content().survey), ("b", other)):
        exports.write_export(
            tmp_path / name, content(survey=survey, sightings=()), ReleasePolicy(), now=NOW
        )
        text = (tmp_path / name / "lots.csv").read_text(encoding="utf-8")
        identifiers.append({row["occurrenceID"] for row in csv.DictReader(io.StringIO(text))})
    assert len(identifiers[0]) == 2
    assert identifiers[0].isdisjoint(identifiers[1])


def test_a_pair_has_no_single_sex(tmp_path):
    pair = adult("s1", behavior="tandem")
    held = content(
        sightings=(pair,),
        photos=(),
        accepted={
            "s1": Accepted(
                state="determined",
                scientific_name="Anax imperator",
                taxon_rank="species",
                sex="male",
            )
        },
    )
    exports.write_export(tmp_path / "x", held, ReleasePolicy(), now=NOW)
    (row,) = csv_rows(tmp_path / "x/sightings.csv")
    assert (row["individualCount"], row["sex"]) == ("2", "")
    assert "male" in row["occurrenceRemarks"]


ROW_TYPES = {
    DWC + "Event": "event",
    DWC + "Occurrence": "occurrence",
    DWC + "Identification": "identification",
    DWC + "ResourceRelationship": "relationship",
    DWC + "MeasurementOrFact": "measurement",
    ECO + "Event": "humboldt",
}


@pytest.mark.parametrize("archive_name", ["darwin-core-archive", "event-archive"])
@pytest.mark.parametrize("internal", [False, True])
def test_every_term_is_registered_for_its_table(tmp_path, archive_name, internal):
    exports.write_export(tmp_path / "x", content(), ReleasePolicy(internal=internal), now=NOW)
    (path,) = (tmp_path / "x").glob(f"{archive_name}*.zip")
    with zipfile.ZipFile(path) as archive:
        meta = ElementTree.fromstring(archive.read("meta.xml"))
    checked = 0
    for table in meta:
        kind = ROW_TYPES.get(table.get("rowType", ""))
        if kind is None:
            continue
        registered = set(TERMS[kind].split())
        if kind == "event":
            registered |= set(TERMS["event_sampling"].split())
        for field in table.iter("{http://rs.tdwg.org/dwc/text/}field"):
            assert field.get("term", "").rsplit("/", 1)[1] in registered, (kind, field.attrib)
            checked += 1
    assert checked > 60


@pytest.mark.parametrize("archive_name", ["darwin-core-archive", "event-archive"])
def test_the_metadata_document_satisfies_the_rules_of_eml(released, archive_name):
    """Rules of EML 2.2.0 as the package metapype holds them, of another maker."""
    from metapype.eml import validate
    from metapype.model import metapype_io

    with zipfile.ZipFile(released / f"{archive_name}.zip") as archive:
        document = archive.read("eml.xml").decode("utf-8")
    errors: list[object] = []
    validate.tree(metapype_io.from_xml(document), errors)
    assert errors == []
    root = ElementTree.fromstring(document)
    assert root.get("packageId", "").startswith(own("survey", "Linnet Water Survey") + "/2026-11")
    assert root.findtext("dataset/contact/positionName") == "survey office"
    assert root.find("dataset/contact/individualName") is None
    assert root.findtext("dataset/methods/sampling/samplingDescription/para")


def test_the_data_package_describes_every_column_and_an_independent_reader_agrees(released):
    """Frictionless 5, of another maker, checks each table against its description."""
    import frictionless

    described = json.loads((released / "datapackage.json").read_text(encoding="utf-8"))
    for resource in described["resources"]:
        header = (released / resource["path"]).read_text(encoding="utf-8").splitlines()[0]
        fields = resource["schema"]["fields"]
        assert [field["name"] for field in fields] == header.split(",")
        assert all(field["description"] for field in fields)
    report = frictionless.validate(str(released / "datapackage.json"))
    assert report.flatten(["title", "message"]) == []


def test_the_map_file_holds_points_as_longitude_and_latitude(released):
    """Read by shapely; the order is that of RFC 7946, section 3.1.1."""
    document = json.loads((released / "places.geojson").read_text(encoding="utf-8"))
    assert document["type"] == "FeatureCollection"
    kinds = [feature["properties"]["kind"] for feature in document["features"]]
    assert {kind: kinds.count(kind) for kind in kinds} == {"sites": 1, "sightings": 3, "lots": 2}
    for feature in document["features"]:
        point = shapely.geometry.shape(feature["geometry"])
        assert (round(point.x, 1), round(point.y, 1)) == (21.7, 53.9)


def test_an_export_names_what_changed_since_an_earlier_one(tmp_path):
    exports.write_export(tmp_path / "one", content(), ReleasePolicy(), now=NOW)
    moved = adult("s1", event_date="2026-06-14T10:00:00+02:00")
    later = content(sightings=(moved, content().sightings[1], adult("s9")))
    exports.write_export(tmp_path / "two", later, ReleasePolicy(), now=NOW, since=tmp_path / "one")
    text = (tmp_path / "two" / "changes.csv").read_text(encoding="utf-8")
    found = {
        (row["change"], row["identifier"])
        for row in csv.DictReader(io.StringIO(text))
        if row["table"] == "sightings"
    }
    assert found == {
        ("changed", persistent_id("sighting", "s1")),
        ("withdrawn", persistent_id("sighting", "s3")),
        ("added", persistent_id("sighting", "s9")),
    }


def test_the_same_survey_has_the_same_version_and_another_state_another(tmp_path):
    versions = []
    for name, held in (("a", content()), ("b", content()), ("c", content(lots=()))):
        exports.write_export(tmp_path / name, held, ReleasePolicy(), now=NOW)
        versions.append(json.loads((tmp_path / name / "datapackage.json").read_text())["version"])
    assert versions[0] == versions[1] != versions[2]
    assert all((tmp_path / n / "README.txt").read_text().count(versions[0]) for n in "ab")


def test_a_folder_without_an_export_is_refused_before_anything_is_written(tmp_path):
    with pytest.raises(Exception, match="no export with a manifest"):
        exports.write_export(tmp_path / "x", content(), ReleasePolicy(), now=NOW, since=tmp_path)
    assert not (tmp_path / "x").exists()


def test_the_words_of_a_determiner_and_of_a_label_are_given_as_written(tmp_path):
    from exports.test_exports import named

    said = named("s1", "Anax imperator", "Ida Marsh", 1)
    given = content(
        determinations=(
            replace(said, qualifier="cf.", verbatim_identification="Anax imperator??"),
            replace(said, sighting="s2", identifier="d2"),
        ),
        lots=(lot("EX-1", "v1", "Anax imperator", 3, verbatim_identification="A. imp. (Bo Wren)"),),
    )
    exports.write_export(tmp_path / "x", given, ReleasePolicy(), now=NOW)
    tables = {name: csv_rows(tmp_path / "x" / f"{name}.csv") for name in ("determinations", "lots")}
    written = {row["verbatimIdentification"] for row in tables["determinations"]}
    assert written == {"Anax imperator??", "Anax imperator"}
    assert tables["lots"][0]["verbatimIdentification"] == "A. imp. ([withheld])"
