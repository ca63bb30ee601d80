"""Adds one water to the survey's list from what somebody at the desk says of it."""

from __future__ import annotations

from datetime import datetime

from triage.errors import UnknownError
from triage.exuviae import Site
from triage.standards.digests import short_digest_of
from triage.store import evidence, history
from triage.store.connection import Survey

UNCERTAINTY = 100.0  # metres around a point set by hand on a map; common practice, no source
LONGEST = 120  # characters of a name


def add_site(
    survey: Survey,
    name: str,
    latitude: float | None,
    longitude: float | None,
    *,
    habitat: str = "",
    private: bool = False,
    by: str,
    now: datetime,
) -> Site:
    """Add a site; its identifier follows from its name and point. Undo takes it off the list.

    Raises
    ------
    UnknownError
        If the name or the point is missing, or a site is called so already.
    """
    name = " ".join(name.split())[:LONGEST]
    if not name:
        raise _refusal("a new water needs a name", "name", "Type its name.")
    if latitude is None or longitude is None or not _is_point(latitude, longitude):
        raise _refusal("a new water needs a point on the map", name, "Click where it lies.")
    for site in evidence.sites(survey):
        if name.casefold() in (one.casefold() for one in (site.locality, *site.aliases)):
            raise _refusal("a site of the survey is called so", name, "Choose it from the list.")
    made = Site(
        location_id="S-" + short_digest_of(f"{name} {latitude:.5f} {longitude:.5f}")[:8].upper(),
        locality=name,
        decimal_latitude=round(latitude, 5),
        decimal_longitude=round(longitude, 5),
        coordinate_uncertainty_in_meters=UNCERTAINTY,
        habitat=" ".join(habitat.split())[:LONGEST],
        private=private,
    )
    with survey.transaction():
        changes = evidence.save_sites(survey, [made])
        history.act(survey, changes, "sites", f"{name}: new", by=by, now=now)
    return made


def _is_point(latitude: float, longitude: float) -> bool:
    return abs(latitude) <= 90 and abs(longitude) <= 180  # not of NaN


def _refusal(what: str, failing: str, next_step: str) -> UnknownError:
    return UnknownError(what, failing=failing, next_step=next_step)
