"""Read a span of time as people type it into seconds."""

from __future__ import annotations

import re

from triage.errors import UnknownError

_UNITS = {"d": 86_400.0, "h": 3_600.0, "m": 60.0, "s": 1.0}


def seconds_of(text: str) -> float:
    """Signed seconds of a span such as +1h, -30m, +86308s or +1d2h.

    Raises
    ------
    UnknownError
        If the text is of another form.

    Examples
    --------
    >>> seconds_of("-1h30m")
    -5400.0
    """
    found = re.fullmatch(r"([+-]?)((?:\d+(?:\.\d+)?[dhms])+)", text.strip().lower())
    if not found:
        raise UnknownError(
            "this is not a span of time",
            failing=text,
            next_step="Give it like +1h, -30m, +86308s or +1d2h.",
        )
    sign = -1 if found[1] == "-" else 1
    pieces = re.findall(r"(\d+(?:\.\d+)?)([dhms])", found[2])
    return sign * sum(float(number) * _UNITS[unit] for number, unit in pieces)


def typed_span(seconds: float) -> str:
    """A span of time as it is typed, to the second.

    Examples
    --------
    >>> typed_span(-5400.0), typed_span(86_308.0)
    ('-1h30m', '+23h58m28s')
    """
    pieces, rest = "", round(abs(seconds))
    for unit, size in _UNITS.items():
        count, rest = divmod(rest, int(size))
        pieces += f"{count}{unit}" if count else ""
    return ("-" if seconds < 0 else "+") + (pieces or "0s")
