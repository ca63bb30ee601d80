"""Measure how well the insect is seen in labelled photos: every figure with its interval."""

from triage.bench.vision.bench import VisionFigures, bench
