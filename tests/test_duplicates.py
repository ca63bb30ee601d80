"""Links, copy groups and bursts: made of pictures drawn here, so the truth is known."""

from __future__ import annotations

import dataclasses
import hashlib
import random

import cv2
import numpy as np
import pytest

from triage.analysis import hashing
from triage.duplicates import (
    Fingerprint,
    PhotoLink,
    burst_groups,
    copy_groups,
    find_links,
    narrowing,
    pixel_keys,
)
from triage.duplicates.candidates import HashIndex, most_voted, votes
from triage.duplicates.look import Look


def scene(seed: int, height: int = 360, width: int = 480) -> np.ndarray:
    """Stems, leaves and spots before a soft background."""
    drawn = np.random.default_rng(seed)
    soft = drawn.uniform(60, 190, (5, 7)).astype(np.float32)
    grey = cv2.resize(soft, (width, height), interpolation=cv2.INTER_CUBIC)
    picture = np.clip(grey, 0, 255).astype(np.uint8)
    for _ in range(60):
        x, y = int(drawn.integers(0, width)), int(drawn.integers(0, height))
        axes = (int(drawn.integers(4, 60)), int(drawn.integers(3, 14)))
        shade = int(drawn.integers(0, 256))
        cv2.ellipse(picture, (x, y), axes, int(drawn.integers(0, 180)), 0, 360, (shade,), -1)
    return picture


class Album:
    """Pictures by digest, and the fingerprints made of them."""

    def __init__(self) -> None:
        self.pictures: dict[str, np.ndarray] = {}

    def add(self, grey: np.ndarray, **known: object) -> Fingerprint:
        grey = np.ascontiguousarray(grey)
        content = repr(grey.shape).encode() + grey.tobytes() + repr(known).encode()
        sha256 = hashlib.sha256(content).hexdigest()
        self.pictures[sha256] = grey
        keys = pixel_keys(grey)
        facts = {"width": grey.shape[1], "height": grey.shape[0], "byte_size": grey.size}
        return Fingerprint(
            sha256=sha256,
            phash=keys.phash,
            content_phash=keys.content_phash,
            local_features=keys.local_features,
            **(facts | known),
        )


@pytest.fixture
def album() -> Album:
    return Album()


CHANGES = {
    "resized to 50%": lambda grey: cv2.resize(grey, None, fx=0.5, fy=0.5, interpolation=3),
    "recompressed or toned": lambda grey: cv2.imdecode(
        cv2.imencode(".jpg", grey, [cv2.IMWRITE_JPEG_QUALITY, 20])[1], cv2.IMREAD_GRAYSCALE
    ),
    "same pixels, other file": lambda grey: grey,
    "cropped to 50%": lambda grey: grey[40:295, 60:399],
    "turned 90": lambda grey: np.rot90(grey, -1),
    "mirrored": lambda grey: grey[:, ::-1],
}


@pytest.mark.parametrize("words", CHANGES)
def test_a_copy_is_linked_to_its_source_among_others(album, words):
    known = [album.add(scene(seed), metadata_fields=3) for seed in range(6)]
    copy = album.add(CHANGES[words](scene(3)), sender="someone else")
    links = find_links([copy], known, pixels=album.pictures.get)
    assert [(each.kind, {each.first, each.second}) for each in links] == [
        ("copy", {copy.sha256, known[3].sha256})
    ]
    assert words in links[0].evidence


def test_a_bordered_copy_says_how_much_of_it_is_picture(album):
    original = album.add(scene(1))
    framed = cv2.copyMakeBorder(scene(1), 60, 60, 80, 80, cv2.BORDER_CONSTANT, value=0)
    copy = album.add(framed)
    (link,) = find_links([copy], [original], pixels=album.pictures.get)
    shares = {link.first: link.picture_share_first, link.second: link.picture_share_second}
    assert shares[original.sha256] == 1.0
    assert shares[copy.sha256] == pytest.approx(360 * 480 / (480 * 640), abs=0.02)
    (group,) = copy_groups([link], [original, copy])
    assert group.best == original.sha256


def test_the_order_of_the_input_changes_nothing(album):
    photos = [album.add(scene(seed)) for seed in range(4)]
    photos += [album.add(scene(seed)[30:330, 40:440]) for seed in range(4)]
    shuffled = random.Random(1).sample(photos, len(photos))
    expected = find_links(photos, [], pixels=album.pictures.get)
    assert len(expected) == 4
    assert find_links(shuffled, [], pixels=album.pictures.get) == expected
    half = find_links(photos[4:], photos[:4], pixels=album.pictures.get)
    assert half == expected


def test_batches_and_narrowing_find_what_one_sender_sent_again(album, monkeypatch):
    photos = [album.add(scene(seed), sender=f"s{seed % 2}") for seed in range(4)]
    copies = [album.add(scene(seed)[30:300, 60:400], sender=f"s{seed % 2}") for seed in range(4)]
    expected = find_links(copies, photos, pixels=album.pictures.get)
    assert len(expected) == 4
    monkeypatch.setattr(narrowing, "BATCH", 2)
    assert find_links(copies, photos, pixels=album.pictures.get) == expected
    monkeypatch.setattr(narrowing, "ALL_ARE_NEIGHBOURS", 0)
    assert find_links(copies, photos, pixels=album.pictures.get) == expected
    assert find_links([*copies, *photos], [], pixels=album.pictures.get) == expected


def candidate_pairs(new, known, *, pixels):
    """The pairs of rows that narrowing leaves to be looked at."""
    return sorted(narrowing.candidate_rows(new, known, Look(pixels, None)))


def test_a_crop_from_elsewhere_is_not_looked_for_in_a_large_survey(album, monkeypatch):
    monkeypatch.setattr(narrowing, "ALL_ARE_NEIGHBOURS", 0)
    photo = album.add(scene(1), sender="a", captured="2026-06-01T10:00:00")
    crop = album.add(scene(1)[40:295, 60:399], sender="b")
    assert candidate_pairs([crop], [photo], pixels=album.pictures.get) == []
    same_day = dataclasses.replace(crop, captured="2026-06-01T10:00:00")
    assert len(candidate_pairs([same_day], [photo], pixels=album.pictures.get)) == 1
    turned = album.add(np.rot90(scene(1)), sender="b")
    assert len(candidate_pairs([turned], [photo], pixels=album.pictures.get)) == 1


def test_stored_features_and_features_from_pixels_find_the_same(album):
    photos = [album.add(scene(1)), album.add(scene(1)[20:300, 100:400])]
    bare = [dataclasses.replace(each, local_features=b"", content_phash="") for each in photos]
    expected = find_links(photos[1:], photos[:1], pixels=album.pictures.get)
    assert len(expected) == 1
    assert find_links(bare[1:], bare[:1], pixels=album.pictures.get) == expected
    stored = {each.sha256: each.local_features for each in photos}
    apart = {
        "pixels": album.pictures.get,
        "features": lambda photos: {one: stored[one] for one in photos},
    }
    assert find_links(bare[1:], bare[:1], **apart) == expected


def test_known_photos_are_not_compared_with_each_other(album):
    known = [album.add(scene(1)), album.add(scene(1)[10:, 10:])]
    assert find_links([album.add(scene(2))], known, pixels=album.pictures.get) == []


def test_a_photo_gets_no_link_with_itself(album):
    photo = album.add(scene(1))
    assert find_links([photo, photo], [photo], pixels=album.pictures.get) == []


def test_without_pixels_the_hash_alone_links_the_same_look_only(album):
    photo = album.add(scene(1))
    near = dataclasses.replace(photo, sha256="0" * 64, byte_size=1)
    (link,) = find_links([near], [photo], pixels=lambda sha256: None)
    assert link.kind == "copy"
    assert link.evidence == "same look (0 of 256 bits differ)"
    empty = dataclasses.replace(photo, sha256="1" * 64, phash="0" * 64, local_features=b"")
    twin = dataclasses.replace(empty, sha256="2" * 64)
    assert find_links([empty], [twin], pixels=lambda sha256: None) == []


def test_progress_counts_the_new_photos(album):
    seen: list[tuple[int, int]] = []
    photos = [album.add(scene(seed)) for seed in range(3)]
    find_links(
        photos,
        [],
        pixels=album.pictures.get,
        progress=lambda done, total: seen.append((done, total)),
    )
    assert seen == [(1, 3), (2, 3), (3, 3)]


FRAME = {
    "sender": "a",
    "camera": "Maker Model",
    "decimal_latitude": 53.9,
    "decimal_longitude": 21.7,
}


@pytest.mark.parametrize(
    ("changes", "linked"),
    [
        ({"captured": "2026-06-01T10:00:08"}, True),
        ({"captured": "2026-06-01T10:00:45"}, True),
        ({"captured": "2026-06-01T10:01:30"}, False),
        ({"captured": "2026-06-01T10:00:08", "sender": "b"}, False),
        ({"captured": "2026-06-01T10:00:08", "camera": "Other"}, False),
        ({"captured": "2026-06-01T10:00:08", "decimal_latitude": 53.91}, False),
        ({"captured": ""}, False),
    ],
)
def test_frames_of_one_sender_camera_and_place_seconds_apart_are_a_burst(album, changes, linked):
    first = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T10:00:00"}))
    second = album.add(scene(2), **(FRAME | changes))
    links = find_links([second], [first], pixels=album.pictures.get)
    assert [each.kind for each in links] == (["burst"] if linked else [])


def test_other_colours_part_frames_that_are_not_quite_close_in_time(album):
    red, blue = (1.0, 0.0), (0.0, 1.0)
    first = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T10:00:00", "colours": red}))
    for seconds, linked in (("08", True), ("40", False)):
        when = f"2026-06-01T10:00:{seconds}"
        second = album.add(scene(2), **(FRAME | {"captured": when, "colours": blue}))
        assert bool(find_links([second], [first], pixels=album.pictures.get)) is linked


def test_frames_alike_to_the_eye_with_other_capture_times_are_a_burst_and_no_copy(album):
    first = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T10:00:00"}))
    second = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T10:00:05"}))
    links = find_links([first, second], [], pixels=album.pictures.get)
    assert [each.kind for each in links] == ["burst"]


def test_a_copy_with_its_clock_set_to_another_zone_stays_a_copy(album):
    first = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T10:00:00"}))
    second = album.add(scene(1), **(FRAME | {"captured": "2026-06-01T12:00:00"}))
    links = find_links([first, second], [], pixels=album.pictures.get)
    assert [each.kind for each in links] == ["copy"]


def bare(name: str, **facts: object) -> Fingerprint:
    size = {"width": 100, "height": 100, "byte_size": 1000}
    return Fingerprint(sha256=name * 64, phash="0" * 64, **(size | facts))


def link(kind: str, first: str, second: str, **facts: object) -> PhotoLink:
    return PhotoLink(
        kind=kind, first=first * 64, second=second * 64, evidence=f"{first}{second}", **facts
    )


def test_groups_are_the_connected_photos_and_do_not_depend_on_order():
    photos = [bare(name) for name in "abcdef"]
    links = [link("copy", "a", "c"), link("copy", "c", "e"), link("copy", "b", "d")]
    groups = copy_groups(links, photos)
    assert [group.members for group in groups] == [
        ("a" * 64, "c" * 64, "e" * 64),
        ("b" * 64, "d" * 64),
    ]
    assert groups[0].identifier == "copies-" + "a" * 16
    assert groups[0].evidence == "ac; ce"
    assert copy_groups(links[::-1], photos[::-1]) == groups


def test_the_best_copy_has_most_pixels_then_most_metadata():
    small, large = bare("a", metadata_fields=8), bare("b", width=200)
    assert copy_groups([link("copy", "a", "b")], [small, large])[0].best == large.sha256
    rich = bare("c", width=200, metadata_fields=5)
    links = [link("copy", "a", "b"), link("copy", "b", "c")]
    assert copy_groups(links, [small, large, rich])[0].best == rich.sha256


def test_a_later_full_size_original_takes_over_as_best():
    copies, original = [bare("b"), bare("c")], bare("d", width=4000, height=3000)
    links = [link("copy", "b", "c")]
    assert copy_groups(links, copies)[0].best == "c" * 64
    later = copy_groups([*links, link("copy", "c", "d")], [*copies, original])[0]
    assert later.best == original.sha256
    assert later.identifier == "copies-" + "b" * 16


def test_a_burst_keeps_every_frame_in_the_order_of_capture_and_leaves_out_copies():
    times = {"a": "10:00:09", "b": "10:00:00", "c": "10:00:05"}
    frames = [bare(name, captured=f"2026-06-01T{when}") for name, when in times.items()]
    copy = bare("d", width=10)
    links = [link("burst", "b", "c"), link("burst", "a", "c"), link("copy", "a", "d")]
    (group,) = burst_groups([*links, link("burst", "c", "d")], [*frames, copy])
    assert group.members == ("b" * 64, "c" * 64, "a" * 64)
    assert group.identifier == "burst-" + "a" * 16


def test_links_to_photos_without_a_fingerprint_are_left_out():
    assert copy_groups([link("copy", "a", "b")], [bare("a")]) == []


def test_the_index_finds_what_a_plain_scan_of_all_orientations_finds():
    drawn = np.random.default_rng(1)
    queries = [drawn.bytes(32).hex() for _ in range(3)]
    turned = hashing.orientations_of_hashes(hashing.pack_hashes(queries))
    near = [
        flipped(code.tobytes().hex(), drawn, bits)
        for code in turned.reshape(-1, 4)
        for bits in (0, 10, 40, 60, 80, 100)
    ]
    codes = hashing.pack_hashes([*near, *(drawn.bytes(32).hex() for _ in range(200))])
    for orientations, answer in zip(turned, HashIndex(codes).within(queries, 84), strict=True):
        found = set(zip(*(part.tolist() for part in answer), strict=True))
        scanned = {
            (row, distance, turn)
            for turn, code in enumerate(orientations)
            for row, distance in enumerate(hashing.hamming(codes, code).tolist())
            if distance <= 84
        }
        assert len(found) >= 5 * 8
        assert found == scanned


def flipped(phash: str, drawn: np.random.Generator, bits: int) -> str:
    code = int(phash, 16)
    for bit in drawn.permutation(256)[:bits].tolist():
        code ^= 1 << bit
    return f"{code:064x}"


def test_an_empty_index_finds_nothing():
    nothing = HashIndex(hashing.pack_hashes([]))
    assert all(len(part) == 0 for found in nothing.within(["0" * 64], 84) for part in found)


def test_features_vote_for_the_picture_they_come_from():
    drawn = np.random.default_rng(1)
    albums = [drawn.bytes(32 * 50) for _ in range(20)]
    ((plain, mirrored),) = votes([(albums[7], drawn.bytes(32 * 50))], albums)
    assert most_voted(plain).tolist() == [7]
    assert plain[7] > 10 * np.delete(plain, 7).max()
    assert mirrored.max() < plain[7] / 10
    assert [each.tolist() for each in votes([(b"", b"")], [b"", albums[0]])] == [[[0, 0], [0, 0]]]


def test_the_most_voted_stand_out_from_what_strangers_get():
    strangers = np.random.default_rng(1).uniform(6, 7, 100)
    assert most_voted(strangers).tolist() == []
    strangers[40] = 15
    assert most_voted(strangers).tolist() == [40]
    assert most_voted(np.array([1.0, 9.0, 20.0])).tolist() == [2, 1]
    alike = np.array([3.0, 9.0, 9.1, 9.2, 9.3, 9.4, 9.5, 9.6])
    assert most_voted(alike).tolist() == []
    assert most_voted(alike, framed=True).tolist() == [7, 6, 5, 4, 3, 2, 1]


def test_a_picture_sent_many_times_is_looked_at_though_nobody_stands_out():
    assert len(most_voted(np.full(10, 80.0))) == 5


def test_features_of_other_length_are_refused():
    with pytest.raises(ValueError, match="32 bytes"):
        list(votes([(b"x", b"")], []))
