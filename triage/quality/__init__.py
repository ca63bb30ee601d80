"""Measure what an expert would get from a photo: view, focus, size, usability."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from typing import Literal

import numpy as np

from triage.analysis import exposure, faces, images, sharpness, subject
from triage.analysis.view import Box, Heads
from triage.analysis.view import View as View
from triage.quality.shape import breadth as breadth
from triage.quality.shape import is_cut as is_cut
from triage.quality.shape import length_px as length_px
from triage.quality.usability import (
    STARTING_MODEL,
    Factors,
    UsabilityModel,
    factors_of,
    is_pair,
    is_stout,
    usability,
)

LOOKED_AT_PX = 1024  # least long side handed to the finder of the insect, where there is as much
SMALL_PX = subject.SHRUNK_SIDE  # the same of the copy in which the photo is looked at as a whole
PREVIEW_PX = 512  # long side of the preview, enough for a thumbnail and for the search for copies
SURE, FILLS = 0.9, 0.25  # an odonate this sure on this share of the photo leaves no room for a face

_VIEW_WORDS: Mapping[View, str] = {
    "dorsal": "seen from the back",
    "lateral": "seen from the side",
    "anterior": "seen from the front",
    "oblique": "seen at a slant",
    "other": "view not told",
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Measurement:
    """What was measured on one photo, with the method's name and version.

    All probabilities and ``focus``, ``exposure``, ``usability`` lie in [0, 1]; ``box`` is x0, y0,
    x1, y1 as fractions of the upright image; ``insect_px`` is the insect's length in pixels of
    the upright full-size image, ``span_px`` its length with the wings, ``breadth`` its body's
    breadth over its length (0 where unknown); ``other_boxes`` are further separate insects (same
    fractions); ``kind`` is what the picture seems to show when it is no adult odonate, or
    ``adult`` or ``unsure``; ``features`` are small numbers kept for learning from corrections.
    ``body_box`` is head to abdomen tip, when it was told apart from the wings.
    """

    method: str
    odonate: float
    suborder: Literal["anisoptera", "zygoptera"]
    suborder_probability: float
    box: Box
    other_boxes: tuple[Box, ...] = ()
    view: View
    p_dorsal: float
    p_lateral: float
    p_anterior: float
    p_oblique: float
    p_other: float
    focus: float
    exposure: float
    insect_px: float
    span_px: float = 0.0
    breadth: float = 0.0
    usability: float
    reasons: tuple[str, ...] = ()
    kind: str = "adult"
    faces: int = 0
    features: bytes = field(repr=False, default=b"")
    body_box: Box | None = None

    @property
    def doubt(self) -> str:
        """What to say before the view: "perhaps " where any other is as likely together."""
        sure = self.view == "other" or getattr(self, f"p_{self.view}") >= 0.5
        return "" if sure else "perhaps "


def measure(
    rgb: images.Pixels,
    *,
    smaller: images.Pixels | None = None,
    small: images.Pixels | None = None,
    preview: images.Pixels | None = None,
    heads: Heads | None = None,
    box: Box | None = None,
    usability_model: UsabilityModel = STARTING_MODEL,
) -> Measurement:
    """Measure one photo.

    Parameters
    ----------
    rgb : ndarray of uint8, shape (height, width, 3)
        Upright, at full size.
    smaller : ndarray of uint8, optional
        The same photo halved to 1,024 pixels or more, if the caller has it already.
    small : ndarray of uint8, optional
        The same halved to 448 pixels or more.
    preview : ndarray of uint8, optional
        The same of at most 512 pixels.
    heads : Heads, optional
        The survey's own heads of the finder of the insect instead of the shipped ones.
    box : tuple of four floats, optional
        Where a person says the insect is, as fractions of the upright photo; found unless given.
    usability_model : UsabilityModel
        The survey's own, once it has one.

    Returns
    -------
    Measurement

    Raises
    ------
    ValueError
        If the array is not (height, width, 3) uint8.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or str(rgb.dtype) != "uint8":
        raise ValueError(f"pixels must be (height, width, 3) uint8, got {rgb.shape} {rgb.dtype}")
    smaller = images.halved(rgb, LOOKED_AT_PX) if smaller is None else smaller
    small = images.halved(smaller, SMALL_PX) if small is None else small
    preview = images.shrink(smaller, PREVIEW_PX) if preview is None else preview
    seen = subject.look_at(smaller, small=small, heads=heads, box=box)
    height, width = rgb.shape[:2]
    insect_px = length_px(seen.body_box, width=width, height=height)
    sharp = sharpness.focus_on(rgb, seen.body_box, length_px=insect_px, outline=seen.outline)
    methods = (seen.method, sharpness.METHOD, exposure.METHOD, usability_model.method)
    views: dict[View, float] = {name: getattr(seen, f"p_{name}") for name in _VIEW_WORDS}
    dragonfly = seen.anisoptera >= 0.5
    measured = Measurement(
        method="; ".join(methods),
        odonate=seen.odonate,
        suborder="anisoptera" if dragonfly else "zygoptera",
        suborder_probability=seen.anisoptera if dragonfly else 1.0 - seen.anisoptera,
        box=seen.box,
        body_box=seen.body_box,
        other_boxes=tuple(seen.other_boxes),
        view=max(views, key=views.__getitem__),
        p_dorsal=seen.p_dorsal,
        p_lateral=seen.p_lateral,
        p_anterior=seen.p_anterior,
        p_oblique=seen.p_oblique,
        p_other=seen.p_other,
        focus=sharp,
        exposure=exposure_of(smaller, seen.body_box, preview=preview),
        insect_px=insect_px,
        span_px=length_px(seen.box, width=width, height=height),
        breadth=breadth(seen.outline, width=width, height=height),
        usability=0.0,
        kind=seen.kind,
        faces=0 if _fills(seen.box, seen.odonate) else faces.count_faces(small),
        features=seen.features,
    )
    return rated(measured, model=usability_model)


def corrected(
    measured: Measurement,
    *,
    view: View | None = None,
    box: Box | None = None,
    model: UsabilityModel = STARTING_MODEL,
) -> Measurement:
    """The measurement with a person's word on view or box, and with what follows from it.

    A corrected view is certain, and its usability and reasons are those of that view. Where the
    photo was not measured in a corrected box yet, its focus is still that of the old one.
    """
    if box is not None:
        measured = replace(measured, box=box)
    if view is None:
        return measured
    chances = {f"p_{one}": float(one == view) for one in _VIEW_WORDS}
    said = replace(measured, view=view, **chances)  # type: ignore[arg-type]
    return rated(said, model=model, view_said=True)


def rated(measured: Measurement, *, model: UsabilityModel, view_said: bool = False) -> Measurement:
    """The measurement with its usability, and with what speaks for and against the photo."""
    worth = usability(measured_factors(measured), odonate=measured.odonate, model=model)
    return replace(measured, usability=worth, reasons=_reasons(measured, view_said=view_said))


def enlarged(measured: Measurement, times: float, *, model: UsabilityModel) -> Measurement:
    """The measurement of a photo that was measured at so many times less than its size."""
    lengths = {name: getattr(measured, name) * times for name in ("insect_px", "span_px")}
    return rated(replace(measured, **lengths), model=model)


def exposure_of(
    smaller: images.Pixels, body: Box, *, preview: images.Pixels | None = None
) -> float:
    """Exposure of the insect's body, and of the frame about the photo for comparison."""
    grey = images.grey_of(images.halved(sharpness.region(smaller, body), 256))
    frame = images.grey_of(images.halved(smaller if preview is None else preview, 200))
    along = np.concatenate([frame[0], frame[-1], frame[:, 0], frame[:, -1]])
    return exposure.exposure(grey, frame=along)


def _fills(box: Box, odonate: float) -> bool:
    return odonate >= SURE and (box[2] - box[0]) * (box[3] - box[1]) >= FILLS


def measured_factors(measured: Measurement) -> Factors:
    """What usability is made of, from a measurement as it was kept."""
    body = measured.body_box or measured.box
    return factors_of(
        focus=measured.focus,
        insect_px=measured.insect_px,
        span_px=measured.span_px,
        breadth=measured.breadth,
        views={
            "dorsal": measured.p_dorsal,
            "lateral": measured.p_lateral,
            "anterior": measured.p_anterior,
            "oblique": measured.p_oblique,
            "other": measured.p_other,
        },
        exposure=measured.exposure,
        body_cut=is_cut(body),
        wings_cut=is_cut(measured.box),
        pair=measured.kind == "pair",
    )


def _reasons(measured: Measurement, *, view_said: bool) -> tuple[str, ...]:
    """What speaks for and against the photo, in words and numbers."""
    focus, lit = measured.focus, measured.exposure
    words = "sharp" if focus >= 0.75 else "a little soft" if focus >= 0.4 else "blurred"
    sure = "as corrected" if view_said else f"{getattr(measured, f'p_{measured.view}'):.0%}"
    reasons = [
        f"{words} on the insect (focus {focus:.2f})",
        f"insect {measured.insect_px:,.0f} pixels long",
        _view_said(measured, sure),
    ]
    if measured.odonate >= 0.5 and is_stout(measured.breadth, pair=measured.kind == "pair"):
        reasons.append("looks foreshortened or shown in part")
    if lit < 0.5:
        reasons.append(f"badly exposed (exposure {lit:.2f})")
    if is_cut(measured.body_box or measured.box):
        reasons.append("body at the frame, perhaps cut")
    elif is_cut(measured.box):
        reasons.append("wings at the frame, perhaps cut")
    if measured.odonate < 0.5:
        reasons.append(f"perhaps no odonate ({measured.odonate:.0%})")
    return tuple(reasons)


def _view_said(measured: Measurement, sure: str) -> str:
    if measured.kind != "pair":
        return f"{measured.doubt}{_VIEW_WORDS[measured.view]} ({sure})"
    return "a pair" if is_pair(measured.breadth) else "taken for a pair, too stout for one"
