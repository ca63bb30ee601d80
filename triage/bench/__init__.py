"""Folders and labels in, figures for docs/ out: speed as ratios, accuracy with intervals."""
