"""The colours of the pages can be told from each other, by their figures alone.

WCAG 2.2: 1.4.3 (words, 4.5 to 1) and 1.4.11 (edges of fields, the focus and what is
drawn on maps, 3 to 1); relative luminance as defined there.
"""

from __future__ import annotations

import re
from itertools import product
from pathlib import Path

import pytest

import triage

PAPER = (Path(triage.__file__).parent / "desk" / "static" / "paper.css").read_text("utf-8")
GROUNDS = ("paper", "sheet", "shade", "mark")
WORDS = ("ink", "quiet", "water", "warn")
DRAWN = ("quiet", "water", "focus")


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (v / 12.92 if v <= 0.04045 else ((v + 0.055) / 1.055) ** 2.4 for v in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    """From 1, the same, to 21, black on white."""
    dark, pale = sorted((luminance(one), luminance(other)))
    return (pale + 0.05) / (dark + 0.05)


def test_black_on_white_and_a_published_pair():
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)  # WCAG, F24 and G18


@pytest.mark.parametrize("theme", ["light", "dark"])
def test_words_edges_and_rings_are_seen_on_every_ground(theme: str):
    blocks = re.findall(r"\{ (--paper: #[^}]+)\}|\{\n  (--paper[^}]+?)--serif", PAPER)
    found = [dict(re.findall(r"--(\w+(?:-\w+)?): (#[0-9a-f]{6})", "".join(one))) for one in blocks]
    light, *dark = [one for one in found if len(one) > 5]
    assert dark[0] == dark[1]  # chosen, and as the system has it
    colours = light if theme == "light" else light | dark[0]
    pairs = [(4.5, *pair) for pair in product(WORDS, GROUNDS)]
    pairs += [(3.0, *pair) for pair in product(DRAWN, GROUNDS)]
    pairs.append((4.5, "water-ink", "water"))
    pale = {
        f"{one} on {other}": round(ratio, 2)
        for least, one, other in pairs
        if (ratio := contrast(colours[one], colours[other])) < least
    }
    assert pale == {}
