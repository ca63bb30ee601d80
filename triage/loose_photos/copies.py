"""Group copies and bursts among loose photo files, without any survey."""

from __future__ import annotations

from collections import defaultdict
from collections.abc import Sequence
from dataclasses import dataclass, field
from functools import partial
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np

from triage import photos
from triage.analysis import images
from triage.duplicates import (
    Fingerprint,
    burst_groups,
    copy_groups,
    find_links,
    fingerprint_of,
    pixel_keys,
)
from triage.errors import TriageError
from triage.metadata.exif import read_exif
from triage.photos.loose_files import LooseFile, content_of, loose_files
from triage.quality import LOOKED_AT_PX, PREVIEW_PX
from triage.standards.digests import digest_of
from triage.workers.progress import Progress, silent

if TYPE_CHECKING:
    from triage.analysis.images import Pixels


@dataclass(slots=True)
class _Shelf:
    """The photos read so far: fingerprints and packed grey pixels by digest, names, problems."""

    fingerprints: dict[str, Fingerprint] = field(default_factory=dict)
    packed: dict[str, np.ndarray[Any, Any]] = field(default_factory=dict)
    names: dict[str, list[str]] = field(default_factory=lambda: defaultdict(list))
    problems: list[dict[str, str]] = field(default_factory=list)

    def pixels(self, sha256: str) -> Pixels | None:
        import cv2

        if sha256 not in self.packed:
            return None
        return np.asarray(cv2.imdecode(self.packed[sha256], cv2.IMREAD_GRAYSCALE), dtype=np.uint8)

    def refuse(self, name: str, problem: str, next_step: str) -> None:
        self.problems.append({"file": name, "problem": problem, "next_step": next_step})


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
        Files are named as :func:`triage.photos.loose_files.loose_files` says.
    """
    shelf = _Shelf()
    files = loose_files(paths, refused=shelf.refuse)
    for done, file in enumerate(files, start=1):
        try:
            _shelve(shelf, file)
        except TriageError as error:
            shelf.refuse(file.name, error.what, error.next_step)
        progress("reading", done, len(files))
    prints = list(shelf.fingerprints.values())
    links = find_links(prints, [], pixels=shelf.pixels, progress=partial(progress, "comparing"))
    copies = copy_groups(links, prints)
    rows = [
        _row("copy", [n for one in group.members for n in shelf.names[one]],
             shelf.names[group.best][0], group.evidence)
        for group in copies
    ]  # fmt: skip
    joined = {member for group in copies for member in group.members}
    rows += [
        _row("copy", names, names[0], "same bytes")
        for sha256, names in shelf.names.items()
        if len(names) > 1 and sha256 not in joined
    ]
    rows += [
        _row("burst", [shelf.names[one][0] for one in group.members],
             shelf.names[group.best][0], group.evidence)
        for group in burst_groups(links, prints)
    ]  # fmt: skip
    rows.sort(key=lambda row: (row["kind"] != "copy", row["files"]))
    return {"groups": rows, "problems": shelf.problems}


def _shelve(shelf: _Shelf, file: LooseFile) -> None:
    content = content_of(file)
    sha256 = digest_of(content)
    if sha256 not in shelf.fingerprints:
        shelf.fingerprints[sha256] = _fingerprint(shelf, sha256, content, file.name)
    shelf.names[sha256].append(file.name)


def _fingerprint(shelf: _Shelf, sha256: str, content: bytes, name: str) -> Fingerprint:
    import cv2

    decoded = images.decode(content, name=name)
    small = images.shrink(images.halved(decoded.rgb, LOOKED_AT_PX), PREVIEW_PX)  # as in a survey
    grey = images.grey_of(small)
    _, shelf.packed[sha256] = cv2.imencode(".png", grey, [cv2.IMWRITE_PNG_COMPRESSION, 1])
    photo = photos.from_header(content, decoded.header)
    return fingerprint_of(photo, read_exif(content), pixel_keys(grey))


def _row(kind: str, files: Sequence[str], best: str, evidence: str) -> dict[str, Any]:
    return {"kind": kind, "files": sorted(files), "best": best, "evidence": evidence}
