"""The figures of one match in, one sentence for people out.

The name of a private or sensitive site is left out: its locationID stands in its place.
"""

from __future__ import annotations

from triage.exuviae import Site
from triage.matching.breeding import SEASONS
from triage.matching.settings import Kernel, MatchingSettings


def of_site(
    site: Site,
    *,
    name: str,
    distance: float,
    least: float,
    most: float,
    season: str,
    days: tuple[int, int] | None,
    agreement: str,
    rank: str,
    evidence: str,
    count: int,
    years: tuple[int, ...],
    share: float,
) -> str:
    """The sentence for a sighting and a site."""
    place = site_name(site)
    subject = name if name else "Undetermined, on place and season alone"
    where = f"{metres(distance)} from {place} ({metres(least)} to {metres(most)})"
    found = _found(name, agreement, rank, evidence, count, years)
    when = _when(season, days)
    parts = "; ".join(part for part in (where, found, when) if part)
    return f"{subject}: {parts}. Share {share:.2f}."


def of_none(
    *,
    name: str,
    share: float,
    sites_named: int,
    left_out: tuple[int, float],
    nearest: tuple[Site, float] | None,
    kernel: Kernel,
    settings: MatchingSettings,
) -> str:
    """The sentence for "none of the known sites"."""
    subject = name or "Undetermined"
    if not kernel.infers:
        return f"{subject}: a migrant; where it was seen does not tell where it emerged."
    if not sites_named:
        if nearest is None:
            return f"{subject}: the survey has no sites yet."
        site, distance = nearest
        return (
            f"{subject}: no known site is within reach; the nearest, {site_name(site)}, "
            f"is {metres(distance)} away."
        )
    density = f"{settings.unknown_sites_per_square_kilometre:g}"
    more, most = left_out
    others = "1 more site" if more == 1 else f"{more} more sites"
    rest = f" {others} in reach would add at most {most:.2f}." if more else ""
    return (
        f"{subject}: from none of the known sites, taking {density} unknown waters per square "
        f"kilometre. Share {share:.2f}.{rest}"
    )


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


def _found(
    name: str, agreement: str, rank: str, evidence: str, count: int, years: tuple[int, ...]
) -> str:
    if evidence == "exuviae":
        dated = f" ({', '.join(str(year) for year in years)})" if years else ""
        skins = "1 exuvia" if count == 1 else f"{count} exuviae"
        if not name:
            return f"{skins} that its suborder allows{dated}"
        if agreement == "same":
            return f"{skins} of the same {rank}{dated}"
        return f"{skins} named to the {rank} alone, which agrees{dated}"
    if evidence == "not found":
        if agreement == "conflicting":
            return f"searched, only other taxa found (another {rank})"
        return "searched, no exuviae of it found" if name else "searched, no exuviae that fit found"
    return "never searched for exuviae"


def _when(season: str, days: tuple[int, int] | None) -> str:
    assert season in SEASONS
    if season == "no date":
        return "date of the sighting unknown"
    if days is None or season == "no exuviae":
        return ""
    if season == "other season":
        return "of other seasons only"
    span = _span(days)
    if season == "this season":
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
        return "1 day" if least == 1 else f"{least} days"
    return f"{least} to {most} days"
