"""Count the likely human faces in an upright photo.

Local binary patterns in a boosted cascade (Viola and Jones 2001; Ahonen et al. 2006), with the
frontal cascade that scikit-image ships. It misses profiles, small and half hidden faces, and
children more often than not, and takes some patterns for faces: the count may order the work of
the person who clears photos for release, never replace it.
"""

from __future__ import annotations

from functools import cache
from typing import Any

import numpy as np

from triage.analysis import images

LOOKED_AT_PX = 240  # long side; a face below a twelfth of it is missed; larger costs its square
SMALLEST_PX, SCALE_STEP = 20, 1.1
STRIDE = 1.5  # windows moved by so much find nearly as many in half the time


def count_faces(rgb: images.Pixels) -> int:
    """Count likely frontal faces.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright, any size.

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
    Viola, P., Jones, M. (2001). Rapid object detection using a boosted cascade of simple features.
    CVPR 2001. doi:10.1109/CVPR.2001.990517

    Ahonen, T., Hadid, A., Pietikainen, M. (2006). Face description with local binary patterns. IEEE
    Transactions on Pattern Analysis and Machine Intelligence 28, 2037-2041.
    doi:10.1109/TPAMI.2006.244
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8:
        raise ValueError(f"pixels must be (height, width, 3) uint8, got {rgb.shape} {rgb.dtype}")
    small = np.ascontiguousarray(images.shrink(rgb, LOOKED_AT_PX))
    if min(small.shape[:2]) < 2 * SMALLEST_PX:
        return 0
    found = _cascade().detect_multi_scale(
        small,
        scale_factor=SCALE_STEP,
        step_ratio=STRIDE,
        min_size=(SMALLEST_PX, SMALLEST_PX),
        max_size=small.shape[:2],
    )
    return len(found)


@cache
def _cascade() -> Any:
    """The trained cascade, read once per process; the import alone takes half a second."""
    from skimage.data import lbp_frontal_face_cascade_filename
    from skimage.feature import Cascade

    file: Any = lbp_frontal_face_cascade_filename  # scikit-image states no types
    return Cascade(file())
