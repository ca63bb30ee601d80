"""Plots how taxa accumulate over visits, and rarefaction over individuals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from triage.report import style
from triage.report.parts import Plot
from triage.report.richness_tables import CurvePoint
from triage.report.tables_of_numbers import curves_table
from triage.report.wording import plot_words, written

_LOOKS = {"exuviae": (style.SAND, "//", "s"), "adults": (style.WATER, "", "o")}


def curves_plot(points: Sequence[CurvePoint], *, by: str, name: str) -> Plot | None:
    """How the number of taxa grows, within what was found and to twice as much of it.

    By samples it accumulates with visits (exuviae) and outings (adults); by individuals it is
    rarefaction.
    """
    chosen = [point for point in points if point.by == by]
    if not chosen:
        return None
    labels = written("words.toml")["plots"][name]
    records = [record for record in _LOOKS if any(p.record == record for p in chosen)]
    with style.figure(7.6, 3.4) as made:
        panels = made.subplots(1, len(records), squeeze=False)[0]
        for axes, record in zip(panels, records, strict=True):
            _curve(axes, [p for p in chosen if p.record == record], record)
            axes.set_xlabel(labels[record])
            axes.set_ylabel("expected number of taxa")
        top = max(axes.get_ylim()[1] for axes in panels)
        for axes in panels:
            axes.set_ylim(0, top)
        return style.drawn(made, name=name, data=curves_table(chosen), **plot_words(name))


def _curve(axes: Any, points: Sequence[CurvePoint], record: str) -> None:
    from matplotlib.ticker import MaxNLocator

    colour, hatch, marker = _LOOKS[record]
    sizes = [p.size for p in points]
    axes.fill_between(
        sizes,
        [p.estimate.low for p in points],
        [p.estimate.high for p in points],
        facecolor=colour,
        alpha=0.22,
        edgecolor=colour,
        hatch=hatch or None,
        linewidth=0,
    )
    within = [p for p in points if p.kind != "extrapolation"]
    beyond = [within[-1], *(p for p in points if p.kind == "extrapolation")]
    for part, line in ((within, "-"), (beyond, (0, (4, 3)))):
        heights = [p.estimate.value for p in part]
        axes.plot([p.size for p in part], heights, color=style.INK, lw=1.6, ls=line)
    axes.plot(
        within[-1].size,
        within[-1].estimate.value,
        marker=marker,
        markersize=7,
        markerfacecolor=colour,
        markeredgecolor=style.INK,
        ls="",
    )
    axes.set_xlim(0, max(sizes) * 1.04)
    axes.xaxis.set_major_locator(MaxNLocator(integer=True, nbins=6))
    axes.yaxis.set_major_locator(MaxNLocator(integer=True))
    axes.grid(axis="y")
    axes.set_axisbelow(True)
