"""Writes the report's folder, whole or not at all."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage import privacy
from triage.exports.tables import csv_bytes
from triage.exports.whole_folder import refuse_to_overwrite, write_whole
from triage.privacy import Leak, Secrets
from triage.report.examples import ReadPhoto
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.page import report_page
from triage.report.parts import Plot, Rows, Section
from triage.report.printed import report_pdf
from triage.report.search_sheets import search_sheets, sheet_texts
from triage.report.sections import every_table, sections

UNSEARCHED = (".png", ".svg", ".pdf")
"""Pictures, and pages whose text is packed: the words that they show are searched as text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOutcome:
    """What was written. ``withheld`` says what was not part of it; ``leaks`` is what a search
    through the finished words of a released report still found, for a person to look at."""

    folder: str
    files: tuple[str, ...]
    withheld: tuple[str, ...]
    leaks: tuple[Leak, ...]
    seed: int


def write_report(
    folder: Path,
    material: Material,
    findings: Findings,
    *,
    secrets: Secrets,
    now: datetime,
    read_photo: ReadPhoto | None = None,
) -> ReportOutcome:
    """Write page, PDF, plots, tables and search sheets into a new folder.

    Parameters
    ----------
    folder : Path
        Must not exist, or be empty. It appears under its name only when everything is written.
    secrets : Secrets
        What must not be found in a released report.
    now : datetime
        Printed on the report.
    read_photo : callable, optional
        Gives the bytes of a photo by its digest; without it no photos are shown.

    Raises
    ------
    TriageError
        If the folder already holds something, or cannot be written.
    """
    refuse_to_overwrite(folder, noun="report")
    made = sections(material, findings, now=now, read_photo=read_photo)
    files = report_files(material, findings, made, now=now)
    leaks = () if material.internal else leaks_of(material, findings, made, files, secrets)
    write_whole(folder, files, noun="report")
    return ReportOutcome(
        folder=str(folder),
        files=tuple(files),
        withheld=material.withheld,
        leaks=leaks,
        seed=material.settings.seed,
    )


def report_files(
    material: Material, findings: Findings, made: Sequence[Section], *, now: datetime
) -> dict[str, bytes]:
    """Every file of the report by its path in the folder."""
    survey = material.content.survey
    mark = "-internal" if material.internal else ""
    about = {
        "title": survey.title,
        "internal": material.internal,
        "version": survey.version,
        "now": now,
    }
    files = {
        f"report{mark}.html": report_page(made, **about).encode("utf-8"),  # type: ignore[arg-type]
        f"report{mark}.pdf": report_pdf(made, **about),  # type: ignore[arg-type]
    }
    for plot in (plot for one in made for plot in one.plots):
        files |= _plot_files(plot)
    for table in every_table(tuple(made)):
        files[f"tables/{table.name}.csv"] = _csv(table.columns, table.rows)
    for name, content in search_sheets(material, findings, now=now).items():
        files[f"search-sheets/{name}"] = content
    return files


def leaks_of(
    material: Material,
    findings: Findings,
    made: Sequence[Section],
    files: dict[str, bytes],
    secrets: Secrets,
) -> tuple[Leak, ...]:
    """What a search through all words of the report finds; the PDFs' words as they were set."""
    searched = {name: data for name, data in files.items() if not name.endswith(UNSEARCHED)}
    sheets = "\n".join(
        line
        for one in findings.priorities
        for _, lines in sheet_texts(material, one)
        for line in lines
    )
    searched["search-sheets"] = sheets.encode("utf-8")
    for one in made:
        for example in one.examples:
            for number, (content, _) in enumerate(example.photos):
                searched[f"photo of {example.heading} {number}.jpg"] = content
    return privacy.leaks_in(searched, secrets)


def _plot_files(plot: Plot) -> dict[str, bytes]:
    return {
        f"plots/{plot.name}.png": plot.png,
        f"plots/{plot.name}.svg": plot.svg,
        f"plots/{plot.name}.csv": _csv(plot.columns, plot.rows),
    }


def _csv(columns: Sequence[str], rows: Rows) -> bytes:
    return csv_bytes(columns, [dict(zip(columns, row, strict=True)) for row in rows])
