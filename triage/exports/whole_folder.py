"""Write files into a folder that is there whole or not at all."""

from __future__ import annotations

import contextlib
import os
import shutil
from collections.abc import Callable, Mapping
from pathlib import Path

from triage.errors import TriageError

_UNFINISHED = ".unfinished"


def refuse_to_overwrite(folder: Path, *, noun: str) -> None:
    """Refuse a folder in which an export or report (``noun``) would meet something.

    Raises
    ------
    TriageError
        If it is a file, or a folder that is not empty.
    """
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise TriageError(
            f"there is something already, and {noun}s are never written over",
            failing=str(folder),
            next_step=f"Name a new folder, or move the old {noun} away.",
        )


def write_whole(
    folder: Path,
    files: Mapping[str, bytes],
    *,
    noun: str,
    before_naming: Callable[[], None] = lambda: None,
) -> None:
    """Write files under a temporary name and rename the folder when everything is there.

    ``before_naming`` is called once everything is written and before the folder has its name:
    whatever must hold of a folder that is out in the world is made to hold there.

    Raises
    ------
    TriageError
        If the disk refuses; nothing is left behind then.
    """
    unfinished = unfinished_of(folder)
    try:
        clear(unfinished)  # of a run that was killed
        unfinished.mkdir(parents=True)
        for name, content in files.items():
            path = unfinished / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        before_naming()
        if folder.exists():
            folder.rmdir()  # empty, or this fails and nothing is lost
        os.replace(unfinished, folder)
    except OSError as error:
        raise _cannot_write(folder, error, noun) from error
    finally:
        with contextlib.suppress(OSError):
            clear(unfinished)


def unfinished_of(folder: Path) -> Path:
    """Where a folder lies while it is being written; what a killed run leaves lies there too."""
    return folder.parent / f".{folder.name}{_UNFINISHED}"


def clear(unfinished: Path) -> bool:
    """Remove what a killed run left; nothing that this module did not write. Tells whether it did.

    Raises
    ------
    OSError
        If the disk refuses.
    """
    name = unfinished.name
    ours = name.startswith(".") and name.endswith(_UNFINISHED) and not unfinished.is_symlink()
    if not ours or not unfinished.is_dir():
        return False
    shutil.rmtree(unfinished)
    return True


def _cannot_write(folder: Path, error: OSError, noun: str) -> TriageError:
    return TriageError(
        f"the {noun} could not be written ({error.strerror or error})",
        failing=str(folder),
        next_step="Check that the disk has room and that you may write there.",
    )
