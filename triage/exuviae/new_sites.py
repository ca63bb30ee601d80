"""Make a site of a name and a point that somebody clicked on a map."""

from __future__ import annotations

from collections.abc import Iterable

from triage.errors import UnknownError
from triage.exuviae.records import Site
from triage.standards.digests import short_digest_of

UNCERTAINTY = 100.0  # metres around a point set by hand on a map; common practice, no source
LONGEST = 120  # characters of a name


def new_site(
    name: str,
    latitude: float | None,
    longitude: float | None,
    known: Iterable[Site],
    *,
    habitat: str = "",
    private: bool = False,
) -> Site:
    """A site whose identifier follows from its name and point.

    Raises
    ------
    UnknownError
        If the name or the point is missing, or one of the ``known`` sites is called so.
    """
    name = " ".join(name.split())[:LONGEST]
    if not name:
        raise _refusal("a new water needs a name", "name", "Type its name.")
    if latitude is None or longitude is None or not _is_point(latitude, longitude):
        raise _refusal(
            "a new water needs a point on the map",
            name,
            "Click where it lies, or type its latitude and longitude.",
        )
    called = {one.casefold() for site in known for one in (site.locality, *site.aliases)}
    if name.casefold() in called:
        raise _refusal("a site of the survey is called so", name, "Choose it from the list.")
    return Site(
        location_id="S-" + short_digest_of(f"{name} {latitude:.5f} {longitude:.5f}")[:8].upper(),
        locality=name,
        decimal_latitude=round(latitude, 5),
        decimal_longitude=round(longitude, 5),
        coordinate_uncertainty_in_meters=UNCERTAINTY,
        habitat=" ".join(habitat.split())[:LONGEST],
        private=private,
    )


def _is_point(latitude: float, longitude: float) -> bool:
    return abs(latitude) <= 90 and abs(longitude) <= 180  # not of NaN


def _refusal(what: str, failing: str, next_step: str) -> UnknownError:
    return UnknownError(what, failing=failing, next_step=next_step)
