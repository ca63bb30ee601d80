"""Give the memory that is free in this process back to the system."""

from __future__ import annotations

import contextlib
import os
import sys
from pathlib import Path

HELD_BYTES = 200_000_000  # a process that holds less has little that is free


def give_back() -> None:
    """Have glibc's allocator return its free memory, where this process holds much.

    What is given back costs time to be had again, a third of that of an ordinary photo: only for
    pieces of work that need far more than others. Other allocators and systems are left alone.
    """
    if not sys.platform.startswith("linux") or resident_bytes() < HELD_BYTES:
        return
    with contextlib.suppress(OSError, AttributeError):
        import ctypes

        ctypes.CDLL(None).malloc_trim(0)


def resident_bytes() -> int:
    """What this process holds, by proc(5); 0 where the system does not tell."""
    with contextlib.suppress(OSError):
        return int(Path("/proc/self/statm").read_text().split()[1]) * os.sysconf("SC_PAGE_SIZE")
    return 0
