"""Keep up to date what each adult is evidence of at its site; load sites by taxa with evidence."""

from __future__ import annotations

from collections.abc import Iterable

from triage.matching import SiteEvidence, adult_evidence, evidence_with_adults
from triage.pipeline import derived, standing, tables
from triage.standards.digests import short_digest_of
from triage.store import derived_rules, evidence, sightings, site_adults
from triage.store.connection import Survey
from triage.workers.progress import Progress, silent

METHOD = "adults at sites 2"  # raised when what a sighting is evidence of changes with the program
FEW = 300  # so many are looked at while a page is waited for: some tenths of a second


def is_long_work(survey: Survey) -> bool:
    """Whether bringing it up to date takes longer than somebody should wait for a page.

    Never in a survey that can only be read: what was made beside the page would not be kept.
    """
    if survey.read_only:
        return False
    if derived_rules.noted(survey, "site_adults") != _rules(survey):
        return sightings.count(survey) > FEW
    return derived_rules.count_due(survey, "site_adults") > FEW


def bring_up_to_date(survey: Survey, *, progress: Progress = silent) -> None:
    """Look anew at the sightings that changed since the last time; stopped anywhere, it resumes."""
    derived.renew(
        survey,
        "site_adults",
        lambda due: _adults(survey, due),
        rules=_rules(survey),
        what="looking at which adult was at which water",
        progress=progress,
    )


def evidence_of_sites(survey: Survey) -> list[SiteEvidence]:
    """Sites by taxa with their evidence, as it stands now: of all that is recorded."""
    bring_up_to_date(survey)
    return evidence_with_adults(
        site_adults.tallies(survey),
        evidence.sites(survey),
        evidence.visits(survey),
        tables.counted_lots(survey),
        evidence.checklist(survey),
    )


def _adults(survey: Survey, wanted: list[str]) -> Iterable[object]:
    adults = standing.in_use(survey, standing.standing(survey, wanted))
    return adult_evidence(adults, evidence.sites(survey), evidence.checklist(survey))


def _rules(survey: Survey) -> str:
    """Names all that what every sighting is evidence of depends on."""
    settings = survey.settings
    text = repr((METHOD, settings.determinations, settings.survey.area))
    return short_digest_of(text + repr(evidence.taxa(survey)) + repr(evidence.sites(survey)))
