"""What is seen in renders of odonates, in photos that packages ship and in pictures made here."""

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageOps
from skimage import data

from triage.analysis import networks, subject, view

RENDERS = sorted((Path(__file__).parents[2] / "demo_photos" / "photos").iterdir())
SIZES = [(1, 1), (1, 3000), (3000, 1), (7, 5), (40, 2000), (1400, 33)]
VIEWS = ("p_dorsal", "p_lateral", "p_anterior", "p_oblique", "p_other")


def pixels(file: Path) -> np.ndarray:
    with Image.open(file) as opened:
        return np.asarray(ImageOps.exif_transpose(opened).convert("RGB"))


def maps(heat: np.ndarray, sides: np.ndarray) -> networks.InsectMaps:
    return networks.InsectMaps(
        heat=heat.astype(np.float32),
        sides=sides,
        edges=np.zeros_like(sides),
        fine_edges=np.zeros_like(sides),
        answers=np.zeros(14),
        embedding=np.zeros(128),
        scores=np.zeros(8),
        alike=np.zeros(48),
    )


@pytest.mark.parametrize("size", SIZES)
@pytest.mark.parametrize("value", [0, 90, 255])
def test_a_flat_picture_of_any_size_gives_boxes_inside_it_and_no_odonate(size, value):
    seen = subject.look_at(np.full((*size, 3), value, dtype=np.uint8))
    for x0, y0, x1, y1 in (seen.box, seen.body_box, *seen.other_boxes):
        assert 0 <= x0 < x1 <= 1
        assert 0 <= y0 < y1 <= 1
    assert sum(getattr(seen, name) for name in VIEWS) == pytest.approx(1)
    assert seen.odonate < 0.5
    assert seen.kind not in {"adult", "pair"}


@pytest.mark.parametrize("given", [np.zeros((4, 4)), np.zeros((0, 4, 3), np.uint8)])
def test_what_is_no_rgb_photo_is_refused(given):
    with pytest.raises(ValueError, match="uint8 height x width x 3"):
        subject.look_at(given)


@pytest.mark.parametrize("name", ["astronaut", "chelsea", "coffee", "rocket"])
def test_photos_of_other_things_show_no_odonate(name):
    assert subject.look_at(getattr(data, name)()).odonate < 0.5


def test_a_page_of_print_is_told_from_an_insect():
    page = np.repeat(data.page()[..., None], 3, axis=2)
    assert subject.look_at(page).kind in {"page", "no insect", "unsure"}


@pytest.mark.parametrize("file", RENDERS[:2], ids=lambda file: file.name)
def test_looking_twice_gives_the_same(file):
    first, second = (subject.look_at(pixels(file)) for _ in range(2))
    assert first.features == second.features
    assert (first.box, first.body_box) == (second.box, second.body_box)


@pytest.mark.parametrize("file", RENDERS, ids=lambda file: file.name)
def test_a_mirrored_photo_keeps_its_verdicts_and_mirrors_its_box(file):
    photo = pixels(file)
    seen = subject.look_at(photo)
    mirrored = subject.look_at(np.ascontiguousarray(photo[:, ::-1]))
    for name in VIEWS[:2]:
        assert getattr(mirrored, name) == pytest.approx(getattr(seen, name), abs=0.25)
    assert mirrored.anisoptera == pytest.approx(seen.anisoptera, abs=0.25)
    x0, y0, x1, y1 = mirrored.box
    assert subject.overlap((1 - x1, y0, 1 - x0, y1), seen.box) > 0.7


@pytest.mark.parametrize("file", RENDERS, ids=lambda file: file.name)
def test_a_photo_at_half_the_size_gives_nearly_the_same_box(file):
    photo = pixels(file)
    half = np.asarray(Image.fromarray(photo).reduce(2))
    assert subject.overlap(subject.look_at(half).box, subject.look_at(photo).box) > 0.7


def test_the_verdict_rests_on_the_features_that_are_kept():
    seen = subject.look_at(data.chelsea())
    features = view.stored_features(seen.features)
    heads = view.shipped_heads()
    assert float(view.odonate_probability(features, heads)) == seen.odonate
    assert view.view_probabilities(features, heads)[1] == seen.p_lateral


def test_separate_peaks_of_the_heat_are_separate_insects():
    heat, sides = np.full((12, 20), 0.01), np.full((8, 12, 20), 0.1)
    heat[6, 4], heat[6, 15], heat[1, 10] = 0.9, 0.8, subject.OTHER_HEAT - 0.05
    first, second = subject._insects(maps(heat, sides))
    assert first == pytest.approx((4.5 / 20 - 0.1, 6.5 / 12 - 0.1, 4.5 / 20 + 0.1, 6.5 / 12 + 0.1))
    assert second[0] == pytest.approx(15.5 / 20 - 0.1, abs=1e-3)


def test_two_peaks_on_one_insect_are_one():
    heat, sides = np.full((12, 20), 0.01), np.full((8, 12, 20), 0.4)
    heat[6, 8], heat[6, 11] = 0.9, 0.8
    assert len(subject._insects(maps(heat, sides))) == 1


def test_a_heat_without_peaks_still_gives_one_box():
    assert len(subject._insects(maps(np.zeros((2, 3)), np.full((8, 2, 3), 0.2)))) == 1


def peaks_at(rows: int, columns: int, places: list[tuple[int, int]]) -> np.ndarray:
    edges = np.full((8, rows, columns), -50.0)
    for k, (row, column) in enumerate(places * 2):
        edges[k, row, column] = 0.0
    return edges


def test_sides_are_the_middles_under_their_maps():
    edges = peaks_at(5, 9, [(2, 1), (1, 4), (2, 7), (3, 4)])
    fine = peaks_at(9, 17, [(4, 3), (2, 8), (4, 14), (6, 8)])
    fine[7, 8, 0] = np.log(0.4)  # a second hump, which moves the median of the body's side little
    held = replace(maps(np.zeros((5, 9)), np.zeros((8, 5, 9))), edges=edges, fine_edges=fine)
    box = subject._box_of(held, subject.MIDDLE)
    body = subject._box_within(subject._body_places(held))
    assert box[:3] == pytest.approx((2.5 / 16, 1 / 4, 14 / 16))
    assert box[3] == pytest.approx(3 / 4)
    assert body[:3] == pytest.approx((3 / 16, 1 / 4, 14 / 16), abs=1e-6)
    assert 6 / 8 <= body[3] < 6.6 / 8


def test_a_side_of_the_box_has_so_much_of_its_map_outside():
    """Shares 0.3, 0.2, 0.1, 0.4 from the outside in, alike on all four sides."""
    shares = np.log([0.3, 0.2, 0.1, 0.4])
    edges = np.full((8, 11, 11), -50.0)
    edges[0::4, 5, 1:5] = shares  # from the left, then from the top, the right and the bottom
    edges[1::4, 1:5, 5] = shares
    edges[2::4, 5, 6:10] = shares[::-1]
    edges[3::4, 6:10, 5] = shares[::-1]
    held = replace(maps(np.zeros((11, 11)), np.zeros((8, 11, 11))), edges=edges, fine_edges=edges)
    # Outside of the cells' middles lie 0.15, 0.4, 0.55 and 0.8.
    at_middle, at_inward = 0.2 + 0.1 * (0.5 - 0.4) / 0.15, 0.3 + 0.1 * (0.6 - 0.55) / 0.25
    for share, place in ((0.5, at_middle), (0.6, at_inward)):
        box = subject._box_of(held, share)
        assert box == pytest.approx((place, place, 1 - place, 1 - place), abs=1e-9)


def test_a_further_insect_is_one_only_if_it_looks_like_one_from_near(monkeypatch):
    """The heat of the whole photo has three peaks; from near one of the two others is doubted."""
    heat, sides = np.full((12, 20), 0.01), np.full((8, 12, 20), 0.08)
    heat[6, 4], heat[6, 15], heat[1, 10] = 0.9, 0.3, 0.2
    whole = replace(maps(heat, sides), edges=peaks_at(12, 20, [(6, 3), (5, 4), (6, 5), (7, 4)]))
    whole = replace(whole, fine_edges=np.repeat(np.repeat(whole.edges, 2, axis=1), 2, axis=2))
    looks = []

    def insect_maps(rgb, **_):
        looks.append(rgb.shape)
        if len(looks) == 1:
            return whole
        near = maps(np.full((10, 10), 0.1), np.full((8, 10, 10), 0.3))
        answers = np.zeros(14)
        answers[networks.IS_ODONATE] = {2: 5.0, 3: 5.0, 4: subject.OTHER_SURE - 0.1}[len(looks)]
        edges = peaks_at(10, 10, [(5, 2), (2, 5), (5, 7), (7, 5)])
        fine = np.repeat(np.repeat(edges, 2, axis=1), 2, axis=2)
        return replace(near, answers=answers, edges=edges, fine_edges=fine)

    monkeypatch.setattr(networks, "insect_maps", insect_maps)
    (other,) = subject.sight_of(data.chelsea()).other_boxes
    assert len(looks) == 4
    assert other[0] < 15.5 / 20 < other[2]


def test_the_shape_says_dragonfly_or_damselfly_and_how_long_the_body_is():
    answers = np.zeros(14)
    answers[networks.ANISOPTERA], answers[networks.IS_PAIR] = 9.0, 2.0
    wide = subject._shape((0.1, 0.1, 0.9, 0.9), (0.4, 0.1, 0.6, 0.9), answers, 100, 100)
    same = subject._shape((0.1, 0.1, 0.9, 0.9), (0.4, 0.1, 0.6, 0.9), answers, 400, 400)
    assert wide == pytest.approx(same)
    assert wide[3:6] == pytest.approx(wide[:3], rel=1e-3)
    assert wide[6:] == pytest.approx([1.0, 0.5], abs=1e-3)
    longer = subject._shape((0.1, 0.1, 0.9, 0.9), (0.45, 0.1, 0.55, 0.9), answers, 100, 100)
    assert longer[2] < wide[2]


def test_a_person_says_where_the_insect_is():
    """The closer look goes where it is told, so that view, body and focus are of that insect."""
    photo = pixels(RENDERS[0])
    said = (0.05, 0.05, 0.30, 0.35)
    found, told = subject.look_at(photo), subject.look_at(photo, box=said)
    assert told.box == said
    assert said[0] <= told.body_box[0] < told.body_box[2] <= said[2]
    assert said[1] <= told.body_box[1] < told.body_box[3] <= said[3]
    assert told.features != found.features
    assert subject.look_at(photo, box=found.box).p_dorsal == pytest.approx(found.p_dorsal, abs=0.25)


def test_a_head_that_moves_sides_moves_the_box_and_keeps_it_in_the_photo():
    photo = pixels(RENDERS[0])
    plain = subject.look_at(photo)
    wider = replace(view.shipped_heads(), box_bias=np.array([-9.0, 0.0, 0.1, 0.0]))
    moved = subject.look_at(photo, heads=wider)
    assert moved.box[0] == 0.0
    assert moved.box[2] == pytest.approx(plain.box[2] + 0.1 * (plain.box[2] - plain.box[0]))
    assert moved.box[1::2] == plain.box[1::2]
