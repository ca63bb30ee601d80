"""Load a survey for the analyst: its tables, its report and what no figure counts."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace
from datetime import datetime
from pathlib import Path

from triage.exports import ExportContent
from triage.exports import release as releasing
from triage.matching import scheme_named
from triage.pipeline import match, publish, standing, tables
from triage.report import findings as finding
from triage.report import losses, releases, site_measures, tables_of_sites
from triage.report.absences import effort_of
from triage.report.material import (
    Loss,
    Material,
    ReportSettings,
    left_out,
    shown_content,
)
from triage.report.parts import Table
from triage.report.site_measures import MeasureCorrelation
from triage.report.writing import ReportOutcome, write_report
from triage.sightings import Sighting
from triage.store import copies, evidence, messages, originals, photos, sightings, unfinished
from triage.store.connection import Survey
from triage.workers.many import many_records


def material(
    survey: Survey,
    *,
    internal: bool = False,
    settings: ReportSettings | None = None,
    content: ExportContent | None = None,
) -> Material:
    """All that the analyst's figures are made from, cut to what may be released.

    ``content`` is what was loaded already of this survey.
    """
    content = content or load_whole(survey)
    here = _cut(survey, content, settings or settings_of(survey), internal=internal)
    return replace(
        here,
        losses=tuple(losses_of(survey, content.sightings)),
        withheld=left_out(content, here.content),
        scores=evidence.scores(survey),
        measurements=content.measurements,
        stated=_stated(survey),
    )


def released_records(survey: Survey) -> Material:
    """The records that may be spoken of, without photos and without what was lost on the way."""
    stands = standing.standing(survey)
    content = publish.records(survey, standing.sightings(survey, stands), stands)
    return _cut(survey, content, settings_of(survey), internal=False)


def _cut(
    survey: Survey, content: ExportContent, settings: ReportSettings, *, internal: bool
) -> Material:
    """What may be released of the content, with the sightings that nobody has named."""
    policy = replace(publish.policy(survey, internal=internal), include_unnamed=True)
    release = releasing.prepare(content, policy)
    return Material(
        content=shown_content(content, release),
        release=release,
        checklist=evidence.checklist(survey),
        settings=settings,
    )


def load_whole(survey: Survey) -> ExportContent:
    """All sightings that stand, and everything an export of them could hold."""
    stands = standing.standing(survey)
    return publish.content(survey, standing.sightings(survey, stands), stands)


def losses_of(survey: Survey, found: Sequence[Sighting]) -> list[Loss]:
    """From mail to lots, how many records of each stage are in no figure, and why."""
    groups = copies.groups(survey, "copy")
    every = photos.every(survey)
    unused = set(every) - {photo for row in sightings.every(survey) for photo in row.photos}
    return [
        *losses.message_losses(row.state for row in messages.every(survey)),
        *losses.photo_losses(
            {photo: row.measurement for photo, row in photos.load(survey, unused).items()},
            total=len(every),
            copies={photo for photo, (_, best) in groups.items() if not best},
            least_odonate=survey.settings.sightings.least_odonate,
        ),
        *losses.sighting_losses(found),
        *losses.search_losses(
            {site.location_id for site in evidence.sites(survey)},
            evidence.visits(survey),
            tables.counted_lots(survey),
            [one.location_id for one in evidence.site_measurements(survey)],
            unresolved=len(tables.unresolved_lots(survey)),
        ),
    ]


def evidence_table(survey: Survey, *, internal: bool = False, scheme: str = "") -> Table:
    """Sites by taxa: every kind of evidence with its class, count, first and last day."""
    here = material(survey, internal=internal, settings=settings_of(survey, scheme=scheme))
    return tables_of_sites.said_what_is_kept_back(
        tables_of_sites.evidence_table(here, finding.evidence_of(here)), here
    )


def priorities_table(survey: Survey, *, internal: bool = False) -> Table:
    """Places worth a search for exuviae, the weightiest first."""
    match.refresh(survey)
    here = material(survey, internal=internal)
    found = finding.priorities_of(here, effort_of(here))
    return tables_of_sites.said_what_is_kept_back(
        tables_of_sites.priorities_table(here, found), here
    )


def settings_of(
    survey: Survey, *, seed: int = 1, detection: float | None = None, scheme: str = ""
) -> ReportSettings:
    """What the figures depend on: as stated here, else as the survey has it for matching."""
    stated = survey.settings.matching
    return ReportSettings(
        seed=seed,
        detection_per_pass=stated.detection_per_pass if detection is None else detection,
        skins_last_days=stated.exuviae_last_days,
        scheme=scheme_named(scheme),
    )


def site_correlations(survey: Survey) -> list[MeasureCorrelation]:
    """Rank correlations of what was measured at all sites, for the survey's own eyes."""
    here = material(survey, internal=True)
    return site_measures.correlations(finding.evidence_of(here), here)


def report(
    survey: Survey,
    folder: Path,
    *,
    internal: bool = False,
    seed: int = 1,
    detection: float | None = None,
    scheme: str = "",
    since: Path | None = None,
    now: datetime,
) -> ReportOutcome:
    """Match what changed, compute everything, and write the report into a new folder.

    With another ``detection`` than the survey's everything is matched anew.
    """
    if detection is None:
        match.refresh(survey)
    else:
        match.match(survey, detection=detection)
    settings = settings_of(survey, seed=seed, detection=detection, scheme=scheme)
    with many_records():
        content = load_whole(survey)
        here = material(survey, internal=internal, settings=settings, content=content)
        findings = finding.find(here)
    with unfinished.written(survey, folder):
        return write_report(
            folder,
            here,
            findings,
            secrets=releasing.secrets_of(content, here.release),
            now=now,
            read_photo=lambda photo: originals.content_of(survey.originals, photo),
            since=since,
        )


def _stated(survey: Survey) -> tuple[tuple[str, str], ...]:
    """The settings of the survey that the figures depend on, as survey.toml names them."""
    settings = survey.settings
    chosen = {
        "survey.time_zone": settings.survey.time_zone,
        "determinations.independent": settings.determinations.independent,
        **{f"matching.{k}": v for k, v in settings.matching.model_dump().items()},
        "publishing.release_precision_degrees": settings.publishing.release_precision_degrees,
    }
    return tuple((name, f"{value}") for name, value in chosen.items())


def release(survey: Survey, kind: str, *, now: datetime) -> list[str]:
    """Write one release under a name of its own; what it holds, leaves out and warns of.

    Raises
    ------
    UnknownError
        If there is no such kind.
    """
    folder = survey.folder / releases.FOLDER
    name = releases.free_name(folder, kind, now.date())
    folder.mkdir(exist_ok=True)
    lines = _written(survey, kind, folder / name, now)
    releases.keep(folder, name, lines)
    return [f"{releases.KINDS[kind].title}: {name}", *lines]


def _written(survey: Survey, kind: str, folder: Path, now: datetime) -> list[str]:
    internal = releases.KINDS[kind].internal
    if kind.startswith("report"):
        made = report(survey, folder, internal=internal, now=now)
        return releases.said_of_report(made)
    if kind.startswith("export"):
        outcome = publish.export(survey, folder, internal=internal, now=now)
        return releases.said_of_export(outcome, publish.no_longer_agreed(survey))
    pack = publish.photo_pack(survey, folder, now=now)
    return releases.said_of_pack(pack, publish.no_longer_agreed(survey))
