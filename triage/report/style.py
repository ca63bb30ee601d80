"""The look that all plots share; a figure becomes PNG and SVG, the same bytes every time."""

from __future__ import annotations

import io
import re
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from typing import TYPE_CHECKING, Any

from triage.checklist.names import is_italic
from triage.report.parts import Plot, Table
from triage.report.wording import MONTHS, written

if TYPE_CHECKING:
    from matplotlib.figure import Figure

COLOURS: dict[str, str] = written("look.toml")["colours"]
INK, QUIET, LINE, WATER, DARK, SAND, LIGHT = (
    COLOURS[name] for name in ("ink", "quiet", "line", "water", "dark", "sand", "light")
)

PIXELS_PER_INCH = 150

MONTH_STARTS = (1, 32, 60, 91, 121, 152, 182, 213, 244, 274, 305, 335, 366)
"""Days of a year of 365 days on which months begin; the last is the end of the year."""


@contextmanager
def figure(width: float, height: float) -> Iterator[Figure]:
    """An empty figure in the house look, in inches; nothing of it stays behind."""
    import matplotlib as mpl
    from matplotlib.backends.backend_agg import FigureCanvasAgg
    from matplotlib.figure import Figure

    look = written("look.toml")["plots"]
    with mpl.rc_context({key: COLOURS.get(str(of), of) for key, of in look.items()}):
        made = Figure(figsize=(width, height), layout="constrained")
        FigureCanvasAgg(made)
        yield made


def drawn(made: Figure, *, name: str, title: str, caption: str, data: Table) -> Plot:
    """The figure as a plot with the table that it shows; call inside :func:`figure`."""
    png, svg = io.BytesIO(), io.BytesIO()
    made.savefig(png, format="png", dpi=PIXELS_PER_INCH, metadata={"Software": None})
    made.savefig(svg, format="svg", metadata={"Date": None, "Creator": None})
    width, height = made.get_size_inches()
    return Plot(
        name=name,
        title=title,
        caption=caption,
        png=png.getvalue(),
        svg=_shortened(svg.getvalue().decode("utf-8")).encode("utf-8"),
        columns=data.columns,
        rows=data.rows,
        width=round(width * PIXELS_PER_INCH),
        height=round(height * PIXELS_PER_INCH),
    )


def marks(
    axes: Any,
    points: Sequence[tuple[float, float]],
    look: tuple[str, str, str],
    *,
    size: float | Sequence[float],
    width: float = 1.0,
    label: str | None = None,
    zorder: float = 3,
) -> None:
    """Marks of one look (marker, fill, edge) at these points; a cross is all edge."""
    marker, fill, edge = look
    colours = {"color": edge} if marker in "x|" else {"facecolor": fill, "edgecolor": edge}
    axes.scatter(
        [x for x, _ in points],
        [y for _, y in points],
        s=size,
        marker=marker,
        linewidth=width,
        label=label,
        zorder=zorder,
        **colours,
    )


def without_frame(axes: Any) -> None:
    """Neither the lines round a plot nor the strokes at its names."""
    for side in axes.spines.values():
        side.set_visible(False)


def months(axes: Any, first: float, last: float) -> None:
    """Months along the horizontal axis, from the first to the last day shown."""
    axes.set_xlim(first, last)
    starts = [day + year for year in (0, 365) for day in MONTH_STARTS[:-1]]
    shown = [day for day in starts if first <= day <= last]
    axes.set_xticks(shown, ["" for _ in shown])
    for index, start in enumerate(starts):
        middle = start + 15
        if first <= middle <= last:
            axes.text(
                middle,
                -0.012,
                MONTHS[index % 12],
                transform=axes.get_xaxis_transform(),
                ha="center",
                va="top",
            )
    axes.grid(axis="x")
    axes.set_axisbelow(True)


def taxon_ticks(axes: Any, names: Sequence[str]) -> None:
    """Names of taxa along the vertical axis, those of genera and species in italics."""
    axes.set_yticks(range(len(names)), names)
    for label, name in zip(axes.get_yticklabels(), names, strict=True):
        label.set_fontstyle("italic" if is_italic(name) else "normal")


_PLACED = re.compile(r'( (?:d|x|y|points)="|translate\()([^")]*)')
_LONG = re.compile(r"-?\d+\.\d{3,}")


def _shortened(svg: str) -> str:
    """Two decimals of a pixel for everything placed: a quarter of the bytes, the same picture."""

    def place(found: re.Match[str]) -> str:
        return found.group(1) + _LONG.sub(lambda n: f"{float(n.group()):.2f}", found.group(2))

    return _PLACED.sub(place, svg)
