"""Check what a person says of a photo in place of what was measured."""

from __future__ import annotations

import json

from triage.analysis.view import VIEWS
from triage.errors import UnknownError


def checked_correction(field: str, value: str) -> str:
    """The value of a field as it is kept; a box as JSON, fields without a rule as they are.

    Raises
    ------
    UnknownError
        If it is no view, no decision about publication, or no box.

    Examples
    --------
    >>> checked_correction("box", "0.2; 0.15; 0.85; 0.7")
    '[0.2, 0.15, 0.85, 0.7]'
    """
    if field == "view" and value not in VIEWS:
        raise UnknownError(
            "there is no such view", failing=value, next_step=f"One of: {', '.join(VIEWS)}."
        )
    if field == "publication" and value not in ("cleared", "withheld"):
        raise UnknownError(
            "there is no such decision", failing=value, next_step="Either cleared or withheld."
        )
    if field != "box":
        return value
    try:
        x0, y0, x1, y1 = (float(piece) for piece in value.replace(";", ",").split(","))
    except ValueError:
        x0 = y0 = x1 = y1 = -1.0
    if not (0 <= x0 < x1 <= 1 and 0 <= y0 < y1 <= 1):
        raise UnknownError(
            "a box is x0,y0,x1,y1 as fractions of the upright image",
            failing=value,
            next_step="For example 0.20,0.15,0.85,0.70.",
        )
    return json.dumps([x0, y0, x1, y1])
