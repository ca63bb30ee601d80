"""Measure loose photo files, and folders of them, without a survey: one row each."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from pathlib import Path

from triage.errors import SourceError
from triage.exports.measured import Row, row_of, row_with
from triage.photos.loose_files import LooseFile, content_of, loose_files
from triage.quality.examination import examine_content
from triage.standards.digests import digest_of_file
from triage.workers.processes import Work, in_order
from triage.workers.progress import Progress, silent


def measure_paths(
    paths: Sequence[Path], *, processes: int | None = None, progress: Progress = silent
) -> Iterator[Row]:
    """Measure loose photos and folders of photos, one row each, in the order found.

    Parameters
    ----------
    paths : sequence of Path
        Files, and folders that are walked to the bottom; what a folder holds besides photos (by
        first bytes or by suffix) is passed over, what is named itself always gets a row.
    processes : int, optional
        Worker processes; all cores unless given, and none with 0.
    progress : callable, optional
        Told after each photo how many are done and how many there are.

    Yields
    ------
    dict
        The keys of ``exports.measured.COLUMNS`` in that order; an empty text where there is no
        value. A file that cannot be read has only ``file``, what is known of it, and ``problem``.
    """
    closed: list[Row] = []
    files = loose_files(
        paths,
        refused=lambda name, problem, step: closed.append(
            row_with(file=name, problem=f"{problem}. {step}")
        ),
    )
    yield from closed
    work = Work(function=_row_of_file, crashed=_crashed, overdue=_overdue)
    rows = in_order(work, files, processes=processes)
    for done, (file, row) in enumerate(zip(files, rows, strict=True), start=1):
        yield {**row, "file": file.name}
        progress("examining", done, len(files))


def _row_of_file(file: LooseFile) -> Row:
    """The row of one file, read here so that bytes need not travel between processes."""
    try:
        content = content_of(file)
    except SourceError as error:
        problem = f"{error.what}. {error.next_step}"
        return row_with(sha256=_digest(file.path), problem=problem)
    return row_of(examine_content(content, file_name=file.path.name))


def _digest(path: Path) -> str:
    """The digest also of a file that is too large to be examined."""
    try:
        return digest_of_file(path) if path.is_file() else ""
    except OSError:
        return ""


def _crashed(file: LooseFile) -> Row:
    return row_with(problem="the decoder broke down on this file. Ask the sender for it again.")


def _overdue(file: LooseFile) -> Row:
    return row_with(problem="reading this file took too long and was ended. Leave it out.")
