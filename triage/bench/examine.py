"""What examining a photo costs over the least that any program must do, by stage and by core.

The least: read the file, its SHA-256, one decode by the fastest decoder in use, and one pass of the
backbone at 448 pixels. It is told with a decode to grey, which gives no colours, and to RGB; with
the backbone in integers, as it is, and in float, as when the goal was set: that network is made of
the other on the spot, which needs the package onnx (extra: training). Two photos are examined: one
with a sure adult, as most show, and one that every network looks at.
"""

from __future__ import annotations

import contextlib
import hashlib
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path
from typing import Any

import numpy as np

from triage import quality
from triage.analysis import colours, faces, images, networks, sharpness, subject
from triage.bench.running import medians, peak_bytes
from triage.demo.insect import Pose, build
from triage.demo.looks import LOOKS
from triage.demo.render import Camera, draw
from triage.duplicates import pixel_keys
from triage.metadata.exif import read_exif
from triage.quality.examination import examine_content
from triage.workers.processes import Work, in_order

WIDTH, HEIGHT = 4000, 3000  # 12 megapixels
JPEG_QUALITY = 92
GOAL = 1.6  # times the least, with grey
CORES_GOAL = 1.8  # times as many photos in a time on two cores as on one
PHOTOS_A_CORE = 40  # by which the gain of a second core is measured
DECODE, SEEN = "decode to RGB", "copies for the networks, hands, heads"  # what is left of them
NO_FLOAT = "in float not measured: needs pip install 'odonata-triage[training]'"
BACKBONE_WIDTH = 448  # pixels, by 320: what 4 to 3 becomes in cells of 32


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Processor milliseconds of the steps of the least, of an examination, and of its stages.

    ``examine_ms`` is of a photo without insect, ``adult_ms`` of one with a sure adult;
    ``backbone_float_ms`` is 0 where onnx is missing.
    ``two_cores`` is how many times as fast two processes are as one; ``peak_bytes`` the most memory
    that a worker held, 0 where the system does not tell.
    """

    read_ms: float
    sha256_ms: float
    grey_ms: float
    decode_ms: float
    backbone_ms: float
    backbone_float_ms: float = 0.0
    examine_ms: float
    adult_ms: float
    stages: dict[str, float]
    two_cores: float = 0.0
    peak_bytes: int = 0

    @property
    def leasts(self) -> dict[str, tuple[float, float]]:
        """What any program must spend, in milliseconds: with a decode to grey, and to RGB.

        By how the backbone reckons: ``integers`` and, where that was measured, ``float``.
        """
        passes = {"float": self.backbone_float_ms, "integers": self.backbone_ms}
        before = self.read_ms + self.sha256_ms
        return {
            how: (before + self.grey_ms + spent, before + self.decode_ms + spent)
            for how, spent in passes.items()
            if spent
        }

    def over(self, spent_ms: float) -> dict[str, tuple[float, float]]:
        """Reading and an examination over each of ``leasts``; 1 is no work besides."""
        spent = self.read_ms + spent_ms
        return {how: (spent / grey, spent / rgb) for how, (grey, rgb) in self.leasts.items()}

    def lines(self) -> list[str]:
        """The figures, with the goals."""
        found = [
            f"read {self.read_ms:.1f} ms, SHA-256 {self.sha256_ms:.1f}, decode to grey"
            f" {self.grey_ms:.1f} (to RGB {self.decode_ms:.1f}), one pass of the backbone"
            f" {self.backbone_ms:.1f} in integers, "
            + (f"{self.backbone_float_ms:.1f} in float" if self.backbone_float_ms else NO_FLOAT),
            "least with grey (with RGB): "
            + ", ".join(f"{how} {g:.0f} ms ({rgb:.0f})" for how, (g, rgb) in self.leasts.items()),
        ]
        for what, spent in (("adult", self.adult_ms), ("no insect", self.examine_ms)):
            over = ", ".join(
                f"{how} {g:.2f} ({rgb:.2f})" for how, (g, rgb) in self.over(spent).items()
            )
            found.append(
                f"{what}: {spent:.0f} ms; over the least (goal, float with grey: {GOAL}): {over}"
            )
        told = ", ".join(f"{what} {spent:.1f}" for what, spent in self.stages.items())
        found.append(f"no insect, by stage: {told}")
        if self.two_cores:
            found.append(
                f"two processes {self.two_cores:.2f} times as fast as one (goal {CORES_GOAL});"
                f" peak of a worker {self.peak_bytes / 1e6:.0f} MB"
            )
        return found


def bench_examine(*, rounds: int = 5, cores: bool = False) -> Cost:
    """Measure on one core, the steps in turn.

    With ``cores`` also how much faster two processes are, by the clock on the wall.
    """
    import cv2
    import simplejpeg

    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    content, adult = textured_photo(), textured_photo(insect=True)
    small = networks.fitted(images.decode(content).rgb, BACKBONE_WIDTH)
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "photo.jpg"
            path.write_bytes(content)
            spent = medians(
                {
                    "read_ms": path.read_bytes,
                    "sha256_ms": lambda: hashlib.sha256(content).digest(),
                    "grey_ms": lambda: simplejpeg.decode_jpeg(content, "GRAY"),
                    "decode_ms": lambda: simplejpeg.decode_jpeg(content, "RGB"),
                    **_backbones(small, Path(folder)),
                    "examine_ms": lambda: examine_content(content),
                    "adult_ms": lambda: examine_content(adult),
                },
                rounds,
            )
            stages = _apart(medians(_stages(content), rounds))
            faster, peak = _on_two_cores(path) if cores else (0.0, 0)
    finally:
        cv2.setNumThreads(threads)
    return Cost(
        **{name: 1e3 * seconds for name, seconds in spent.items()},
        stages={what: 1e3 * seconds for what, seconds in stages.items()},
        two_cores=faster,
        peak_bytes=peak,
    )


def _backbones(rgb: images.Pixels, folder: Path) -> dict[str, Callable[[], object]]:
    """A pass of the class network: in integers and, where onnx is at hand, in float."""
    files = {"backbone_ms": networks.shipped("imagenet")}
    with contextlib.suppress(ImportError):
        from triage.bench.training.quantising import in_float

        files["backbone_float_ms"] = folder / "in_float.onnx"
        files["backbone_float_ms"].write_bytes(in_float(networks.shipped("imagenet")))
    names = ["features", "odonate", "classes"]
    return {
        name: partial(networks.outcomes, file, names, rgb, threads=1)
        for name, file in files.items()
    }


def _apart(spent: dict[str, float]) -> dict[str, float]:
    """The stages, each without those that stand by themselves."""
    own = {DECODE: ("header",), SEEN: ("insect network, whole photo", "insect network, close")}
    own[SEEN] += ("class network",)
    return {
        what: seconds - sum(spent[one] for one in own.get(what, ()))
        for what, seconds in spent.items()
    }


def _stages(content: bytes) -> dict[str, Callable[[], object]]:
    """The stages of an examination, each by itself."""
    rgb = images.decode(content).rgb
    half = images.halved(rgb, quality.LOOKED_AT_PX)
    quarter = images.halved(half, quality.PREVIEW_PX)
    preview = images.shrink(quarter, quality.PREVIEW_PX)
    grey = images.grey_of(preview)
    whole = images.halved(quarter, quality.SMALL_PX)
    seen = subject.look_at(half, small=whole)
    length = quality.length_px(seen.body_box, width=WIDTH, height=HEIGHT)
    sides = {
        side: networks.fitted(whole, side) for side in (subject.WHOLE_SIDE, subject.CLASS_SIDE)
    }
    close = networks.fitted(whole[:, : whole.shape[0]], subject.CLOSE_SIDE)  # about a square
    insect, classes = (
        partial(look, threads=1) for look in (networks.insect_maps, networks.class_look)
    )
    return {
        "SHA-256": lambda: hashlib.sha256(content).digest(),
        "header": lambda: images.read_header(content),
        DECODE: lambda: images.decode(content, reuse=True),
        "Exif": lambda: read_exif(content),
        "copies of a half and a quarter": lambda: images.halved(
            images.halved(rgb, quality.LOOKED_AT_PX), quality.PREVIEW_PX
        ),
        "insect network, whole photo": lambda: insect(sides[subject.WHOLE_SIDE]),
        "insect network, close": lambda: insect(close),
        "class network": lambda: classes(sides[subject.CLASS_SIDE]),
        SEEN: lambda: subject.look_at(half, small=whole),
        "faces": lambda: faces.count_faces(whole),
        "focus": lambda: sharpness.focus_on(
            rgb, seen.body_box, length_px=length, outline=seen.outline
        ),
        "exposure": lambda: quality.exposure_of(half, seen.body_box, preview=preview),
        "preview made": lambda: images.shrink(quarter, quality.PREVIEW_PX),
        "preview encoded": lambda: images.as_jpeg(preview),
        "keys of copies": lambda: pixel_keys(grey),
        "colours": lambda: colours.colour_signature(preview, seen.box),
    }


def _on_two_cores(path: Path) -> tuple[float, int]:
    """How many times as fast two processes are as one, and the most memory that one held."""
    clocks, peak = [], 0
    for processes in (1, 2):
        inputs = [str(path)] * (processes * PHOTOS_A_CORE)
        results = in_order(_WORK, inputs, processes=processes)
        next(results)  # when a process has started and loaded its models is not of interest
        start = time.perf_counter()
        peak = max(peak, *results)
        clocks.append((time.perf_counter() - start) / (len(inputs) - 1))
    return clocks[0] / clocks[1], peak


def _peak_after(path: str) -> int:
    """Examine a photo; the most memory that this process has held so far."""
    examine_content(Path(path).read_bytes())
    return peak_bytes()


def _none(_: str) -> int:
    return 0


_WORK = Work(function=_peak_after, crashed=_none, overdue=_none)


def textured_photo(*, insect: bool = False) -> bytes:
    """A 12-megapixel JPEG as full of detail at every scale as a photograph, and a sensor's noise.

    Its spectrum falls with frequency as those of natural scenes do (Field 1987,
    doi:10.1364/JOSAA.4.002379). With ``insect`` a drawn hawker is before it.
    """
    import cv2

    random = np.random.default_rng(0)
    scene = np.zeros((HEIGHT, WIDTH, 3), dtype=np.float32)
    side = 4
    while side <= 1024:
        layer = random.normal(0, 34 / side**0.22, (side * 3 // 4, side, 3)).astype(np.float32)
        scene += cv2.resize(layer, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
        side *= 2
    scene = scene * 0.5 + 118
    if insect:
        colour, alpha = _hawker()
        scene = scene * (1 - alpha) + colour
    scene += random.normal(0, 1.5, scene.shape).astype(np.float32)
    rgb = np.clip(scene, 0, 255).astype(np.uint8)
    return images.as_jpeg(rgb, quality=JPEG_QUALITY)


def _hawker() -> tuple[Any, Any]:
    """Colours times opacity, and opacity, of one seen from the side, half as long as the photo."""
    import cv2

    animal = build(LOOKS["Aeshna cyanea"], Pose(gape=7.0, droop=6.0, dihedral=-4.0))
    small = WIDTH // 4, HEIGHT // 4
    camera = Camera(azimuth=90, elevation=8, pixels_per_mm=0.45 * small[0] / animal.extent)
    layer = draw(animal, camera, *small, seed=0)
    colour, alpha = (
        cv2.resize(part, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
        for part in (255 * layer.colour, layer.alpha)
    )
    return colour, alpha[..., None]
