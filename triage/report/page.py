"""Writes the report as one HTML page that needs nothing else."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from datetime import datetime

from triage.checklist.names import is_italic
from triage.report.parts import Section
from triage.report.wording import written
from triage.standards.data_files import filled


def report_page(
    made: Sequence[Section], *, title: str, internal: bool, version: str, now: datetime
) -> str:
    """Fill the page; every text is escaped, since names and places come from mail."""
    return filled(
        "triage.report",
        "report.html",
        base64=lambda content: base64.b64encode(content).decode("ascii"),
        is_italic=is_italic,
        colours=written("look.toml")["colours"],
        sections=made,
        title=title,
        internal=internal,
        version=version,
        made_at=now.strftime("%Y-%m-%d %H:%M UTC"),
    )
