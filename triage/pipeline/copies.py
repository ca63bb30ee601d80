"""Photo files and folders in, groups of copies and bursts among them out, without any survey."""

from __future__ import annotations

import hashlib
import os
from collections import defaultdict
from collections.abc import Iterator, Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from triage import photos
from triage.analysis import images
from triage.duplicates import (
    BurstGroup,
    CopyGroup,
    Fingerprint,
    burst_groups,
    copy_groups,
    find_links,
    fingerprint_of,
    pixel_keys,
)
from triage.errors import SourceError, TriageError
from triage.metadata.exif import read_exif
from triage.pipeline.progress import Progress, silent
from triage.quality import LOOKED_AT_PX
from triage.quality.examination import PREVIEW_PX


@dataclass(slots=True)
class _Shelf:
    """The photos read so far: fingerprints and packed grey pixels by digest, names, problems."""

    fingerprints: dict[str, Fingerprint] = field(default_factory=dict)
    packed: dict[str, np.ndarray[Any, Any]] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    problems: list[dict[str, str]] = field(default_factory=list)

    def pixels(self, sha256: str) -> np.ndarray[Any, np.dtype[np.uint8]] | None:
        import cv2

        if sha256 not in self.packed:
            return None
        return np.asarray(cv2.imdecode(self.packed[sha256], cv2.IMREAD_GRAYSCALE), dtype=np.uint8)


def group_files(paths: Sequence[Path], *, progress: Progress = silent) -> dict[str, Any]:
    """Group loose photo files, and folders with all below them, into copies and bursts.

    Parameters
    ----------
    paths : sequence of Path
        Files and folders. In a folder, files that are no pictures are passed over.
    progress : callable, optional
        Told of every file read, then of every file compared.

    Returns
    -------
    dict
        ``groups``: a list of ``kind`` (copy or burst), ``files``, ``best``, ``evidence``;
        ``problems``: a list of ``file``, ``problem``, ``next_step`` for what could not be read.
        Files of folders are named relative to their folder, files given as they were given;
        where two folders hold the same name, by the folder as given and the name in it.
    """
    shelf = _Shelf()
    named = _named_files(paths, shelf.problems)
    for done, (name, path) in enumerate(named, start=1):
        try:
            _shelve(shelf, name, path)
        except TriageError as error:
            shelf.problems.append(_problem(name, error.what, error.next_step))
        progress("reading", done, len(named))
    prints = list(shelf.fingerprints.values())
    compared = partial(progress, "comparing")
    links = find_links(prints, [], pixels=shelf.pixels, progress=compared)
    copies = copy_groups(links, prints)
    bursts = burst_groups(links, prints)
    rows = [_copy_row(group, shelf) for group in copies]
    joined = {member for group in copies for member in group.members}
    rows += [
        _row("copy", names, names[0], "same bytes")
        for sha256, names in shelf.names.items()
        if len(names) > 1 and sha256 not in joined
    ]
    rows += [_burst_row(group, shelf) for group in bursts]
    rows.sort(key=lambda row: (row["kind"] != "copy", row["files"]))
    return {"groups": rows, "problems": shelf.problems}


def _named_files(paths: Sequence[Path], problems: list[dict[str, str]]) -> list[tuple[str, Path]]:
    """Every file once, with the name it is reported under."""
    found: list[tuple[Path, str, Path]] = []
    seen = set[Path]()
    for given in paths:
        if not given.exists():
            problems.append(_problem(str(given), "does not exist", "Check the path."))
            continue
        for path in _files_below(given, problems) if given.is_dir() else [given]:
            if path.resolve() not in seen:
                seen.add(path.resolve())
                short = path.relative_to(given).as_posix() if given.is_dir() else str(given)
                found.append((given, short, path))
    owners = defaultdict[str, set[Path]](set)
    for given, short, _ in found:
        owners[short].add(given)
    clashing = {given for givens in owners.values() if len(givens) > 1 for given in givens}
    return [
        ((given / short).as_posix() if given in clashing and given != path else short, path)
        for given, short, path in found
    ]


def _files_below(folder: Path, problems: list[dict[str, str]]) -> Iterator[Path]:
    def refused(error: OSError) -> None:
        problems.append(_problem(str(error.filename), "cannot be opened", "Check its permissions."))

    for where, folders, files in os.walk(folder, onerror=refused):
        folders.sort()
        for name in sorted(files):
            path = Path(where, name)
            if path.suffix.lower() in images.PHOTO_SUFFIXES or _looks_like_photo(path):
                yield path


def _looks_like_photo(path: Path) -> bool:
    """Whether a file without a photo's suffix begins like one; ordinary files only."""
    try:
        if not path.is_file():
            return False
        with path.open("rb") as file:
            return images.kind_of(file.read(64)) is not None
    except OSError:
        return False


def _shelve(shelf: _Shelf, name: str, path: Path) -> None:
    content = _content(name, path)
    sha256 = hashlib.sha256(content).hexdigest()
    if sha256 not in shelf.fingerprints:
        shelf.fingerprints[sha256] = _fingerprint(shelf, sha256, content, name)
    shelf.names[sha256].append(name)


def _content(name: str, path: Path) -> bytes:
    try:
        if not path.is_file():
            raise SourceError("is no file", failing=name, next_step="Leave it out.")
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


def _fingerprint(shelf: _Shelf, sha256: str, content: bytes, name: str) -> Fingerprint:
    import cv2

    decoded = images.decode(content, name=name)
    small = images.shrink(images.halved(decoded.rgb, LOOKED_AT_PX), PREVIEW_PX)  # as in a survey
    grey = images.grey_of(small)
    photo = photos.from_header(content, decoded.header)
    _, shelf.packed[sha256] = cv2.imencode(".png", grey, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    return fingerprint_of(photo, read_exif(content), pixel_keys(grey))


def _copy_row(group: CopyGroup, shelf: _Shelf) -> dict[str, Any]:
    files = [name for sha256 in group.members for name in shelf.names[sha256]]
    return _row("copy", files, shelf.names[group.best][0], group.evidence)


def _burst_row(group: BurstGroup, shelf: _Shelf) -> dict[str, Any]:
    files = [shelf.names[sha256][0] for sha256 in group.members]
    return _row("burst", files, shelf.names[group.best][0], group.evidence)


def _row(kind: str, files: Sequence[str], best: str, evidence: str) -> dict[str, Any]:
    return {"kind": kind, "files": sorted(files), "best": best, "evidence": evidence}


def _problem(name: str, problem: str, next_step: str) -> dict[str, str]:
    return {"file": name, "problem": problem, "next_step": next_step}
