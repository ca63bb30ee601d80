"""Keep content as read-only files named by their digests, and read it back."""

from __future__ import annotations

import contextlib
import os
import stat
from pathlib import Path

from triage.errors import SurveyError
from triage.standards.digests import digest_of, is_digest
from triage.store import whole_files

# One table for writing and for finding: what is not in it is found as it was written, ``.bin``.
_SUFFIXES = {
    "image/jpeg": ".jpg",
    "image/png": ".png",
    "image/heic": ".heic",
    "image/heif": ".heic",
    "image/avif": ".avif",
    "image/webp": ".webp",
    "image/tiff": ".tif",
    "image/gif": ".gif",
    "message/rfc822": ".eml",
    "application/vnd.ms-outlook": ".msg",
}
_OTHER = ".bin"
_ENDINGS = (*dict.fromkeys(_SUFFIXES.values()), _OTHER)
DAMAGED = "damaged"  # a folder beside the shelves: files that are not what was kept


def keep(folder: Path, content: bytes, *, media_type: str = "", digest: str = "") -> str:
    """Write content under its digest unless it is there, and return the digest.

    ``digest`` is given where the caller has taken it of these very bytes.

    The bytes go to a temporary name, are flushed to the disk, made read-only and renamed, so
    that a file under its digest is always whole. One process at a time keeps files of a survey
    (``turns``): halves of this file by another are those of a killed one, and are removed.
    """
    name = digest or digest_of(content)
    target = path_of(folder, name)
    if target is not None:
        return name
    final = _place(folder, name, media_type)
    with whole_files.written(final, alone=True) as part:
        part.write_bytes(content)
        whole_files.flush(part)
        with contextlib.suppress(OSError):
            part.chmod(stat.S_IRUSR)
    for half in final.parent.glob(f".{name}.*.part"):
        if f".{os.getpid()}." not in half.name:
            whole_files.discard(half)
    return name


def path_of(folder: Path, name: str) -> Path | None:
    """Where the file with this digest lies, or None; a name of another form is no path."""
    shelf = folder / name[:2]
    if not is_digest(name) or not shelf.is_dir():
        return None
    # A shelf of a large survey holds hundreds of files: asking for each ending beats listing it.
    found = (shelf / (name + ending) for ending in _ENDINGS)
    return next((path for path in found if path.is_file()), None)


def content_of(folder: Path, name: str) -> bytes:
    """Read the file with this digest.

    Raises
    ------
    SurveyError
        If it is not there.
    """
    path = path_of(folder, name)
    if path is None:
        raise SurveyError(
            "the kept file is missing",
            failing=name,
            next_step="Restore it from a copy of the survey folder, then run 'triage audit'.",
        )
    return path.read_bytes()


def all_digests(folder: Path) -> dict[str, Path]:
    """Every whole file by the digest in its name; leftovers of interrupted writes are skipped."""
    files = sorted(path for path in folder.glob("??/*") if not path.name.startswith("."))
    return {path.stem: path for path in files}


def rename(path: Path, folder: Path, name: str, *, media_type: str = "") -> None:
    """Put a file that lies under another name under its digest, where nothing lies yet."""
    os.replace(path, _place(folder, name, media_type))


def _place(folder: Path, name: str, media_type: str) -> Path:
    """Where a file is to lie, on a shelf that is made if need be."""
    shelf = folder / name[:2]
    shelf.mkdir(parents=True, exist_ok=True)
    return shelf / (name + _SUFFIXES.get(media_type, _OTHER))


def set_aside(path: Path, folder: Path) -> Path:
    """Move a file that is not what was kept out of the way; it is never deleted."""
    aside = folder / DAMAGED
    aside.mkdir(exist_ok=True)
    number = sum(1 for _ in aside.iterdir())
    target = aside / f"{path.stem}.{number}{path.suffix}"
    os.replace(path, target)
    return target


def leftovers(folder: Path) -> list[Path]:
    """What killed writes left, and what is being written."""
    return [path for path in sorted(folder.rglob("*.part")) if path.is_file()]


def clear_leftovers(folder: Path) -> list[Path]:
    """Remove what killed writes left; the caller sees to it that nobody is writing."""
    found = leftovers(folder)
    for path in found:
        whole_files.discard(path)
    return found


def remove(folder: Path, name: str) -> None:
    """Delete a kept file, and what damage made of it: only for forgetting a person."""
    if not is_digest(name):
        return
    for path in (path_of(folder, name), *(folder / DAMAGED).glob(f"{name}.*")):
        if path is None:
            continue
        with contextlib.suppress(OSError):
            path.chmod(stat.S_IRUSR | stat.S_IWUSR)
        path.unlink()
