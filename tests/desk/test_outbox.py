"""What a determiner said is recorded once and under the right name, whatever the browser meets."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, in_hand, served, to_determine, until
from desk.desks import come_in, desk_of, post

from triage.pipeline.standing import standing
from triage.store.connection import open_survey
from triage.store.sightings import every

PLACE = "determinations on their way"


def said(sighting: str, taxon: str, by: str = "Ada Moor") -> dict[str, str]:
    return {"sighting": sighting, "taxon": taxon, "by": by, "key": f"{sighting} {taxon}"}


def keep(page: Any, *waiting: dict[str, str]) -> None:
    """Put what waits into the browser's storage, as another tab of it would."""
    page.evaluate(f"waiting => localStorage.setItem('{PLACE}', waiting)", json.dumps(waiting))


def kept(page: Any) -> list[dict[str, str]]:
    return list(json.loads(page.evaluate(f"localStorage.getItem('{PLACE}')") or "[]"))


def determined(folder: Path) -> dict[str, tuple[str, str]]:
    """Sighting to its name and to who gave it, as the survey has them."""
    with open_survey(folder) as survey:
        return {
            sighting: (one.scientific_name, one.identified_by)
            for sighting, ones in standing(survey).determinations.items()
            for one in ones
        }


def undetermined(folder: Path) -> list[str]:
    with open_survey(folder) as survey:
        named = standing(survey).determinations
        return [one.identifier for one in every(survey) if not named.get(one.identifier)]


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_what_another_tab_put_in_line_is_not_lost_when_this_one_is_answered(
    evening: Path, window: Window
):
    first, second = undetermined(evening)[:2]
    with served(evening) as place:
        page = window()
        held: list[Any] = []
        to_determine(page, place)
        page.route("**/determine/record", lambda route: held.append(route))
        keep(page, said(first, "Aeshna cyanea"))
        page.reload()
        until(page, lambda: len(held) == 1)
        keep(page, said(second, "Anax imperator"))  # the other tab had the first recorded
        held[0].continue_()
        until(page, lambda: len(held) == 2)
        held[1].continue_()
        until(page, lambda: kept(page) == [])
    names = {one: name for one, (name, _) in determined(evening).items()}
    assert names == {first: "Aeshna cyanea", second: "Anax imperator"}


@pytest.mark.system("chromium")
@pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed")
def test_what_one_person_said_is_never_recorded_under_anothers_name(evening: Path, window: Window):
    first = undetermined(evening)[0]
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, "/inbox/", "Ben Holm")
        keep(page, said(first, "Aeshna cyanea", by="Ada Moor"))
        page.goto(place + "/determine/")
        until(page, lambda: "it waits for Ada Moor" in page.locator("#said").inner_text())
        assert "Not recorded yet: Aeshna cyanea" in page.locator("#said").inner_text()
        assert determined(evening) == {}
        assert [one["sighting"] for one in kept(page)] == [first]
        page.click(".menu summary")
        page.fill(".menu-body input[name=name]", "Ada Moor")
        with page.expect_navigation():
            page.click(".menu-body .who-form button")
        until(page, lambda: kept(page) == [])
        assert in_hand(page) != first
    with open_survey(evening) as survey:
        rows = survey.connection.execute("select by_name from actions where command = 'determine'")
        assert [row[0] for row in rows] == ["Ada Moor"]


def test_another_name_of_ones_own_for_the_same_sighting_is_told(walked: Path):
    client = come_in(desk_of(walked))
    wanted = {"sighting": undetermined(walked)[0], "taxon": "Aeshna cyanea"}
    assert post(client, "/determine/record", wanted).get_json()["before"] == ""
    again = post(client, "/determine/record", {**wanted, "taxon": "Anax imperator"}).get_json()
    assert again["before"] == "Aeshna cyanea"
