"""Draws sites, adults and places to search on a map without a background."""

from __future__ import annotations

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from triage.matching import behaviour_of
from triage.report import style
from triage.report.columns import declared
from triage.report.findings import Findings
from triage.report.material import Material
from triage.report.parts import Plot
from triage.report.wording import plot_labels, plot_words, site_labels, written
from triage.standards.counting import counted

REACHES = ((500.0, "500 m"), (2000.0, "2 km"))
"""Metres around sites with exuviae: where the kernels keep 95 % of damselflies, and 81 % of
dragonflies (docs/matching.md)."""
MOST_NAMED_SITES = 40  # with more, marks shrink and names stay in the file
METRES_PER_DEGREE = 111_195.0  # of latitude on a sphere of the mean radius 6,371,009 m

FRAME_KILOMETRES = 10.0  # from a site: beyond, inference ends for every kernel (docs/matching.md)

Point = tuple[float, float]


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A site, a gap, or the adults of one kind at one place: degrees and metres as released."""

    what: str
    latitude: float | None
    longitude: float | None
    radius: float | None = None
    name: str = ""
    location_id: str = ""
    records: int = 1


Spots = Sequence[tuple[Mark, Point]]
"""Marks with where they are drawn: kilometres east and north of the corner of all that is shown."""

_ADULTS = {
    "adult": (("o", style.WATER, "white"), "adult"),
    "adult, not named": (("o", "white", style.WATER), "adult, no name yet or waiting for a look"),
    "adult, teneral or breeding": (("^", style.SAND, style.INK), "teneral, pair or egg-laying"),
}
_SITES = {
    "site, exuviae": (("s", style.DARK, style.DARK), "site with exuviae"),
    "site, searched without finds": (("s", "white", style.DARK), "site searched, nothing found"),
    "site, not searched": (("D", "white", style.DARK), "site not searched"),
}
"""The look (marker, fill, edge) of each kind of mark, and what the legend calls it."""


def map_plot(material: Material, findings: Findings) -> Plot | None:
    """The survey on the ground; None without any place. Coordinates are the released ones."""
    marks = map_marks(material, findings)
    spots, outside = _framed(marks)
    if not spots:
        return None
    placed = [point for _, point in spots]
    span_x = max(x for x, _ in placed) or 1.0
    span_y = max(y for _, y in placed) or 1.0
    margin = 0.12 * max(span_x, span_y) + 0.15
    # A strip below all places is left to the scale.
    box = (-margin, span_x + margin, -margin - 0.09 * span_y, span_y + margin)
    width = 7.6
    height = min(max(width * (box[3] - box[2]) / (box[1] - box[0]) * 0.78 + 1.0, 4.2), 9.0)
    with style.figure(width, height) as made:
        axes = made.subplots()
        axes.set_aspect("equal")
        few = sum(one.what.startswith("site") for one in marks) <= MOST_NAMED_SITES
        _reach(axes, [point for one, point in spots if one.what == "site, exuviae"])
        _adults_and_sites(axes, spots, few=few)
        if few:
            _names(axes, spots, plot_labels(material), box, (width, height))
        _gaps(axes, spots, max(span_x, span_y))
        axes.set_xlim(box[0], box[1])
        axes.set_ylim(box[2], box[3])
        axes.set_xticks([])
        axes.set_yticks([])
        for side in axes.spines.values():
            side.set_visible(True)
            side.set_color(style.LINE)
        _scale_and_north(axes, box)
        made.legend(loc="outside lower center", ncols=2, columnspacing=1.4, markerscale=0.65)
        table = declared("map", marks, says={"whole_metres": _whole_metres})
        words = plot_words("map", **_told(material, marks, outside))
        return style.drawn(made, name="map", data=table, **words)


def _framed(marks: Sequence[Mark]) -> tuple[list[tuple[Mark, Point]], list[Mark]]:
    """The marks with where they are drawn, and those too far from every site to be drawn.

    One photo from a holiday would shrink all waters of the survey to a point.
    """
    points = [
        (one, one.longitude, one.latitude)
        for one in marks
        if one.longitude is not None and one.latitude is not None
    ]
    kilometres = METRES_PER_DEGREE / 1000
    sites = [(lon, lat) for one, lon, lat in points if one.what.startswith("site")]
    middle = sum(lat for *_, lat in points) / max(len(points), 1)
    stretch = math.cos(math.radians(middle))

    def near(lon: float, lat: float) -> bool:
        away = (math.hypot((lon - x) * stretch, lat - y) * kilometres for x, y in sites)
        return not sites or min(away) <= FRAME_KILOMETRES

    shown = [(one, lon, lat) for one, lon, lat in points if near(lon, lat)]
    outside = [one for one, lon, lat in points if not near(lon, lat)]
    west = min((lon for _, lon, _ in shown), default=0.0)
    south = min((lat for *_, lat in shown), default=0.0)
    return [
        (one, ((lon - west) * kilometres * stretch, (lat - south) * kilometres))
        for one, lon, lat in shown
    ], outside


def _whole_metres(one: Mark) -> int | None:
    return None if one.radius is None else round(one.radius)


def map_marks(material: Material, findings: Findings) -> list[Mark]:
    """What the map shows, as far as its place may be told."""
    release, content = material.release, material.content
    found = {e.location_id for e in findings.evidence if e.evidence == "exuviae"}
    searched = {visit.location_id for visit in content.visits}
    labels = site_labels(material)
    marks = []
    for site in content.sites:
        point = release.site_points[site.location_id]
        kind = (
            "site, exuviae"
            if site.location_id in found
            else "site, searched without finds"
            if site.location_id in searched
            else "site, not searched"
        )
        marks.append(
            Mark(
                what=kind,
                name=labels[site.location_id],
                location_id=site.location_id,
                latitude=point.decimal_latitude,
                longitude=point.decimal_longitude,
                radius=point.coordinate_uncertainty_in_meters,
            )
        )
    places: Counter[tuple[str, float, float]] = Counter()
    for sighting in content.sightings:
        point = release.sighting_points[sighting.identifier]
        if point.decimal_latitude is None or point.decimal_longitude is None:
            continue
        kind = (
            "adult, teneral or breeding"
            if behaviour_of(sighting)
            else "adult"
            if sighting.scientific_name and not sighting.waits
            else "adult, not named"
        )
        places[(kind, point.decimal_latitude, point.decimal_longitude)] += 1
    marks += [
        Mark(what=kind, latitude=latitude, longitude=longitude, records=count)
        for (kind, latitude, longitude), count in sorted(places.items())
    ]
    return marks + [
        Mark(
            what="gap",
            name=f"{one.rank}",
            latitude=one.decimal_latitude,
            longitude=one.decimal_longitude,
            radius=one.radius_in_meters,
            records=one.sightings,
        )
        for one in findings.priorities
        if one.kind == "no known site"
    ]


def _reach(axes: Any, places: Sequence[Point]) -> None:
    if not places:
        return
    import shapely

    spots = shapely.points(places)
    styles = ((style.LIGHT, "solid", 1.2), ("none", (0, (4, 3)), 1.0))
    for (metres, words), (fill, line, width) in zip(REACHES, styles, strict=True):
        area = shapely.union_all(shapely.buffer(spots, metres / 1000, quad_segs=24))
        label: str | None = f"within {words} of a site with exuviae"
        for part in shapely.get_parts(area):
            ring = shapely.get_coordinates(part.exterior)
            axes.fill(
                ring[:, 0],
                ring[:, 1],
                facecolor=fill,
                edgecolor=style.QUIET,
                linestyle=line,
                linewidth=width,
                label=label,
                zorder=1 if fill != "none" else 2,
            )
            label = None
            for hole in part.interiors:
                edge = shapely.get_coordinates(hole)
                axes.plot(edge[:, 0], edge[:, 1], color=style.QUIET, linestyle=line, zorder=2)


def _adults_and_sites(axes: Any, spots: Spots, *, few: bool) -> None:
    """A mark of adults grows with their number."""
    scale = 1.0 if few else 0.3
    for kind, (look, words) in (_ADULTS | _SITES).items():
        chosen = [one for one, _ in spots if one.what == kind]
        places = [point for one, point in spots if one.what == kind]
        if chosen and kind in _ADULTS:
            sizes = [(26 + 14 * math.sqrt(one.records - 1)) * scale for one in chosen]
            style.marks(axes, places, look, size=sizes, width=0.9, label=words, zorder=4)
        elif chosen:
            style.marks(axes, places, look, size=150 if few else 36, width=1.3, label=words)


def _names(
    axes: Any,
    spots: Spots,
    labels: Mapping[str, str],
    box: tuple[float, float, float, float],
    inches: tuple[float, float],
) -> None:
    """The sites' names, each where it lies on no other name and no other site; else left out.

    A letter of 8 points is taken as 4.6 points wide.
    """
    across, up = box[1] - box[0], box[3] - box[2]
    point = max(across / (inches[0] * 72), up / (inches[1] * 72 - 72))  # kilometres a point
    sites = [(one, at) for one, at in spots if one.what.startswith("site")]
    taken = [(x, y, 7 * point, 7 * point) for _, (x, y) in sites]
    for number, (one, (x, y)) in enumerate(sites):
        name = labels[one.location_id]
        wide, high = len(name) * 2.3 * point, 5 * point
        own = taken[number]
        for dx, dy in ((0, 17), (0, -17), (1, 0), (-1, 0)):
            middle = x + dx * (wide + 9 * point), y + dy * point
            inside = box[0] < middle[0] - wide and middle[0] + wide < box[1]
            clear = all(
                abs(middle[0] - a) >= wide + w or abs(middle[1] - b) >= high + h
                for a, b, w, h in taken
                if (a, b, w, h) != own
            )
            if inside and clear:
                taken.append((*middle, wide, high))
                axes.text(
                    *middle,
                    name,
                    ha="center",
                    va="center",
                    fontsize=8,
                    zorder=6,
                    bbox={"boxstyle": "square,pad=0.1", "fc": (1, 1, 1, 0.75), "ec": "none"},
                )
                break


def _gaps(axes: Any, spots: Spots, span: float) -> None:
    from matplotlib.patches import Circle

    label: str | None = "gap: adults with no known site (its number)"
    for one, (x, y) in spots:
        if one.what != "gap":
            continue
        # Never smaller than the eye can find, however far the survey reaches.
        radius = max(round(one.radius or 0) / 1000, 0.022 * span)
        axes.add_patch(
            Circle(
                (x, y),
                radius,
                facecolor="none",
                edgecolor=style.INK,
                hatch="///",
                linewidth=1.0,
                label=label,
                zorder=2.5,
            )
        )
        label = None
        axes.annotate(
            one.name,
            (x - radius, y),
            xytext=(-4, 0),
            textcoords="offset points",
            ha="right",
            va="center",
            fontsize=10,
            fontweight="bold",
            zorder=7,
        )


def _scale_and_north(axes: Any, box: tuple[float, float, float, float]) -> None:
    across = box[1] - box[0]
    length = next(
        step for step in (50, 20, 10, 5, 2, 1, 0.5, 0.2, 0.1, 0.05) if step <= 0.3 * across
    )
    x, y = box[0] + 0.04 * across, box[2] + 0.025 * (box[3] - box[2])
    tick = 0.012 * (box[3] - box[2])
    axes.plot([x, x, x + length, x + length], [y + tick, y, y, y + tick], color=style.INK, lw=1.6)
    words = f"{length:g} km" if length >= 1 else f"{length * 1000:.0f} m"
    axes.text(
        x + length / 2,
        y + tick,
        words,
        ha="center",
        va="bottom",
        bbox={"boxstyle": "square,pad=0.1", "fc": (1, 1, 1, 0.8), "ec": "none"},
    )
    axes.annotate(
        "N",
        xy=(0.96, 0.97),
        xytext=(0.96, 0.87),
        xycoords="axes fraction",
        ha="center",
        va="center",
        arrowprops={"arrowstyle": "-|>", "color": style.INK, "lw": 1.4},
    )


def _told(material: Material, marks: Sequence[Mark], outside: Sequence[Mark]) -> dict[str, object]:
    """What the caption tells: how many adults, how exact, what the areas are, what is not drawn."""
    words = written("words.toml")["plots"]["map"]
    far = sum(one.records for one in outside if one.what.startswith("adult"))
    reached = any(one.what == "site, exuviae" and one.latitude is not None for one in marks)
    return {
        "adults": counted(
            sum(one.records for one in marks if one.what.startswith("adult")), "adult sighting"
        ),
        "precision": "exact coordinates, not to be handed on"
        if material.internal
        else f"coordinates on a grid of {material.release.policy.release_precision:g} degree",
        "reach": words["reach"] if reached else "",
        "outside": words["outside"].format(
            adults=counted(far, "adult sighting lies", "adult sightings lie"),
            kilometres=f"{FRAME_KILOMETRES:g}",
        )
        if far
        else "",
    }
