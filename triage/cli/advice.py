"""What an error of disk, memory or database means and what to do; the place of a fault, kept."""

from __future__ import annotations

import errno
import os
import sqlite3
import tempfile
import traceback

_OF_SYSTEM = {
    errno.ENOSPC: "the disk is full. Make room, then run the same command again",
    errno.EDQUOT: "your share of the disk is full. Make room, then run the same command again",
    errno.EROFS: "the disk can only be read. Copy the survey to one that can be written",
    errno.EACCES: "the file or folder may not be opened. Check its permissions",
    errno.EPERM: "the file or folder may not be changed. Check its permissions",
    errno.EMFILE: "too many files are open. Close other programs, then try again",
}
_OF_DATABASE = (
    ("locked", "another command is writing to this survey. Wait until it is done, then try again"),
    ("full", _OF_SYSTEM[errno.ENOSPC]),
    ("readonly", "the survey can only be read. Copy it to a place that can be written"),
    ("unable to open", "the survey's database cannot be opened. Check the folder's permissions"),
    ("disk i/o", "the disk fails. Copy the survey to another one, then run 'triage audit'"),
    ("malformed", "the database is damaged. See 'triage audit', or restore a backup"),
    ("not a database", "survey.db is not a database. Restore it from a backup"),
)


def advice_for(error: BaseException) -> str:
    """What happened and what to do, for errors of the system and the database; else empty."""
    if isinstance(error, sqlite3.Error):
        words = str(error).lower()
        return next((advice for part, advice in _OF_DATABASE if part in words), "")
    if isinstance(error, MemoryError):
        return "there is not enough memory. Close other programs, or use --processes 1"
    if isinstance(error, OSError):
        advice = _OF_SYSTEM.get(error.errno or 0, "")
        return f"{error.filename}: {advice}" if advice and error.filename else advice
    return ""


def kept_details(error: BaseException) -> str:
    """Write where a bug happened into a file of its own and return its path.

    The lines name places in the program, never what a mail or a table held.
    """
    frames = traceback.extract_tb(error.__traceback__)
    lines = [f"{frame.filename}:{frame.lineno} in {frame.name}" for frame in frames]
    handle, path = tempfile.mkstemp(prefix="triage-", suffix=".txt")
    with os.fdopen(handle, "w", encoding="utf-8", errors="replace") as file:
        file.write("\n".join([*lines, type(error).__name__, ""]))
    return path
