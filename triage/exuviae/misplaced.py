"""Finds sites whose coordinates are swapped, or lost a sign or the decimal point.

A position is doubted where it lies outside the survey's area or time zone or far from every other
site, and where one usual slip explains it: only then is it known what to ask.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from itertools import pairwise

import numpy as np

from triage.analysis import geodesy
from triage.analysis.geodesy import Area
from triage.exuviae.records import Site
from triage.metadata.zones import zone_at
from triage.standards.tables import RefusedRow

FAR_METRES = 100_000.0  # from the nearest other: farther is asked about, if a slip explains it
ABROAD_METRES = 300_000.0  # and outside the time zone: asked about whatever explains it; our own
NEAR_METRES, NEAR_SHARE, NEAR_AT_MOST = 50_000.0, 0.05, 200_000.0
# Beside another site without the slip: 50 km, or 5 % of the way, up to 200 km. Our own bands.
NEAREST = 4  # by the straight line; along the surface the order of the very nearest may differ
STRAIGHT_METRES = 25_000.0  # so far the straight line is the distance but for 2 cm
_Position = tuple[float, float]


class _Others:
    """The sites that one is compared with: all of these but the one that is left out.

    The few nearest by the straight line through the Earth are found in a tree, and measured along
    its surface where that is another distance, so that a table of 60,000 sites takes seconds.
    """

    def __init__(self, sites: Iterable[Site]) -> None:
        from scipy.spatial import cKDTree  # late: most commands have no table of sites to check

        places = [(one.decimal_latitude, one.decimal_longitude) for one in sites]
        self._places = np.array(places, dtype=np.float64).reshape(-1, 2)
        self._tree = cKDTree(geodesy.geocentric(*self._places.T))
        self.leave_out: int | None = None

    def metres_from(self, here: _Position) -> float | None:
        """Metres to the nearest of them; None where there is none."""
        straight, nearest = self._tree.query(geodesy.geocentric(*here), k=NEAREST + 1)
        others = np.isfinite(straight) & (nearest != self.leave_out)
        straight, nearest = straight[others][:NEAREST], nearest[others][:NEAREST]
        if not nearest.size:
            return None
        if straight[0] < STRAIGHT_METRES:
            return float(straight[0])
        return float(geodesy.distances(*here, *self._places[nearest].T).min())


def misplaced_sites(
    found: Sequence[tuple[int, Site]],
    *,
    area: Area | None = None,
    zone: str = "",
    known: Sequence[Site] = (),
) -> list[RefusedRow]:
    """Rows, by line number, whose position is wrong, each with what seems to have happened.

    Two sites that fit each other only once one of them is changed are both refused: which of the
    two is wrong cannot be told without the survey's ``area`` or other sites.
    """
    refused = list(_filled_down(found))
    lines = {site.location_id: line for line, site in found}
    before = [site for site in known if site.location_id not in lines]
    others = _Others([*before, *(one for _, one in found)])
    for position, (line, site) in enumerate(found, start=len(before)):
        others.leave_out = position
        here = site.decimal_latitude, site.decimal_longitude
        reason = _doubt(here, others, area, zone, _number_called(site))
        if reason:
            refused.append(RefusedRow(line=line, column="decimalLatitude", reason=reason))
    return refused


def _filled_down(found: Sequence[tuple[int, Site]]) -> Iterator[RefusedRow]:
    """Three rows and more in which both coordinates grow by one: a cell was dragged down."""
    places = [(one.decimal_latitude, one.decimal_longitude) for _, one in found]
    grows = [
        all(round(here - before, 7) == 1 for here, before in zip(one, last, strict=True))
        for last, one in pairwise(places)
    ]
    runs = {first + n for first, both in enumerate(pairwise(grows)) if all(both) for n in range(3)}
    for place in sorted(runs):
        reason = "Both coordinates grow by one from row to row, as a spreadsheet fills cells down."
        reason += " Write those of each site."
        yield RefusedRow(line=found[place][0], column="decimalLatitude", reason=reason)


def _number_called(site: Site) -> float | None:
    """The number that stands where the name belongs: a latitude, if the row is shifted."""
    is_number = re.fullmatch(r"-?\d{1,2}", site.locality) and site.locality != site.location_id
    return float(site.locality) if is_number else None


def slip_of_point(
    latitude: float,
    longitude: float,
    *,
    area: Area | None = None,
    zone: str = "",
    known: Sequence[Site] = (),
) -> str:
    """Which usual slip explains a point that was typed; empty where it may well be meant.

    Unlike a site a photo may be of anywhere: a far point is doubted only where a slip leads from it
    into the survey's area, to its sites or into its time zone.
    """
    here = latitude, longitude
    if area is not None:
        if geodesy.is_inside(*here, area):
            return ""
        return next((what for what, there in _slips(here) if geodesy.is_inside(*there, area)), "")
    return _doubt(here, _Others(known), None, zone)


def _doubt(
    here: _Position,
    others: _Others,
    area: Area | None,
    zone: str,
    called: float | None = None,
) -> str:
    """Why a position is refused; empty if it stands. ``called`` is a number in place of a name."""
    slips = [*_shifted(here, called), *_slips(here)]
    if area is not None:
        if geodesy.is_inside(*here, area):
            return ""
        slip = next((what for what, there in slips if geodesy.is_inside(*there, area)), "")
        return (
            "The site lies outside the survey's area. "
            f"{slip or 'Correct it, or widen area in survey.toml.'}"
        )
    away = others.metres_from(here)
    if here[0] == here[1] and (away is None or away > FAR_METRES):
        return "Latitude and longitude are one number, so one was copied. Correct it."
    if away is not None and away > FAR_METRES:
        near = min(max(NEAR_METRES, away * NEAR_SHARE), NEAR_AT_MOST)
        for what, there in slips:
            if (others.metres_from(there) or 0.0) <= near:
                return (
                    f"The site lies {away / 1000:.0f} km from the nearest other, and beside it "
                    f"with one change. {what} If it is right, set area in survey.toml."
                )
    return _zone_doubt(here, zone, slips, away) if zone else ""


def _zone_doubt(
    here: _Position, zone: str, slips: Sequence[tuple[str, _Position]], away: float | None
) -> str:
    """A position outside the survey's time zone that a slip explains, or far from every site."""
    if zone_at(*here) == zone:
        return ""
    slip = next((what for what, there in slips if zone_at(*there) == zone), "")
    if not slip and away is not None and away > ABROAD_METRES:
        slip = f"The nearest other site is {away / 1000:.0f} km away."
    return (
        f"The site lies outside the time zone {zone} of the survey. {slip} "
        "If it is right, set area in survey.toml."
        if slip
        else ""
    )


def _shifted(here: _Position, called: float | None) -> Iterator[tuple[str, _Position]]:
    """The row without a shift by one column: the name is the latitude, that the longitude."""
    if called is not None and abs(called) <= 90:
        yield "The cells of the row seem to be shifted by a column.", (called, here[0])


def _slips(here: _Position) -> Iterator[tuple[str, _Position]]:
    """Usual slips, each with what to do and where the site would be without it."""
    latitude, longitude = here
    if abs(longitude) <= 90:
        yield "Exchange latitude and longitude.", (longitude, latitude)
    yield "The sign of the longitude seems wrong.", (latitude, -longitude)
    yield "The sign of the latitude seems wrong.", (-latitude, longitude)
    yield "The signs of both seem wrong.", (-latitude, -longitude)
    for tens in (-10.0, 10.0):
        if abs(latitude + tens) <= 90:
            yield "The first digit of the latitude seems wrong.", (latitude + tens, longitude)
        if abs(longitude + tens) <= 180:
            yield "The first digit of the longitude seems wrong.", (latitude, longitude + tens)
    for turned in _digits_exchanged(latitude):
        yield "Two digits of the latitude seem exchanged.", (turned, longitude)
    for turned in _digits_exchanged(longitude):
        yield "Two digits of the longitude seem exchanged.", (latitude, turned)
    for factor in (10.0, 100.0, 1000.0, 0.1, 0.01, 0.001):
        if abs(latitude * factor) <= 90:
            yield "The decimal point of the latitude seems wrong.", (latitude * factor, longitude)
        if abs(longitude * factor) <= 180:
            yield "The decimal point of the longitude seems wrong.", (latitude, longitude * factor)
        if abs(latitude * factor) <= 90 and abs(longitude * factor) <= 180:
            yield (
                "The decimal points of both seem wrong.",
                (latitude * factor, longitude * factor),
            )


def _digits_exchanged(degrees: float) -> Iterator[float]:
    """The number with two neighbouring digits of its whole degrees exchanged: 35.9 for 53.9."""
    whole, point, rest = f"{abs(degrees)}".partition(".")
    for place in range(len(whole) - 1):
        turned = whole[:place] + whole[place + 1] + whole[place] + whole[place + 2 :]
        value = float(turned + point + rest)
        if turned != whole and value <= 90:
            yield math.copysign(value, degrees)
