"""Plots flight season and emergence, one line of the year for each taxon."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

from triage.report import style
from triage.report.parts import Plot
from triage.report.seasons import SeasonRow
from triage.report.tables_of_numbers import seasons_table
from triage.report.wording import plot_words

MOST_TAXA = 40
MOST_STROKES = 30  # single days in a bar; more of them are a black line
FEWEST_FOR_A_BAR = 5  # fewer records have no middle 80 %


def season_plot(rows: Sequence[SeasonRow], *, year: int | None) -> Plot | None:
    """Flight season against emergence in one year (None: all years together)."""
    chosen = [row for row in rows if row.year == year]
    if not chosen:
        return None
    taxa = _ordered(chosen)[:MOST_TAXA]
    by_key = {(row.scientific_name, row.record): row for row in chosen}
    height = 1.4 + 0.36 * len(taxa)
    with style.figure(7.6, height) as made:
        axes = made.subplots()
        for position, name in enumerate(reversed(taxa)):
            axes.axhline(position, color=style.LINE, linewidth=0.6, zorder=0)
            for record, offset in (("adults", 0.17), ("exuviae", -0.17)):
                row = by_key.get((name, record))
                if row is not None:
                    _line(axes, row, position + offset)
        shown = [row for row in chosen if row.scientific_name in taxa]
        first = min(row.season.first for row in shown)
        last = max(row.season.last for row in shown)
        style.months(axes, _month_start(first - 5), _month_end(last + 5))
        style.taxon_ticks(axes, list(reversed(taxa)))
        axes.tick_params(axis="y", length=0)
        axes.spines["left"].set_visible(False)
        axes.set_ylim(-0.7, len(taxa) - 0.3)
        made.legend(handles=_legend(shown), loc="outside lower center", ncols=3)
        return style.drawn(
            made,
            name="seasons" if year is None else f"seasons-{year}",
            data=seasons_table(chosen),
            **plot_words(
                "seasons",
                when="all years" if year is None else str(year),
                fewest=FEWEST_FOR_A_BAR,
                cut=f" The {MOST_TAXA} taxa with most records of {len(_ordered(chosen))}; the rest"
                " stand in the file."
                if len(_ordered(chosen)) > MOST_TAXA
                else "",
            ),
        )


def _ordered(rows: Sequence[SeasonRow]) -> list[str]:
    """The taxa with most records, those that emerge or fly first at the top."""
    records: dict[str, int] = {}
    start: dict[str, float] = {}
    for row in rows:
        name = row.scientific_name
        records[name] = records.get(name, 0) + row.season.records
        start[name] = min(start.get(name, math.inf), row.season.median)
    most = sorted(records, key=lambda name: (-records[name], name))[:MOST_TAXA]
    rest = sorted(records.keys() - set(most))
    return sorted(most, key=lambda name: (start[name], name)) + rest


def _line(axes: Any, row: SeasonRow, level: float) -> None:
    season, adults = row.season, row.record == "adults"
    colour = style.WATER if adults else style.SAND
    axes.plot([season.first, season.last], [level, level], color=style.INK, linewidth=0.9, zorder=2)
    if season.records >= FEWEST_FOR_A_BAR:
        axes.barh(
            level,
            max(season.p90 - season.p10, 1.0),
            left=season.p10,
            height=0.22,
            facecolor=colour if adults else "white",
            edgecolor=style.INK if adults else colour,
            hatch=None if adults else "/////",
            linewidth=0.8,
            zorder=3,
        )
        median = [season.median, season.median]
        axes.plot(median, [level - 0.16, level + 0.16], color=style.INK, linewidth=2.0, zorder=5)
        if season.records <= MOST_STROKES:
            days = [(day, level) for day in row.days]
            style.marks(axes, days, ("|", style.INK, style.INK), size=22, width=0.6, zorder=4)
        return
    look = ("o", colour, style.INK) if adults else ("s", "white", colour)
    days = [(day, level) for day in row.days]
    style.marks(axes, days, look, size=30, width=0.8 if adults else 1.6, zorder=4)


def _legend(rows: Sequence[SeasonRow]) -> list[Any]:
    from matplotlib.lines import Line2D
    from matplotlib.patches import Patch

    def dot(marker: str, fill: str, edge: str, width: float, words: str) -> Line2D:
        return Line2D(
            [],
            [],
            linestyle="",
            marker=marker,
            markersize=6,
            markerfacecolor=fill,
            markeredgecolor=edge,
            markeredgewidth=width,
            label=words,
        )

    made: list[Any] = []
    few = {row.record for row in rows if row.season.records < FEWEST_FOR_A_BAR}
    if "adults" in few:
        made.append(dot("o", style.WATER, style.INK, 0.8, "adults, single days"))
    if "exuviae" in few:
        made.append(dot("s", "white", style.SAND, 1.6, "exuviae, single collections"))
    if any(row.season.records >= FEWEST_FOR_A_BAR for row in rows):
        made += [
            Patch(facecolor=style.WATER, edgecolor=style.INK, label="adults, middle 80 %"),
            Patch(
                facecolor="white", edgecolor=style.SAND, hatch="/////", label="exuviae, middle 80 %"
            ),
            dot("|", style.INK, style.INK, 2.0, "median"),
        ]
    return [*made, Line2D([], [], color=style.INK, lw=0.9, label="first to last record")]


def _month_start(day: float) -> int:
    return max((start for start in style.MONTH_STARTS if start <= max(day, 1)), default=1)


def _month_end(day: float) -> int:
    """The end of the month; a season over the new year ends in the next one."""
    ends = [start + year for year in (0, 365) for start in style.MONTH_STARTS]
    return min((end for end in ends if end >= day), default=ends[-1])
