"""The rows of photos: by whom, under which licence, when taken, and what is still in doubt."""

from __future__ import annotations

from dataclasses import replace

import pytest
from pictures_made import MEASURED

from triage.exports.media_of_sightings import in_doubt_of, media_of
from triage.metadata.capture_time import TimeClaim
from triage.metadata.choosing import Chosen
from triage.metadata.exif import ExifRecord
from triage.photos import Photo
from triage.quality.kept import PhotoRow
from triage.sightings import Sighting

ONE = Sighting(
    identifier="s", observer="P-1", event_date="2026-06-14", photos=("a", "b"), best_lateral="b"
)
PHOTO = Photo(sha256="a", format="image/jpeg", width=40, height=30, orientation=None, byte_size=9)
ROW = PhotoRow(
    photo=PHOTO, exif=ExifRecord(), measurement=MEASURED, colours=(), corrected=(), publication=""
)


def rows_of(**given: object):
    known: dict[str, object] = {"creators": {}, "licences": {}, "taken": {}, "held_back": {}}
    rows = {"a": ROW, "b": replace(ROW, measurement=None, publication="cleared")}
    return list(media_of([ONE], rows, **known | given))  # type: ignore[arg-type]


def test_each_photo_is_its_observers_unless_another_took_it():
    first, second = rows_of(creators={"b": "P-2"}, licences={"P-1": "by", "P-2": "by-nc"})
    assert (first.creator, first.licence) == ("P-1", "by")
    assert (second.creator, second.licence) == ("P-2", "by-nc")


def test_who_refused_or_is_not_known_gives_no_licence():
    assert [row.licence for row in rows_of(licences={"P-9": "by"})] == ["", ""]


def test_what_was_measured_and_cleared_is_told_of_the_photo_it_is_of():
    first, second = rows_of(held_back={"b": "of a child"})
    assert (first.view, first.cleared_for_publication, first.held_back) == (
        MEASURED.view,
        False,
        "",
    )
    assert (second.view, second.box, second.focus, second.held_back) == (
        "",
        None,
        None,
        "of a child",
    )
    assert second.cleared_for_publication
    assert (first.is_best, second.is_best) == (True, True)


def test_a_photo_has_its_own_time_where_one_stands():
    time = TimeClaim(
        source="camera clock", event_date="2026-06-14T10:00:03", uncertainty_seconds=1.0
    )
    first, second = rows_of(taken={"a": Chosen(time=time, place=None)})
    assert (first.capture_date, second.capture_date) == ("2026-06-14T10:00:03", "2026-06-14")


@pytest.mark.parametrize(
    ("doubts", "told"),
    [
        ({}, {}),
        ({"z": {"of nothing here"}}, {}),
        ({"a": {"the date"}, "b": {"the place", "the date"}}, {"s": "the date; the place"}),
    ],
)
def test_doubts_about_its_photos_are_told_of_a_sighting_once_each(doubts, told):
    assert in_doubt_of([ONE], doubts) == told
