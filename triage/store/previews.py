"""A kept photo in, an upright JPEG of it without metadata out: made when first asked for.

Three sizes: ``small`` for lists, ``fitting`` for a window, ``whole`` at full resolution. Whatever
the original is (HEIC, TIFF, a turned JPEG), the browser gets pixels that we encoded, and never a
byte of the file that came by mail. ``previews/`` may be deleted at any time.
"""

from __future__ import annotations

import threading
from pathlib import Path
from typing import Literal

from triage.errors import TriageError, UnknownError
from triage.standards.digests import is_digest
from triage.store import originals, whole_files
from triage.store.connection import Survey

Size = Literal["small", "fitting", "whole"]

LONG_SIDE = {"small": 512, "fitting": 1600}  # pixels; a window of 1,440 px holds two pictures
QUALITY = {"small": 80, "fitting": 88, "whole": 92}  # of JPEG; common practice, no source
_SIZES: tuple[Size, ...] = ("small", "fitting", "whole")
_ENDING = {"small": "", "fitting": "-fitting", "whole": "-whole"}
_AT_ONCE = threading.Semaphore(2)  # a whole photo takes up to a quarter of a GiB while decoded


def path_of(survey: Survey, photo: str, size: Size) -> Path:
    """Where this size of a photo lies, or will lie.

    Raises
    ------
    UnknownError
        If the digest has another form: it is no part of a path then.
    """
    if not is_digest(photo):
        raise _unknown(photo)
    return survey.previews / photo[:2] / f"{photo}{_ENDING[size]}.jpg"


def is_made(path: Path) -> bool:
    """Whether a preview is there; a full disk may have left it empty."""
    return path.is_file() and path.stat().st_size > 0


def picture(survey: Survey, photo: str, size: Size) -> Path:
    """The path of this size of a photo, made if it is missing.

    Raises
    ------
    UnknownError
        If the survey keeps no such photo.
    SourceError
        If the file cannot be decoded within the limits.
    """
    path = path_of(survey, photo, size)
    if is_made(path):
        return path
    if originals.path_of(survey.originals, photo) is None:
        raise _unknown(photo)
    with _AT_ONCE:
        if not is_made(path):
            _make(survey, photo, size, path)
    return path


def small(survey: Survey, photo: str) -> bytes:
    """The small size of a photo; nothing of a damaged original, which is the audit's to report."""
    try:
        return picture(survey, photo, "small").read_bytes()
    except (TriageError, OSError):
        return b""


def keep(survey: Survey, photo: str, jpeg: bytes) -> None:
    """Write the small size, which an examination makes in passing; it may be deleted any time."""
    _write(path_of(survey, photo, "small"), jpeg)


def remove(survey: Survey, photo: str) -> None:
    """Delete every size of a photo that is to be forgotten."""
    for size in _SIZES:
        path = path_of(survey, photo, size)
        for one in (path, *path.parent.glob(f".{path.name}.*.part")):
            one.unlink(missing_ok=True)


def _make(survey: Survey, photo: str, size: Size, path: Path) -> None:
    from triage.analysis.images import as_jpeg, decode, shrink

    pixels = decode(originals.content_of(survey.originals, photo), name=photo[:12]).rgb
    if size != "whole":
        pixels = shrink(pixels, LONG_SIDE[size])
    _write(path, as_jpeg(pixels, quality=QUALITY[size]))


def _write(path: Path, jpeg: bytes) -> None:
    """Under a temporary name first, so that a reader never meets half a picture."""
    path.parent.mkdir(parents=True, exist_ok=True)
    with whole_files.written(path, alone=True) as part:
        part.write_bytes(jpeg)


def _unknown(photo: str) -> UnknownError:
    return UnknownError(
        "the survey keeps no such photo",
        failing=photo[:80],
        next_step="Go back to the list: the photo may have been forgotten with its sender.",
    )
