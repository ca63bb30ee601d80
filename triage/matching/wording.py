"""Put the figures of one match into a sentence for people.

The name of a private or sensitive site is left out: its locationID stands in its place.
"""

from __future__ import annotations

from triage.exuviae import Site
from triage.matching.breeding import SEASONS
from triage.matching.records import Match
from triage.standards.counting import counted


def of_site(site: Site, row: Match, name: str) -> str:
    """The sentence for a sighting and a site."""
    assert row.distance is not None
    assert row.distance_least is not None
    assert row.distance_most is not None
    subject = name if name else "Undetermined, on place and season alone"
    where = (
        f"{metres(row.distance)} from {site_name(site)}"
        f" ({metres(row.distance_least)} to {metres(row.distance_most)})"
    )
    parts = "; ".join(part for part in (where, _found(row, name), _when(row)) if part)
    return f"{subject}: {parts}. {_share(row)}"


def of_none(
    row: Match,
    name: str,
    sites_named: int,
    left_out: tuple[int, float],
    nearest: tuple[Site, float] | None,
) -> str:
    """The sentence for "none of the known sites"."""
    subject = name or "Undetermined"
    if row.kernel == "migrant":
        return f"{subject}: a migrant; where it was seen does not tell where it emerged."
    if not sites_named:
        if nearest is None:
            return f"{subject}: the survey has no sites yet."
        site, distance = nearest
        return (
            f"{subject}: no known site is within reach; the nearest, {site_name(site)}, "
            f"is {metres(distance)} away."
        )
    more, most = left_out
    others = counted(more, "more site")
    rest = f" {others} in reach would add at most {most:.2f}." if more else ""
    return (
        f"{subject}: from none of the known sites, taking {row.movement_density:g} unknown waters"
        f" per square kilometre, each with a chance of {row.presence:.2f} to have it."
        f" {_share(row)}{rest}"
    )


def _share(row: Match) -> str:
    return f"Share {row.share:.2f} ({row.share_low:.2f} to {row.share_high:.2f})."


def site_name(site: Site) -> str:
    """The site as people call it; its locationID alone where the place is to be protected."""
    return site.location_id if site.private or site.sensitivity else site.locality


def metres(distance: float) -> str:
    """A distance as people say it.

    Examples
    --------
    >>> metres(0.4), metres(236.0), metres(4321.0), metres(23456.0)
    ('0 m', '240 m', '4.3 km', '23 km')
    """
    if distance < 100:
        return f"{distance:.0f} m"
    if distance < 995:
        return f"{round(distance, -1):.0f} m"
    return f"{distance / 1000:.1f} km" if distance < 9950 else f"{distance / 1000:.0f} km"


def _found(row: Match, name: str) -> str:
    if row.breeding_evidence == "exuviae":
        years = row.exuviae_years
        dated = f" ({', '.join(str(year) for year in years)})" if years else ""
        skins = counted(row.exuviae_count, "exuvia", "exuviae")
        if not name:
            return f"{skins} that its suborder allows{dated}"
        if row.taxon_agreement == "same":
            return f"{skins} of the same {row.agreement_rank}{dated}"
        agrees = f"{skins} named to the {row.agreement_rank} alone, which agrees{dated}"
        return f"{agrees}; it emerges there with a chance of {row.presence:.2f}"
    chance = f"it emerges there with a chance of {row.presence:.2f}"
    if row.breeding_evidence == "not found":
        made = counted(row.passes, "pass", "passes")
        what = "no exuviae of it" if name else "no exuviae that fit"
        return f"{what} in {made} in its days: {chance}"
    return f"never searched in its days: {chance}"


def _when(row: Match) -> str:
    assert row.season in SEASONS
    if row.season == "no date":
        return "date of the sighting unknown"
    if row.days_least is None or row.days_most is None or row.season == "no exuviae":
        return ""
    if row.season == "other season":
        return "of other seasons only"
    span = _span((row.days_least, row.days_most))
    if row.season == "this season":
        return f"collected {span}: it can have emerged there"
    return f"collected {span}: too early or too late for this adult"


def _span(days: tuple[int, int]) -> str:
    least, most = days
    if least > 0:
        return f"{_days(least, most)} before"
    if most < 0:
        return f"{_days(-most, -least)} after"
    if least == most == 0:
        return "on the same day"
    return f"{-least} days after to {most} days before"


def _days(least: int, most: int) -> str:
    if least == most:
        return counted(least, "day")
    return f"{least} to {most} days"
