"""The room of sites: what stands on the map, what a site shows, the sheet, and the tiles."""

from __future__ import annotations

import io
import math
import re
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, photographed, served, until
from desk.desks import come_in, desk_of, post
from flask import Flask
from hypothesis import given
from hypothesis import strategies as st
from maps_made import RED, gridded, pixel_at, write_archive, write_map
from PIL import Image
from records_made import site
from tests_support import NOW

from triage.analysis import geodesy
from triage.desk import create_app, ground_map
from triage.desk.ground_map import Ground
from triage.desk.work import Stand, Work
from triage.pipeline import match
from triage.pipeline import sites as stage
from triage.store import evidence, ground, sightings
from triage.store.connection import create_survey, open_survey
from triage.store.ground import Spot


def spot(latitude: float, longitude: float) -> Spot:
    return Spot(
        decimal_latitude=latitude, decimal_longitude=longitude, count=1, days="", first="", last=""
    )


@given(
    st.floats(min_value=-60, max_value=60),
    st.floats(min_value=-0.01, max_value=0.01),
    st.floats(min_value=-0.01, max_value=0.01),
)
def test_lengths_near_the_centre_are_those_on_the_ground(latitude, north, east):
    """Against the geodesic on the ellipsoid: within a per cent, a metre for the shortest."""
    x, y = Ground(latitude=latitude, longitude=20.0).point(20.0 + east, latitude + north)
    on_the_ground = geodesy.distance(latitude, 20.0, latitude + north, 20.0 + east)
    assert math.hypot(x, y) == pytest.approx(on_the_ground, rel=0.01, abs=1.0)


def test_the_map_has_every_site_with_its_shore():
    lake = "POLYGON ((21.69 53.90, 21.70 53.90, 21.70 53.91, 21.69 53.90))"
    river = "LINESTRING (21.69 53.90, 21.70 53.91)"
    drawn = ground_map.draw(
        [
            site("lake", 53.9, 21.69, footprint_wkt=lake),
            site("river", 53.91, 21.7, footprint_wkt=river),
        ],
        [spot(53.9, 21.69)],
    )
    assert drawn is not None
    assert [(len(s.areas), len(s.lines)) for s in drawn.sites] == [(1, 0), (0, 1)]
    assert all(abs(s.x) <= drawn.half and abs(s.y) <= drawn.half for s in drawn.sites)
    assert [(s.x, s.y) for s in drawn.spots] == [(drawn.sites[0].x, drawn.sites[0].y)]
    assert ground_map.draw([], []) is None


def test_a_site_shows_its_matches_with_ranges_and_photos(walked: Path):
    client = come_in(desk_of(walked))
    page = client.get("/sites/?site=LNT-01").get_data(as_text=True)
    assert "<h2>Heron Mere</h2>" in page
    with open_survey(walked) as survey:
        whole = stage.whole_site(survey, "LNT-01")
    assert whole.matches
    assert whole.found
    for one in whole.found:
        assert f"<i>{one.written}</i> {one.count} exuvia" in page
        assert ", ".join(map(str, one.years)) in page
    first = whole.matches[0]
    share = f"{100 * first.match.share:.0f} %"
    low_high = f"({100 * first.match.share_low:.0f} to {100 * first.match.share_high:.0f} %)"
    assert share in page
    assert low_high in page
    assert f"/picture/{first.photo}/small" in page
    with client.get(f"/picture/{first.photo}/small") as picture:
        assert picture.status_code == 200
    piece = client.get("/sites/at?site=LNT-01").get_data(as_text=True)
    assert "<html" not in piece
    assert "Heron Mere" in piece


@pytest.mark.parametrize(
    "path",
    [
        "/sites/?site=nowhere",
        "/sites/at?site=<script>",
        "/sites/sheet/999.pdf",
        "/sites/sheet/../../survey.toml",
        "/sites/tile/0/0/0",
        "/sites/tile/0/0/../../survey.db",
    ],
)
def test_what_is_not_there_is_not_found(walked: Path, path: str):
    answer = come_in(desk_of(walked)).get(path)
    assert answer.status_code == 404
    assert "<script>" not in answer.get_data(as_text=True)


def test_the_table_says_the_kind_of_evidence_in_words(walked: Path):
    page = come_in(desk_of(walked)).get("/sites/table").get_data(as_text=True)
    found = re.search(r'<abbr title="([^"]+ at [^"]+: exuviae, \d+[^"]*)"[^>]*>E</abbr>', page)
    assert found is not None
    assert "exuviae</dd>" in page


def test_places_to_look_next_have_days_cautions_and_a_sheet(walked: Path):
    client = come_in(desk_of(walked))
    page = client.get("/sites/next").get_data(as_text=True)
    assert "Where to look next" in page
    ranks = re.findall(r"/sites/sheet/(\d+)\.pdf", page)
    if not ranks:
        assert "No place stands out yet" in page
        return
    assert "never alone" in page.casefold() or "alone" in page
    sheet = client.get(f"/sites/sheet/{ranks[0]}.pdf")
    assert sheet.mimetype == "application/pdf"
    assert sheet.data.startswith(b"%PDF")


def behind(app: Flask) -> Stand:
    """Where the figures that are made behind a page stand once they are done."""
    work: Work = app.extensions["figures"]
    work.join(60)
    return work.stand()


def test_where_to_look_next_is_worked_out_behind_the_page_and_again_after_a_change(
    evening: Path, monkeypatch: pytest.MonkeyPatch
):
    monkeypatch.setattr(stage, "FEW", 0)
    app = create_app(evening, now=lambda: NOW)
    client = come_in(app.test_client())
    assert "worked out behind this page" in client.get("/sites/next").get_data(as_text=True)
    assert behind(app).problem == ""
    ready = client.get("/sites/next").get_data(as_text=True)
    assert "behind this page" not in ready
    sighting = client.get("/determine/next").get_data(as_text=True)
    number = sighting.partition('data-sighting="')[2].partition('"')[0]
    named = {"sighting": number, "taxon": "Aeshna mixta"}
    assert post(client, "/determine/record", named).status_code == 200
    older = client.get("/sites/next").get_data(as_text=True)
    assert "Something changed since this list was made" in older
    assert behind(app).problem == ""
    assert "Something changed" not in client.get("/sites/next").get_data(as_text=True)


def test_a_table_that_takes_long_is_made_behind_the_page(walked: Path, monkeypatch):
    monkeypatch.setattr(stage, "FEW", -1)
    app = create_app(walked, now=lambda: NOW)
    client = come_in(app.test_client())
    waiting = client.get("/sites/table").get_data(as_text=True)
    assert "the table stands here when that is done" in waiting
    assert behind(app).problem == ""
    told = client.get("/sites/progress").get_data(as_text=True)
    assert '"running": false' in told
    monkeypatch.undo()
    assert "<abbr" in client.get("/sites/table").get_data(as_text=True)


def test_a_site_says_when_sightings_are_still_to_be_matched(evening: Path, monkeypatch):
    with open_survey(evening) as survey:
        match.match(survey)
        due = [row.identifier for row in sightings.every(survey)[:5]]
        survey.connection.executemany("insert into matches_due values (?)", [(o,) for o in due])
    monkeypatch.setattr(match, "FEW", 4)
    app = create_app(evening, now=lambda: NOW)
    client = come_in(app.test_client())
    assert "5 sightings new or changed" in client.get("/sites/at?site=LNT-01").get_data(
        as_text=True
    )
    assert behind(app).problem == ""
    assert "new or changed" not in client.get("/sites/at?site=LNT-01").get_data(as_text=True)


def test_an_empty_survey_says_what_a_site_is(tmp_path: Path):
    create_survey(tmp_path / "survey", title="New survey")
    client = come_in(desk_of(tmp_path / "survey"))
    assert "No site yet" in client.get("/sites/").get_data(as_text=True)
    assert "No site has a determined adult" in client.get("/sites/table").get_data(as_text=True)
    assert "No place stands out yet" in client.get("/sites/next").get_data(as_text=True)


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_a_site_is_chosen_on_the_map_and_the_season_narrows_it(evening: Path, window: Window):
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/sites/")
        page.wait_for_selector("html[data-ready]")
        page.click("a.place[data-site=LNT-01] rect")
        until(page, lambda: "Heron Mere" in page.locator("#site h2").inner_text())
        assert page.url.endswith("?site=LNT-01")
        before = page.locator("#season-words").inner_text()
        page.locator("#to").fill("150")
        until(page, lambda: page.locator("#season-words").inner_text() != before)
        assert "29 May" in page.locator("#season-words").inner_text()
        box = page.locator("#ground").get_attribute("viewBox")
        page.focus("#ground")
        page.keyboard.press("+")
        page.keyboard.press("ArrowRight")
        assert page.locator("#ground").get_attribute("viewBox") != box
        page.click("[data-zoom=whole]")
        assert page.locator("#ground").get_attribute("viewBox") == box


def write_world(folder: Path, kind: str, spot: tuple[float, float]) -> None:
    """Tiles of zoom levels 9 to 15 around a spot of the ground, each with its rim and number."""
    tiles = {}
    for zoom in range(9, 16):
        x, y = pixel_at(*spot, zoom)
        for column in range(int(x / 256) - 4, int(x / 256) + 5):
            for row in range(int(y / 256) - 4, int(y / 256) + 5):
                tiles[zoom, column, row] = gridded(zoom, column, row, (x, y))
    if kind == "pmtiles":
        write_archive(folder, tiles)
    else:
        write_map(folder, {(z, x, 2**z - 1 - y): content for (z, x, y), content in tiles.items()})


def middle_of_red(page: Any) -> tuple[float, float]:
    """The middle of the red disc on the map as it is seen, in pixels of the map."""
    seen = Image.open(io.BytesIO(page.locator("#ground").screenshot())).convert("RGB")
    red = np.abs(np.asarray(seen, dtype=int) - RED).max(axis=2) < 40
    rows, columns = np.nonzero(red)
    if len(rows) <= 50:
        return -1.0, -1.0  # not painted yet
    return float(columns.mean()), float(rows.mean())


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
@pytest.mark.parametrize("kind", ["mbtiles", "pmtiles"])
def test_a_picture_map_lies_where_its_tiles_are_on_the_ground(
    evening: Path, window: Window, kind: str
):
    with open_survey(evening) as survey:
        sites, spots = evidence.sites(survey), ground.spots(survey, cell=20, most=1500)
    drawn = ground_map.draw(sites, spots)
    assert drawn is not None
    spot = drawn.ground.latitude - 0.0068, drawn.ground.longitude + 0.0043  # where nothing is drawn
    x, y = drawn.ground.point(spot[1], spot[0])
    write_world(evening, kind, spot)
    levels = set()
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/")
        page.goto(place + "/sites/")
        page.wait_for_selector("html[data-ready]")
        for step in ("whole", *["closer"] * 3, *["farther"] * 5):
            page.click(f"[data-zoom={step}]")
            page.wait_for_load_state("networkidle")
            west, north, wide, high = map(
                float, page.locator("#ground").get_attribute("viewBox").split()
            )
            size = page.locator("#ground").bounding_box()
            expected = (x - west) * size["width"] / wide, (y - north) * size["height"] / high
            # Half a pixel of the disc as drawn, one of the rim of the map.
            until(page, lambda at=expected: middle_of_red(page) == pytest.approx(at, abs=2.0))
            photographed(page, f"sites-map-{kind}-{step}")
            levels |= {
                str(one.get_attribute("href")).split("/")[3]
                for one in page.locator("#tiles image").all()
            }
        assert len(levels) > 2
        assert "our own drawing" in page.locator("figcaption").inner_text()
        with page.expect_response("**/sites/tile/**") as answered:
            page.reload()
        assert answered.value.headers["content-type"] == "image/png"
        assert answered.value.headers["x-content-type-options"] == "nosniff"


def test_the_map_says_why_a_file_is_not_shown(walked: Path):
    write_map(walked, {(0, 0, 0): b"\x1a"}, name="<b>vector", format="pbf")
    page = come_in(desk_of(walked)).get("/sites/").get_data(as_text=True)
    assert "The map file &lt;b&gt;vector.mbtiles is not shown: its tiles are no" in page
    assert "data-tiles" not in page
