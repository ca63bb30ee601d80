"""What every printed page shares: fonts, paragraphs, tables, frames."""

from __future__ import annotations

import io
from collections.abc import Sequence
from functools import cache
from pathlib import Path
from typing import Any
from xml.sax.saxutils import escape

from triage.report import style
from triage.report.parts import Table

MARGIN = 54.0  # points, 19 mm
REGULAR, BOLD, ITALIC = "ReportSerif", "ReportSerif-Bold", "ReportSerif-Italic"


@cache
def register_fonts() -> None:
    """Fonts that hold the letters of every European language; they come with matplotlib."""
    import matplotlib as mpl
    from reportlab.pdfbase import pdfmetrics
    from reportlab.pdfbase.ttfonts import TTFont

    folder = Path(mpl.get_data_path()) / "fonts" / "ttf"
    for name, file in (
        (REGULAR, "DejaVuSerif.ttf"),
        (BOLD, "DejaVuSerif-Bold.ttf"),
        (ITALIC, "DejaVuSerif-Italic.ttf"),
    ):
        pdfmetrics.registerFont(TTFont(name, str(folder / file)))
    pdfmetrics.registerFontFamily(
        REGULAR, normal=REGULAR, bold=BOLD, italic=ITALIC, boldItalic=BOLD
    )


_CELL = dict(fontSize=7.4, leading=9.6, spaceAfter=0)
_STYLES: dict[str, dict[str, Any]] = {
    "title": dict(fontSize=17, leading=22, spaceAfter=4),
    "quiet": dict(fontSize=7.6, leading=10.4, textColor=style.QUIET, spaceBefore=3, spaceAfter=6),
    "section": dict(
        fontSize=13, leading=17, textColor=style.WATER, spaceBefore=14, spaceAfter=5, keepWithNext=1
    ),
    "table": dict(fontName=BOLD, spaceBefore=8, spaceAfter=3, keepWithNext=1),
    "cell": _CELL,
    "number": dict(_CELL, alignment=2),
    "head": dict(_CELL, textColor=style.QUIET),
    "head of numbers": dict(_CELL, textColor=style.QUIET, alignment=2),
    "small": dict(fontSize=8, leading=10.8, leftIndent=11, bulletIndent=0, spaceAfter=1.5),
    "item": dict(leftIndent=12, bulletIndent=0, spaceAfter=3),
    "under item": dict(leftIndent=12, spaceAfter=3),
}
"""What each kind of paragraph has other than plain text, in points; an alignment of 2 is right."""


def styles() -> dict[str, Any]:
    """Paragraph styles by name."""
    from reportlab.lib.styles import ParagraphStyle

    register_fonts()
    text = ParagraphStyle(
        "text", fontName=REGULAR, fontSize=9, leading=13, textColor=style.INK, spaceAfter=5
    )
    made = {name: ParagraphStyle(name, text, **own) for name, own in _STYLES.items()}
    return {"text": text, **made}


def paragraph(text: str, kind: Any, *, bullet: str | None = None) -> Any:
    """A paragraph of plain text: markup in names and places is shown, not obeyed."""
    from reportlab.platypus import Paragraph

    return Paragraph(escape(text), kind, bulletText=bullet)


def grid(content: Table, width: float, known: dict[str, Any]) -> Any:
    """A table as wide as the page, its columns as wide as their longest words need."""
    from reportlab.platypus import Table as Grid

    head = [
        paragraph(name, known["head of numbers" if index in content.numeric else "head"])
        for index, name in enumerate(content.headings)
    ]
    body = [
        [
            paragraph(cell, known["number" if index in content.numeric else "cell"])
            for index, cell in enumerate(row)
        ]
        for row in content.shown
    ]
    return Grid(
        [head, *body],
        colWidths=column_widths(content.headings, content.shown, width),
        repeatRows=1,
        spaceAfter=5,
        style=[
            ("VALIGN", (0, 0), (-1, -1), "TOP"),
            ("LINEBELOW", (0, 0), (-1, 0), 0.7, style.QUIET),
            ("LINEBELOW", (0, 1), (-1, -1), 0.4, style.LINE),
            ("LEFTPADDING", (0, 0), (-1, -1), 3),
            ("RIGHTPADDING", (0, 0), (-1, -1), 3),
            ("TOPPADDING", (0, 0), (-1, -1), 2),
            ("BOTTOMPADDING", (0, 0), (-1, -1), 2),
        ],
    )


def column_widths(
    headings: Sequence[str], rows: Sequence[Sequence[str]], width: float
) -> list[float]:
    """Shares of the width by the text in each column, no word of it broken if that can be."""
    from reportlab.pdfbase.pdfmetrics import stringWidth

    def measure(text: str) -> float:
        return float(stringWidth(text, REGULAR, 7.4)) + 8

    columns = list(zip(headings, *rows, strict=True))
    least = [
        max(measure(word) for cell in one for word in (cell.split() or [""])) for one in columns
    ]
    wished = [min(max(measure(cell) for cell in one), 260.0) for one in columns]
    if sum(wished) <= width:
        spare = (width - sum(wished)) / len(columns)
        return [one + spare for one in wished]
    room = width - sum(least)
    if room <= 0:
        return [one * width / sum(least) for one in least]
    wants = [want - need for want, need in zip(wished, least, strict=True)]
    total = sum(wants) or 1.0
    return [need + room * want / total for need, want in zip(least, wants, strict=True)]


def document(
    story: Sequence[Any], *, title: str, subject: str, foot: str, language: str = "en"
) -> bytes:
    """A4 pages of these parts; the same bytes for the same parts."""
    from reportlab.lib.pagesizes import A4
    from reportlab.platypus import SimpleDocTemplate

    made = io.BytesIO()

    def footer(canvas: Any, page: Any) -> None:
        canvas.saveState()
        canvas.setFont(REGULAR, 7.2)
        canvas.setFillColor(style.QUIET)
        canvas.drawString(MARGIN, 30, foot)
        canvas.drawRightString(A4[0] - MARGIN, 30, str(page.page))
        canvas.restoreState()

    SimpleDocTemplate(
        made,
        pagesize=A4,
        leftMargin=MARGIN,
        rightMargin=MARGIN,
        topMargin=50,
        bottomMargin=50,
        title=title,
        subject=subject,
        author="",
        creator="",
        lang=language,
        invariant=1,
    ).build(list(story), onFirstPage=footer, onLaterPages=footer)
    return made.getvalue()


PICTURE_WIDTH, PICTURE_HEIGHT = 300.0, 125.0  # points, at most: three on a page beside words


def letter_pdf(
    text: str,
    *,
    title: str,
    language: str,
    headed: bool = False,
    pictures: Sequence[tuple[str, bytes]] = (),
) -> bytes:
    """A letter of plain text as A4 pages: a paragraph a line, items with a bullet.

    Indented lines belong to the item before them. ``language`` is that of the words; ``headed``
    sets the first line as the title; ``pictures`` are names and files of what the letter says is
    attached.
    """
    known = styles()
    story = []
    for number, line in enumerate(text.splitlines()):
        if line.startswith("- "):
            story.append(paragraph(line[2:], known["item"], bullet="\N{BULLET}"))
        elif line.strip():
            kind = "under item" if line.startswith("  ") else "text"
            story.append(paragraph(line.strip(), known["title" if headed and not number else kind]))
    story += [_picture(name, content, known) for name, content in pictures]
    return document(story, title=title, subject="letter", foot=title, language=language)


def _picture(name: str, content: bytes, known: dict[str, Any]) -> Any:
    """A picture with its name under it, small enough to stand beside words."""
    from reportlab.platypus import Image, KeepTogether

    image = Image(io.BytesIO(content), hAlign="LEFT")
    scale = min(1.0, PICTURE_WIDTH / image.drawWidth, PICTURE_HEIGHT / image.drawHeight)
    image.drawWidth, image.drawHeight = image.drawWidth * scale, image.drawHeight * scale
    return KeepTogether([image, paragraph(name, known["quiet"])])
