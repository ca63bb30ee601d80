"""Reads a checklist table with Darwin Core headers into taxa and refused rows."""

from __future__ import annotations

import re
from collections.abc import Sequence
from pathlib import Path

from triage.checklist.authors import is_authorship
from triage.checklist.names import (
    ORDER,
    SUBORDERS,
    canonical_name,
    divided_name,
    genera,
    misspelt_family,
    rank_of_name,
    suborder_of_family,
)
from triage.checklist.slips import OF_A_GENUS, conflicting_taxa
from triage.checklist.taxa import RANKS, Taxon
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    category,
    columns_of,
    keep_held,
    listed,
    read_table,
    records_of,
    text,
    words,
    yes_or_no,
)

_COLUMNS = columns_of("checklist")


def read_checklist(
    path: Path, *, known: Sequence[Taxon] = ()
) -> tuple[list[Taxon], list[RefusedRow]]:
    """Read the taxa that the survey accepts; each row becomes a taxon or is refused.

    ``known`` are taxa that the survey holds: a genus stays in the family in which they have it,
    unless the table names them all anew.

    ``season`` is the first and last day of year of adults, ``135-243``; ``330-60`` runs over
    the new year. An empty taxonRank is told from the shape of the name, an empty suborder from the
    family.

    Raises
    ------
    TableError
        The file as a whole cannot be read.
    """
    table = read_table(path, required=_COLUMNS["required"], optional=_COLUMNS["optional"])
    named = {canonical_name(text(row, "scientificName")) for row in table.rows}
    others = [taxon for taxon in known if taxon.scientific_name not in named]
    held = {taxon.scientific_name: taxon.scientific_name for taxon in others}
    held |= {name: taxon.scientific_name for taxon in others for name in taxon.synonyms}
    before = {taxon.scientific_name: taxon for taxon in known}

    def taxon_of(row: TableRow) -> tuple[int, Taxon]:
        taxon = _taxon(row)
        taxon = keep_held(
            taxon,
            before.get(taxon.scientific_name),
            row,
            _COLUMNS["kept"],
            if_empty=_COLUMNS["kept_if_empty"],
        )
        _refuse_held_names(taxon, held)
        _refuse_wrong_family(taxon)
        return row.line, taxon

    found, refused = records_of(
        table.rows,
        taxon_of,
        table.refused,
        named=lambda row: ("scientificName", canonical_name(text(row, "scientificName"))),
    )
    wrong = conflicting_taxa(found, known=known, others=others)
    lines = {row.line for row in wrong}
    taxa = [taxon for line, taxon in found if line not in lines]
    return taxa, sorted([*refused, *wrong], key=lambda row: row.line)


def _taxon(row: TableRow) -> Taxon:
    written = text(row, "scientificName", required=True, longest=200)
    name, authorship = divided_name(written)
    if not name or name.split()[0].casefold() in RANKS:
        raise CellError("scientificName", f"'{written}' is not a scientific name. Correct it.")
    rank = text(row, "taxonRank").casefold() or rank_of_name(name)
    if not text(row, "taxonRank") and " " not in name and authorship:
        _refuse_capital_epithet(authorship, written)
    if rank not in RANKS:
        raise CellError("taxonRank", f"'{rank}' is not one of {', '.join(RANKS)}.")
    _refuse_wrong_rank(name, rank, written)
    order = text(row, "order")
    if order and order.casefold() != ORDER.casefold():
        raise CellError("order", f"'{order}' is not {ORDER}. This survey is of dragonflies alone.")
    family = _family(text(row, "family", longest=100), "family")
    if rank == "family":
        family = _family(name, "scientificName")
    parent = canonical_name(text(row, "parentNameUsage", longest=200))
    if parent.endswith("idae"):
        above = _family(parent, "parentNameUsage")
        family = family or above
    _refuse_other_parent(name, rank, family, parent)
    synonyms = dict.fromkeys(_synonym(synonym) for synonym in listed(row, "synonyms"))
    return Taxon(
        scientific_name=name,
        authorship=text(row, "scientificNameAuthorship", longest=200) or authorship,
        rank=rank,
        family=family,
        suborder=_suborder(row, name, rank, family, parent),
        parent=parent,
        vernacular_name=words(row, "vernacularName", longest=500),
        synonyms=tuple(synonym for synonym in synonyms if synonym != name),
        season=_season(text(row, "season", longest=100)),
        needs_two=yes_or_no(row, "needsTwo"),
        sensitive=category(row, "sensitive"),
    )


def _refuse_capital_epithet(authorship: str, written: str) -> None:
    """Behind a genus alone, as in Lestes Dryas, a word with a capital may be author or epithet."""
    if not is_authorship(authorship):
        raise CellError(
            "scientificName",
            f"'{written}' may be a genus with its author, or a species. Write an epithet in small"
            " letters; for a genus write genus in taxonRank.",
        )


def _family(written: str, column: str) -> str:
    family = written.strip().capitalize()
    if family and not re.fullmatch(r"[^\W\d_]+idae", family):
        raise CellError(
            column, f"'{written}' is not a family: the name of one ends in -idae. Correct it."
        )
    right = misspelt_family(family) if family else ""
    if right:
        raise CellError(column, f"'{written}' looks like a slip of {right}. Correct it.")
    return family


def _synonym(written: str) -> str:
    name = canonical_name(written)
    if not name:
        raise CellError("synonyms", f"'{written}' is not a scientific name. Correct it.")
    return name


def _refuse_wrong_family(taxon: Taxon) -> None:
    if taxon.rank not in OF_A_GENUS or not taxon.family:
        return
    genus = taxon.scientific_name.split()[0]
    right = genera().get(genus, (taxon.family,))
    if taxon.family not in right:
        raise CellError(
            "family",
            f"{genus} belongs to {' or '.join(right)}, not {taxon.family}. Correct the row.",
        )


def _refuse_other_parent(name: str, rank: str, family: str, parent: str) -> None:
    """Above a taxon stands neither another family than its own nor another genus."""
    other_family = parent.endswith("idae") and parent != family
    other_genus = rank in OF_A_GENUS and parent in genera() and parent != name.split()[0]
    if other_family or other_genus:
        raise CellError(
            "parentNameUsage",
            f"{parent} is not above {name}{f' of {family}' if family else ''}. "
            "Correct one of the two.",
        )


def _refuse_wrong_rank(name: str, rank: str, written: str) -> None:
    words = {"species": 2, "subspecies": 3}.get(rank, 1)
    if words > 1 and rank_of_name(name.split()[0]) != "genus":
        raise CellError(
            "scientificName", f"'{name.split()[0]}' is no genus. Correct the name or taxonRank."
        )
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
    if family and not by_family and not stated:
        raise CellError(
            "family",
            f"'{family}' is no family of dragonflies that is known here. Correct it, or give its "
            "suborder in a column suborder.",
        )
    return stated or by_family or (parent if parent in SUBORDERS else "")


def _season(value: str) -> tuple[int, int] | None:
    if not value:
        return None
    found = re.fullmatch(r"(\d{1,3})\s*[-\u2013]\s*(\d{1,3})", value, re.ASCII)
    days = (int(found.group(1)), int(found.group(2))) if found else (0, 0)
    if not all(1 <= day <= 366 for day in days):
        raise CellError("season", f"'{value}' is not a range of days of the year. Write 135-243.")
    return days


def _refuse_held_names(taxon: Taxon, held: dict[str, str]) -> None:
    """A name that the survey has as another taxon's, in a table that does not name that one."""
    for name in (taxon.scientific_name, *taxon.synonyms):
        owner = held.get(name, taxon.scientific_name)
        if owner != taxon.scientific_name:
            column = "scientificName" if name == taxon.scientific_name else "synonyms"
            what = "a taxon" if name == owner else f"a synonym of {owner}"
            raise CellError(
                column,
                f"{name} is {what} in the survey's checklist. Leave it there, or give the row of "
                f"{owner} anew in this table.",
            )
