"""Tell how likely two photos show one animal, by what the network sees of it and its colours.

The network was trained to know an insect again in changed copies of a photo (turned, mirrored,
nearer, in other light, before another background): docs/figures/vision.md.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np

from triage.analysis import colours, view

SAME_VIEW, OTHER_VIEW = (11.6, 7.1, -10.4), (6.0, 7.1, -6.2)
"""Weights of looks and colours, and bias, of a logistic model: at 0.68, what is asked of frames 25
seconds apart, 3 % of pairs of two animals are taken for one. From another side an animal looks less
like itself, so less is asked then."""


def likeness(
    first: bytes,
    second: bytes,
    first_colours: Sequence[float] = (),
    second_colours: Sequence[float] = (),
    *,
    same_view: bool = True,
) -> float:
    """How likely two photos show one animal, as far as its looks tell.

    Parameters
    ----------
    first, second : bytes
        The features kept with each photo.
    first_colours, second_colours : sequences of float
        The colour signatures kept with each.
    same_view : bool
        Whether both photos show the insect in one view.

    Returns
    -------
    float in [0, 1]
        The same whichever is named first. Without features of this version the colours alone
        decide; 0.5 when these are missing too.
    """
    by_colour = colours.likeness(first_colours, second_colours)
    try:
        one, other = (view.alike_of(view.stored_features(kept)) for kept in (first, second))
    except ValueError:
        return by_colour
    lengths = float(np.linalg.norm(one) * np.linalg.norm(other))
    looks = float(one @ other) / max(lengths, 1e-9)
    of_looks, of_colours, bias = SAME_VIEW if same_view else OTHER_VIEW
    return 1.0 / (1.0 + math.exp(-(of_looks * looks + of_colours * by_colour + bias)))
