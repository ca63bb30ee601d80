"""Plots how taxa accumulate over visits, and rarefaction over individuals."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from triage.report import style
from triage.report.parts import Plot
from triage.report.richness_tables import CurvePoint
from triage.report.tables_of_numbers import curves_table

_LOOKS = {
    "exuviae": (style.SAND, "//", "s"),
    "adults": (style.WATER, "", "o"),
}


def accumulation_plot(points: Sequence[CurvePoint]) -> Plot | None:
    """How the number of taxa grows with visits (exuviae) and with outings (adults)."""
    chosen = [point for point in points if point.by == "samples"]
    if not chosen:
        return None
    titles = {"exuviae": "visits (exuviae)", "adults": "outings (adults)"}
    return _panels(
        chosen,
        name="accumulation",
        title="Accumulation of taxa",
        labels=titles,
        caption=(
            "Full line: mean over all orders of the samples, exact; broken line: extrapolation to"
            " twice as many; the mark is the survey itself. The band is 95 % (Colwell et al. 2012;"
            " beyond the survey by samples from the estimated community). A sample is one visit, or"
            " one observer's day at one place. A curve that still climbs says that more taxa are"
            " there."
        ),
    )


def rarefaction_plot(points: Sequence[CurvePoint]) -> Plot | None:
    """Expected taxa by individuals, within the sample and to twice its size."""
    chosen = [point for point in points if point.by == "individuals"]
    if not chosen:
        return None
    return _panels(
        chosen,
        name="rarefaction",
        title="Rarefaction and extrapolation",
        labels={"exuviae": "exuviae (skins)", "adults": "adults (sightings)"},
        caption=(
            "Full line: rarefaction within the sample; broken line: extrapolation to twice the"
            " sample; the mark is the sample itself. The band is 95 % over samples of this size"
            " from the estimated community (Chao et al. 2014). Skins of one visit are not"
            " independent draws, so the band is narrower than the truth."
        ),
    )


def _panels(
    points: Sequence[CurvePoint], *, name: str, title: str, labels: dict[str, str], caption: str
) -> Plot:
    records = [record for record in labels if any(p.record == record for p in points)]
    with style.figure(7.6, 3.4) as made:
        panels = made.subplots(1, len(records), squeeze=False)[0]
        for axes, record in zip(panels, records, strict=True):
            _curve(axes, [p for p in points if p.record == record], record)
            axes.set_xlabel(labels[record])
            axes.set_ylabel("expected number of taxa")
        top = max(axes.get_ylim()[1] for axes in panels)
        for axes in panels:
            axes.set_ylim(0, top)
        return style.drawn(
            made,
            name=name,
            title=title,
            caption=caption,
            data=curves_table(points),
        )


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
    beyond = [p for p in points if p.kind == "extrapolation"]
    axes.plot([p.size for p in within], [p.estimate.value for p in within], color=style.INK, lw=1.6)
    if beyond:
        tail = [within[-1], *beyond]
        axes.plot(
            [p.size for p in tail],
            [p.estimate.value for p in tail],
            color=style.INK,
            lw=1.6,
            ls=(0, (4, 3)),
        )
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
