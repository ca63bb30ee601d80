"""A checklist table with Darwin Core headers in, taxa and refused rows out."""

from __future__ import annotations

import re
from pathlib import Path

from triage.checklist.names import (
    ORDER,
    SUBORDERS,
    canonical_name,
    rank_of_name,
    suborder_of_family,
)
from triage.checklist.taxa import RANKS, Taxon
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    listed,
    read_table,
    text,
    yes_or_no,
)

REQUIRED = ("scientificName",)
OPTIONAL = (
    "taxonRank",
    "family",
    "parentNameUsage",
    "vernacularName",
    "synonyms",
    "season",
    "order",
    "suborder",
    "needsTwo",
    "sensitive",
)


def read_checklist(path: Path) -> tuple[list[Taxon], list[RefusedRow]]:
    """Read the taxa that the survey accepts; each row becomes a taxon or is refused.

    ``season`` is the first and last day of year of adults, ``135-243``; ``330-60`` runs over
    the new year. An empty taxonRank is told from the shape of the name, an empty suborder from the
    family.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    table = read_table(path, required=REQUIRED, optional=OPTIONAL)
    taxa: list[Taxon] = []
    refused = list(table.refused)
    taken: dict[str, tuple[str, int]] = {}
    for row in table.rows:
        try:
            taxon = _taxon(row)
            _refuse_taken_names(taxon, taken)
        except CellError as error:
            refused.append(RefusedRow(line=row.line, column=error.column, reason=error.reason))
            continue
        for name in (taxon.scientific_name, *taxon.synonyms):
            taken[name.casefold()] = (taxon.scientific_name, row.line)
        taxa.append(taxon)
    return taxa, sorted(refused, key=lambda row: row.line)


def _taxon(row: TableRow) -> Taxon:
    written = text(row, "scientificName", required=True, longest=200)
    name = canonical_name(written)
    if not name:
        raise CellError("scientificName", f"'{written}' is no scientific name. Correct it.")
    rank = text(row, "taxonRank").casefold() or rank_of_name(name)
    if rank not in RANKS:
        raise CellError("taxonRank", f"'{rank}' is not one of {', '.join(RANKS)}.")
    _refuse_wrong_rank(name, rank, written)
    order = text(row, "order")
    if order and order.casefold() != ORDER.casefold():
        raise CellError("order", f"'{order}' is not {ORDER}. This survey is of dragonflies alone.")
    family = text(row, "family", longest=100).capitalize()
    if rank == "family":
        family = name
    parent = canonical_name(text(row, "parentNameUsage", longest=200))
    if not family and parent.endswith("idae"):
        family = parent
    synonyms = dict.fromkeys(canonical_name(synonym) for synonym in listed(row, "synonyms"))
    return Taxon(
        scientific_name=name,
        rank=rank,
        family=family,
        suborder=_suborder(row, name, rank, family, parent),
        parent=parent,
        vernacular_name=text(row, "vernacularName", longest=500),
        synonyms=tuple(synonym for synonym in synonyms if synonym and synonym != name),
        season=_season(text(row, "season", longest=100)),
        needs_two=yes_or_no(row, "needsTwo"),
        sensitive=_sensitive(text(row, "sensitive", longest=100)),
    )


def _refuse_wrong_rank(name: str, rank: str, written: str) -> None:
    words = {"species": 2, "subspecies": 3}.get(rank, 1)
    if len(name.split()) != words:
        raise CellError(
            "scientificName",
            f"'{written}' does not have the {words} word{'s' * (words > 1)} of a {rank}. "
            "Correct the name or taxonRank.",
        )


def _suborder(row: TableRow, name: str, rank: str, family: str, parent: str) -> str:
    by_family = suborder_of_family(family)
    stated = text(row, "suborder", longest=100).capitalize()
    if stated and stated not in SUBORDERS:
        raise CellError("suborder", f"'{stated}' is not one of {', '.join(SUBORDERS)}.")
    if stated and by_family and stated != by_family:
        raise CellError("suborder", f"{family} belongs to {by_family}. Correct one of the two.")
    if rank == "suborder":
        return name
    return stated or by_family or (parent if parent in SUBORDERS else "")


def _season(value: str) -> tuple[int, int] | None:
    if not value:
        return None
    found = re.fullmatch(r"(\d{1,3})\s*[-\u2013]\s*(\d{1,3})", value, re.ASCII)
    days = (int(found.group(1)), int(found.group(2))) if found else (0, 0)
    if not all(1 <= day <= 366 for day in days):
        raise CellError("season", f"'{value}' is no range of days of the year. Write 135-243.")
    return days


def _sensitive(value: str) -> str:
    if value in ("", "1", "2", "3", "4"):
        return value
    raise CellError(
        "sensitive", f"'{value}' is no category. Write 1 (extreme) to 4 (low), or leave it empty."
    )


def _refuse_taken_names(taxon: Taxon, taken: dict[str, tuple[str, int]]) -> None:
    for name in (taxon.scientific_name, *taxon.synonyms):
        if name.casefold() in taken:
            owner, line = taken[name.casefold()]
            column = "scientificName" if name == taxon.scientific_name else "synonyms"
            raise CellError(
                column, f"{name} stands on line {line} for {owner} already. Remove one of them."
            )
