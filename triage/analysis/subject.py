"""An upright photo in, where the insect is, whether it is an odonate and how it sits out.

A network trained on ImageNet gives each cell of the photo a probability of dragonfly and of
damselfly (a class activation map, Zhou et al. 2016); the peak says whether there is an odonate,
the region around it where. Linear heads on the pooled features tell view and suborder.

References
----------
B. Zhou, A. Khosla, A. Lapedriza, A. Oliva and A. Torralba, 2016. Learning deep features for
discriminative localization. CVPR 2016. arXiv:1512.04150.
"""

from __future__ import annotations

from dataclasses import dataclass, field
from functools import cache
from importlib import resources
from typing import Any, Literal

import numpy as np
from numpy.typing import NDArray

from triage.analysis import view

Box = tuple[float, float, float, float]
Kind = Literal[
    "adult", "exuvia", "larva", "pair", "hand", "screenshot", "page", "no insect", "unsure"
]
WORKING_SIDE = 448  # px, the longer side as the network sees it
CELL = 32  # px of the working image in one cell of the map
BOX_SHARE = 0.4  # of the peak: cells above it belong to the insect


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Subject:
    """What one photo shows. Boxes are x0, y0, x1, y1 as fractions of the upright photo.

    ``odonate`` is the probability of an adult odonate, calibrated so that 0.5 is the threshold.
    ``box`` holds the insect with its wings, ``body_box`` head to abdomen tip; both are always the
    best guess, whatever ``odonate`` says. ``other_boxes`` are further separate insects. The five
    view probabilities sum to 1. ``heat`` is the map the box was found in (rows x columns, 0..1).
    ``features`` is a float16 vector for refitting the heads.
    """

    odonate: float
    anisoptera: float
    box: Box
    body_box: Box
    other_boxes: tuple[Box, ...] = ()
    p_dorsal: float
    p_lateral: float
    p_anterior: float
    p_oblique: float
    p_other: float
    kind: Kind
    method: str
    features: bytes = field(repr=False, default=b"")
    heat: NDArray[np.float32] | None = field(repr=False, default=None)


def look_at(
    rgb: NDArray[np.uint8], *, heads: view.Heads | None = None, threads: int = 1
) -> Subject:
    """Look at one upright photo.

    Parameters
    ----------
    rgb : uint8 array, height x width x 3
        The upright photo at any size of at least one pixel.
    heads : Heads, optional
        Refitted heads to use instead of the shipped ones.
    threads : int
        Threads of the network. One by default, since photos are examined side by side.

    Returns
    -------
    Subject
        Always complete: a blank photo gives a low ``odonate`` and a box that means nothing.

    Raises
    ------
    ValueError
        If ``rgb`` is not such an array.
    """
    if rgb.ndim != 3 or rgb.shape[2] != 3 or rgb.dtype != np.uint8 or 0 in rgb.shape:
        raise ValueError(f"look_at needs uint8 height x width x 3, not {rgb.dtype} {rgb.shape}")
    used = heads or view.shipped_heads()
    features_map, odonate_map, classes = _session("imagenet", threads).run(
        ["features", "odonate", "classes"], {"rgb": fitted(rgb, WORKING_SIDE)[None]}
    )
    heat = odonate_map[0].sum(axis=0)
    box = _box_around_peak(heat)
    features = _features(features_map[0], heat, classes[0])
    views = view.view_probabilities(features, used)
    odonate = float(view.odonate_probability(features, used))
    return Subject(
        odonate=odonate,
        anisoptera=float(view.anisoptera_probability(features, used)),
        box=box,
        body_box=box,
        p_dorsal=float(views[0]),
        p_lateral=float(views[1]),
        p_anterior=float(views[2]),
        p_oblique=float(views[3]),
        p_other=float(views[4]),
        kind="adult" if odonate >= 0.5 else "unsure",
        method=f"class map 1, heads {used.version}",
        features=features.astype(np.float16).tobytes(),
        heat=heat,
    )


def fitted(rgb: NDArray[np.uint8], side: int) -> NDArray[np.uint8]:
    """The photo scaled so that its longer side is ``side``, both sides multiples of a cell."""
    import cv2

    height, width = rgb.shape[:2]
    scale = side / max(height, width)
    rows, columns = (max(1, round(n * scale / CELL)) * CELL for n in (height, width))
    how = cv2.INTER_AREA if scale < 1 else cv2.INTER_LINEAR
    return np.asarray(cv2.resize(rgb, (columns, rows), interpolation=how), dtype=np.uint8)


@cache
def _session(name: str, threads: int) -> Any:
    """The network ``name``, opened once per process."""
    import onnxruntime

    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = threads
    options.log_severity_level = 3
    file = resources.files("triage.analysis.models") / f"{name}.onnx"
    return onnxruntime.InferenceSession(
        file.read_bytes(), options, providers=["CPUExecutionProvider"]
    )


def _box_around_peak(heat: NDArray[np.float32]) -> Box:
    """The bounding box of the connected cells above a share of the peak."""
    import cv2

    above = (heat >= BOX_SHARE * heat.max()).astype(np.uint8)
    _, names = cv2.connectedComponents(above, connectivity=8)
    rows, columns = np.nonzero(names == names[np.unravel_index(heat.argmax(), heat.shape)])
    height, width = heat.shape
    return (
        float(columns.min() / width),
        float(rows.min() / height),
        float((columns.max() + 1) / width),
        float((rows.max() + 1) / height),
    )


def _features(
    features: NDArray[np.float32], heat: NDArray[np.float32], classes: NDArray[np.float32]
) -> NDArray[np.float64]:
    """Scores of the map, then the mean features of the photo and those weighted by the map."""
    peak = float(np.clip(heat.max(), 1e-6, 1 - 1e-6))
    scores = [np.log(peak / (1 - peak)), float(heat.mean()), *classes[[319, 320]] / 10]
    weights = heat / max(float(heat.sum()), 1e-9)
    pooled = [features.mean(axis=(1, 2)), (features * weights).sum(axis=(1, 2))]
    return np.concatenate([scores, *pooled]).astype(np.float64)
