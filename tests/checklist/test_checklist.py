"""Checklists read, and names resolved, suggested and compared."""

from pathlib import Path

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from triage.checklist import (
    RANKS,
    Checklist,
    Taxon,
    canonical_name,
    read_checklist,
    suborder_of_family,
)
from triage.checklist.names import families, is_italic, rank_of_name

TABLE = """scientificName,taxonRank,family,vernacularName,synonyms,season,needsTwo,sensitive
"Aeshna mixta Latreille, 1805",species,Aeshnidae,Migrant Hawker,,190-310,,
Aeshna grandis,,Aeshnidae,Brown Hawker,,170-290,no,
Anaciaeschna isoceles,,Aeshnidae,Norfolk Hawker,Aeshna isoceles|Aeshna isosceles,130-220,yes,3
Anax imperator,species,Aeshnidae,Emperor,,150-260,,
Coenagrion puella,species,Coenagrionidae,Azure Damselfly,,120-240,,
Sympecma fusca,species,Lestidae,Common Winter Damsel,,213-160,,
Libellulidae,family,,,,,,
"""


@pytest.fixture
def checklist(tmp_path: Path) -> Checklist:
    path = tmp_path / "checklist.csv"
    path.write_text(TABLE, encoding="utf-8")
    taxa, refused = read_checklist(path)
    assert refused == []
    return Checklist(taxa)


def test_a_row_becomes_a_taxon_with_what_it_implies(checklist):
    norfolk = checklist.taxa[2]
    assert norfolk == Taxon(
        scientific_name="Anaciaeschna isoceles",
        rank="species",
        family="Aeshnidae",
        suborder="Anisoptera",
        vernacular_name="Norfolk Hawker",
        synonyms=("Aeshna isoceles", "Aeshna isosceles"),
        season=(130, 220),
        needs_two=True,
        sensitive="3",
    )
    assert checklist.taxa[0].authorship == "Latreille, 1805"
    assert checklist.taxa[1].rank == "species"
    assert checklist.taxa[6].suborder == "Anisoptera"


@pytest.mark.parametrize(
    ("row", "column"),
    [
        (",species,Aeshnidae,,,,,", "scientificName"),
        ("12345,,,,,,,", "scientificName"),
        ("Anax,species,Aeshnidae,,,,,", "scientificName"),
        ("Anax imperator,kind,Aeshnidae,,,,,", "taxonRank"),
        ("Anax imperator,species,Aeshnidae,,,spring,,", "season"),
        ("Anax imperator,species,Aeshnidae,,,0-400,,", "season"),
        ("Anax imperator,species,Aeshnidae,,,,maybe,", "needsTwo"),
        ("Anax imperator,species,Aeshnidae,,,,,9", "sensitive"),
        ("aeshna MIXTA,species,Aeshnidae,,,,,", "scientificName"),
        ("Aeshna cf. grandis,species,Aeshnidae,,,,,", "scientificName"),
        ("Aeshna sp.,,Aeshnidae,,,,,", "scientificName"),
        ("Anax parthenope or imperator,species,Aeshnidae,,,,,", "scientificName"),
        ("Anax parthenope,species,Aeshnidae,,Anax ?,,,", "synonyms"),
        ("Anax parthenope,species,Aeschnidae,,,,,", "family"),
        ("Anax parthenope,species,Aeshna,,,,,", "family"),
        ("Aeshnide,family,,,,,,", "scientificName"),
        ("Libelulidae,family,,,,,,", "scientificName"),
        ("Aeshna grandis,species,Libellulidae,,,,,", "family"),
    ],
)
def test_a_bad_row_is_refused_with_line_column_and_reason(tmp_path, row, column):
    header, first = TABLE.splitlines()[:2]
    path = tmp_path / "checklist.csv"
    path.write_text(f"{header}\n{first}\n{row}\nAnax junius,species,Aeshnidae,,,,,\n")
    taxa, refused = read_checklist(path)
    assert [(one.line, one.column) for one in refused] == [(3, column)]
    assert refused[0].reason.endswith(".")
    assert [taxon.scientific_name for taxon in taxa] == ["Aeshna mixta", "Anax junius"]


@pytest.mark.parametrize(
    ("rows", "columns"),
    [
        ("Aeshna mixta,Aeshnidae,\nAnax parthenope,Aeshnidae,Aeshna mixta", ["", "synonyms"]),
        ("Lestes virens,Lestidae,Lestes x-a\nLestes sponsa,Lestidae,Lestes x-a", ["synonyms"] * 2),
        ("Aeshna mixsta,Aeshnidae,\nAeshna mixta,Aeshnidae,", [""] * 2),
        ("Argia moesta,Coenagrionidae,\nArgia apicalis,Lestidae,", ["family"] * 2),
        ("Aeshna mixta,Aeshnidae,\nAeshna mixta,,", [""] * 2),
    ],
)
def test_of_two_rows_of_which_one_must_be_wrong_neither_is_taken(tmp_path, rows, columns):
    path = tmp_path / "checklist.csv"
    path.write_text(f"scientificName,family,synonyms\n{rows}\nAnax imperator,Aeshnidae,\n")
    taxa, refused = read_checklist(path)
    assert [taxon.scientific_name for taxon in taxa] == ["Anax imperator"]
    columns = [column or "scientificName" for column in columns]
    assert [(one.line, one.column) for one in refused] == list(enumerate(columns, start=2))


def test_a_family_in_the_wrong_suborder_is_refused(tmp_path):
    path = tmp_path / "checklist.csv"
    path.write_text("scientificName,family,suborder\nLestes virens,Lestidae,Anisoptera\n")
    assert read_checklist(path)[1][0].column == "suborder"


@pytest.mark.parametrize(
    ("written", "accepted"),
    [
        ("Aeshna mixta", "Aeshna mixta"),
        ("  aeshna   MIXTA ", "Aeshna mixta"),
        ("Anax Imperator", "Anax imperator"),
        ("AESHNA MIXTA", "Aeshna mixta"),
        ("aeshna mixta", "Aeshna mixta"),
        ("Aeshna isosceles", "Anaciaeschna isoceles"),
        ("Aeshna", "Aeshna"),
        ("Aeshna sp.", None),  # words beside a name are read by read_name
        ("Coenagrionidae", "Coenagrionidae"),
        ("Zygoptera", "Zygoptera"),
        ("Odonata", "Odonata"),
        ("migrant hawker", "Aeshna mixta"),
        ("Aeshna cf. mixta", None),
        ("Aeshna juncea", None),  # not listed: the genus is not what was meant
        ("Felis", None),
        ("", None),
        ("?!", None),
    ],
)
def test_listed_names_resolve_whatever_their_case(checklist, written, accepted):
    taxon = checklist.resolve(written)
    assert (taxon.scientific_name if taxon else None) == accepted


@given(st.text(max_size=60))
@example("ßA")
@example("AİB")
@example("ŉa")
@example("ǰab ßo")
@example("ﬁab")
def test_a_canonical_name_is_its_own_canonical_name(written):
    name = canonical_name(written)
    assert canonical_name(name) == name
    assert rank_of_name(name) in RANKS


@pytest.mark.parametrize(
    ("typed", "first"),
    [
        ("anim", "Anax imperator"),
        ("aemi", "Aeshna mixta"),
        ("imp", "Anax imperator"),
        ("an imp", "Anax imperator"),
        ("azure", "Coenagrion puella"),
        ("winter", "Sympecma fusca"),
        ("aesna mixta", "Aeshna mixta"),
        ("isosceles", "Anaciaeschna isoceles"),
    ],
)
def test_a_few_letters_suggest_the_taxon(checklist, typed, first):
    assert checklist.suggest(typed)[0].scientific_name == first


def test_suggestions_are_bounded_and_never_twice_the_same(checklist):
    found = [taxon.scientific_name for taxon in checklist.suggest("a", limit=4)]
    assert len(found) == len(set(found)) == 4
    assert checklist.suggest("") == []
    assert checklist.suggest("qqqqq") == []


def test_a_lineage_runs_from_the_order_down(checklist):
    assert checklist.lineage("Sympecma fusca") == {
        "order": "Odonata",
        "suborder": "Zygoptera",
        "family": "Lestidae",
        "genus": "Sympecma",
        "species": "Sympecma fusca",
    }
    assert checklist.lineage("Felis catus") == {}


def test_a_ring_of_parents_ends():
    ring = Checklist(
        [
            Taxon(scientific_name="Aaa", rank="genus", parent="Bbb"),
            Taxon(scientific_name="Bbb", rank="genus", parent="Aaa"),
        ]
    )
    assert ring.lineage("Aaa")["genus"] == "Aaa"


@pytest.mark.parametrize(
    ("name_a", "name_b", "expected"),
    [
        ("Aeshna mixta", "Aeshna mixta", ("same", "species")),
        ("Aeshna isosceles", "Anaciaeschna isoceles", ("same", "species")),
        ("Aeshna mixta", "Aeshna", ("compatible", "genus")),
        ("Aeshna mixta", "Aeshnidae", ("compatible", "family")),
        ("Aeshna mixta", "Anisoptera", ("compatible", "suborder")),
        ("Aeshna mixta", "Odonata", ("compatible", "order")),
        ("Aeshna", "Aeshna", ("same", "genus")),
        ("Aeshna mixta", "Aeshna grandis", ("conflicting", "species")),
        ("Aeshna mixta", "Anax imperator", ("conflicting", "genus")),
        ("Aeshna mixta", "Anax", ("conflicting", "genus")),
        ("Coenagrion puella", "Sympecma fusca", ("conflicting", "family")),
        ("Aeshna mixta", "Coenagrion puella", ("conflicting", "suborder")),
        ("Aeshna mixta", "Zygoptera", ("conflicting", "suborder")),
        ("Aeshna mixta", "Libellulidae", ("conflicting", "family")),
        ("Aeshna mixta", "", ("unknown", "")),
        ("Aeshna mixta", "Felis catus", ("unknown", "")),
    ],
)
def test_names_agree_at_the_coarser_rank_and_both_ways(checklist, name_a, name_b, expected):
    assert checklist.agreement(name_a, "", name_b, "") == expected
    assert checklist.agreement(name_b, "", name_a, "") == expected


def test_a_stated_coarser_rank_is_obeyed(checklist):
    assert checklist.agreement("Aeshna mixta", "genus", "Aeshna grandis", "species") == (
        "compatible",
        "genus",
    )


def test_the_same_unlisted_name_is_the_same():
    nothing_listed = Checklist([])
    assert nothing_listed.agreement("Aeshna mixta", "species", "Aeshna mixta", "species") == (
        "same",
        "species",
    )
    assert nothing_listed.agreement("Aeshna mixta", "species", "Aeshna", "genus")[0] == "unknown"


@pytest.mark.parametrize(
    ("event_date", "expected"),
    [
        ("2026-07-08", False),  # day 189
        ("2026-07-09", True),  # day 190, the first
        ("2026-07", True),
        ("2026-12-24", False),
        ("", None),
        ("soon", None),
    ],
)
def test_a_date_is_in_season_if_any_of_its_days_is(checklist, event_date, expected):
    assert checklist.in_season(checklist.taxa[0], event_date) is expected


def test_a_season_may_run_over_the_new_year(checklist):
    winter = checklist.resolve("Sympecma fusca")
    assert checklist.in_season(winter, "2026-01-15") is True
    assert checklist.in_season(winter, "2026-07-01") is False
    assert checklist.in_season(checklist.resolve("Aeshna"), "2026-07-01") is None


def test_the_list_of_families_has_the_thirty_of_2013_and_those_divided_off_later():
    """Dijkstra et al. 2013 (Zootaxa 3703): 30 families, of which 18 Zygoptera, 11 Anisoptera."""
    from importlib import resources

    content = resources.files("triage.checklist").joinpath("families.csv").read_text("utf-8")
    of_2013 = [line.split(",") for line in content.splitlines() if line.endswith(",2013")]
    suborders = [suborder for _, suborder, _ in of_2013]
    assert (suborders.count("Zygoptera"), suborders.count("Anisoptera"), len(suborders)) == (
        18,
        11,
        30,
    )
    # Nine more by Dijkstra et al. 2014 (Systematic Entomology 39): 39 families.
    assert sum(line.endswith((",2013", ",2014")) for line in content.splitlines()) == 39
    assert len(families()) == len(set(families()))
    assert suborder_of_family("thaumatoneuridae") == "Zygoptera"


@pytest.mark.parametrize(
    ("name", "italic"),
    [
        ("Aeshna", True),
        ("Aeshna mixta", True),
        ("Coenagrionidae", False),
        ("Libellulinae", False),
        ("Coenagrionoidea", False),
        ("Anisoptera", False),
        ("Odonata", False),
        ("cf. Aeshna mixta", True),
        ("cf. Coenagrionidae", False),
        ("Coenagrionidae indet.", False),
        ("Ophiogomphus sabinae", True),  # an invented epithet that ends as subfamilies do
    ],
)
def test_genera_and_species_are_set_in_italics_and_nothing_above(name: str, italic: bool):
    """International Code of Zoological Nomenclature, appendix B6 (from memory)."""
    assert is_italic(name) is italic
