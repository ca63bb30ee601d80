"""Which copies and bursts a large survey finds, where only neighbours are compared by features.

A table of cases, each two photos: what their files state, what was done to the second, and what is
to be found. Pictures are drawn here, so the truth is known.
"""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from dataclasses import dataclass, field, replace
from typing import Any

import cv2
import numpy as np
import pytest
import records_made as made
from tests_support import NOW

from triage.duplicates import narrowing, pixel_keys
from triage.metadata.exif import ExifRecord
from triage.metadata.position import NamedPlace, doubts_against
from triage.photos import Photo
from triage.pipeline import claims, correct, examine, linking, undo
from triage.quality.examination import Examined
from triage.store import claims as claim_store
from triage.store import copies, photos
from triage.store.connection import Survey

HERE = {"gps_latitude": 53.90001, "gps_longitude": 21.70001, "gps_h_positioning_error": 5.0}
NORTH_300_M = HERE | {"gps_latitude": 53.9027}
EAST_900_M = HERE | {"gps_longitude": 21.7137}
NORTH_5_KM = HERE | {"gps_latitude": 53.945}
NO_FIX = HERE | {"gps_latitude": 0.0, "gps_longitude": 0.0}
FAR_NORTH = HERE | {"gps_latitude": 69.0}
FAR_NORTH_EAST_900_M = FAR_NORTH | {"gps_longitude": 21.7225}
DATE_LINE = HERE | {"gps_longitude": 179.999}
OVER_THE_LINE = HERE | {"gps_longitude": -179.999}
WIDE = {"gps_h_positioning_error": 3000.0}  # metres, of half of all fixes: twice as much holds 95 %
UNSURE = {"gps_h_positioning_error": 150.0}
MAST = {"gps_h_positioning_error": None, "gps_processing_method": "CELLID"}
NOWHERE: dict[str, Any] = {}


def scene(seed: int) -> np.ndarray:
    """Stems, leaves and spots before a soft background, 480 x 360."""
    drawn = np.random.default_rng(seed)
    soft = drawn.uniform(60, 190, (5, 7)).astype(np.float32)
    picture = np.clip(cv2.resize(soft, (480, 360), interpolation=cv2.INTER_CUBIC), 0, 255)
    picture = picture.astype(np.uint8)
    for _ in range(60):
        x, y = int(drawn.integers(0, 480)), int(drawn.integers(0, 360))
        axes = (int(drawn.integers(4, 60)), int(drawn.integers(3, 14)))
        shade = int(drawn.integers(0, 256))
        cv2.ellipse(picture, (x, y), axes, int(drawn.integers(0, 180)), 0, 360, (shade,), -1)
    return picture


@dataclass
class Post:
    """A survey and the pictures that have come in."""

    survey: Survey
    pictures: dict[str, np.ndarray] = field(default_factory=dict)
    senders: dict[str, int] = field(default_factory=dict)

    def arrive(self, grey: np.ndarray, *, sender: str = "Ida", **exif: Any) -> str:
        """Take in a photo whose file states so much; returns its digest."""
        grey = np.ascontiguousarray(grey)
        facts = ExifRecord(**exif)
        content = grey.tobytes() + repr((facts, len(self.pictures))).encode()
        digest = hashlib.sha256(content).hexdigest()
        self.pictures[digest] = grey
        if sender not in self.senders:
            who = {"code": f"P-{len(self.senders)}", "name": sender}
            self.senders[sender] = self.survey.insert("people", who)
        size = {"width": grey.shape[1], "height": grey.shape[0], "byte_size": grey.size}
        photo = Photo(sha256=digest, format="image/jpeg", orientation=1, **size)
        seen = Examined(
            photo=photo, exif=facts, measurement=None, keys=pixel_keys(grey), colours=()
        )
        number = len(self.pictures)
        with self.survey.transaction():
            self.survey.insert("photos", {"sha256": digest, "format": "", **size})
            made.message(self.survey, number, digest, sender_id=self.senders[sender])
            photos.save_examination(self.survey, seen, examined_with=examine.METHOD)
        return digest

    def link(self) -> set[tuple[str, frozenset[str]]]:
        """Do what a night does before sightings; returns every link that stands."""
        claims.read_claims(self.survey)
        linking.link_new(self.survey)
        return self.links()

    def links(self) -> set[tuple[str, frozenset[str]]]:
        """The kind of each link and the two photos."""
        every = copies.links_among(self.survey, self.pictures)
        return {(one.kind, frozenset((one.first, one.second))) for one in every}


@pytest.fixture
def post(empty: Survey, monkeypatch: pytest.MonkeyPatch) -> Post:
    """A survey that takes itself for a large one, with some strangers of the day in it."""
    for module in (linking, narrowing):
        monkeypatch.setattr(module, "ALL_ARE_NEIGHBOURS", 0)
    made_here = Post(empty)
    monkeypatch.setattr(linking, "_grey", lambda _, photo: made_here.pictures[photo])
    for seed in range(20, 25):
        made_here.arrive(scene(seed), sender="Bo", date_time_original=at("08:00:00"), **HERE)
    assert made_here.link() == set()
    return made_here


def at(clock: str, day: str = "2026-06-14") -> str:
    return f"{day}T{clock}"


Change = Callable[[np.ndarray], np.ndarray]


def whole(grey: np.ndarray) -> np.ndarray:
    """Recompressed as messengers do."""
    _, packed = cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 30])
    return cv2.imdecode(packed, cv2.IMREAD_GRAYSCALE)


def halved(grey: np.ndarray) -> np.ndarray:
    return cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=cv2.INTER_AREA)


def crop(grey: np.ndarray) -> np.ndarray:
    """The middle, 0.7 of each side: no hash finds it."""
    return grey[40:295, 60:399]


COPIES: dict[str, tuple[dict[str, Any], Change, dict[str, Any], bool]] = {
    # what the first file states of its place, what was done, what the second states; found or not
    "sent again, another place stated": (HERE, whole, NORTH_5_KM, True),
    "resized, another place stated": (HERE, halved, NORTH_5_KM, True),
    "cropped": (HERE, crop, HERE, True),
    "cropped, 900 m further east": (HERE, crop, EAST_900_M, True),
    "cropped, 900 m further east in the far north": (FAR_NORTH, crop, FAR_NORTH_EAST_900_M, True),
    "cropped, beyond the 180th meridian": (DATE_LINE, crop, OVER_THE_LINE, True),
    "cropped, 5 km away and sure of it": (HERE, crop, NORTH_5_KM, False),  # as the docs say
    "cropped, 5 km away and unsure": (HERE, crop, NORTH_5_KM | WIDE, True),
    "cropped, 5 km away from an unsure one": (HERE | WIDE, crop, NORTH_5_KM, True),
    "cropped, placed by a mast 5 km away": (HERE, crop, NORTH_5_KM | MAST, True),
    "cropped, of one that a mast placed": (HERE | MAST, crop, NORTH_5_KM, True),
    "cropped, no fix in it": (HERE, crop, NO_FIX, True),
    "cropped, no fix in the first": (NO_FIX, crop, HERE, True),
    "cropped, place lost": (HERE, crop, NOWHERE, True),
    "cropped, of one without a place": (NOWHERE, crop, HERE, True),
}


@pytest.mark.parametrize("what", COPIES)
@pytest.mark.parametrize("nights", [1, 2])
def test_a_copy_that_states_another_place_is_found_unless_both_are_sure(post, what, nights):
    first, change, second, found = COPIES[what]
    original = scene(1)
    one = post.arrive(original, date_time_original=at("10:00:00"), **first)
    if nights == 2:
        assert post.link() == set()
    other = post.arrive(change(original), sender="Eva", date_time_original=at("10:00:00"), **second)
    links = post.link()
    assert links <= {("copy", frozenset((one, other)))}
    # What comes together is compared whole, so a crop is found whatever it states.
    assert bool(links) is (found or nights == 1)


@pytest.mark.parametrize(("sender", "found"), [("Ida", True), ("Eva", False)])
def test_a_crop_without_date_and_place_is_found_among_its_senders_photos(post, sender, found):
    one = post.arrive(scene(1), sender="Ida", date_time_original=at("10:00:00"), **HERE)
    post.link()
    other = post.arrive(crop(scene(1)), sender=sender)
    assert post.link() == ({("copy", frozenset((one, other)))} if found else set())


BURSTS: dict[str, tuple[dict[str, Any], str, dict[str, Any], str, bool]] = {
    "beyond the edge of a square of places": (
        HERE | {"gps_latitude": 53.8999}, at("10:00:00"), HERE, at("10:00:08"), True,
    ),
    "300 m apart": (HERE, at("10:00:00"), NORTH_300_M, at("10:00:08"), False),
    "300 m apart, unsure": (
        HERE, at("10:00:00"), NORTH_300_M | UNSURE, at("10:00:08"), True,
    ),
    "no fix in the second": (HERE, at("10:00:00"), NO_FIX, at("10:00:08"), True),
    "past midnight": (
        HERE, at("23:59:56"), HERE, at("00:00:04", "2026-06-15"), True,
    ),
    "a minute and more later": (HERE, at("10:00:00"), HERE, at("10:01:10"), False),
}  # fmt: skip


@pytest.mark.parametrize("what", BURSTS)
@pytest.mark.parametrize("later_first", [False, True])
def test_frames_of_a_burst_are_found_in_whatever_night_they_come(post, what, later_first):
    here, first, there, second, found = BURSTS[what]
    camera = {"make": "Maker", "model": "One"}
    frames = [(scene(1), here, first), (scene(2), there, second)]
    digests = []
    for grey, place, moment in reversed(frames) if later_first else frames:
        digests.append(post.arrive(grey, date_time_original=moment, **camera, **place))
        links = post.link()
    assert links == ({("burst", frozenset(digests))} if found else set())


def two_that_state_different_places(post: Post) -> tuple[str, str]:
    one = post.arrive(scene(1), date_time_original=at("10:00:00"), **HERE)
    post.link()
    other = post.arrive(
        crop(scene(1)), sender="Eva", date_time_original=at("10:00:00"), **NORTH_5_KM
    )
    assert post.link() == set()
    return one, other


@pytest.mark.parametrize("corrected", [0, 1])
def test_a_corrected_place_has_a_photo_compared_anew(post, corrected):
    both = two_that_state_different_places(post)
    place = ("53.94501,21.70001", "53.90001,21.70001")[corrected]
    correct.correct(post.survey, both[corrected], field="place", value=place, by="Bo", now=NOW)
    assert post.links() == {("copy", frozenset(both))}
    assert copies.not_linked(post.survey, linking.METHOD) == []


def test_what_comes_later_is_compared_with_the_corrected_place(post):
    one = post.arrive(scene(1), date_time_original=at("10:00:00"), **HERE)
    post.link()
    correct.correct(post.survey, one, field="place", value="53.94501,21.70001", by="Bo", now=NOW)
    other = post.arrive(
        crop(scene(1)), sender="Eva", date_time_original=at("10:00:00"), **NORTH_5_KM
    )
    assert post.link() == {("copy", frozenset((one, other)))}


def test_a_correction_that_is_taken_back_loses_no_copy_that_pixels_showed(post):
    both = two_that_state_different_places(post)
    correct.correct(
        post.survey, both[1], field="place", value="53.90001,21.70001", by="Bo", now=NOW
    )
    undo.undo(post.survey, by="Bo", now=NOW)
    assert post.links() == {("copy", frozenset(both))}


def test_a_corrected_place_parts_frames_that_only_their_files_put_together(post):
    camera = {"make": "Maker", "model": "One"}
    first = post.arrive(scene(1), date_time_original=at("10:00:00"), **camera, **HERE)
    second = post.arrive(scene(2), date_time_original=at("10:00:30"), **camera, **HERE)
    assert post.link() == {("burst", frozenset((first, second)))}
    correct.correct(post.survey, second, field="place", value="53.94501,21.70001", by="Bo", now=NOW)
    assert post.links() == set()
    undo.undo(post.survey, by="Bo", now=NOW)
    assert post.links() == {("burst", frozenset((first, second)))}


@pytest.mark.parametrize(("metres_off", "doubted"), [(223, False), (4500, True)])
def test_a_place_is_doubted_where_the_mail_names_one_more_than_a_kilometre_off(
    post, metres_off, doubted
):
    photo = post.arrive(scene(1), date_time_original=at("10:00:00"), **HERE)
    post.link()
    (part, claim) = claim_store.of_photos(post.survey, [photo])[photo].places[0]
    pool = NamedPlace(
        location_id="AP",
        locality="Alder Pool",
        aliases=(),
        decimal_latitude=HERE["gps_latitude"] + metres_off / 111_300,
        decimal_longitude=HERE["gps_longitude"],
        coordinate_uncertainty_in_meters=50.0,
    )
    doubts = doubts_against(claim, pool)
    assert len(doubts) == 1
    claim_store.replace_derived(post.survey, photo, part, [], [replace(claim, doubts=doubts)])
    place = copies.fingerprints(post.survey, [photo])[photo].decimal_latitude
    assert place == (None if doubted else HERE["gps_latitude"])
    crop_elsewhere = post.arrive(
        crop(scene(1)), sender="Eva", date_time_original=at("10:00:00"), **NORTH_5_KM
    )
    assert bool(linking.link_new(post.survey, only=[crop_elsewhere])) is doubted
