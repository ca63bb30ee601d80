"""Find the photo files among paths as typed, each with the name it is shown under."""

from __future__ import annotations

import os
from collections import defaultdict
from collections.abc import Callable, Iterator, Sequence
from pathlib import Path, PurePosixPath
from typing import NamedTuple

from triage.analysis import images
from triage.errors import SourceError
from triage.mail.sources import leads_out_of, shown_name

Refused = Callable[[str, str, str], None]
"""Told of what cannot be looked at: its name, the problem, the next step."""


class LooseFile(NamedTuple):
    """A file and the name that it is shown under."""

    name: str
    path: Path


def loose_files(paths: Sequence[Path], *, refused: Refused) -> list[LooseFile]:
    """Every file named, and every photo in the folders named, once.

    Files of folders are shown relative to their folder, files as they were given; where two
    folders hold the same name, by the folder as given and the name in it.
    """
    found: list[tuple[Path, str, Path]] = []
    seen = set[Path]()
    for given in paths:
        for path in _photos_below(given, refused) if given.is_dir() else [given]:
            if path.resolve() not in seen:
                seen.add(path.resolve())
                short = path.relative_to(given).as_posix() if given.is_dir() else str(given)
                found.append((given, short, path))
    owners = defaultdict[str, set[Path]](set)
    for given, short, _ in found:
        owners[short].add(given)
    clashing = {given for givens in owners.values() if len(givens) > 1 for given in givens}
    return [
        LooseFile(
            shown_name(
                PurePosixPath(given.as_posix(), short)
                if given in clashing and given != path
                else PurePosixPath(short)
            ),
            path,
        )
        for given, short, path in found
    ]


def content_of(file: LooseFile) -> bytes:
    """Read one file.

    Raises
    ------
    SourceError
        If it is missing, no file, too large or unreadable.
    """
    name, path = file
    try:
        if not path.is_file():
            raise SourceError("there is no such file", failing=name, next_step="Check the path.")
        if path.stat().st_size > images.MAX_BYTES:
            raise SourceError(
                f"is larger than {images.MAX_BYTES // 2**20} MiB",
                failing=name,
                next_step="Leave it out, or save the photo smaller.",
            )
        return path.read_bytes()
    except OSError as error:
        raise SourceError(
            f"cannot be read ({error.strerror})",
            failing=name,
            next_step="Check the file and its permissions.",
        ) from error


def _photos_below(folder: Path, refused: Refused) -> Iterator[Path]:
    """Photos of a folder and of all below it, by suffix or by first bytes, sorted by name."""

    def closed(error: OSError) -> None:
        refused(shown_name(Path(error.filename)), "cannot be opened", "Check its permissions.")

    inside = folder.resolve()
    found = []
    for where, folders, files in os.walk(folder, onerror=closed):
        for path in (Path(where, name) for name in (*folders, *files)):
            if leads_out_of(inside, path):
                name = shown_name(path)
                refused(name, "is a link that leads out of its folder", "Copy what it leads to.")
            elif path.name in files:
                found.append(path)
    return (path for path in sorted(found) if _may_be_photo(path))


def _may_be_photo(path: Path) -> bool:
    """Whether a file has a photo's suffix or begins like one; ordinary files only."""
    try:
        if not path.is_file():
            return False
        if path.suffix.lower() in images.PHOTO_SUFFIXES:
            return True
        with path.open("rb") as file:
            return images.kind_of(file.read(64)) is not None
    except OSError:
        return False
