"""Read tables of scores of taxa, such as those of a biotic index."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

from triage.checklist.names import canonical_name
from triage.checklist.tree import Checklist
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    needed_number,
    read_table,
    records_of,
    refuse_doubled,
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
    taken: dict[str, int] = {}

    def score_of(row: TableRow) -> TaxonScore:
        written = text(row, "scientificName", required=True, longest=200)
        name = canonical_name(written)
        if not name:
            raise CellError("scientificName", f"'{written}' is not a scientific name.")
        taxon = checklist.resolve(name)
        index = text(row, "index", longest=200) or path.stem
        found = TaxonScore(
            index_name=index,
            scientific_name=taxon.scientific_name if taxon else name,
            score=needed_number(row, "score"),
        )
        doubled = f"The score of {found.scientific_name} in {index}"
        refuse_doubled(doubled, "scientificName", row.line, taken)
        return found

    return records_of(table.rows, score_of, table.refused)
