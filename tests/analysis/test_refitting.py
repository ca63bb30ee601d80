"""Learning from corrections: kept when held-out groups say so, and only then."""

import numpy as np
import pytest

from triage.analysis import view
from triage.analysis.refitting import (
    fit_softmax,
    folds_of,
    log_losses,
    refit_boxes,
    refit_heads,
)


def survey(count: int, seed: int = 0) -> tuple[np.ndarray, list[str]]:
    """Feature vectors that hang together in a dozen ways, as those kept do, and group names."""
    ways = np.random.default_rng(99).normal(size=(12, view.FEATURES))
    random = np.random.default_rng(seed)
    features = random.normal(size=(count, 12)) @ ways
    features += 0.3 * random.normal(size=features.shape)
    return features, [f"g{n % 17}" for n in range(count)]


def labels_of(heads: view.Heads, features: np.ndarray) -> list[str]:
    return [view.VIEWS[k] for k in view.view_logits(features, heads).argmax(axis=1)]


def test_corrections_that_the_features_explain_are_learned():
    features, groups = survey(300)
    views = ["dorsal" if row[40] + row[41] > 0 else "lateral" for row in features]
    suborders = ["anisoptera" if row[60] > 0 else "zygoptera" for row in features]
    heads, (of_view, of_suborder) = refit_heads(
        features, views=views, suborders=suborders, groups=groups, version="own 1"
    )
    assert of_view.kept
    assert of_suborder.kept
    assert of_view.right_after > max(0.8, of_view.right_before)
    assert heads.version == "own 1"
    fresh, _ = survey(200, seed=1)
    given = view.view_probabilities(fresh, heads)[:, 0] > 0.5
    assert np.mean(given == (fresh[:, 40] + fresh[:, 41] > 0)) > 0.8
    aniso = view.anisoptera_probability(fresh, heads) > 0.5
    assert np.mean(aniso == (fresh[:, 60] > 0)) > 0.8


def test_corrections_that_agree_with_the_heads_change_nothing_for_the_worse():
    features, groups = survey(120)
    shipped = view.shipped_heads()
    views = labels_of(shipped, features)
    _, (of_view, _) = refit_heads(features, views=views, suborders=[""] * 120, groups=groups)
    assert of_view.right_before == 1.0
    assert not of_view.kept or of_view.right_after == 1.0


def test_labels_at_random_are_not_learned_to_be_told_apart():
    features, groups = survey(150)
    views = np.random.default_rng(5).permutation(labels_of(view.shipped_heads(), features))
    _, (of_view, _) = refit_heads(features, views=list(views), suborders=[""] * 150, groups=groups)
    most = max(np.mean(views == name) for name in set(views))
    assert of_view.right_after <= most + 0.1


def test_few_corrections_leave_the_heads_alone():
    features, groups = survey(10)
    heads, (of_view, of_suborder) = refit_heads(
        features, views=["dorsal"] * 10, suborders=["anisoptera"] * 10, groups=groups
    )
    assert heads is view.shipped_heads()
    assert not of_view.kept
    assert "needs 20 photos in 5 groups" in of_suborder.reason


def test_unknown_labels_are_refused():
    features, groups = survey(3)
    with pytest.raises(ValueError, match="unknown labels: ventral"):
        refit_heads(features, views=["ventral"] * 3, suborders=[""] * 3, groups=groups)


def test_a_constant_is_fitted_by_the_bias_alone():
    """Closed form: with flat features and a tiny penalty the bias gives the classes' shares."""
    truth = np.eye(2)[[0, 0, 0, 1]]
    weights, bias = fit_softmax(np.ones((4, 3)), truth, np.zeros((4, 2)), penalty=1e-6)
    assert np.array_equal(weights, np.zeros((2, 3)))
    assert bias[0] - bias[1] == pytest.approx(np.log(3), abs=1e-3)


def test_a_group_is_never_divided_between_folds():
    groups = [f"g{n * n % 13}" for n in range(60)]
    fold = folds_of(groups, 4)
    assert {len({fold[n] for n in range(60) if groups[n] == name}) for name in groups} == {1}


def boxes(count: int, seed: int = 3) -> np.ndarray:
    """Boxes well inside the photo, n x 4."""
    random = np.random.default_rng(seed)
    low = random.uniform(0.2, 0.4, (count, 2))
    return np.concatenate([low, low + random.uniform(0.2, 0.4, (count, 2))], axis=1)


def widened(found: np.ndarray, share: float) -> np.ndarray:
    sizes = np.tile(found[:, 2:] - found[:, :2], 2)
    return found + share * sizes * np.array([-1, -1, 1, 1])


def test_a_habit_of_drawing_wider_boxes_is_learned():
    features, groups = survey(60)
    found = boxes(60)
    heads, tried = refit_boxes(
        features, found=found.tolist(), corrected=widened(found, 0.2).tolist(), groups=groups
    )
    assert tried.kept
    assert tried.loss_before == pytest.approx(1 - 1 / 1.4**2, abs=1e-9)
    assert tried.loss_after < 0.01
    assert heads.version == "refitted"
    moved = view.moved_box((0.4, 0.4, 0.6, 0.6), features[0], heads)
    assert moved == pytest.approx((0.36, 0.36, 0.64, 0.64), abs=0.005)
    _, again = refit_boxes(
        features, found=found.tolist(), corrected=widened(found, 0.2).tolist(), groups=groups,
        heads=heads,
    )  # fmt: skip
    assert again.loss_before < 0.01
    assert not again.kept or again.loss_after <= again.loss_before


def test_sides_that_the_features_explain_are_learned_for_new_photos():
    features, groups = survey(300)
    found = boxes(300)
    shares = 0.02 * features[:, [40]]
    wanted = widened(found, 1.0) * shares + found * (1 - shares)
    heads, tried = refit_boxes(
        features, found=found.tolist(), corrected=wanted.tolist(), groups=groups
    )
    assert tried.kept
    assert tried.loss_after < tried.loss_before / 2
    fresh, _ = survey(50, seed=9)
    given = np.array([view.moved_box((0.0, 0.0, 1.0, 1.0), row, heads)[2] - 1 for row in fresh])
    assert np.corrcoef(given, 0.02 * fresh[:, 40])[0, 1] > 0.8


def test_boxes_corrected_at_random_move_no_side():
    features, groups = survey(80)
    found = boxes(80)
    wanted = found + np.random.default_rng(4).normal(0, 0.03, found.shape)
    heads, tried = refit_boxes(
        features, found=found.tolist(), corrected=wanted.tolist(), groups=groups
    )
    assert not tried.kept
    assert heads is view.shipped_heads()


def test_a_few_boxes_are_too_few():
    features, groups = survey(8)
    found = boxes(8).tolist()
    heads, tried = refit_boxes(features, found=found, corrected=found, groups=groups)
    assert heads is view.shipped_heads()
    assert "needs 20 photos in 5 groups, has 8" in tried.reason
    assert (tried.loss_before, tried.right_before) == (0.0, 1.0)


def test_boxes_without_features_are_refused():
    features, groups = survey(3)
    with pytest.raises(ValueError, match="one entry a photo"):
        refit_boxes(features, found=[], corrected=[], groups=groups)


def test_the_loss_of_a_row_is_minus_the_logarithm_of_its_share():
    """Closed form: equal logits give log 3; a lead of log 2 over one other gives log 1.5."""
    logits = np.array([[0.0, 0.0, 0.0], [np.log(2.0), 0.0, -np.inf], [1000.0, 0.0, 0.0]])
    found = log_losses(logits, np.array([1, 0, 0]))
    assert found == pytest.approx([np.log(3.0), np.log(1.5), 0.0])
    moved = log_losses(logits[:1] + 7.0, np.array([1]))
    assert moved == pytest.approx([np.log(3.0)])
