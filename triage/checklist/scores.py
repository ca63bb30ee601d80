"""Read tables of scores of taxa, such as those of a biotic index."""

from __future__ import annotations

import re
from dataclasses import dataclass
from pathlib import Path

from triage.checklist.names import divided_name, genera, rank_of_name
from triage.checklist.slips import KnownNames
from triage.checklist.taxa import Taxon
from triage.checklist.tree import Checklist
from triage.checklist.written import read_name
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    needed_number,
    read_table,
    records_of,
    text,
)

COLUMNS = ("scientificName", "score")


@dataclass(frozen=True, slots=True, kw_only=True)
class TaxonScore:
    """The score of a taxon in the index of this name."""

    index_name: str
    scientific_name: str
    score: float


def read_scores(path: Path, checklist: Checklist) -> tuple[list[TaxonScore], list[RefusedRow]]:
    """Read scores of taxa, each under its accepted name.

    Columns: scientificName, score, and index (the name of the index; else that of the file).

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    table = read_table(path, required=COLUMNS, optional=("index",))
    listed = KnownNames(checklist.taxa)

    def score_of(row: TableRow) -> TaxonScore:
        written = text(row, "scientificName", required=True, longest=200)
        taxon = _listed(written, checklist)
        name, authorship = divided_name(written)
        bare = taxon is None and len(name.split()) == 1 and name not in genera()
        if taxon is None and (not name or (bare and not re.search(r"\d{4}|^$", authorship))):
            raise CellError("scientificName", f"'{written}' is not a scientific name.")
        unlisted = Taxon(scientific_name=name, rank=rank_of_name(name))
        if taxon is None and (meant := listed.slip_in(unlisted)):
            raise CellError("scientificName", f"{name} looks like a slip of {meant}. Correct it.")
        index = text(row, "index", longest=200) or path.stem
        return TaxonScore(
            index_name=index,
            scientific_name=taxon.scientific_name if taxon else name,
            score=needed_number(row, "score"),
        )

    def named(row: TableRow) -> tuple[str, str]:
        written = text(row, "scientificName", longest=200)
        taxon = _listed(written, checklist)
        name = taxon.scientific_name if taxon else divided_name(written)[0]
        index = row.cells.get("index") or path.stem
        return "scientificName", name and f"The score of {name} in {index}"

    return records_of(table.rows, score_of, table.refused, named=named)


def _listed(written: str, checklist: Checklist) -> Taxon | None:
    """The taxon of the checklist that the words name without doubt, also in another language."""
    found = read_name(written, checklist)
    return None if found.qualifier or found.alternatives else found.taxon
