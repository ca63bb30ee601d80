"""Measure how well the insect is seen in labelled photos: intervals, a sheet of mistakes."""

from triage.bench.vision.bench import VisionFigures, bench
