"""Finds sites that bear another site's name or lie on its point: one water typed twice, or two.

Which of the two it is cannot be told from a table, so whoever typed it is asked.
"""

from __future__ import annotations

import re
from collections import defaultdict
from collections.abc import Callable, Hashable, Sequence

from triage.checklist.typed import plain
from triage.exuviae.records import Site
from triage.standards.tables import RefusedRow

SAME_POINT_DECIMALS = 5  # of degrees: about a metre, finer than any position by GPS


def twin_sites(
    found: Sequence[tuple[int, Site]], *, known: Sequence[Site] = ()
) -> list[RefusedRow]:
    """Rows, by line number, whose site has the name or the point of another site.

    Of two rows of the table both are refused. Two sites that the survey holds already, and that
    shared it before, are not asked about again.
    """
    refused: dict[int, RefusedRow] = {}
    for column, what, key in _SHARED:
        before = {site.location_id: key(site) for site in known}
        named = {site.location_id for _, site in found}
        holders: dict[Hashable, list[tuple[str, str]]] = defaultdict(list)
        for site in known:
            if site.location_id not in named:
                holders[key(site)].append((site.location_id, f"{site.location_id} of the survey"))
        for line, site in found:
            holders[key(site)].append((site.location_id, f"{site.location_id} on line {line}"))
        for line, site in found:
            mine, old = key(site), before.get(site.location_id)
            others = (
                where
                for other, where in (holders[mine] if mine else ())
                if other != site.location_id and not (old == mine == before.get(other))
            )
            if other := next(others, ""):
                reason = _REASON.format(who=site.location_id, line=line, what=what, other=other)
                refused.setdefault(line, RefusedRow(line=line, column=column, reason=reason))
    return list(refused.values())


_REASON = (
    "{who} on line {line} has the {what} of {other}. If they are one site, keep one of the two; if "
    "they are two, tell them apart, or say that they are ('triage sites FILE --new')."
)


_BARRED = str.maketrans({"\u0142": "l", "\u00f8": "o", "\u0111": "d"})


def _name(site: Site) -> Hashable:
    """The name without case, accents, blanks and signs; nothing for an identifier alone."""
    words = re.findall(r"[^\W_]+", plain(site.locality).translate(_BARRED))
    return " ".join(words) if site.locality != site.location_id else None


def _point(site: Site) -> Hashable:
    return (
        round(site.decimal_latitude, SAME_POINT_DECIMALS),
        round(site.decimal_longitude, SAME_POINT_DECIMALS),
    )


_SHARED: tuple[tuple[str, str, Callable[[Site], Hashable]], ...] = (
    ("locality", "name", _name),
    ("decimalLatitude", "point", _point),
)
