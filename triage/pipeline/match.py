"""Match sightings with sites, and match anew those that something changed about since."""

from __future__ import annotations

from collections.abc import Collection

from triage.matching import Match, MatchingSettings, match_sightings
from triage.pipeline import standing, tables
from triage.standards.digests import short_digest_of
from triage.store import derived_rules, evidence, matches
from triage.store.connection import Survey
from triage.workers.many import many_records
from triage.workers.progress import Progress, silent

METHOD = "matches 3"  # raised when matches change with the program
FEW = 300  # so many are matched while a page is waited for: some tenths of a second


@many_records()
def match(survey: Survey, *, detection: float | None = None) -> list[Match]:
    """Match every live sighting and keep the result; ``detection`` instead of the survey's own."""
    found = _matched(survey, None, detection)
    with survey.transaction():
        rules = _rules(survey) if detection is None else ""
        derived_rules.replace_all(survey, "matches", found, rules)
    return sorted(found, key=lambda one: (one.sighting, -one.share, one.location_id))


def refresh(survey: Survey, *, progress: Progress = silent) -> None:
    """Match what changed, or everything if waters, searches, names or settings did."""
    if matches.any_kept(survey) and derived_rules.noted(survey, "matches") == _rules(survey):
        bring_up_to_date(survey, progress=progress)
    else:
        progress("matching sightings with waters", 0, None)
        match(survey)


def current(survey: Survey, sightings: Collection[str] | None = None) -> list[Match]:
    """The matches of these sightings, or of all, as what is known of them stands now.

    A survey that was never matched has none.
    """
    bring_up_to_date(survey, sightings)
    return matches.every(survey) if sightings is None else matches.of_sightings(survey, sightings)


def count_due(survey: Survey) -> int:
    """How many sightings changed since they were matched; none in a survey that never was."""
    return derived_rules.count_due(survey, "matches") if matches.any_kept(survey) else 0


def bring_up_to_date(
    survey: Survey, sightings: Collection[str] | None = None, *, progress: Progress = silent
) -> None:
    """Match anew those of these sightings, or of all, that something changed about.

    What that costs grows with their number.
    """
    if matches.any_kept(survey):
        derived_rules.renew(
            survey,
            "matches",
            lambda due: _matched(survey, due, None),
            only=sightings,
            what="matching sightings with waters",
            progress=progress,
        )


def _matched(survey: Survey, only: Collection[str] | None, detection: float | None) -> list[Match]:
    stands = standing.standing(survey, only)
    stated = survey.settings.matching.model_dump()
    if detection is not None:
        stated["detection_per_pass"] = detection
    return list(
        match_sightings(
            standing.in_use(survey, stands),
            evidence.sites(survey),
            evidence.visits(survey),
            tables.counted_lots(survey),
            evidence.checklist(survey),
            settings=MatchingSettings(**stated),
        )
    )


def _rules(survey: Survey) -> str:
    """Names all that the matches of every sighting depend on."""
    held = (evidence.sites(survey), evidence.visits(survey), evidence.lots(survey))
    return short_digest_of(repr((METHOD, survey.settings.matching, *held, evidence.taxa(survey))))
