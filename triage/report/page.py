"""Writes the report as one HTML page that needs nothing else."""

from __future__ import annotations

import base64
from collections.abc import Sequence
from datetime import datetime

from triage.report.parts import Section


def report_page(
    made: Sequence[Section], *, title: str, internal: bool, version: str, now: datetime
) -> str:
    """Fill the page; every text is escaped, since names and places come from mail."""
    from jinja2 import Environment, PackageLoader, StrictUndefined

    environment = Environment(
        loader=PackageLoader("triage.report"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.filters["base64"] = lambda content: base64.b64encode(content).decode("ascii")
    return environment.get_template("report.html").render(
        sections=made,
        title=title,
        internal=internal,
        version=version,
        made_at=now.strftime("%Y-%m-%d %H:%M UTC"),
    )
