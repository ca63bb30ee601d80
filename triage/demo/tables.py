"""A folder in, the survey's tables (sites, visits, lots, checklist) as CSV in it out."""

from __future__ import annotations

import csv
from collections.abc import Iterable, Sequence
from pathlib import Path

from triage.demo.scenario import WATERS
from triage.demo.species import SPECIES

SITE_COLUMNS = (
    "locationID",
    "locality",
    "verbatimLocality",
    "waterBody",
    "habitat",
    "decimalLatitude",
    "decimalLongitude",
    "geodeticDatum",
    "coordinateUncertaintyInMeters",
    "footprintWKT",
    "private",
    "sensitivity",
    "locationRemarks",
)
VISIT_COLUMNS = (
    "eventID",
    "locationID",
    "eventDate",
    "samplingProtocol",
    "samplingEffort",
    "recordedBy",
    "passes",
    "permit",
    "eventRemarks",
)
LOT_COLUMNS = (
    "catalogNumber",
    "eventID",
    "scientificName",
    "taxonRank",
    "individualCount",
    "recordedBy",
    "identifiedBy",
    "dateIdentified",
    "identificationQualifier",
    "occurrenceRemarks",
)
CHECKLIST_COLUMNS = (
    "scientificName",
    "taxonRank",
    "order",
    "suborder",
    "family",
    "parentNameUsage",
    "vernacularName",
    "synonyms",
    "season",
    "needsTwo",
    "sensitive",
)

_KINDS = {
    "LNT-01": ("Heron Mere", "lake, reed-fringed"),
    "LNT-02": ("Alder Pool", "woodland pool"),
    "LNT-03": ("Kingcup Marsh", "marsh with open pools"),
    "LNT-04": ("River Linnet", "slow river, gravel bars"),
    "LNT-05": ("Bulrush Pit", "flooded gravel pit"),
    "LNT-06": ("Sallow Pond", "farm pond"),
    "LNT-07": ("River Linnet", "weir and mill race"),
    "LNT-08": ("Heron Mere", "lake bay, landing stage"),
    "LNT-09": ("", "garden pond"),
    "LNT-10": ("Sundew Mire", "peat pools"),
}
_FOOTPRINTS = {
    "LNT-01": "POLYGON ((21.6920 53.9008, 21.6968 53.9002, 21.6992 53.9022, 21.6974 53.9039,"
    " 21.6931 53.9036, 21.6920 53.9008))",
    "LNT-04": "LINESTRING (21.6812 53.8862, 21.6827 53.8871, 21.6846 53.8868, 21.6865 53.8876)",
}
_NEARBY = ("LNT-09",), {"LNT-10": "2"}

_SEARCH = "exuviae search along the bank"
_VISITS: tuple[tuple[str, str, str, str, str, int, str, str], ...] = (
    ("V01", "LNT-01", "2026-05-24", "60 min, 100 m", "Ruth Fenner", 2, "", ""),
    ("V02", "LNT-01", "2026-06-12", "60 min, 100 m", "Ruth Fenner", 2, "", ""),
    ("V03", "LNT-01", "2026-07-10", "60 min, 100 m", "Ruth Fenner | Olga Trzcina", 2, "", ""),
    ("V04", "LNT-02", "2026-05-16", "45 min, 60 m", "Anna Wilga", 1, "", ""),
    ("V05", "LNT-02", "2026-06-05", "45 min, 60 m", "Anna Wilga", 1, "", ""),
    ("V06", "LNT-02", "2026-07-18/2026-07-19", "90 min, 60 m", "Anna Wilga", 2, "", ""),
    ("V07", "LNT-03", "2026-06-03", "60 min, 80 m", "Tomasz Brzeg", 1, "", "edge walked on planks"),
    ("V08", "LNT-03", "2026-08-01", "60 min, 80 m", "Tomasz Brzeg", 1, "", "nothing found"),
    ("V09", "LNT-04", "2026-05-21", "60 min, 120 m", "Ida Kvist", 3, "LW-2026-03", ""),
    ("V10", "LNT-04", "2026-06-25", "60 min, 120 m", "Ida Kvist", 2, "LW-2026-03", ""),
    ("V11", "LNT-05", "2026-06-06", "30 min, 50 m", "Ida Kvist", 1, "", ""),
    ("V12", "LNT-06", "2026-05-29", "30 min, 40 m", "Ida Kvist", 1, "", ""),
    ("V13", "LNT-07", "2026-06-08", "40 min, 60 m", "Olga Trzcina", 1, "LW-2026-03", ""),
    ("V14", "LNT-08", "2026-07-05", "30 min, 30 m", "Sam Ferry", 1, "", "nothing found"),
    ("V15", "LNT-10", "2026-06-20", "40 min, 50 m", "Tomasz Brzeg", 1, "LW-2026-07", ""),
)
_LOTS: tuple[tuple[str, str, str, str, int, str, str], ...] = (
    ("EX-0001", "V01", "Libellula quadrimaculata", "species", 14, "", ""),
    ("EX-0002", "V01", "Coenagrion", "genus", 22, "", "gills missing"),
    ("EX-0003", "V02", "Anax imperator", "species", 9, "", ""),
    ("EX-0004", "V02", "Orthetrum cancellatum", "species", 6, "", ""),
    ("EX-0005", "V03", "Sympetrum", "genus", 11, "", ""),
    ("EX-0006", "V03", "Aeshna mixta", "species", 2, "cf.", ""),
    ("EX-0007", "V04", "Pyrrhosoma nymphula", "species", 31, "", ""),
    ("EX-0008", "V04", "Libellula depressa", "species", 4, "", ""),
    ("EX-0009", "V05", "Coenagrion puella", "species", 17, "", ""),
    ("EX-0010", "V05", "Libellula depressa", "species", 2, "", ""),
    ("EX-0011", "V06", "Aeshna cyanea", "species", 8, "", ""),
    ("EX-0012", "V07", "Libellula quadrimaculata", "species", 19, "", ""),
    ("EX-0013", "V07", "Coenagrionidae", "family", 40, "", ""),
    ("EX-0014", "V09", "Gomphus vulgatissimus", "species", 57, "", ""),
    ("EX-0015", "V10", "Ophiogomphus cecilia", "species", 5, "", "left in place"),
    ("EX-0016", "V10", "Calopteryx splendens", "species", 12, "", ""),
    ("EX-0017", "V11", "Orthetrum cancellatum", "species", 13, "", ""),
    ("EX-0018", "V12", "Ischnura elegans", "species", 26, "", ""),
    ("EX-0019", "V13", "Calopteryx splendens", "species", 18, "", ""),
    ("EX-0020", "V13", "Platycnemis pennipes", "species", 7, "", ""),
    ("EX-0021", "V15", "Leucorrhinia", "genus", 3, "", ""),
    ("EX-0022", "V15", "Libellula quadrimaculata", "species", 5, "", ""),
)


def write_tables(folder: Path) -> None:
    """Write sites.csv, visits.csv, lots.csv and checklist.csv.

    Raises
    ------
    OSError
        If the folder cannot be written.
    """
    _write(folder / "sites.csv", SITE_COLUMNS, _site_rows())
    visits = (
        (number, place, when, _SEARCH, effort, who, str(passes), permit, remarks)
        for number, place, when, effort, who, passes, permit, remarks in _VISITS
    )
    _write(folder / "visits.csv", VISIT_COLUMNS, visits)
    collectors = {visit[0]: visit[4] for visit in _VISITS}
    lots = (
        (
            lot,
            visit,
            name,
            rank,
            str(count),
            collectors[visit],
            "Ruth Fenner",
            "2026-10-15",
            doubt,
            note,
        )
        for lot, visit, name, rank, count, doubt, note in _LOTS
    )
    _write(folder / "lots.csv", LOT_COLUMNS, lots)
    _write(folder / "checklist.csv", CHECKLIST_COLUMNS, _checklist_rows())


def _site_rows() -> Iterable[Sequence[str]]:
    private, sensitive = _NEARBY
    for number, (name, aliases, latitude, longitude, radius) in WATERS.items():
        water, habitat = _KINDS[number]
        yield (
            number,
            name,
            aliases,
            water,
            habitat,
            f"{latitude:.4f}",
            f"{longitude:.4f}",
            "EPSG:4326",
            f"{radius:.0f}",
            _FOOTPRINTS.get(number, ""),
            "yes" if number in private else "no",
            sensitive.get(number, ""),
            "invented",
        )


def _checklist_rows() -> Iterable[Sequence[str]]:
    families = {one.family: one.suborder for one in SPECIES}
    for family, suborder in sorted(families.items()):
        yield (family, "family", "Odonata", suborder, family, "Odonata", "", "", "", "no", "")
    genera = {one.name.split()[0]: one for one in SPECIES}
    for genus, one in sorted(genera.items()):
        yield (
            genus,
            "genus",
            "Odonata",
            one.suborder,
            one.family,
            one.family,
            "",
            "",
            "",
            "no",
            "",
        )
    for one in SPECIES:
        yield (
            one.name,
            "species",
            "Odonata",
            one.suborder,
            one.family,
            one.name.split()[0],
            one.vernacular,
            " | ".join(one.synonyms),
            f"{one.season[0]}-{one.season[1]}",
            "yes" if one.needs_two else "no",
            one.sensitive,
        )


def _write(path: Path, columns: Sequence[str], rows: Iterable[Sequence[str]]) -> None:
    with path.open("w", encoding="utf-8", newline="") as target:
        writer = csv.writer(target, lineterminator="\n")
        writer.writerow(columns)
        writer.writerows(rows)
