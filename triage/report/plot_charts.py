"""Draw the evidence of each taxon at each site, and the two lists of each site."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from triage.estimates.similarity import ListComparison
from triage.matching import SiteEvidence, strongest_evidence
from triage.report import style
from triage.report.lists import SiteLists
from triage.report.material import Material
from triage.report.parts import Plot, with_interval
from triage.report.tables_of_sites import evidence_table, lists_table
from triage.report.wording import plot_labels, plot_words
from triage.standards.letters import alphabetical

MOST_TAXA, MOST_SITES = 60, 40

_MARKS: dict[str, tuple[str, str, str]] = {
    "exuviae": ("s", style.DARK, style.DARK),
    "teneral": ("^", style.SAND, style.INK),
    "oviposition": ("v", style.SAND, style.INK),
    "pair": ("D", "white", style.INK),
    "exuviae to a coarser rank": ("s", "white", style.DARK),
    "adults": ("o", style.WATER, style.WATER),
    "adults out of season": ("o", "white", style.WATER),
    "waiting for a second look": ("$?$", style.QUIET, style.QUIET),
    "searched and not found": ("x", style.QUIET, style.QUIET),
}
_PARTS: tuple[tuple[str, str, str | None, str], ...] = (
    ("exuviae only", style.SAND, "//", "only_second"),
    ("adults and exuviae", style.DARK, None, "shared"),
    ("adults only", "white", None, "only_first"),
)
_SIZES = {"exuviae": 84, "searched and not found": 30}


def evidence_plot(material: Material, evidence: Sequence[SiteEvidence]) -> Plot | None:
    """The strongest evidence of every taxon at every site."""
    best = strongest_evidence(evidence)
    if not best:
        return None
    labels = plot_labels(material)
    weight: dict[str, int] = {}
    for row in evidence:
        weight[row.scientific_name] = weight.get(row.scientific_name, 0) + row.count
    most = sorted(weight, key=lambda name: (-weight[name], name))[:MOST_TAXA]
    taxa = _in_order_of_the_checklist(material, most)
    sites = sorted({one for one, _ in best}, key=lambda one: alphabetical(labels[one]))[:MOST_SITES]
    width, height = max(7.6, 3.2 + 0.5 * len(sites)), 2.6 + 0.27 * len(taxa)
    with style.figure(width, height) as made:
        axes = made.subplots()
        axes.set_xticks(
            range(len(sites)),
            [labels[s] for s in sites],
            rotation=40,
            ha="left",
            rotation_mode="anchor",
        )
        axes.xaxis.tick_top()
        style.taxon_ticks(axes, taxa)
        axes.tick_params(length=0)
        axes.grid()
        axes.set_axisbelow(True)
        for kind, look in _MARKS.items():
            cells = [
                (sites.index(site), taxa.index(name))
                for (site, name), row in best.items()
                if row.evidence == kind and site in sites and name in taxa
            ]
            if cells:
                size = _SIZES.get(kind, 62)
                style.marks(axes, cells, look, size=size, width=1.3, label=kind)
        for place in _breaks(material, taxa):
            axes.axhline(place, color=style.QUIET, linewidth=0.9)
        style.without_frame(axes)
        axes.set_xlim(-0.6, len(sites) - 0.4)
        axes.set_ylim(len(taxa) - 0.4, -0.6)
        made.legend(loc="outside lower center", ncols=3, handletextpad=0.4)
        cut = len(weight) > MOST_TAXA or len({s for s, _ in best}) > MOST_SITES
        return style.drawn(
            made,
            name="evidence",
            data=evidence_table(material, evidence),
            **plot_words(
                "evidence",
                cut=" The taxa with most records; the whole is in the file." if cut else "",
            ),
        )


def lists_plot(material: Material, lists: Sequence[SiteLists]) -> Plot | None:
    """How many species each site has in both lists and in one of them."""
    chosen = [one for one in lists if one.year is None and one.rank == "species"]
    chosen = [one for one in chosen if one.comparison.jaccard.value == one.comparison.jaccard.value]
    if not chosen:
        return None
    labels = plot_labels(material)
    whole = [one for one in chosen if not one.location_id]
    chosen = [*whole, *[one for one in chosen if one.location_id][:MOST_SITES]]
    from matplotlib.ticker import MaxNLocator

    with style.figure(7.6, 1.4 + 0.36 * len(chosen)) as made:
        axes = made.subplots()
        for position, one in enumerate(reversed(chosen)):
            _list_bar(axes, position, one.comparison)
        names = [labels.get(one.location_id, "all sites") for one in chosen]
        axes.set_yticks(range(len(chosen)), list(reversed(names)))
        axes.tick_params(axis="y", length=0)
        axes.set_xlabel("species")
        axes.xaxis.set_major_locator(MaxNLocator(integer=True))
        longest = max(
            sum(len(getattr(one.comparison, part)) for *_, part in _PARTS) for one in chosen
        )
        axes.set_xlim(0, longest * 1.45)
        made.legend(handles=_patches(), loc="outside lower center", ncols=3)
        table = lists_table(material, lists)
        return style.drawn(made, name="lists", data=table, **plot_words("lists"))


def _breaks(material: Material, taxa: Sequence[str]) -> list[float]:
    """Where the suborder changes."""
    suborders = [material.checklist.lineage(name).get("suborder", "") for name in taxa]
    return [i + 0.5 for i in range(len(taxa) - 1) if suborders[i] != suborders[i + 1]]


def _list_bar(axes: Any, level: float, comparison: ListComparison) -> None:
    """One bar of three parts with their counts, and the likeness of the two lists beside it."""
    left = 0
    for _, fill, hatch, part in _PARTS:
        count = len(getattr(comparison, part))
        look = {"facecolor": fill, "hatch": hatch, "edgecolor": style.INK, "linewidth": 0.8}
        axes.barh(level, count, left=left, height=0.6, **look)
        if count:
            dark = fill == style.DARK
            axes.text(
                left + count / 2,
                level,
                str(count),
                ha="center",
                va="center",
                fontsize=8,
                color="white" if dark else style.INK,
                bbox=None if dark else {"boxstyle": "round,pad=0.12", "fc": "white", "ec": "none"},
            )
        left += count
    likeness = f"  J {with_interval(comparison.jaccard)}"
    axes.text(left, level, likeness, va="center", fontsize=8)


def _patches() -> list[Any]:
    from matplotlib.patches import Patch

    return [
        Patch(facecolor=fill, hatch=hatch, edgecolor=style.INK, label=words)
        for words, fill, hatch, _ in _PARTS
    ]


def _in_order_of_the_checklist(material: Material, names: Sequence[str]) -> list[str]:
    """Damselflies and dragonflies by family, then by name."""

    def key(name: str) -> tuple[str, str, str]:
        line = material.checklist.lineage(name)
        return line.get("suborder", "~"), line.get("family", "~"), name

    return sorted(names, key=key)
