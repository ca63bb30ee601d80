"""A folder to be written in; noted until it has its name, so that what a kill leaves is found."""

from __future__ import annotations

import contextlib
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from triage.exports.whole_folder import clear, unfinished_of
from triage.store import notes, originals, turns
from triage.store.connection import Survey

_NOTE = "unfinished folder "


@contextmanager
def written(survey: Survey, folder: Path) -> Iterator[None]:
    """In one's turn, clear what killed runs left and note this folder until it has its name."""
    lies = unfinished_of(folder.absolute())
    with turns.turn(survey):
        clear_all(survey)
        notes.write(survey, _NOTE + str(lies), "being written")
        try:
            yield
        finally:
            if not lies.exists():
                notes.remove(survey, _NOTE + str(lies))


def left(survey: Survey) -> list[Path]:
    """Folders that killed runs left half written, wherever they lie."""
    noted = (Path(name.removeprefix(_NOTE)) for name in notes.beginning_with(survey, _NOTE))
    return [path for path in noted if path.is_dir()]


def halves(survey: Survey) -> list[Path]:
    """Half-written files, of killed writes or of one that is under way."""
    folders = (survey.originals, survey.messages, survey.previews, survey.replies)
    return [path for folder in folders for path in originals.leftovers(folder)]


def clear_all(survey: Survey) -> list[Path]:
    """Remove what killed runs left of exports, photo packs and reports; returns what was there."""
    removed = []
    for name in notes.beginning_with(survey, _NOTE):
        path = Path(name.removeprefix(_NOTE))
        with contextlib.suppress(OSError):
            if clear(path):
                removed.append(path)
        if not path.exists():
            notes.remove(survey, name)
    return removed
