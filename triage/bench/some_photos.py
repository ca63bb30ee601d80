"""Read some photos of a folder of any, shrunk to one size, for a bench that alters them."""

from __future__ import annotations

from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.errors import SourceError
from triage.photos.loose_files import content_of, loose_files


def some_photos(folder: Path, most: int, *, side: int) -> list[tuple[str, bytes, images.Pixels]]:
    """Name, bytes and pixels of a folder's readable photos, at most so many (0: all) of them.

    They are spread evenly over the sorted names; the pixels are shrunk to a longer side.

    Raises
    ------
    SourceError
        If there are fewer than two.
    """
    files = loose_files([folder], refused=lambda *_: None)
    if most and len(files) > most:
        files = [files[round(place)] for place in np.linspace(0, len(files) - 1, most)]
    read = []
    for file in files:
        try:
            content = content_of(file)
            rgb = images.decode(content, name=file.name).rgb
        except SourceError:
            continue
        read.append((file.name, content, images.shrink(rgb, side)))
    if len(read) < 2:
        raise SourceError(
            "holds fewer than two readable photos",
            failing=str(folder),
            next_step="Name a folder with some dozens of photos.",
        )
    return read
