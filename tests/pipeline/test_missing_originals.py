"""An original that is missing or damaged stops nothing that is handed out; it is told of."""

from __future__ import annotations

import os
from collections.abc import Callable
from pathlib import Path

import pytest
from tests_support import NOW

from triage.desk.packet_page import page
from triage.pipeline import analysis, consents, correct, match, packet, publish, queueing
from triage.store import originals, people, previews, sightings
from triage.store.connection import Survey, open_survey

HANDED_OUT: dict[str, Callable[[Survey, Path], object]] = {
    "export": lambda survey, to: publish.export(survey, to, now=NOW),
    "internal export": lambda survey, to: publish.export(survey, to, internal=True, now=NOW),
    "photo pack": lambda survey, to: publish.photo_pack(survey, to, now=NOW),
    "report": lambda survey, to: analysis.report(survey, to, internal=True, now=NOW),
    "packet": lambda survey, to: packet.make(
        survey, to, whom="Far Away", new=True, count=9, megabytes=9, page=page, by="Co", now=NOW
    ),
    "page of the queue": lambda survey, to: queueing.write_page(
        survey, queueing.queue(survey, now=NOW), to, now=NOW
    ),
}
DAMAGE: dict[str, Callable[[Path], object]] = {
    "missing": Path.unlink,
    "empty": lambda path: path.write_bytes(b""),
    "cut off": lambda path: os.truncate(path, 700),
    "a folder": lambda path: (path.unlink(), path.mkdir()),
}


@pytest.fixture
def survey(walked: Path):
    with open_survey(walked) as opened:
        wanted = {"include_unnamed": True, "include_doubted": True}
        section = opened.settings.publishing.model_copy(update=wanted)
        opened.settings = opened.settings.model_copy(update={"publishing": section})
        said = "You may publish my photos under CC BY 4.0."
        for person in people.all_people(opened):
            consents.record_consent(opened, person.code, said, by="Co", now=NOW)
        for one in {photo for row in sightings.every(opened) for photo in row.photos}:
            correct.correct(opened, one, field="publication", value="cleared", by="Co", now=NOW)
        match.match(opened)
        yield opened


@pytest.mark.parametrize("damage", DAMAGE)
def test_a_damaged_original_stops_nothing_that_is_handed_out(survey, tmp_path, damage):
    whole = publish.export(survey, tmp_path / "whole", now=NOW)
    pictures = sum(name.startswith("media/") for name in whole.files)
    lost = sorted(photo for row in sightings.every(survey) for photo in row.photos)[::2]
    for photo in dict.fromkeys(lost):
        path = originals.path_of(survey.originals, photo)
        path.chmod(0o600)
        DAMAGE[damage](path)
        previews.remove(survey, photo)
    for name, hand_out in HANDED_OUT.items():
        hand_out(survey, tmp_path / name)
        assert (tmp_path / name).exists(), name
    again = publish.export(survey, tmp_path / "again", now=NOW)
    carried = sum(name.startswith("media/") for name in again.files)
    assert 0 < carried < pictures
    told = [line for line in again.problems if line.startswith("photo ")]
    assert len(told) == pictures - carried
    assert dict(again.counts)["photos.csv"] == dict(whole.counts)["photos.csv"]
