"""Names beside plots stay short, and one photo from far away does not shrink the map."""

from __future__ import annotations

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader
from report_making import content, material
from tests_support import NOW

from triage.report.findings import find
from triage.report.material import Material
from triage.report.plot_charts import lists_plot
from triage.report.plot_map import map_plot
from triage.report.search_sheets import search_sheet
from triage.report.wording import PLOT_LETTERS, plot_labels, shortened

LONG = "The flooded brickworks at Upper Heron, northern basin, beside the old railway"


def renamed(*names: str) -> Material:
    """The small survey with its first sites under these names."""
    here = content()
    sites = tuple(
        replace(site, locality=name) for site, name in zip(here.sites, names, strict=False)
    )
    return material(replace(here, sites=(*sites, *here.sites[len(names) :])), internal=True)


@pytest.mark.parametrize("name", [LONG, "x" * 200, "Pool", "Ł" * 31])
def test_a_name_beside_a_plot_has_room(name: str):
    assert len(shortened(name)) <= PLOT_LETTERS
    assert shortened(name)[0] == name[0]
    assert (shortened(name) == name) == (len(name) <= PLOT_LETTERS)


def test_two_long_names_that_look_alike_when_cut_carry_their_identifiers():
    labels = plot_labels(renamed(LONG, LONG.replace("northern", "southern")))
    assert len(set(labels.values())) == len(labels)
    assert max(map(len, labels.values())) <= PLOT_LETTERS


def test_bars_keep_their_room_beside_a_long_name():
    """Matplotlib warns, and every warning is an error here, where the axes have no room left."""
    here = renamed(LONG * 3)
    plot = lists_plot(here, find(here).lists)
    assert plot is not None
    assert any(LONG in str(cell) for row in plot.rows for cell in row)


def test_an_adult_far_from_every_site_is_told_and_not_drawn():
    here = content()
    far = replace(
        here.sightings[0], identifier="f" * 16, decimal_latitude=52.1, decimal_longitude=20.9
    )
    near = map_plot(material(here, internal=True), find(material(here, internal=True)))
    with_far = material(replace(here, sightings=(*here.sightings, far)), internal=True)
    drawn = map_plot(with_far, find(with_far))
    assert near is not None
    assert drawn is not None
    assert "1 adult sighting lies more than 10 km from every site" in drawn.caption
    assert "outside the map" not in near.caption
    assert (drawn.width, drawn.height) == pytest.approx((near.width, near.height), abs=9)
    assert len(drawn.rows) > len(near.rows)


def test_a_search_sheet_is_one_page_however_many_taxa_are_looked_for():
    here = renamed(LONG)
    one = find(here).priorities[0]
    names = tuple(f"Anax imperator var. number {n}" for n in range(60))
    many = replace(one, taxa=names, days_by_taxon=tuple((n, "05-20", "07-01") for n in names[:25]))
    read = PdfReader(io.BytesIO(search_sheet(here, many, now=NOW)))
    assert len(read.pages) == 1
    text = read.pages[0].extract_text()
    assert "What you did and found" in text
    assert "Never go alone" in text
