"""Finds names in tables of visits and lots that may be slips of names known already."""

from __future__ import annotations

from collections.abc import Collection, Iterable

from triage.standards.person_names import names_several, near_names
from triage.standards.tables import RefusedRow, TableRow
from triage.standards.tables.damage import PEOPLE


def respelt_people(rows: Iterable[TableRow], known: Collection[str]) -> list[RefusedRow]:
    """What is told of names that nobody bears yet and that are near somebody's, each once.

    ``known`` are the names of people and those of earlier tables; the rows above count, too.
    """
    heard = {" ".join(name.split()).casefold(): name for name in known if name.strip()}
    told = []
    for row in rows:
        for column in PEOPLE:
            name = " ".join(row.cells.get(column, "").split())
            if not name or name.casefold() in heard or names_several(name):
                continue
            near = near_names(name, heard.values())
            heard[name.casefold()] = name
            if near:
                other, why = near[0]
                reason = (
                    f"{name} may be {other} ({why}). If so, write that name and import the table"
                    " again; the row was taken as it is."
                )
                told.append(RefusedRow(line=row.line, column=column, reason=reason, only_told=True))
    return told
