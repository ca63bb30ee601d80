"""What the demo's camera sees follows from where it stands."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest

from triage.demo.insect import Pose, build
from triage.demo.looks import LOOKS
from triage.demo.render import Camera, draw
from triage.demo.scenery import backdrop, fractal
from triage.demo.shots import Shot, expose
from triage.demo.wing_texture import wing_texture

SHOT = Shot(
    subject="Aeshna cyanea", view="dorsal", azimuth=0.0, elevation=90.0, width=240, height=180
)


def _extent(azimuth: float, elevation: float, roll: float = 0.0) -> tuple[float, float]:
    insect = build(LOOKS["Aeshna cyanea"], Pose(droop=0.0))
    camera = Camera(azimuth=azimuth, elevation=elevation, roll=roll, pixels_per_mm=1.5)
    x0, y0, x1, y1 = draw(insect, camera, 240, 240, seed=1).box
    return (x1 - x0) * 240 / 1.5, (y1 - y0) * 240 / 1.5


def test_the_axes_of_the_camera_are_at_right_angles() -> None:
    axes = Camera(azimuth=33, elevation=21, roll=-70, pixels_per_mm=1).axes()
    np.testing.assert_allclose(axes @ axes.T, np.eye(3), atol=1e-12)
    np.testing.assert_allclose(axes[2], np.cross(axes[1], axes[0]), atol=1e-12)


def test_from_above_the_wings_span_twice_their_length_and_the_animal_its_length() -> None:
    look = LOOKS["Aeshna cyanea"]
    across, along = _extent(0.0, 90.0)
    assert across == pytest.approx(2 * look.wing, rel=0.08)
    assert along == pytest.approx(look.abdomen + look.thorax[0] + look.head_width, rel=0.12)


def test_from_the_side_the_wings_vanish_and_the_length_stays() -> None:
    look = LOOKS["Aeshna cyanea"]
    along, high = _extent(90.0, 0.0)
    assert along == pytest.approx(look.abdomen + look.thorax[0] + look.head_width, rel=0.12)
    assert high < look.wing


def test_a_quarter_turn_of_the_camera_swaps_width_and_height() -> None:
    upright, turned = _extent(0.0, 90.0), _extent(0.0, 90.0, 90.0)
    assert turned == pytest.approx(upright[::-1], abs=2.0)


def test_one_seed_gives_one_picture() -> None:
    first, second = expose(SHOT), expose(SHOT)
    assert np.array_equal(first.pixels, second.pixels)
    assert not np.array_equal(first.pixels, expose(replace(SHOT, seed=5)).pixels)


def test_a_blurred_subject_has_less_contrast_in_its_box_and_a_shaken_camera_too() -> None:
    def detail(shot: Shot) -> float:
        exposure = expose(shot)
        x0, y0, x1, y1 = exposure.box
        rows = slice(int(y0 * shot.height), int(y1 * shot.height))
        inside = exposure.pixels[rows, int(x0 * shot.width) : int(x1 * shot.width)].astype(float)
        return float(np.abs(np.diff(inside, axis=0)).mean())

    sharp = detail(SHOT)
    assert detail(replace(SHOT, subject_blur=12.0)) < 0.7 * sharp
    assert detail(replace(SHOT, shake=(40.0, 90.0))) < 0.7 * sharp


def test_a_panned_frame_takes_its_box_along() -> None:
    still = expose(replace(SHOT, share=0.25)).box
    moved = expose(replace(SHOT, share=0.25, pan=(0.1, 0.05, 1.0, 0.0))).box
    shift = np.subtract(moved, still)
    np.testing.assert_allclose(shift, [0.1, 0.05, 0.1, 0.05], atol=1e-6)


def test_without_an_insect_there_is_no_box() -> None:
    for subject in ("nothing", "figure"):
        shot = Shot(subject=subject, view="other", width=120, height=90)
        assert expose(shot).box == (0.0, 0.0, 0.0, 0.0)


@pytest.mark.parametrize("name", sorted(LOOKS))
def test_every_species_can_be_drawn_and_shows_its_wings(name: str) -> None:
    look = LOOKS[name]
    texture = wing_texture(look, True, 0.3, 1)
    assert texture.min() >= 0
    assert texture.max() <= 1
    assert 0.2 < (texture[..., 3] > 0.05).mean() < 0.95
    layer = draw(
        build(look, Pose()), Camera(azimuth=60, elevation=30, pixels_per_mm=1), 90, 90, seed=2
    )
    assert layer.alpha.max() == 1.0


def test_a_wing_without_width_is_refused() -> None:
    with pytest.raises(ValueError, match="aspect"):
        wing_texture(LOOKS["Aeshna cyanea"], False, 0.0, 1)


def test_fractal_noise_has_mean_zero_and_unit_deviation() -> None:
    noise = fractal(np.random.default_rng(3), 64, 96, octaves=5)
    assert float(noise.mean()) == pytest.approx(0.0, abs=1e-4)
    assert float(noise.std()) == pytest.approx(1.0, abs=1e-3)


@pytest.mark.parametrize("scene", ["meadow", "reeds", "water", "stone", "sand", "dusk"])
def test_every_backdrop_is_a_picture_with_values_from_zero_to_one(scene: str) -> None:
    picture = backdrop(scene, 80, 60, blur=4.0, seed=9)  # type: ignore[arg-type]
    assert picture.shape == (60, 80, 3)
    assert 0.0 <= float(picture.min()) < float(picture.max()) <= 1.0
