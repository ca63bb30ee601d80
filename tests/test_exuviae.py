"""Sites, visits and lots read from tables and shapes, and the references between them."""

import contextlib
import json
import math
from dataclasses import replace
from datetime import date
from pathlib import Path

import pytest
from geographiclib.geodesic import Geodesic
from hypothesis import given, settings
from hypothesis import strategies as st
from records_made import lot, site

from triage.checklist import Checklist, Taxon, read_checklist
from triage.errors import TableError
from triage.exuviae import (
    ExuviaeLot,
    Visit,
    complete_lots,
    misplaced,
    open_references,
    placed,
    point_of_footprint,
    read_footprint,
    read_lots,
    read_sites,
    read_visits,
    resolve_lots,
    twins,
)

SITES = (
    "locationID,locality,verbatimLocality,decimalLatitude,decimalLongitude,"
    "coordinateUncertaintyInMeters,footprintWKT,private,sensitivity\n"
)
CHECKLIST = Checklist([Taxon(scientific_name="Anax imperator", rank="species", family="Aeshnidae")])
LOT = ExuviaeLot(
    catalog_number="L1",
    event_id="V1",
    location_id="HM",
    first_day="2026-06-13",
    last_day="2026-06-13",
    scientific_name="Anax imperator",
    taxon_rank="",
    individual_count=3,
)


def write(tmp_path: Path, content: str, name: str = "table.csv") -> Path:
    path = tmp_path / name
    path.write_text(content, encoding="utf-8")
    return path


def test_a_site_is_read_with_its_aliases_and_stated_uncertainty(tmp_path):
    path = write(tmp_path, SITES + "HM,Heron Mere,the mere | Heron,53.9,21.7,75,,yes,2\n")
    (site,), refused = read_sites(path)
    assert refused == []
    assert (site.location_id, site.locality, site.aliases) == (
        "HM",
        "Heron Mere",
        ("the mere", "Heron"),
    )
    assert (site.coordinate_uncertainty_in_meters, site.private, site.sensitivity) == (
        75.0,
        True,
        "2",
    )


@pytest.mark.parametrize(
    ("point", "metres"),
    [("60.00001,21.70001", 30.0), ("60.1,21.7", 12_483), ("60.1,21.73", 1276),
     ("60.1,21.733", 155), ("60.1,21.7331", 43), ("60.26667,21.73333", 2107)],
)  # fmt: skip
def test_a_missing_uncertainty_follows_from_the_digits_of_the_point(tmp_path, point, metres):
    """Darwin Core, coordinateUncertaintyInMeters: 30 for GPS whose accuracy was not recorded.

    And what a step of 0.1 to 0.0001 degree or a minute leaves open at 60 degrees north: 12,461,
    1246, 125, 13 and 2077 m (Chapman & Wieczorek 2020, table of coordinate precision), a little
    less at 60.1.
    """
    (site,) = read_sites(write(tmp_path, SITES + f"HM,Heron Mere,,{point},,,,\n"))[0]
    assert site.coordinate_uncertainty_in_meters == pytest.approx(metres, abs=9)


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (",x,,53.9,21.7,,,,", "locationID"),
        ("A,x,,95,21.7,,,,", "decimalLatitude"),
        ("A,x,,121.7,53.9,,,,", "decimalLatitude"),
        ("A,x,,53.9,200,,,,", "decimalLongitude"),
        ("A,x,,53.9,,,,,", "decimalLongitude"),
        ("A,x,,,,,,,", "decimalLatitude"),
        ("A,x,,0,0,,,,", "decimalLatitude"),
        ("A,x,,53.9,21.7,0,,,", "coordinateUncertaintyInMeters"),
        ("A,x,,53.9,21.7,-5,,,", "coordinateUncertaintyInMeters"),
        ("A,x,,53.9,21.7,,CIRCLE (1 2),,", "footprintWKT"),
        ('A,x,,53.9,21.7,,"LINESTRING (53.9 21.7, 53.91 21.7)",,', "footprintWKT"),
        ('A,x,,,,,"POLYGON ((0 0, 1 1, 0 1, 1 0, 0 0))",,', "footprintWKT"),
        ("A,x,,,,,POLYGON EMPTY,,", "footprintWKT"),
        ('A,x,,,,,"LINESTRING (0 0, 9 9)",,', "footprintWKT"),
        ("A,x,,53.9,21.7,,,perhaps,", "private"),
        ("A,x,,53.9,21.7,,,,secret", "sensitivity"),
    ],
)
def test_a_bad_site_is_refused_and_the_others_are_taken(tmp_path, row, column):
    path = write(tmp_path, SITES + f"HM,Heron Mere,,53.9,21.7,,,,\n{row}\nAP,,,53.8,21.7,,,,\n")
    sites, refused = read_sites(path)
    assert [site.location_id for site in sites] == ["HM", "AP"]
    assert [(one.line, one.column) for one in refused] == [(3, column)]
    assert refused[0].reason.endswith(".")


def test_another_datum_is_refused_and_epsg_4326_is_taken(tmp_path):
    header = "locationID,decimalLatitude,decimalLongitude,geodeticDatum\n"
    path = write(tmp_path, header + "A,53.9,21.7,EPSG:4326\nB,53.9,21.7,EPSG:4258\n")
    sites, refused = read_sites(path)
    assert [site.location_id for site in sites] == ["A"]
    assert refused[0].column == "geodeticDatum"


def test_a_site_with_latitude_and_longitude_exchanged_stands_out_among_the_others(tmp_path):
    rows = "".join(f"S{n},x{n},,53.{n},21.{n},,,,\n" for n in range(5)) + "T,x,,21.7,53.9,,,,\n"
    sites, refused = read_sites(write(tmp_path, SITES + rows))
    assert len(sites) == 5
    assert "Exchange latitude" in refused[0].reason


def test_the_point_of_a_footprint_is_the_corrected_centre_with_its_radial():
    """Chapman & Wieczorek 2020: centre of the smallest circle, moved onto the shape if outside."""
    straight = read_footprint("LINESTRING (21.70 53.90, 21.72 53.90)")
    latitude, longitude, radius = point_of_footprint(straight)
    half = Geodesic.WGS84.Inverse(53.9, 21.71, 53.9, 21.72)["s12"]
    assert (latitude, longitude) == (pytest.approx(53.9), pytest.approx(21.71))
    assert radius == pytest.approx(half, abs=0.01)
    bent = read_footprint("LINESTRING (0 0, 0.01 0, 0.01 0.01)")
    latitude, longitude, _ = point_of_footprint(bent)
    assert bent.distance(read_footprint(f"POINT ({longitude} {latitude})")) < 1e-12


def test_a_site_may_be_a_shape_alone(tmp_path):
    path = write(tmp_path, SITES + 'A,x,,,,,"LINESTRING (21.70 53.90, 21.72 53.90)",,\n')
    (site,), _ = read_sites(path)
    assert site.decimal_longitude == pytest.approx(21.71)
    assert site.footprint_wkt.startswith("LINESTRING")
    assert 600 < site.coordinate_uncertainty_in_meters < 700


def test_sites_are_read_from_geojson(tmp_path):
    shape = {
        "type": "Polygon",
        "coordinates": [[[21.7, 53.9], [21.71, 53.9], [21.71, 53.91], [21.7, 53.9]]],
    }
    features = [
        {
            "type": "Feature",
            "properties": {"locationid": "P", "locality": "Pit"},
            "geometry": shape,
        },
        {
            "type": "Feature",
            "id": "Q",
            "properties": {},
            "geometry": {"type": "Point", "coordinates": [21.7, 53.9]},
        },
        {"type": "Feature", "properties": {"locationID": "R"}, "geometry": None},
        {
            "type": "Feature",
            "properties": {"locationID": "T"},
            "geometry": {"type": "Polygon", "coordinates": [[1]]},
        },
        "nonsense",
    ]
    path = write(
        tmp_path, json.dumps({"type": "FeatureCollection", "features": features}), "s.geojson"
    )
    sites, refused = read_sites(path)
    assert [(site.location_id, bool(site.footprint_wkt)) for site in sites] == [
        ("P", True),
        ("Q", False),
    ]
    assert [(one.line, one.column) for one in refused] == [
        (3, "geometry"),
        (4, "geometry"),
        (5, "geometry"),
    ]


@pytest.mark.parametrize(
    "content", ["", "[]", "{", '{"type": "FeatureCollection"}', "[" * 100_000, '{"a": NaN}']
)
def test_a_file_that_is_no_geojson_is_refused_as_a_whole(tmp_path, content):
    with pytest.raises(TableError, match="JSON"):
        read_sites(write(tmp_path, content, "s.geojson"))


def test_a_visit_is_read_and_one_without_lots_is_a_search_that_found_nothing(tmp_path):
    path = write(
        tmp_path,
        "eventID,locationID,eventDate,samplingEffort,passes,permit\n"
        "V1,HM,2026-06-13/14,60 min,2,N-12\nV2,HM,2026-07-01,,,\n",
    )
    (first, second), refused = read_visits(path, today=date(2026, 11, 24))
    assert refused == []
    assert (first.first_day, first.last_day, first.passes) == ("2026-06-13", "2026-06-14", 2)
    assert (second.passes, second.permit) == (1, "")


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (",HM,2026-06-13,", "eventID"),
        ("V9,,2026-06-13,", "locationID"),
        ("V9,HM,,", "eventDate"),
        ("V9,HM,12/06/2026,", "eventDate"),
        ("V9,HM,2027-06-13,", "eventDate"),
        ("V9,HM,2026-06-13,0", "passes"),
        ("V9,HM,2026-06-13,two", "passes"),
    ],
)
def test_a_bad_visit_is_refused(tmp_path, row, column):
    header = "eventID,locationID,eventDate,passes\nV1,HM,2026-06-13,1\n"
    visits, refused = read_visits(write(tmp_path, header + row), today=date(2026, 11, 24))
    assert len(visits) == 1
    assert [(one.line, one.column) for one in refused] == [(3, column)]


LOTS = "catalogNumber,eventID,locationID,eventDate,scientificName,taxonRank,individualCount\n"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (",V1,,,Anax imperator,,3", "catalogNumber"),
        ("L9,,,,Anax imperator,,3", "eventID"),
        ("L9,,HM,,Anax imperator,,3", "eventID"),
        ("L9,V1,,,,,3", "scientificName"),
        ("L9,V1,,,???,,3", "scientificName"),
        ("L9,V1,,,12345,,3", "scientificName"),
        ("L9,V1,,,Anax imperator,kind,3", "taxonRank"),
        ("L9,V1,,,Anax,species,3", "taxonRank"),
        ("L9,V1,,,Anax imperator,genus,3", "taxonRank"),
        ("L9,V1,,,Anax imperator,,", "individualCount"),
        ("L9,V1,,,Anax imperator,,-1", "individualCount"),
        ("L9,V1,,,Anax imperator,,1.5", "individualCount"),
        ("L9,V1,HM,31.06.2026,Anax imperator,,1", "eventDate"),
        ("L1,V1,,,Anax imperator,,3", "catalogNumber"),
    ],
)
def test_a_bad_lot_is_refused(tmp_path, row, column):
    path = write(tmp_path, LOTS + f"L1,V1,,,Anax imperator,,3\n{row}\n")
    lots, refused = read_lots(path)
    assert len(lots) == 1
    assert [(one.line, one.column) for one in refused] == [(3, column)]


def test_a_lot_takes_place_and_days_from_its_visit_whichever_is_imported_first(tmp_path):
    lots, _ = read_lots(
        write(tmp_path, LOTS + "L1,V1,,,Anax sp.,,3\nL2,,AP,2026-07-01,Odonata,,0\n", "lots.csv")
    )
    assert [(lot.location_id, lot.taxon_rank) for lot in lots] == [("", ""), ("AP", "")]
    visits, _ = read_visits(
        write(tmp_path, "eventID,locationID,eventDate\nV1,HM,2026-06-13/14\n", "visits.csv")
    )
    completed = complete_lots(lots, visits)
    assert (completed[0].location_id, completed[0].first_day, completed[0].last_day) == (
        "HM",
        "2026-06-13",
        "2026-06-14",
    )
    assert completed[1] == lots[1]


LABELS = [
    ("Anax imperator", "Anax imperator", "species", ""),
    ("Anax imperator Leach, 1815", "Anax imperator", "species", ""),
    ("Anax cf. imperator", "Anax imperator", "species", "cf."),
    ("Anax imperator?", "Anax imperator", "species", "?"),
    ("Anax sp.", "Anax", "genus", ""),
    ("Odonata", "Odonata", "order", ""),
    ("Passer domesticus", None, None, None),
    ("Anex imperator", None, None, None),
    ("not Anax imperator", None, None, None),
    ("A. imperator", "Anax imperator", "species", ""),
    ("A. imp.", None, None, None),
    ("Anax imperator teneral", None, None, None),
    ("Anax imperator tandem", None, None, None),
    ("Anax imperator or something else", None, None, None),
]


@pytest.mark.parametrize(
    ("own", "place", "first", "last"),
    [
        ({}, "A", "2026-06-13", "2026-06-14"),
        ({"location_id": "B"}, "B", "2026-06-13", "2026-06-14"),
        ({"first_day": "2026-07-01", "last_day": "2026-07-02"}, "A", "2026-07-01", "2026-07-02"),
        (
            {"location_id": "B", "first_day": "2026-07-01", "last_day": "2026-07-02"},
            "B",
            "2026-07-01",
            "2026-07-02",
        ),
        ({"event_id": "V9"}, "", "", ""),
    ],
)
def test_a_lot_takes_from_its_visit_what_it_leaves_out(own, place, first, last):
    visit = Visit(event_id="V1", location_id="A", first_day="2026-06-13", last_day="2026-06-14")
    bare = {"event_id": "V1", "location_id": "", "first_day": "", "last_day": ""}
    (found,) = complete_lots([lot("EX-1", "Aeshna mixta", **{**bare, **own})], [visit])
    assert (found.location_id, found.first_day, found.last_day) == (place, first, last)


@pytest.mark.parametrize(("label", "name", "rank", "qualifier"), LABELS)
def test_a_lots_label_is_resolved_with_its_doubt_or_kept_apart(label, name, rank, qualifier):
    made = replace(LOT, scientific_name=label)
    resolved, unresolved = resolve_lots([made], CHECKLIST)
    if name is None:
        assert resolved == []
        assert unresolved[0].value == label
    else:
        lot = resolved[0]
        assert (lot.scientific_name, lot.taxon_rank) == (name, rank)
        assert (lot.identification_qualifier, lot.verbatim_identification) == (qualifier, label)


def test_a_lot_that_contradicts_itself_is_kept_apart():
    named = replace(LOT, scientific_name="Anax imperator", taxon_rank="genus")
    sexed = replace(LOT, scientific_name="Anax imperator ♂", sex="female")
    assert len(resolve_lots([named, sexed], CHECKLIST)[1]) == 2


@pytest.mark.parametrize(
    ("column", "words", "sex"),
    [
        ("", "Anax imperator", ""),
        ("", "Anax imperator ♂", "male"),
        ("female", "Anax imperator", "female"),
        ("male", "Anax imperator ♂", "male"),
    ],
)
def test_a_sex_is_that_of_the_column_or_of_the_words(column, words, sex):
    (found,), unresolved = resolve_lots([lot("EX-1", words, taxon_rank="", sex=column)], CHECKLIST)
    assert (found.sex, unresolved) == (sex, [])


@pytest.mark.parametrize(
    ("first", "last", "apart"),
    [
        ("2026-06-10", "2026-06-12", False),
        ("2026-06-09", "2026-06-10", False),
        ("2026-06-12", "2026-06-20", False),
        ("2026-06-01", "2026-06-09", True),
        ("2026-06-13", "2026-06-13", True),
        ("", "", False),
    ],
)
def test_the_days_of_a_lot_and_of_its_visit_meet(first, last, apart):
    visit = Visit(event_id="V1", location_id="HM", first_day="2026-06-10", last_day="2026-06-12")
    one = lot(
        "EX-1", "Anax imperator", event_id="V1", location_id="", first_day=first, last_day=last
    )
    sites = [site("HM")]
    found = open_references(sites, [visit], [one])
    assert [reference.column for reference in found] == (["eventDate"] if apart else [])
    assert all("2026-06-10/2026-06-12" in reference.reason for reference in found)


def test_a_doubt_of_its_own_column_joins_that_of_the_words():
    made = replace(LOT, scientific_name="Anax imperator?", identification_qualifier="CF")
    assert resolve_lots([made], CHECKLIST)[0][0].identification_qualifier == "cf. ?"


def test_a_survey_without_a_checklist_takes_names_by_their_shape():
    lots = [replace(LOT, scientific_name=one) for one in ("Anax cf. imperator", "12 in a jar")]
    resolved, unresolved = resolve_lots(lots, Checklist([]))
    assert [(lot.scientific_name, lot.identification_qualifier) for lot in resolved] == [
        ("Anax imperator", "cf.")
    ]
    assert [one.value for one in unresolved] == ["12 in a jar"]


def test_references_that_lead_nowhere_or_disagree_are_listed(tmp_path):
    sites, _ = read_sites(write(tmp_path, SITES + "HM,x,,53.9,21.7,,,,\n", "sites.csv"))
    visits, _ = read_visits(
        write(
            tmp_path,
            "eventID,locationID,eventDate\nV1,HM,2026-06-13\nV2,ZZ,2026-06-13\n",
            "visits.csv",
        )
    )
    lots, _ = read_lots(
        write(
            tmp_path,
            LOTS
            + "L1,V1,,,Anax imperator,,3\nL2,V9,,,Anax imperator,,3\n"
            + "L3,V1,AP,2026-08-01,Felis catus,,3\n",
            "lots.csv",
        )
    )
    found = open_references(sites, visits, lots)
    assert [(one.record, one.identifier, one.column) for one in found] == [
        ("visit", "V2", "locationID"),
        ("lot", "L2", "eventID"),
        ("lot", "L3", "locationID"),
        ("lot", "L3", "locationID"),
        ("lot", "L3", "eventDate"),
    ]
    assert open_references(sites, visits[:1], lots[:1]) == []
    assert [one.catalog_number for one in placed(lots, visits, {"HM"})] == ["L1"]


# What damaged and hostile tables hold, strewn into good ones.
PIECES = st.sampled_from(
    [
        *(b"\x00", b'"', b";", b"\t", b"\xff", b"\r", b"1e400", b"NaN", b"|||", b"9999-12-31"),
        *(b"POLYGON((", b"MULTIPOINT EMPTY", b"9" * 400, b"null", b"[[", b"}", b"true", b"/"),
        *("\u202e".encode(), "\u0663".encode(), b"\xef\xbb\xbf", b"0000-00-00", b"-0", b"=1+1"),
    ]
)
GOOD = {
    "sites.csv": SITES.encode() + b'A,x,,53.9,21.7,30,"LINESTRING (21.7 53.9, 21.71 53.9)",no,2\n',
    "visits.csv": b"eventID,locationID,eventDate,passes\nV1,A,2026-06-13/14,2\n",
    "lots.csv": b"catalogNumber,eventID,scientificName,individualCount\nL1,V1,Anax imperator,3\n",
    "checklist.csv": b"scientificName,family,season\nAnax imperator,Aeshnidae,150-260\n",
    "sites.geojson": b'{"type":"Feature","id":3,"properties":{"locationID":"P"},"geometry":'
    b'{"type":"Polygon","coordinates":[[[21.7,53.9],[21.8,53.9],[21.8,54],[21.7,53.9]]]}}',
}
READERS = {
    "sites.csv": read_sites,
    "visits.csv": read_visits,
    "lots.csv": read_lots,
    "checklist.csv": read_checklist,
    "sites.geojson": read_sites,
}


@settings(max_examples=150, deadline=None)
@given(
    st.sampled_from(sorted(GOOD)),
    st.lists(st.tuples(st.floats(0, 1), st.floats(0, 0.1), PIECES), max_size=6),
)
def test_a_damaged_table_is_read_in_part_or_refused_and_nothing_else_happens(
    tmp_path_factory, name, slips
):
    content = GOOD[name]
    for place, lost, piece in slips:
        start = int(place * len(content))
        content = content[:start] + piece + content[start + int(lost * len(content)) :]
    path = tmp_path_factory.mktemp("damaged") / name
    path.write_bytes(content)
    refused = []
    with contextlib.suppress(TableError):
        _, refused = READERS[name](path)
    assert all(row.reason.endswith(".") and row.line >= 1 for row in refused)


def test_a_shape_across_half_the_world_or_with_a_hole_in_its_numbers_is_refused():
    with pytest.raises(ValueError, match="spans"):
        read_footprint("LINESTRING (-179.9 0, 179.9 0)")
    with pytest.raises(ValueError, match="longitudes"):
        read_footprint({"type": "Point", "coordinates": [math.inf, 0]})


def test_of_many_sites_a_metre_apart_only_names_that_may_be_meant_are_compared(monkeypatch):
    compared = 0
    of = twins.DamerauLevenshtein.distance

    class Counted:
        @staticmethod
        def distance(one: str, other: str, *, score_cutoff: int) -> int:
            nonlocal compared
            compared += 1
            return of(one, other, score_cutoff=score_cutoff)

    monkeypatch.setattr(twins, "DamerauLevenshtein", Counted)
    letters = [(a, b, c) for a in range(5) for b in range(5) for c in range(5)]
    names = [  # no two are one letter apart
        f"{'bdgkl'[a]}{'aeiou'[b]}{'vwxyz'[c]}{'aeiou'[(a + b + c) % 5]} Pond"
        for a, b, c in letters
    ]
    shore = [
        (line, site(f"S{line}", 53.9 + line % 40 * 1e-5, 21.7 + line // 40 * 1e-5, locality=name))
        for line, name in enumerate((*names, "Alder Pond", *reversed(["Heron Pond", "Aldr Pond"])))
    ]
    refused = {row.line: row.reason for row in twins.twin_sites(shore)}
    by_name = {one.locality: line for line, one in shore}
    assert sorted(refused) == sorted([by_name["Alder Pond"], by_name["Aldr Pond"]])
    assert compared < 10 * len(shore)  # of 128 in the cell


def test_no_distance_is_taken_along_the_surface_to_a_site_close_by(monkeypatch):
    measured = 0
    of = misplaced.geodesy.distances

    def counted(*places: object) -> object:
        nonlocal measured
        measured += 1
        return of(*places)

    monkeypatch.setattr(misplaced.geodesy, "distances", counted)
    shore = [(line, site(f"S{line}", 53.9 + line * 1e-5, 21.7)) for line in range(300)]
    assert misplaced.misplaced_sites(shore) == []
    assert measured == 0


@pytest.mark.parametrize(
    ("named", "told"),
    [
        (["Ruth Fener", "Ruth Fener", "R. Fenner"], {2: "Ruth Fenner", 4: "Ruth Fenner"}),
        (["Ruth Fenner", "ruth fenner", "Karl Busch"], {}),
        (["Karl Busch", "K. Busch", ""], {3: "Karl Busch"}),  # of the row above
        (["Ulf Holm", "Ulf Halm & Ida Kvist", "Pia Lind"], {}),  # several are not compared
        (["Ilse Ortt", "Ilse Ort", "Bo Vale"], {2: "Ilse Ort"}),  # of a visit imported before
    ],
)
def test_a_name_near_somebodys_is_taken_and_told(tmp_path, named: list[str], told: dict[int, str]):
    known = [Visit(event_id="V0", location_id="A", first_day="2026-05-01", last_day="2026-05-01",
                   recorded_by="Ilse Ort")] if "Ilse Ortt" in named else []  # fmt: skip
    rows = "".join(f"V{n},A,2026-06-0{n},{who}\n" for n, who in enumerate(named, 1))
    path = write(tmp_path, "eventID,locationID,eventDate,recordedBy\n" + rows)
    visits, wrong = read_visits(path, known=known, people=["Ruth Fenner"])
    assert [visit.recorded_by for visit in visits] == named
    assert all(one.only_told for one in wrong)
    assert {
        one.line: f"may be {told.get(one.line)} (" in one.reason for one in wrong
    } == dict.fromkeys(told, True)
