"""Write files into a folder that is there whole or not at all."""

from __future__ import annotations

import os
import shutil
import tempfile
from collections.abc import Mapping
from pathlib import Path

from triage.errors import TriageError


def refuse_to_overwrite(folder: Path, *, noun: str) -> None:
    """Refuse a folder that holds something.

    Parameters
    ----------
    folder : Path
        Where the files shall go.
    noun : str
        What is written, for the message: "export" or "report".

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


def write_whole(folder: Path, files: Mapping[str, bytes], *, noun: str) -> None:
    """Write files under a temporary name and rename the folder when everything is there.

    Raises
    ------
    TriageError
        If the disk refuses; nothing is left behind then.
    """
    try:
        folder.parent.mkdir(parents=True, exist_ok=True)
        unfinished = Path(tempfile.mkdtemp(prefix=f".{folder.name}-", dir=folder.parent))
    except OSError as error:
        raise _cannot_write(folder, error, noun) from error
    try:
        for name, content in files.items():
            path = unfinished / name
            path.parent.mkdir(exist_ok=True)
            path.write_bytes(content)
        unfinished.chmod(0o755)  # a temporary folder is its owner's alone; this one is to be read
        if folder.exists():
            folder.rmdir()  # empty, or this fails and nothing is lost
        os.replace(unfinished, folder)
    except OSError as error:
        raise _cannot_write(folder, error, noun) from error
    finally:
        shutil.rmtree(unfinished, ignore_errors=True)


def _cannot_write(folder: Path, error: OSError, noun: str) -> TriageError:
    return TriageError(
        f"the {noun} could not be written ({error.strerror or error})",
        failing=str(folder),
        next_step="Check that the disk has room and that you may write there.",
    )
