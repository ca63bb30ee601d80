"""Writes the report as PDF."""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from datetime import datetime
from typing import Any

from triage.report import paper
from triage.report.parts import Example, Plot, Section, Table
from triage.standards.counting import counted

PAGE_WIDTH = 595.28 - 2 * paper.MARGIN - 12  # A4 less margins and the frame's own padding
MOST_HEIGHT = 540.0  # of a plot, so that its caption fits under it
PHOTO_WIDTH = 190.0


def report_pdf(
    made: Sequence[Section], *, title: str, internal: bool, version: str, now: datetime
) -> bytes:
    """The same sections as the page has."""
    known = paper.styles()
    moment = now.strftime("%Y-%m-%d %H:%M UTC")
    story = [
        paper.paragraph(f"{title}: adults and exuviae", known["title"]),
        paper.paragraph(f"Made {moment} by {version}.", known["quiet"]),
    ]
    mark = "Internal: exact places and names, for the survey's own eyes, not for release."
    if internal:
        story.append(paper.paragraph(mark, known["text"]))
    for one in made:
        story += _section(one, known)
    foot = f"{title}, {moment}" + (". Internal, not for release" if internal else "")
    return paper.document(story, title=f"{title}: adults and exuviae", subject="report", foot=foot)


def _section(one: Section, known: dict[str, Any]) -> Iterator[Any]:
    from reportlab.platypus import KeepTogether

    head = [paper.paragraph(one.title, known["section"])]
    head += [paper.paragraph(text, known["text"]) for text in one.sentences]
    if one.plots:
        # Words about a plot stay on its page.
        yield KeepTogether([*head, *_plot(one.plots[0], known)])
        for plot in one.plots[1:]:
            yield KeepTogether(_plot(plot, known))
    else:
        yield from head
    for table in one.tables:
        yield from _table(table, known)
    for example in one.examples:
        yield from _example(example, known)
    if one.cautions:
        yield paper.paragraph("At the water", known["table"])
        for text in one.cautions:
            yield paper.paragraph(text, known["item"], bullet="\N{BULLET}")
    for text in one.after:
        yield paper.paragraph(text, known["text"])


def _plot(plot: Plot, known: dict[str, Any]) -> list[Any]:
    from reportlab.platypus import Image

    scale = min(PAGE_WIDTH / plot.width, MOST_HEIGHT / plot.height)
    return [
        Image(io.BytesIO(plot.png), plot.width * scale, plot.height * scale),
        paper.paragraph(f"{plot.caption} Data: plots/{plot.name}.csv.", known["quiet"]),
    ]


def _table(table: Table, known: dict[str, Any]) -> Iterator[Any]:
    yield paper.paragraph(table.title, known["table"])
    if table.shown:
        yield paper.grid(table, PAGE_WIDTH, known)
        if table.note:
            yield paper.paragraph(table.note, known["quiet"])
    elif table.rows:
        rows = f"{counted(len(table.rows), 'row')} in tables/{table.name}.csv."
        yield paper.paragraph(rows, known["quiet"])
    else:
        yield paper.paragraph(table.empty, known["quiet"])


def _example(example: Example, known: dict[str, Any]) -> Iterator[Any]:
    from reportlab.platypus import Image, KeepTogether
    from reportlab.platypus import Table as Grid

    parts = [paper.paragraph(example.heading, known["table"])]
    parts += [paper.paragraph(text, known["text"]) for text in example.lines]
    if example.photos:
        pictures, captions = [], []
        for content, caption in example.photos:
            picture = Image(io.BytesIO(content))
            scale = PHOTO_WIDTH / picture.imageWidth
            picture.drawWidth, picture.drawHeight = PHOTO_WIDTH, picture.imageHeight * scale
            pictures.append(picture)
            captions.append(paper.paragraph(caption, known["quiet"]))
        parts.append(Grid([pictures, captions], colWidths=PHOTO_WIDTH + 12, hAlign="LEFT"))
    parts += list(_table(example.table, known))
    yield KeepTogether(parts)
