"""Prints one page for volunteers for each place worth a search."""

from __future__ import annotations

import re
from collections.abc import Iterator
from datetime import datetime
from typing import Any

from triage.matching import SearchPriority
from triage.report import paper
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.printed import PAGE_WIDTH
from triage.report.tables_of_sites import passes_text, place_text, spot_text
from triage.report.wording import days, written
from triage.standards.letters import bare


def search_sheets(material: Material, findings: Findings, *, now: datetime) -> dict[str, bytes]:
    """File names and PDF pages, in the order of the ranked list."""
    return {
        f"{one.rank:02d}-{_file_name(material, one)}.pdf": search_sheet(material, one, now=now)
        for one in findings.priorities
    }


def sheet_texts(material: Material, one: SearchPriority) -> list[tuple[str, tuple[str, ...]]]:
    """What a sheet says, as headings with their lines."""
    when = (
        (f"{days(one.first_day, one.last_day)} ({one.days_basis}).",)
        if one.first_day
        else ("Not known: ask the survey before you go.",)
    )
    by_taxon = tuple(f"{name}: {days(first, last)}" for name, first, last in one.days_by_taxon)
    looking = tuple(one.taxa) or ("any cast skin: no adult here has been named yet",)
    protected = (
        (
            f"Protected or sensitive: {', '.join(one.protected_taxa)}. Do not take these, and do"
            " not tell others the place.",
        )
        if one.protected_taxa
        else ()
    )
    return [
        ("Where", (*_where(material, one), one.reason)),
        ("When", (*when, *by_taxon)),
        ("What to look for", (f"Skins of {', '.join(looking)}.", *protected)),
        ("How", (passes_text(one), *written("words.toml")["search_sheet"]["how"])),
    ]


def _where(material: Material, one: SearchPriority) -> tuple[str, ...]:
    place = place_text(material, one)
    if not one.location_id or one.decimal_latitude is None or one.decimal_longitude is None:
        if one.generalised and one.decimal_latitude is not None:
            return (f"{place}. The place is told coarsely on purpose; ask the survey.",)
        return (f"{place}.",)
    spot = spot_text(material, one.decimal_latitude, one.decimal_longitude)
    radius = f", within {one.radius_in_meters:.0f} m" if one.radius_in_meters else ""
    return (f"{place} ({one.location_id}), near {spot}{radius}.",)


def search_sheet(material: Material, one: SearchPriority, *, now: datetime) -> bytes:
    """The one page of a place, as PDF: a long list of taxa makes its letters smaller."""
    from reportlab.platypus import KeepInFrame

    title = material.content.survey.title
    return paper.document(
        [KeepInFrame(0, 0, list(_story(material, one)), mode="shrink")],
        title=f"Search sheet {one.rank}",
        subject=title,
        foot=f"{title}, search sheet {one.rank}, {now:%Y-%m-%d}"
        + (". Internal, not for release" if material.internal else ""),
    )


def _story(material: Material, one: SearchPriority) -> Iterator[Any]:
    from reportlab.platypus import Spacer

    known = paper.styles()
    yield paper.paragraph(f"Search for exuviae: {place_text(material, one)}", known["title"])
    yield paper.paragraph(
        f"{material.content.survey.title}. Place {one.rank} of those worth a search.",
        known["quiet"],
    )
    yield paper.paragraph("Before you go", known["table"])
    for text in one.cautions:
        yield paper.paragraph(text, known["small"], bullet="\N{BULLET}")
    for heading, lines in sheet_texts(material, one):
        yield paper.paragraph(heading, known["table"])
        for text in lines:
            yield paper.paragraph(text, known["small"], bullet="\N{EN DASH}")
    yield Spacer(1, 6)
    yield paper.paragraph("What you did and found", known["table"])
    yield _form(known)


def _form(known: dict[str, Any]) -> Any:
    from reportlab.platypus import Table as Grid

    from triage.report import style

    rows = [
        ["date", "", "from, to (time)", ""],
        ["searched by", "", "passes", ""],
        ["stretch, metres", "", "permit or permission", ""],
        ["lot number", "", "skins, about", ""],
        ["remarks", "", "", ""],
    ]
    cells = [[paper.paragraph(text, known["head"]) for text in row] for row in rows]
    narrow, broad = 0.19 * PAGE_WIDTH, 0.31 * PAGE_WIDTH
    return Grid(
        cells,
        colWidths=[narrow, broad, narrow, broad],
        rowHeights=[23, 23, 23, 23, 38],
        style=[
            ("GRID", (0, 0), (-1, -1), 0.6, style.QUIET),
            ("SPAN", (1, 4), (3, 4)),
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
        ],
    )


def _file_name(material: Material, one: SearchPriority) -> str:
    """Plain letters that every file system takes."""
    name = place_text(material, one) if one.location_id else "place-without-a-site"
    return re.sub(r"[^a-z0-9]+", "-", bare(name)).strip("-")[:40] or "place"
