"""Write reports, exports and photo packs into the survey's folder of releases, and list them."""

from __future__ import annotations

from datetime import datetime
from pathlib import Path
from typing import IO

from triage.pipeline import analysis, publish
from triage.report import releases
from triage.report.releases import KINDS, Release
from triage.store.connection import Survey

FOLDER = "releases"


def make(survey: Survey, kind: str, *, now: datetime) -> list[str]:
    """Write one release under a name of its own; what it holds, leaves out and warns of.

    Raises
    ------
    UnknownError
        If there is no such kind.
    """
    folder = survey.folder / FOLDER
    name = releases.free_name(folder, kind, now.date())
    folder.mkdir(exist_ok=True)
    lines = _written(survey, kind, folder / name, now)
    releases.keep(folder, name, lines)
    return [f"{KINDS[kind].title}: {name}", *lines]


def _written(survey: Survey, kind: str, folder: Path, now: datetime) -> list[str]:
    internal = KINDS[kind].internal
    if kind.startswith("report"):
        report = analysis.report(survey, folder, internal=internal, now=now)
        return releases.said_of_report(report)
    if kind.startswith("export"):
        return releases.said_of_export(publish.export(survey, folder, internal=internal, now=now))
    pack = publish.photo_pack(survey, folder, now=now)
    return releases.said_of_pack(pack, publish.no_longer_agreed(survey))


def listed(survey: Survey) -> list[Release]:
    """What was written, the newest first."""
    return releases.listed(survey.folder / FOLDER)


def pack(survey: Survey, name: str, into: IO[bytes]) -> None:
    """Write one release as a zip file.

    Raises
    ------
    UnknownError
        If no release has this name.
    """
    releases.pack(survey.folder / FOLDER, name, into)
