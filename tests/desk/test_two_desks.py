"""Two desks on one survey while new photos are examined: nothing is lost, nothing twice."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
from desk.conftest import CHROMIUM, Window, come_in_by_page, in_hand, served, to_determine, until
from PIL import Image
from tests_support import DEMO, NOW

from triage.pipeline import inbox
from triage.pipeline.standing import standing
from triage.store import messages, photos
from triage.store.connection import open_survey

pytestmark = [
    pytest.mark.system("chromium"),
    pytest.mark.skipif(not CHROMIUM, reason="the browser chromium is not installed"),
]

SENT = "localStorage.getItem('determinations on their way')"
LETTERS = ("aesh", "lest", "symp")


def new_photos(folder: Path, count: int) -> list[Path]:
    """Photos that the survey has not seen: parts of the demo's, turned."""
    known = [p for p in sorted((DEMO / "photos").iterdir()) if p.suffix.lower() == ".jpg"]
    made = []
    for number, path in enumerate(known[:count]):
        with Image.open(path) as picture:
            part = picture.convert("RGB").crop((20, 20, 420, 320)).rotate(90 * number, expand=True)
        made.append(folder / f"new{number}.jpg")
        part.save(made[-1])
    return made


def name_one(page: Any, letters: str) -> None:
    before = in_hand(page)
    for key in (*letters, "1", "Enter"):
        page.keyboard.press(key)
    until(page, lambda: in_hand(page) != before)


def test_two_desks_and_an_examination_do_not_disturb_each_other(
    evening: Path, tmp_path: Path, window: Window
):
    with open_survey(evening) as survey:
        before = messages.counts(survey)[0]
    with served(evening) as one, served(evening) as other:
        mail, ada, ben = window(), window(), window()
        come_in_by_page(mail, one, "/inbox/", "Ida Reed")
        mail.set_input_files("#files", new_photos(tmp_path, 4))
        to_determine(ada, one)
        to_determine(ben, other, "Ben Holm")
        assert in_hand(ada) != in_hand(ben)
        for letters in LETTERS:
            name_one(ada, letters)
            name_one(ben, letters)
        for page in (ada, ben):
            until(page, lambda page=page: page.evaluate(SENT) == "[]")  # type: ignore[misc]
        mail.wait_for_selector("#arrived:has-text('4 photos examined')")
    with open_survey(evening) as survey:
        made = standing(survey).determinations
        assert messages.counts(survey)[0] == before + 4
    assert sorted(len(ones) for ones in made.values() if ones) == [1] * 6  # no sighting twice
    assert len({d.identified_by for ones in made.values() for d in ones}) == 2


def test_faces_are_cleared_by_one_key_while_the_photo_is_large(evening: Path, window: Window):
    with open_survey(evening) as survey:
        message = next(row for row in messages.every(survey) if row.state == "settled")
        photo = photos.appearances_of_message(survey, message.row)[0].photo
        with survey.transaction():  # as if a face had been found
            survey.connection.execute("update measurements set faces = 1 where photo = ?", (photo,))
            messages.make_due(survey, [message.row])
        inbox.settle_states(survey, now=NOW)
    with served(evening) as place:
        page = window()
        come_in_by_page(page, place, f"/inbox/{message.identifier}")
        assert page.locator("#decision h2").inner_text() == "People may be in the picture"
        assert page.locator(".framed img").first.bounding_box()["height"] > 400
        page.keyboard.press("1")
        until(page, lambda: message.identifier not in page.url)
    with open_survey(evening) as survey:
        assert photos.load(survey, [photo])[photo].publication == "cleared"
        assert messages.find(survey, message.identifier).state == "settled"
