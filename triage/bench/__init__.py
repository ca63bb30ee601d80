"""Measures for docs/figures/: speed as ratios, accuracy with intervals."""
