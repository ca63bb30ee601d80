"""Draws the small plot of a season letter: one person's sightings by month."""

from __future__ import annotations

import io
from collections.abc import Mapping

from triage.report import style

WIDTH, HEIGHT = 5.0, 2.2  # inches


def months_plot(months: Mapping[int, int], *, title: str) -> bytes:
    """A PNG with a bar for each month (1 to 12), its number written on it.

    The same counts give the same bytes.
    """
    with style.figure(WIDTH, HEIGHT) as made:
        axes = made.subplots()
        counts = [months.get(number, 0) for number in range(1, 13)]
        bars = axes.bar(range(1, 13), counts, color=style.WATER, width=0.7)
        axes.bar_label(bars, labels=[str(count) if count else "" for count in counts])
        axes.set_xticks(range(1, 13))  # numbers: they need no language
        axes.set_yticks([])
        axes.set_ylim(0, max([*counts, 1]) * 1.2)
        axes.spines["left"].set_visible(False)
        axes.set_title(title, loc="left")
        png = io.BytesIO()
        made.savefig(png, format="png", dpi=style.PIXELS_PER_INCH, metadata={"Software": None})
        return png.getvalue()
