"""Count the likely human faces in an upright photo.

A small network made to find faces (BlazeFace, Bazarevsky et al. 2019; tools/face_network.py says
where it is from) looks at the whole photo at two sizes: the smaller one is for faces that fill it.
It misses profiles, small and half hidden faces, and takes some patterns for faces: the count may
order the work of the person who clears photos for release, never replace it.
"""

from __future__ import annotations

from collections.abc import Iterator
from math import log

import numpy as np

from triage.analysis import images, networks
from triage.analysis.networks import Floats

LOOKS = ((256, 0.69), (96, 0.55))  # px, longer side; least probability of a face
GRIDS = (("far", 16.0), ("near", 32.0))  # outcomes of the network, and pixels from cell to cell
NUMBERS_OF_A_FACE = 16  # first its place and size in pixels, then points in it
ONE_FACE = 0.3  # intersection over union of two boxes, above which they hold one face


def count_faces(rgb: images.Pixels, *, threads: int = 1) -> int:
    """Count likely faces.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright, any size of at least one pixel.
    threads : int
        Threads of the network.

    Returns
    -------
    int
        0 when none is seen, which does not mean that there is none.

    Raises
    ------
    ValueError
        If the array is not (height, width, 3) uint8.

    References
    ----------
    Bazarevsky, V., Kartynnik, Y., Vakunov, A., Raveendran, K., Grundmann, M. (2019). BlazeFace:
    sub-millisecond neural face detection on mobile GPUs. CVPR Workshop on Computer Vision for
    Augmented and Virtual Reality. arXiv:1907.05047
    """
    import cv2

    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError(f"pixels must be (height, width, 3) uint8, got {rgb.shape} {rgb.dtype}")
    looked_at = images.halved(rgb, LOOKS[0][0])
    found = []
    for side, least in LOOKS:
        looked_at = networks.fitted(looked_at, side)
        found += list(_faces(looked_at, least, threads))
    boxes, odds = [box for box, _ in found], [face for _, face in found]
    return len(cv2.dnn.NMSBoxes(boxes, odds, score_threshold=0.0, nms_threshold=ONE_FACE))


def _faces(rgb: images.Pixels, least: float, threads: int) -> Iterator[tuple[list[float], float]]:
    """Left, top, width and height in thousandths of the picture, and log odds plus a hundred."""
    names = [name for name, _ in GRIDS] + [f"{name} boxes" for name, _ in GRIDS]
    seen = networks.outcomes(networks.shipped("faces"), names, rgb, threads=threads)
    height, width = rgb.shape[:2]
    for odds, boxes, (_, step) in zip(seen[:2], seen[2:], GRIDS, strict=True):
        sides: Floats = boxes[0].reshape(-1, NUMBERS_OF_A_FACE, *boxes.shape[2:])[:, :4]
        for kind, row, column in np.argwhere(odds[0] >= log(least / (1 - least))).tolist():
            x, y, across, down = sides[kind, :, row, column].tolist()
            left = (column + 0.5) * step + x - across / 2
            top = (row + 0.5) * step + y - down / 2
            box = [left / width, top / height, across / width, down / height]
            yield [1000 * side for side in box], 100 + float(odds[0, kind, row, column])
