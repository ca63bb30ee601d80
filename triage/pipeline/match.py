"""Match sightings with sites, and match anew those that something changed about since."""

from __future__ import annotations

from collections.abc import Collection

from triage.matching import Match, MatchingSettings, match_sightings
from triage.pipeline import standing, tables
from triage.store import evidence, matches
from triage.store.connection import Survey


def match(survey: Survey, *, detection: float | None = None) -> list[Match]:
    """Match every live sighting and keep the result; ``detection`` instead of the survey's own."""
    found = _matched(survey, None, detection)
    with survey.transaction():
        matches.replace_all(survey, found)
    return sorted(found, key=lambda one: (one.sighting, -one.share, one.location_id))


def current(survey: Survey, sightings: Collection[str] | None = None) -> list[Match]:
    """The matches of these sightings, or of all, as what is known of them stands now.

    Those that something changed about are matched first; what that costs grows with their number.
    A survey that was never matched has none.
    """
    due = matches.due(survey, sightings)
    if due and matches.any_kept(survey):
        found = _matched(survey, due, None)
        with survey.transaction():
            matches.replace(survey, due, found)
    return matches.every(survey) if sightings is None else matches.of_sightings(survey, sightings)


def _matched(survey: Survey, only: Collection[str] | None, detection: float | None) -> list[Match]:
    stands = standing.standing(survey, only)
    live = [one for one in standing.sightings(survey, stands) if one.state != "set aside"]
    stated = survey.settings.matching.model_dump()
    if detection is not None:
        stated["detection_per_pass"] = detection
    return list(
        match_sightings(
            [one for one in live if not stands.rows[one.identifier].superseded_by],
            evidence.sites(survey),
            evidence.visits(survey),
            tables.counted_lots(survey),
            standing.load_checklist(survey),
            settings=MatchingSettings(**stated),
        )
    )
