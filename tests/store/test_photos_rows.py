"""Photos as rows: what was examined reads back, corrections and copies included."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
from tests_support import NOW

from triage.bench import scale
from triage.duplicates import PhotoLink, PixelKeys
from triage.errors import UnknownError
from triage.quality.examination import Examined
from triage.store import actions, copies, photos
from triage.store.connection import create_survey, open_survey


@pytest.fixture
def survey(tmp_path: Path):
    create_survey(tmp_path / "survey")
    with open_survey(tmp_path / "survey") as opened:
        scale.fill(opened, 6, random=np.random.default_rng(1))
        yield opened


def correct(survey, photo: str, field: str, value: str) -> int:
    action = actions.record(survey, command="correct", summary="", by="Bo", now=NOW)
    photos.add_correction(survey, photo, field, value, action=action)
    return action


@pytest.mark.parametrize("body_box", [None, (0.3, 0.3, 0.6, 0.7)])
def test_a_measurement_reads_back_with_and_without_a_body(survey, body_box):
    photo, row = next(iter(photos.load(survey).items()))
    measured = dataclasses.replace(row.measurement, body_box=body_box, reasons=("blurred",))
    seen = Examined(photo=row.photo, exif=row.exif, measurement=measured, colours=row.colours)
    photos.save_examination(survey, seen, examined_with="x")
    read = photos.load(survey, [photo])[photo]
    assert read.measurement == measured
    assert read.exif == row.exif
    assert read.colours == row.colours


def test_a_view_that_a_person_gave_to_one_copy_holds_for_all(survey):
    small, large, other = sorted(photos.load(survey))[:3]
    copies.save_groups(survey, "copy", [("copies-1", [small, large], large)], {small, large})
    correct(survey, small, "view", "anterior")
    newest = correct(survey, small, "view", "lateral")
    views = {photo: row.measurement.view for photo, row in photos.load(survey).items()}
    assert views[small] == views[large] == "lateral"
    assert photos.load(survey, [large])[large].measurement.p_lateral == 1
    assert photos.load(survey, [other])[other].corrected == ()
    actions.undo(survey, by="Bo", now=NOW, number=newest)
    assert photos.load(survey, [large])[large].measurement.view == "anterior"


def test_groups_are_found_from_any_member(survey):
    first, second, third = sorted(photos.load(survey))[:3]
    copies.save_groups(survey, "copy", [("copies-1", [first, second], second)], {first, second})
    assert copies.groups_of(survey, "copy", [first]) == copies.groups(survey, "copy")
    assert copies.groups_of(survey, "copy", [third]) == {}
    assert copies.groups_of(survey, "burst", [first]) == {}


def test_a_photo_is_found_by_its_first_digits(survey):
    wanted = sorted(photos.load(survey))[0]
    assert photos.find(survey, wanted[:10].upper()) == wanted
    for text in ("zz", "", wanted + "0", "%"):
        with pytest.raises(UnknownError):
            photos.find(survey, text)


def test_photos_are_found_by_sender_day_and_place(survey):
    rows = photos.load(survey)
    photo, row = next((p, row) for p, row in rows.items() if row.exif.date_time_original)
    day = row.exif.date_time_original[:10]
    north, east = row.exif.gps_latitude, row.exif.gps_longitude
    assert photo in copies.of_days(survey, [day])
    assert copies.of_days(survey, ["1999-01-01"]) == set()
    near = (north - 0.001, east - 0.001, north + 0.001, east + 0.001)
    assert photo in copies.of_places(survey, [near], limit=9)
    elsewhere = (0.0, 0.0, 1.0, 1.0)
    assert copies.of_places(survey, [elsewhere], limit=9) == set()
    assert photo in copies.of_days_at(survey, [(day, near)])
    assert photo not in copies.of_days_at(survey, [(day, elsewhere), ("1999-01-01", near)])
    placeless = dataclasses.replace(row.exif, gps_latitude=None, gps_longitude=None)
    seen = Examined(photo=row.photo, exif=placeless, measurement=row.measurement)
    photos.save_examination(survey, seen, examined_with="x")
    assert photo in copies.of_days_at(survey, [(day, elsewhere)])
    seen = Examined(photo=row.photo, exif=row.exif, measurement=row.measurement)
    photos.save_examination(survey, seen, examined_with="x")
    (appearance,) = photos.appearances(survey, [photo])
    assert photo in copies.of_senders(survey, [appearance.person], limit=10)
    assert len(copies.of_senders(survey, [appearance.person], limit=1)) == 1
    assert photo not in copies.of_senders(survey, [appearance.person], limit=10, undated=True)
    assert photo not in copies.of_places(survey, [near], limit=9, undated=True)
    undated = dataclasses.replace(row.exif, date_time_original="")
    seen = Examined(photo=row.photo, exif=undated, measurement=row.measurement)
    photos.save_examination(survey, seen, examined_with="x")
    assert photo in copies.of_senders(survey, [appearance.person], limit=10, undated=True)
    assert photo in copies.of_places(survey, [near], limit=9, undated=True)


def test_an_exposure_is_named_by_its_best_copy_whichever_copy_is_asked(survey):
    first, second, third = sorted(photos.load(survey))[:3]
    copies.save_groups(survey, "copy", [("copies-1", [second, first], second)], {first, second})
    for asked in ([first], [second], [first, second]):
        assert copies.exposures(survey, asked) == {second: [first, second]}
    assert copies.exposures(survey, [third, first]) == {third: [third], second: [first, second]}
    assert copies.exposures(survey, []) == {}


def test_links_read_back_from_either_end_and_are_forgotten_together(survey):
    first, second, third = sorted(photos.load(survey))[:3]
    link = PhotoLink(kind="copy", first=first, second=second, evidence="resized to 50%")
    other = PhotoLink(
        kind="burst", first=second, second=third, evidence="x", picture_share_second=0.5
    )
    copies.save_links(survey, [other, link], photos=[first, second, third], method="m")
    assert copies.links_among(survey, [second]) == [link, other]
    assert copies.links_among(survey, [third]) == [other]
    assert copies.linked(survey, "m") == sorted([first, second, third])
    assert copies.count_linked(survey, "m", most=9) == 3
    assert set(copies.not_linked(survey, "m")) == set(photos.load(survey)) - {first, second, third}
    assert copies.forget_links(survey, [first]) == {first, second}
    assert copies.links_among(survey, [first, second, third]) == [other]


def test_another_hash_has_a_photo_compared_anew_and_the_same_hash_does_not(survey):
    photo, row = next(iter(photos.load(survey).items()))
    copies.save_links(survey, [], photos=[photo], method="m")
    keys = PixelKeys(phash=copies.fingerprints(survey, [photo])[photo].phash)
    same = Examined(photo=row.photo, exif=row.exif, measurement=row.measurement, keys=keys)
    photos.save_examination(survey, same, examined_with="x")
    assert copies.linked(survey, "m") == [photo]
    other = dataclasses.replace(same, keys=PixelKeys(phash="0f" * 32))
    photos.save_examination(survey, other, examined_with="x")
    assert copies.linked(survey, "m") == []
    assert photo in copies.not_linked(survey, "m")
