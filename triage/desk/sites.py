"""Sites and what speaks of them in; map, table, matches and where to look next out."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from contextlib import suppress
from dataclasses import dataclass
from functools import partial
from typing import Any, TypeVar

from flask import Blueprint, Response, abort, current_app, render_template, request
from markupsafe import Markup

from triage.desk import arrivals, ground_map, keys, opened
from triage.desk.work import BusyError, Work
from triage.exuviae import Site
from triage.matching.evidence import STRENGTH
from triage.pipeline import match
from triage.pipeline import sites as stage
from triage.report.site_pages import Places, WholeSite
from triage.report.site_pages import sheet as search_sheet
from triage.standards.letters import alphabetical
from triage.store import evidence, ground, map_tiles
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

room = Blueprint("sites", __name__, url_prefix="/sites")

MARKS = {
    "exuviae": "E",
    "teneral": "T",
    "oviposition": "O",
    "pair": "P",
    "exuviae to a coarser rank": "e",
    "adults": "A",
    "adults out of season": "a",
    "waiting for a second look": "?",
    "searched and not found": "\u2013",
}
"""One sign for each kind of evidence, for a cell of the table; its words stand beside."""


Made = TypeVar("Made")


@room.get("/")
def start() -> str:
    """The map, and one site beside it."""
    survey, drawn = opened.survey(), _drawn()
    chosen = request.args.get("site", "")
    tiles, refused = map_tiles.find_map(survey)
    return render_template(
        "sites/room.html",
        map=drawn.map,
        sites=drawn.sites,
        spots=drawn.spots,
        tiles=tiles,
        refused=refused,
        keys_sites=keys.SITES,
        whole=_whole(chosen) if chosen else None,
    )


@room.get("/at")
def at() -> str:
    """One site as a piece of the page."""
    return render_template("sites/site.html", whole=_whole(request.args.get("site", "")))


@room.get("/table")
def table() -> str:
    """Sites by taxa with the strongest kind of evidence of each."""
    if stage.table_is_long_work(opened.survey()):
        _behind(lambda survey, progress: stage.renew_table(survey, progress=progress))
        return render_template("sites/table.html", matrix=None)
    return render_template("sites/table.html", matrix=_matrix())


@room.get("/next")
def where_next() -> str:
    """Places worth a search, with weeks, cautions and their sheets."""
    survey, found = opened.survey(), _places()
    newer = found is None or found.stamp != ground.stamp(survey)
    if newer and stage.places_are_long_work(survey):
        _behind(_keep_places(current_app.extensions))
    elif newer:
        _keep_places(current_app.extensions)(survey, silent)
        found, newer = _places(), False
    shown = found and _kept("list of places", (found.stamp, found.at), partial(_listed, found))
    return render_template("sites/next.html", found=found, places=shown, newer=newer)


def _listed(found: Places) -> Markup:
    return Markup(render_template("sites/places.html", places=found.places) if found.places else "")


@room.get("/sheet/<int:rank>.pdf")
def sheet(rank: int) -> Response:
    """The search sheet of one place, to print."""
    found = _places() or stage.places_to_search(opened.survey(), now=opened.now())
    content = search_sheet(found, rank, now=opened.now())
    answer = Response(content, mimetype="application/pdf")
    answer.headers["Content-Disposition"] = f'attachment; filename="search-sheet-{rank:02d}.pdf"'
    return answer


@room.get("/progress")
def progress() -> Response:
    """How far the figures of this room have come, told as they are made."""
    return arrivals.told(_figures())


@room.get("/tile/<int:zoom>/<int:column>/<int:row>")
def tile(zoom: int, column: int, row: int) -> Response:
    """One tile of the picture map in the survey's folder."""
    found, _ = map_tiles.find_map(opened.survey())
    kept = map_tiles.tile(found, zoom, column, row) if found else None
    if kept is None:
        abort(404)
    return Response(kept[0], mimetype=kept[1])


@dataclass(frozen=True, slots=True, kw_only=True)
class _Drawn:
    """The map as drawn of a survey in one state."""

    sites: Sequence[Site]
    spots: int
    map: ground_map.GroundMap | None


def _drawn() -> _Drawn:
    """Drawn once, and anew when a site, or the place or day of a sighting, changed."""
    survey = opened.survey()

    def draw() -> _Drawn:
        sites = sorted(evidence.sites(survey), key=lambda site: alphabetical(site.locality))
        spots = ground.spots(survey, cell=ground_map.SPOT, most=ground_map.MOST_SPOTS)
        count = sum(one.count for one in spots)
        return _Drawn(sites=sites, spots=count, map=ground_map.draw(sites, spots))

    return _kept("ground", ground.changes(survey), draw)


def _matrix() -> Markup:
    """Sites by taxa as a piece of the page: made once, and anew when anything was recorded."""
    survey, blind = opened.survey(), opened.blind()

    def make() -> Markup:
        found = stage.sites_by_taxa(survey, blind=blind)
        there = {one.evidence for one in found.strongest.values()}
        kinds = [kind for kind in STRENGTH if kind in there]
        shown = render_template("sites/matrix.html", found=found, marks=MARKS, kinds=kinds)
        return Markup(shown if found.taxa else "")

    return _kept(f"sites by taxa, blind {blind}", ground.stamp(survey), make)


def _kept(name: str, stamp: object, make: Callable[[], Made]) -> Made:
    """What was made of the survey when it had this stamp; made anew when it has another."""
    kept = current_app.extensions
    if name not in kept or kept[name][0] != stamp:
        kept[name] = stamp, make()
    made: Made = kept[name][1]
    return made


def _whole(site: str) -> WholeSite:
    """One site; where many sightings are to be matched first, that begins behind the page."""
    found = stage.whole_site(opened.survey(), site, blind=opened.blind())
    if found.not_matched:
        _behind(lambda survey, progress: match.bring_up_to_date(survey, progress=progress))
    return found


def _places() -> Places | None:
    found: Places | None = current_app.extensions.get("places")
    return found


def _keep_places(kept: dict[str, Any]) -> Callable[[Survey, Progress], None]:
    """Computes the places worth a search and keeps them for the pages."""
    now = opened.now()

    def compute(survey: Survey, progress: Progress) -> None:
        kept["places"] = stage.places_to_search(survey, now=now, progress=progress)

    return compute


def _behind(job: Callable[[Survey, Progress], None]) -> None:
    """Have figures made beside the server, unless some are being made."""

    def without_words(survey: Survey, progress: Progress) -> list[str]:
        job(survey, progress)
        return []

    with suppress(BusyError):
        _figures().start(without_words)


def _figures() -> Work:
    found: Work = current_app.extensions["figures"]
    return found
