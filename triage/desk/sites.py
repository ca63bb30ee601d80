"""Sites and what speaks of them in; map, table, matches and where to look next out."""

from __future__ import annotations

import threading
from collections.abc import Sequence
from dataclasses import dataclass

from flask import Blueprint, Response, abort, current_app, render_template, request

from triage.desk import ground_map, keys, opened
from triage.exuviae import Site
from triage.matching.evidence import STRENGTH
from triage.pipeline import site_pages
from triage.store import map_tiles

room = Blueprint("sites", __name__, url_prefix="/sites")

_one_at_a_time = threading.Lock()  # the figures cost seconds in a large survey

MARKS = {
    "exuviae": "E",
    "teneral": "T",
    "oviposition": "O",
    "pair": "P",
    "exuviae to a coarser rank": "e",
    "adults": "A",
    "adults out of season": "a",
    "searched and not found": "\u2013",
}
"""One sign for each kind of evidence, for a cell of the table; its words stand beside."""


@room.get("/")
def start() -> str:
    """The map, and one site beside it."""
    survey, drawn = opened.survey(), _drawn()
    chosen = request.args.get("site", "")
    tiles = map_tiles.find_map(survey)
    return render_template(
        "sites/room.html",
        map=drawn.map,
        sites=drawn.sites,
        spots=drawn.spots,
        tiles=tiles,
        keys_sites=keys.SITES,
        whole=site_pages.whole_site(survey, chosen) if chosen else None,
    )


@room.get("/at")
def at() -> str:
    """One site as a piece of the page."""
    whole = site_pages.whole_site(opened.survey(), request.args.get("site", ""))
    return render_template("sites/site.html", whole=whole)


@room.get("/table")
def table() -> str:
    """Sites by taxa with the strongest kind of evidence of each."""
    found = _analysed()
    kinds = [kind for kind in STRENGTH if any(e.evidence == kind for e in found.strongest.values())]
    return render_template("sites/table.html", found=found, marks=MARKS, kinds=kinds)


@room.get("/next")
def where_next() -> str:
    """Places worth a search, with weeks, cautions and their sheets."""
    return render_template("sites/next.html", places=_analysed().places)


@room.get("/sheet/<int:rank>.pdf")
def sheet(rank: int) -> Response:
    """The search sheet of one place, to print."""
    content = site_pages.sheet(_analysed(), rank, now=opened.now())
    answer = Response(content, mimetype="application/pdf")
    answer.headers["Content-Disposition"] = f'attachment; filename="search-sheet-{rank:02d}.pdf"'
    return answer


@room.get("/tile/<int:zoom>/<int:column>/<int:row>")
def tile(zoom: int, column: int, row: int) -> Response:
    """One tile of the picture map in the survey's folder."""
    found = map_tiles.find_map(opened.survey())
    kept = map_tiles.tile(found, zoom, column, row) if found else None
    if kept is None:
        abort(404)
    return Response(kept[0], mimetype=kept[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """The map as drawn of a survey in one state."""

    stamp: tuple[int, ...]
    sites: Sequence[Site]
    spots: int
    map: ground_map.GroundMap | None


def _drawn() -> _Drawn:
    """Drawn once, and anew when the survey changed: every sighting is a point of it."""
    survey, kept = opened.survey(), current_app.extensions
    stamp = site_pages.stamp_of(survey)
    found: _Drawn | None = kept.get("ground")
    if found is None or found.stamp != stamp:
        sites, spots = site_pages.sites_and_spots(survey)
        drawn = ground_map.draw(sites, spots)
        found = kept["ground"] = _Drawn(stamp=stamp, sites=sites, spots=len(spots), map=drawn)
    return found


def _analysed() -> site_pages.Analysed:
    """Computed once, and anew when the survey changed."""
    kept = current_app.extensions
    with _one_at_a_time:
        kept["analysed"] = site_pages.analysed(opened.survey(), kept.get("analysed"))
        found: site_pages.Analysed = kept["analysed"]
    return found
