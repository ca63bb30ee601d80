"""Measure how well the grey pixels of the insect are exposed: 1 well, 0 black or burnt out."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt

METHOD = "clipping and range 2"

BURNT = 250  # grey level from which detail is lost; common practice, no source
BLACK = 6  # grey level up to which detail is lost; common practice, no source
CLIPPED_AT_WORST = 0.5  # share of pixels without detail that leaves nothing to see
WELL_LIT = (60.0, 190.0)  # mean grey level of a well exposed insect; common practice, no source
WHITE_BEHIND = 0.5  # share of burnt pixels along the frame from which the background is white
RANGE_WANTED = 60.0  # grey levels between the 5th and the 95th percentile; same


def exposure(grey: npt.ArrayLike, *, frame: npt.ArrayLike = ()) -> float:
    """Exposure of a grey region: detail not clipped, not too dark or bright, with contrast.

    The product of three parts, each in [0, 1]: what is left after clipped pixels (none: 1; half of
    them: 0), how near the mean is to the well lit range (inside: 1; black or white: 0), and the
    range of tones (60 grey levels or more: 1; none: 0).

    Parameters
    ----------
    grey : array_like, any shape
        Luma, 0 to 255.
    frame : array_like, any shape
        Luma along the photo's frame. Where half of it is burnt out, the background is white (a
        specimen, a cut-out), and burnt pixels do not count against the insect.

    Returns
    -------
    float
        In [0, 1]: 1 well exposed, 0 unusable. An empty or flat region gives 0.

    Raises
    ------
    ValueError
        If the values are not finite.

    Examples
    --------
    >>> exposure(np.linspace(40, 200, 100))
    1.0
    >>> exposure(np.full(100, 255))
    0.0
    """
    values = np.asarray(grey, dtype=np.float64).ravel()
    if values.size == 0:
        return 0.0
    if not np.isfinite(values).all():
        raise ValueError("the region holds values that are not finite")
    along = np.asarray(frame, dtype=np.float64).ravel()
    if along.size and np.mean(along >= BURNT) >= WHITE_BEHIND and (values < BURNT).any():
        values = values[values < BURNT]
    clipped = float(np.mean((values >= BURNT) | (values <= BLACK)))
    mean = float(values.mean())
    low, high = WELL_LIT
    lit = min(1.0, mean / low, (255.0 - mean) / (255.0 - high))
    spread = float(np.subtract(*np.percentile(values, (95, 5))))
    kept = max(0.0, 1.0 - clipped / CLIPPED_AT_WORST)
    return float(kept * max(0.0, lit) * min(1.0, spread / RANGE_WANTED))
