"""A photo with several insects offers the determiner another animal."""

from __future__ import annotations

import json

from tests_support import NOW

from triage.pipeline import queueing
from triage.store.connection import Survey


def test_separate_insects_in_one_photo_are_offered_as_separate_animals(survey: Survey):
    photo = queueing.queue(survey, now=NOW)[0].sighting.photos[0]
    boxes = json.dumps([[0.0, 0.0, 0.2, 0.2]])
    survey.connection.execute(
        "update measurements set other_boxes = ? where photo = ?", (boxes, photo)
    )
    entry = next(one for one in queueing.queue(survey, now=NOW) if photo in one.sighting.photos)
    assert any(f"2 insects may be in {photo[:10]}" in reason for reason in entry.entry.reasons)
