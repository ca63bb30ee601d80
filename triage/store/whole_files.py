"""Write a file beside its place and let it take its name when it is whole."""

from __future__ import annotations

import contextlib
import os
import stat
import threading
from collections.abc import Iterator
from pathlib import Path

from triage.errors import SourceError


@contextlib.contextmanager
def written(path: Path, *, alone: bool = False) -> Iterator[Path]:
    """Give the path to write to; it takes the name of the other afterwards, whatever lies there.

    With ``alone`` the path is one that no other process and thread writes to. On an error, what was
    written is removed; a kill leaves it as ``.part``.
    """
    part = path.with_name(f"{path.name}.part")
    if alone:
        part = path.with_name(f".{path.name}.{os.getpid()}.{threading.get_ident()}.part")
    try:
        yield part
        try:
            os.replace(part, path)
        except PermissionError:
            # Windows does not rename over a read-only file: another run kept the same content.
            if not path.exists() or path.stat().st_mode & stat.S_IWUSR:
                raise
    finally:
        discard(part)


@contextlib.contextmanager
def handed_out(path: Path, what: str) -> Iterator[Path]:
    """As :func:`written`, for a file that a person asked for, in a folder that is made if need be.

    Raises
    ------
    SourceError
        If it cannot be written; ``what`` names it.
    """
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with written(path) as part:
            yield part
    except OSError as error:
        raise SourceError(
            f"{what} cannot be written ({error.strerror or error})",
            failing=str(path),
            next_step="Choose another place with more room; nothing of the survey was changed.",
        ) from error


def flush(path: Path) -> None:
    """Have what was written reach the disk."""
    with path.open("rb+") as file:
        os.fsync(file.fileno())


def discard(path: Path) -> None:
    """Delete a file, a read-only one too, if it is there."""
    with contextlib.suppress(OSError):
        path.chmod(stat.S_IRUSR | stat.S_IWUSR)
    with contextlib.suppress(OSError):
        path.unlink()
