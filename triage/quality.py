"""Upright pixels in, what an expert would get from the photo (view, focus, size, usability) out."""

from __future__ import annotations

from dataclasses import dataclass, field
from typing import Literal

View = Literal["dorsal", "lateral", "anterior", "oblique", "other"]


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """What was measured on one photo, with the method's name and version.

    All probabilities and ``focus``, ``exposure``, ``usability`` lie in [0, 1]; ``box`` is x0, y0,
    x1, y1 as fractions of the upright image; ``insect_px`` is the insect's length in pixels of
    the upright full-size image; ``other_boxes`` are further separate insects (same fractions);
    ``kind`` is what the picture seems to show when it is no adult odonate, or ``adult`` or
    ``unsure``; ``features`` are small numbers kept for learning from corrections.
    """

    method: str
    odonate: float
    suborder: Literal["anisoptera", "zygoptera"]
    suborder_probability: float
    box: tuple[float, float, float, float]
    other_boxes: tuple[tuple[float, float, float, float], ...] = ()
    view: View
    p_dorsal: float
    p_lateral: float
    p_anterior: float
    p_oblique: float
    p_other: float
    focus: float
    exposure: float
    insect_px: float
    usability: float
    reasons: tuple[str, ...] = ()
    kind: str = "adult"
    faces: int = 0
    features: bytes = field(repr=False, default=b"")
