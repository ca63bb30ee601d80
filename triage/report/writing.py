"""Writes the report's folder, whole or not at all."""

from __future__ import annotations

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from triage import privacy
from triage.exports import changes
from triage.exports.archives import Edition
from triage.exports.tables import columns_of, csv_bytes
from triage.exports.whole_folder import refuse_to_overwrite, write_whole
from triage.privacy import Leak, Secrets
from triage.report.examples import ReadPhoto
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.page import report_page
from triage.report.parts import Plot, Section, Table, filed
from triage.report.printed import report_pdf
from triage.report.search_sheets import search_sheets, sheet_texts
from triage.report.sections import every_table, sections
from triage.standards.digests import digest_of

UNSEARCHED = (".png", ".svg", ".pdf")
"""Pictures, and pages whose text is packed: the words that they show are searched as text."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportOutcome:
    """What was written, as which version, and how many rows of its tables changed since an earlier
    report where one was named.

    ``withheld`` says what was not part of it; ``leaks`` is what a search through the finished words
    of a released report still found, for a person to look at.
    """

    folder: str
    files: tuple[str, ...]
    withheld: tuple[str, ...]
    leaks: tuple[Leak, ...]
    seed: int
    version: str = ""
    changes: int | None = None


def write_report(
    folder: Path,
    material: Material,
    findings: Findings,
    *,
    secrets: Secrets,
    now: datetime,
    read_photo: ReadPhoto | None = None,
    since: Path | None = None,
) -> ReportOutcome:
    """Write page, PDF, plots, tables and search sheets into a new folder.

    The folder must not exist, or be empty; it appears under its name only when everything is
    written. ``secrets`` must not be found in a released report. ``read_photo`` gives the bytes of a
    photo by its digest; without it none are shown. ``since`` is the folder of an earlier report:
    which rows of its tables changed is listed.

    Raises
    ------
    TriageError
        If the folder already holds something, or cannot be written, or ``since`` is no report.
    """
    refuse_to_overwrite(folder, noun="report")
    before = changes.read_manifest(since) if since is not None else None
    made = sections(material, findings, now=now, read_photo=read_photo)
    manifest = manifest_of(every_table(tuple(made)))
    edition = Edition.of(manifest, now=now)
    files = report_files(material, findings, made, now=now, edition=edition)
    files["manifest.csv"] = csv_bytes(columns_of("manifest"), changes.manifest_rows(manifest))
    changed = changes.change_rows(before, manifest) if before is not None else None
    if changed is not None:
        files["changes.csv"] = csv_bytes(columns_of("changes"), changed)
    leaks = () if material.internal else leaks_of(material, findings, made, files, secrets)
    write_whole(folder, files, noun="report")
    return ReportOutcome(
        folder=str(folder),
        files=tuple(files),
        withheld=material.withheld,
        leaks=leaks,
        seed=material.settings.seed,
        version=edition.version,
        changes=None if changed is None else len(changed),
    )


def manifest_of(tables: Sequence[Table]) -> changes.Manifest:
    """The digest of each row of each table; a row goes by its first cell, numbered if repeated."""
    made: changes.Manifest = {}
    for one in tables:
        times: Counter[str] = Counter()
        for row in one.rows:
            name = str(row[0]) if row else ""
            times[name] += 1
            key = name if times[name] == 1 else f"{name} ({times[name]})"
            made[one.name, key] = digest_of("\x1f".join(map(str, row)).encode())
    return made


def report_files(
    material: Material,
    findings: Findings,
    made: Sequence[Section],
    *,
    now: datetime,
    edition: Edition,
) -> dict[str, bytes]:
    """Every file of the report by its path in the folder."""
    survey = material.content.survey
    title = survey.title or "Untitled survey"
    citation = (
        f"{title} ({edition.day[:4]}): adults and exuviae. Report, version {edition.version}.\n"
        f"SHA-256 of all rows of its tables: {edition.digest}\n"
    )
    mark = material.release.mark
    about = {
        "title": survey.title,
        "internal": material.internal,
        "version": f"{survey.version}; version of this report: {edition.version}",
        "now": now,
    }
    files = {
        f"report{mark}.html": report_page(made, **about).encode("utf-8"),  # type: ignore[arg-type]
        f"report{mark}.pdf": report_pdf(made, **about),  # type: ignore[arg-type]
        "citation.txt": citation.encode("utf-8", "replace"),
    }
    for plot in (plot for one in made for plot in one.plots):
        files |= _plot_files(plot)
    for table in every_table(tuple(made)):
        files[f"tables/{table.name}.csv"] = filed(table.columns, table.rows)
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
        f"plots/{plot.name}.csv": filed(plot.columns, plot.rows),
    }
