"""The part of a survey's records that a report may be made from.

One rule for the whole report: what an export would hide is not part of its figures. An internal
report is made from everything.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

from triage.checklist import Checklist
from triage.estimates.detection import PUBLISHED_DETECTION
from triage.exports.content import ExportContent
from triage.exports.release import Release
from triage.exuviae import SiteMeasurement
from triage.matching import EvidenceScheme, published_schemes
from triage.matching.settings import SKINS_LAST_DAYS
from triage.standards.counting import counted


@dataclass(frozen=True, slots=True, kw_only=True)
class ReportSettings:
    """What the figures of a report depend on beside the records.

    ``seed`` drives every resampling; ``rounds`` resamples and ``permutations`` relabellings are
    made. ``detection_per_pass`` is used where the survey's own searches give none, and
    ``skins_last_days`` with it, as in matching. ``scheme`` names the classes of breeding evidence.
    """

    seed: int = 1
    rounds: int = 499
    permutations: int = 999
    detection_per_pass: float = PUBLISHED_DETECTION
    skins_last_days: int = SKINS_LAST_DAYS
    scheme: EvidenceScheme = field(default_factory=lambda: published_schemes()[0])


@dataclass(frozen=True, slots=True, kw_only=True)
class Loss:
    """How many records of one stage were lost to one reason; ``total`` is how many there were."""

    stage: str
    reason: str
    count: int
    total: int


@dataclass(frozen=True, slots=True, kw_only=True)
class Material:
    """All that a report is made from.

    ``content`` is already cut to what may be spoken of (:func:`shown_content`); coordinates in it
    are the held ones, and are shown through ``release`` alone.
    """

    content: ExportContent
    release: Release
    checklist: Checklist
    losses: tuple[Loss, ...] = ()
    withheld: tuple[str, ...] = ()
    scores: Mapping[str, Mapping[str, float]] = field(default_factory=dict)
    measurements: tuple[SiteMeasurement, ...] = ()
    settings: ReportSettings = field(default_factory=ReportSettings)
    stated: tuple[tuple[str, str], ...] = ()

    @property
    def internal(self) -> bool:
        """Whether everything is shown, to the survey's own eyes."""
        return self.release.internal


def shown_content(content: ExportContent, release: Release) -> ExportContent:
    """The records that may be spoken of: without hidden sightings, sites and lots.

    Records set aside are left out also for the survey itself: they are no sightings.
    """
    sightings = tuple(s for s in content.sightings if s.state != "set aside")
    content = replace(content, sightings=sightings)
    if release.internal:
        return content
    sites = tuple(s for s in content.sites if not release.site_sensitivity[s.location_id].hidden)
    known_hidden = {s.location_id for s in content.sites} - {s.location_id for s in sites}
    shown = tuple(
        s
        for s in sightings
        if not release.sighting_sensitivity[s.identifier].hidden
        and s.location_id not in known_hidden
    )
    identifiers = {s.identifier for s in shown}
    return replace(
        content,
        sightings=shown,
        sites=sites,
        visits=tuple(v for v in content.visits if v.location_id not in known_hidden),
        lots=tuple(
            lot
            for lot in content.lots
            if not release.lot_sensitivity[lot.catalog_number].hidden
            and lot.location_id not in known_hidden
        ),
        determinations=tuple(d for d in content.determinations if d.sighting in identifiers),
        accepted={k: v for k, v in content.accepted.items() if k in identifiers},
        photos=tuple(
            p for p in content.photos if p.sighting in identifiers and release.releases_media(p)
        ),
        matches=tuple(
            m
            for m in content.matches
            if m.sighting in identifiers and m.location_id not in known_hidden
        ),
    )


def left_out(content: ExportContent, shown: ExportContent) -> tuple[str, ...]:
    """How much of the survey is not part of a released report, in sentences."""
    parts = (
        (
            len([s for s in content.sightings if s.state != "set aside"]) - len(shown.sightings),
            "sighting",
            "of a sensitive place or taxon, or at a private home",
        ),
        (len(content.sites) - len(shown.sites), "private or sensitive site", "with the visits"),
        (len(content.lots) - len(shown.lots), "exuviae lot", "of such a place or taxon"),
        (
            len(content.photos) - len(shown.photos),
            "photo",
            "without licence or clearance, or of such a place",
        ),
    )
    return tuple(f"{counted(count, noun)} {what}" for count, noun, what in parts if count)
