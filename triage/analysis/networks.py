"""Run the two networks on a photo: maps and scores, no verdicts.

The class network has its ImageNet weights and gives each cell of the photo a probability of
dragonfly and of damselfly (a class activation map, Zhou et al. 2016). The insect network was
trained on labelled photos; it gives a map of insect centres with the sides of the insect and of its
body at each (as Tian et al. 2019), a map for each side of the one main insect (as Sun et al. 2018),
answers about view, suborder, pairs and kinds, its own word on the classes of ImageNet, which it was
made to remember, and a vector by which one animal is known again.

References
----------
B. Zhou, A. Khosla, A. Lapedriza, A. Oliva and A. Torralba, 2016. Learning deep features for
discriminative localization. CVPR 2016. arXiv:1512.04150.
X. Sun, B. Xiao, F. Wei, S. Liang and Y. Wei, 2018. Integral human pose regression. ECCV 2018.
arXiv:1711.08229.
Z. Tian, C. Shen, H. Chen and T. He, 2019. FCOS: fully convolutional one-stage object detection.
ICCV 2019. arXiv:1904.01355.
"""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from triage.analysis import images

Floats = NDArray[np.float64]
Pixels = NDArray[np.uint8]
STEP = 32  # px: the networks take sides that are multiples of it
DRAGONFLY, DAMSELFLY = 319, 320  # among the 1,000 classes of ImageNet 2012
OTHER_INSECTS = (*range(300, 319), *range(321, 327))  # beetles to lacewings; butterflies
SCREENS_AND_PAGES = (664, 782, 851, 916, 917, 918, 921, 922)  # monitors, web site, book, menu
CLASS_SCORES = 6  # of the class network
OWN_SCORES = 8  # of the insect network on the same classes: of the picture, and of the insect
ANSWERS = 14  # five views, Anisoptera, odonate, pair, six kinds
ANISOPTERA, IS_ODONATE, IS_PAIR, FIRST_KIND = 5, 6, 7, 8  # places among them
EMBEDDED, ALIKE = 128, 48  # lengths of the vectors


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class InsectMaps:
    """What the insect network says of one picture.

    ``heat`` is rows x columns, 0..1; ``sides`` and ``edges`` are 8 x rows x columns: left, top,
    right and bottom of the insect, then of its body; ``sides`` as distances from the cell in
    fractions of the picture, ``edges`` as logits of where the side lies, ``fine_edges`` the same
    with twice the rows and columns. ``answers`` are 8 logits,
    ``embedding`` the 128 numbers they are linear in.
    """

    heat: NDArray[np.float32]
    sides: Floats
    edges: Floats
    fine_edges: Floats
    answers: Floats
    embedding: Floats
    scores: Floats
    alike: Floats


@cache
def shipped(name: str) -> Path:
    """The file of a network that comes with the program."""
    return Path(str(resources.files("triage.analysis.models") / f"{name}.onnx"))


def fitted(rgb: Pixels, side: int, *, exact: bool = False) -> Pixels:
    """The picture scaled so that its longer side is ``side``, both sides multiples of 32 px;
    ``exact`` takes the mean of the area of each pixel of a smaller one."""
    height, width = rgb.shape[:2]
    scale = side / max(height, width)
    rows, columns = (max(1, round(n * scale / STEP)) * STEP for n in (height, width))
    smaller = exact and scale < 1
    return (images.area_mean if smaller else images.resized)(rgb, (columns, rows))


def outcomes(file: Path, names: list[str], rgb: Pixels, *, threads: int) -> list[Any]:
    """What a network says of one picture, by the names of its outcomes."""
    import cv2

    network, planes = _session(file, threads)
    given = cv2.cvtColor(rgb, cv2.COLOR_RGB2RGBA) if planes == 4 else rgb
    return list(network.run(names, {"rgb": given[None]}))


def insect_maps(rgb: Pixels, *, threads: int, model: Path | None = None) -> InsectMaps:
    """Run the insect network on a picture whose sides are multiples of 32 px."""
    names = ["heat", "sides", "edges", "fine edges", "embedding", "answers", "alike"]
    names += ["classes", "classes looked"]
    heat, sides, edges, fine, embedding, answers, alike, classes, looked = outcomes(
        model or shipped("insect"), names, rgb, threads=threads
    )
    height, width = rgb.shape[:2]
    scale = np.array([width, height] * 4, dtype=np.float64)[:, None, None]
    return InsectMaps(
        heat=heat[0, 0],
        sides=sides[0] / scale,
        edges=edges[0].astype(np.float64),
        fine_edges=fine[0].astype(np.float64),
        answers=answers[0].astype(np.float64),
        embedding=embedding[0].astype(np.float64),
        scores=np.array([*_scores_of(classes[0]), *_scores_of(looked[0])]),
        alike=alike[0].astype(np.float64) / max(float(np.linalg.norm(alike[0])), 1e-9),
    )


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class ClassLook:
    """What the class network says of one picture.

    ``heat`` is rows x columns, the probability of dragonfly or damselfly in each cell. ``scores``
    are logits of the strongest cell, of the mean of the four strongest, and of the picture as a
    whole; logit of other insects; logarithm of dragonfly over damselfly; logit of screens and
    pages. ``classes`` are the logits of the 1,000 classes.
    """

    heat: NDArray[np.float32]
    scores: Floats
    classes: Floats


def class_look(rgb: Pixels, *, threads: int) -> ClassLook:
    """Run the class network on a picture whose sides are multiples of 32 px."""
    odonate, classes = outcomes(shipped("imagenet"), ["odonate", "classes"], rgb, threads=threads)
    heat = odonate[0].sum(axis=0)
    strongest = np.sort(heat.ravel())[-4:]
    kinds = odonate[0].reshape(2, -1).sum(axis=1)
    odonates, others, _, pages = _scores_of(classes[0])
    ratio = float(np.log((kinds[0] + 1e-6) / (kinds[1] + 1e-6)))
    peaks = _logit(float(strongest[-1])), _logit(float(strongest.mean()))
    return ClassLook(
        heat=heat,
        scores=np.array([*peaks, odonates, others, ratio, pages]),
        classes=classes[0].astype(np.float64),
    )


def _scores_of(classes: NDArray[np.float32]) -> tuple[float, float, float, float]:
    """Logits of odonates, of other insects, dragonfly over damselfly, of screens and pages."""
    logits = classes.astype(np.float64)
    shares = np.exp(logits - logits.max())
    shares /= shares.sum()
    ratio = (shares[DRAGONFLY] + 1e-6) / (shares[DAMSELFLY] + 1e-6)
    return (
        _logit(float(shares[[DRAGONFLY, DAMSELFLY]].sum())),
        _logit(float(shares[list(OTHER_INSECTS)].sum())),
        float(np.log(ratio)),
        _logit(float(shares[list(SCREENS_AND_PAGES)].sum())),
    )


def _logit(share: float) -> float:
    bounded = min(max(share, 1e-5), 1 - 1e-5)
    return float(np.log(bounded / (1 - bounded)))


@cache
def _session(file: Path, threads: int) -> tuple[Any, int]:
    """The network in ``file``, opened once per process, and how many planes it takes.

    Of four the last weighs nothing: onnxruntime is quicker with whole groups of four.
    """
    import onnxruntime

    _share_memory()
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = threads
    options.log_severity_level = 3
    options.enable_mem_pattern = False  # would keep a second copy of every layer
    options.add_session_config_entry("session.use_env_allocators", "1")
    network = onnxruntime.InferenceSession(
        file.read_bytes(), options, providers=["CPUExecutionProvider"]
    )
    return network, network.get_inputs()[0].shape[3]


@cache
def _share_memory() -> None:
    """One piece of memory for the layers of all networks, which run one after the other.

    A worker has 400 MB for everything; fresh memory for each layer costs a twentieth more time.
    """
    import onnxruntime as ort

    kind, use = ort.OrtAllocatorType.ORT_ARENA_ALLOCATOR, ort.OrtMemType.DEFAULT
    ort.create_and_register_allocator(ort.OrtMemoryInfo("Cpu", kind, 0, use), None)
