"""Labelled photos in, how well the insect is seen in them out: figures and a sheet of mistakes."""

from triage.bench.vision.bench import VisionFigures, bench

__all__ = ["VisionFigures", "bench"]
