"""Takes the demo's mail all the way: survey, inbox, queue, some determinations, export."""

from __future__ import annotations

import shutil
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import triage
from triage.demo.data_files import read_table
from triage.demo.generate import generate
from triage.determinations import Statement
from triage.errors import SurveyError
from triage.pipeline import determine, match, publish, queueing, standing, tables, walk
from triage.pipeline.walk import WalkOutcome
from triage.standards.counting import counted
from triage.store.connection import Survey, create_survey, is_survey, open_survey
from triage.workers.progress import Progress, silent

DETERMINER = "Ida Kvist"  # an invented person of the demo scenario
MARKER = "demo.txt"

DEMO_IDENTIFIER = "5d0c8ef2-6f0b-4b53-9a2c-1c1d3f7a2e10"  # fixed, so that every demo exports alike


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoWalk:
    """What the walk did, and lines that say what was found and where it lies."""

    walk: WalkOutcome
    lines: tuple[str, ...]


def _files(folder: Path) -> Path:
    """Where the demo's files lie: beside the package in a checkout, else made in a folder."""
    beside = Path(triage.__file__).parent.parent / "demo_photos"
    if (beside / "inbox.mbox").is_file():
        return beside
    return generate(folder).folder


def make_files(folder: Path) -> str:
    """Make the demo's files anew and say what was made."""
    made = generate(folder)
    return f"{made.folder}: {made.mails} mails, {made.photos} photos, {made.byte_size / 1e6:.1f} MB"


def show(
    folder: Path,
    *,
    now: datetime,
    processes: int | None = None,
    progress: Progress = silent,
) -> DemoWalk:
    """Make the demo survey afresh and take it all the way.

    Raises
    ------
    SurveyError
        If the folder holds a survey that is not the demo's.
    """
    if is_survey(folder):
        if not (folder / MARKER).exists():
            raise SurveyError(
                "this folder holds a survey that is not the demo's",
                failing=str(folder),
                next_step="Name another folder with --survey.",
            )
        shutil.rmtree(folder)
    source = _files(folder / "demo_photos")
    create_survey(folder, title="Linnet Water Survey", identifier=DEMO_IDENTIFIER)
    (folder / MARKER).write_text("Made by 'triage demo'; made anew each time.\n", encoding="utf-8")
    with open_survey(folder) as survey:
        import_tables(survey, source, now=now)
    walked = walk.run(
        [source / "inbox.mbox"], folder, now=now, processes=processes, progress=progress
    )
    with open_survey(folder) as survey:
        named = determine_some(survey, source / "truth.csv", now=now)
        matches = match.match(survey)
        ranked = queueing.queue(survey, now=now)
        queueing.write_page(survey, ranked, folder / "queue.html", now=now)
        outcome = publish.export(survey, folder / "export", now=now)
    lines = (
        "",
        f"{counted(named, 'sighting')} named by {DETERMINER} from the demo's answers,"
        f" {len(ranked)} left",
        f"{counted(len(matches), 'match', 'matches')} with sites;"
        f" {counted(sum(n for _, n in outcome.counts), 'exported row')}",
        f"survey   {folder}   (try: triage inbox --survey {folder})",
        f"queue    {folder / 'queue.html'}",
        f"export   {folder / 'export'}",
    )
    return DemoWalk(walk=walked, lines=lines)


def import_tables(survey: Survey, source: Path, *, now: datetime) -> None:
    """Import the demo's sites, visits, lots and checklist."""
    kinds: tuple[tables.Kind, ...] = ("sites", "visits", "lots", "checklist")
    for kind in kinds:
        tables.import_table(survey, kind, source / f"{kind}.csv", by="demo", now=now)


def determine_some(survey: Survey, truth: Path, *, now: datetime, every: int = 2) -> int:
    """Name every second sighting as the scenario knows it, so that there is something to match."""
    names = {row["sha256"]: row["scientific_name"] for row in read_table(truth)}
    count = 0
    for number, sighting in enumerate(standing.sightings(survey)):
        known = _one_name(sighting.photos, names)
        if known and sighting.state == "queued" and number % every == 0:
            statement = Statement(taxon=known)
            determine.determine(
                survey, sighting.identifier, statement, by=DETERMINER, now=now, new=True
            )
            count += 1
    return count


def _one_name(photos: Sequence[str], names: dict[str, str]) -> str:
    found = {names.get(photo, "") for photo in photos}
    return found.pop() if len(found) == 1 else ""
