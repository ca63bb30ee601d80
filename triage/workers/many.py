"""Load very many records without Python looking for circles among them again and again."""

from __future__ import annotations

import gc
from collections.abc import Iterator
from contextlib import contextmanager


@contextmanager
def many_records() -> Iterator[None]:
    """Leave the search for circles of objects off while very many records are loaded and computed.

    Records refer to no circles, so that nothing could be freed; a sixth of a report's time went
    into looking. Memory of what is no longer referred to is given back as always.
    """
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
