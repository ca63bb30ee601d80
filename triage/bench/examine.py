"""What examining a photo costs over the least that any program must do.

The least: read the file, its SHA-256, one full RGB decode by the fastest decoder in use, and one
pass of the backbone at 448 pixels.
"""

from __future__ import annotations

import hashlib
import tempfile
from dataclasses import dataclass
from importlib import resources
from pathlib import Path

import numpy as np

from triage.analysis import images
from triage.bench.running import medians
from triage.quality.examination import examine_content

WIDTH, HEIGHT = 4000, 3000  # 12 megapixels
JPEG_QUALITY = 92
GOAL = 2.5  # times the least
BACKBONE_WIDTH, BACKBONE_HEIGHT = 448, 320  # what 4 to 3 becomes in cells of 32 pixels


@dataclass(frozen=True, slots=True, kw_only=True)
class Cost:
    """Processor milliseconds of the steps of the least, of an examination, and their ratio."""

    read_ms: float
    sha256_ms: float
    decode_ms: float
    backbone_ms: float
    examine_ms: float

    @property
    def least_ms(self) -> float:
        """What any program must spend."""
        return self.read_ms + self.sha256_ms + self.decode_ms + self.backbone_ms

    @property
    def ratio(self) -> float:
        """Examination over the least; 1 would be no work besides."""
        return (self.read_ms + self.examine_ms) / self.least_ms

    def lines(self) -> list[str]:
        """The figures, with the goal."""
        return [
            f"read {self.read_ms:.1f} ms, SHA-256 {self.sha256_ms:.1f}, decode"
            f" {self.decode_ms:.1f}, one backbone pass {self.backbone_ms:.1f}: least"
            f" {self.least_ms:.0f} ms",
            f"examination {self.examine_ms:.0f} ms, ratio {self.ratio:.2f} (goal: at most {GOAL})",
        ]


def bench_examine(*, rounds: int = 5, seed: int = 0) -> Cost:
    """Measure on one core, the steps in turn, on a photo whose texture the seed decides."""
    import cv2
    import onnxruntime
    import simplejpeg

    threads = cv2.getNumThreads()
    cv2.setNumThreads(1)
    content = textured_photo(seed=seed)
    small = cv2.resize(images.decode(content).rgb, (BACKBONE_WIDTH, BACKBONE_HEIGHT))
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = options.inter_op_num_threads = 1
    network = onnxruntime.InferenceSession(
        (resources.files("triage.analysis.models") / "imagenet.onnx").read_bytes(), options
    )
    given = {network.get_inputs()[0].name: small[None]}
    try:
        with tempfile.TemporaryDirectory() as folder:
            path = Path(folder) / "photo.jpg"
            path.write_bytes(content)
            spent = medians(
                {
                    "read_ms": path.read_bytes,
                    "sha256_ms": lambda: hashlib.sha256(content).digest(),
                    "decode_ms": lambda: simplejpeg.decode_jpeg(content, "RGB"),
                    "backbone_ms": lambda: network.run(None, given),
                    "examine_ms": lambda: examine_content(content),
                },
                rounds,
            )
    finally:
        cv2.setNumThreads(threads)
    return Cost(**{name: 1e3 * seconds for name, seconds in spent.items()})


def textured_photo(*, seed: int = 0) -> bytes:
    """A 12-megapixel JPEG as full of detail at every scale as a photograph, and a sensor's noise.

    Its spectrum falls with frequency as those of natural scenes do (Field 1987,
    doi:10.1364/JOSAA.4.002379).
    """
    import cv2

    random = np.random.default_rng(seed)
    scene = np.zeros((HEIGHT, WIDTH, 3), dtype=np.float32)
    side = 4
    while side <= 1024:
        layer = random.normal(0, 34 / side**0.22, (side * 3 // 4, side, 3)).astype(np.float32)
        scene += cv2.resize(layer, (WIDTH, HEIGHT), interpolation=cv2.INTER_CUBIC)
        side *= 2
    scene += random.normal(0, 3.0, scene.shape).astype(np.float32)
    rgb = np.clip(scene * 0.5 + 118, 0, 255).astype(np.uint8)
    return images.as_jpeg(rgb, quality=JPEG_QUALITY)
