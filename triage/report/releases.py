"""The folder of releases: what kinds there are, what is said of each, what lies there, packed.

Each release stands in a folder of its own with what it leaves out, and why, in a text beside it.
Nothing of it is state of the survey: it may be moved or deleted.
"""

from __future__ import annotations

import zipfile
from collections import Counter
from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import IO

from triage.errors import UnknownError
from triage.exports import ExportOutcome
from triage.exports.photo_pack import PackOutcome
from triage.report.wording import written
from triage.report.writing import ReportOutcome
from triage.standards.counting import counted

FOLDER = "releases"  # in the survey's own
RECORDS_NAMED = 5  # of those that fail a quality test


@dataclass(frozen=True, slots=True, kw_only=True)
class Kind:
    """One kind of release: its title, what it is, and whether it is for the survey's own eyes."""

    title: str
    says: str
    internal: bool = False


KINDS = {kind: Kind(**words) for kind, words in written("words.toml")["releases"].items()}


@dataclass(frozen=True, slots=True, kw_only=True)
class Release:
    """One folder of the releases: its name, what was said of it, how many files and bytes."""

    name: str
    lines: tuple[str, ...]
    files: int
    byte_size: int


def free_name(folder: Path, kind: str, day: date) -> str:
    """What a new release of a kind is called.

    Raises
    ------
    UnknownError
        If there is no such kind.
    """
    if kind not in KINDS:
        raise UnknownError(
            "there is no such kind of release", failing=kind[:40], next_step="Choose one."
        )
    name = f"{kind}-{day.isoformat()}"
    number, free = 1, name
    while (folder / free).exists():
        number += 1
        free = f"{name}-{number}"
    return free


def said_of_report(outcome: ReportOutcome) -> list[str]:
    """What a report holds, leaves out and warns of."""
    parts = Counter(name.rpartition("/")[0] for name in outcome.files)
    own = ", ".join(name for name in outcome.files if "/" not in name)
    lines = [f"{own}; {', '.join(f'{parts[name]} in {name}' for name in sorted(parts) if name)}."]
    lines += [f"Version {outcome.version}, seed {outcome.seed}."]
    if outcome.changes is not None:
        lines += [f"{counted(outcome.changes, 'row')} changed since the earlier one."]
    return [*lines, *_warnings(outcome)]


def said_of_export(outcome: ExportOutcome, no_longer_agreed: Sequence[str]) -> list[str]:
    """What an export holds, leaves out and warns of."""
    return [
        *(f"{counted(count, 'row')} in {name}" for name, count in outcome.counts),
        *_warnings(outcome, (*outcome.problems, *no_longer_agreed)),
        *(
            f"{counted(len(one.records), 'record fails', 'records fail')} {', '.join(one.tests)}: "
            f"{', '.join(one.records[:RECORDS_NAMED])}"
            f"{_and_more(len(one.records) - RECORDS_NAMED)}. {one.next_step}"
            for one in outcome.shortcomings
        ),
    ]


def _and_more(number: int) -> str:
    return f" and {number} more" if number > 0 else ""


def said_of_pack(outcome: PackOutcome, no_longer_agreed: Sequence[str]) -> list[str]:
    """What a photo pack holds, leaves out and warns of."""
    return [
        f"{counted(len(outcome.photos), 'photo')}, version {outcome.version}.",
        *(f"{count} {change} since the earlier one." for change, count in outcome.changes),
        *(f"Left out: {count} because {reason}" for reason, count in outcome.left_out),
        *_warnings(outcome, (*outcome.problems, *no_longer_agreed)),
    ]


def _warnings(
    outcome: ReportOutcome | ExportOutcome | PackOutcome, problems: Iterable[str] = ()
) -> list[str]:
    """What was withheld, went wrong, or must be looked at before anything is handed on."""
    return [
        *(f"{text}." for text in getattr(outcome, "withheld", ())),
        *(f"Problem: {text}" for text in problems),
        *(f"Do not hand on: {leak.found} in {leak.file}" for leak in outcome.leaks),
    ]


def keep(folder: Path, name: str, lines: Sequence[str]) -> None:
    """Write what is said of a release beside it."""
    (folder / f"{name}.txt").write_text("\n".join(lines) + "\n", encoding="utf-8")


def listed(folder: Path) -> list[Release]:
    """What was written, the newest first."""
    folders = [path for path in folder.iterdir() if path.is_dir()] if folder.is_dir() else []
    folders.sort(key=lambda path: (path.stat().st_mtime, path.name), reverse=True)
    return [_release(path) for path in folders if _kind_of(path.name)]


def _kind_of(name: str) -> str:
    return next((kind for kind in KINDS if name.startswith(f"{kind}-2")), "")


def _release(path: Path) -> Release:
    said = path.with_name(f"{path.name}.txt")
    files = list(_files(path))
    return Release(
        name=path.name,
        lines=tuple(said.read_text(encoding="utf-8").splitlines()) if said.exists() else (),
        files=len(files),
        byte_size=sum(one.stat().st_size for one in files),
    )


def _files(folder: Path) -> Iterator[Path]:
    for path in sorted(folder.rglob("*")):
        if path.is_file() and not path.is_symlink():
            yield path


def pack(folder: Path, name: str, into: IO[bytes]) -> None:
    """Write one release as a zip file.

    Raises
    ------
    UnknownError
        If no release has this name.
    """
    if name not in {one.name for one in listed(folder)}:
        raise UnknownError(
            "there is no such release", failing=name[:80], next_step="Choose one of the list."
        )
    with zipfile.ZipFile(into, "w", zipfile.ZIP_DEFLATED) as archive:
        for path in _files(folder / name):
            archive.write(path, path.relative_to(folder).as_posix())
