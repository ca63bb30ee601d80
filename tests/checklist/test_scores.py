"""Scores of taxa: under the accepted name, each once in its index."""

from __future__ import annotations

from pathlib import Path

import pytest

from triage.checklist import Checklist, Taxon, TaxonScore, read_scores
from triage.errors import TableError

LISTED = Checklist(
    [
        Taxon(
            scientific_name="Stylurus flavipes",
            rank="species",
            family="Gomphidae",
            synonyms=("Gomphus flavipes",),
        )
    ]
)


def read(tmp_path: Path, text: str, name: str = "pond index.csv"):
    path = tmp_path / name
    path.write_text(text, encoding="utf-8")
    return read_scores(path, LISTED)


def test_a_synonym_counts_for_its_accepted_name_and_the_file_names_the_index(tmp_path: Path):
    found, refused = read(
        tmp_path, "scientificName,score\nGomphus flavipes,7\nAnax imperator,-0.5\n"
    )
    assert refused == []
    assert found == [
        TaxonScore(index_name="pond index", scientific_name="Stylurus flavipes", score=7.0),
        TaxonScore(index_name="pond index", scientific_name="Anax imperator", score=-0.5),
    ]


def test_one_taxon_may_stand_in_two_indices_and_only_once_in_each(tmp_path: Path):
    found, refused = read(
        tmp_path,
        "scientificName,score,index\nAnax imperator,1,a\nAnax imperator,2,b\n"
        "Gomphus flavipes,3,a\nStylurus flavipes,4,a\n",
    )
    assert [(one.index_name, one.score) for one in found] == [("a", 1.0), ("b", 2.0)]
    assert [(one.line, one.column) for one in refused] == [
        (4, "scientificName"),
        (5, "scientificName"),
    ]
    assert "line 5" in refused[0].reason


@pytest.mark.parametrize(
    ("row", "column"),
    [
        ("Anax imperator,", "score"),
        ("Anax imperator,high", "score"),
        ("Anax imperator,<1", "score"),
        (",3", "scientificName"),
        ("!!,3", "scientificName"),
    ],
)
def test_a_row_that_cannot_be_used_is_refused_with_its_column(tmp_path: Path, row, column):
    found, refused = read(tmp_path, f"scientificName,score\n{row}\n")
    assert found == []
    assert [(one.line, one.column) for one in refused] == [(2, column)]


def test_a_table_without_scores_is_refused_as_a_whole(tmp_path: Path):
    with pytest.raises(TableError):
        read(tmp_path, "scientificName,value\nAnax imperator,3\n")
