"""Fit the network that reads blur from edges (``sharpness.npz``), on photos blurred in known ways.

Parts are cut out of each photo, shrunk, blurred (Gaussian, the disc of a lens out of focus, the
line of a moving camera), made noisy and recompressed, and a network is fitted to the blur: one on
all photos, then one without each of ten folds, by which the benches measure. Photos labelled soft
or blurred are left out, since their own blur isn't known. A minute or two on two cores.
"""

from __future__ import annotations

from concurrent.futures import ProcessPoolExecutor
from dataclasses import astuple
from typing import Any

import numpy as np
import numpy.typing as npt

from triage.analysis import images, networks, sharpness
from triage.analysis.view import Box
from triage.bench.blurring import AMOUNT_OF, blurred, recompressed
from triage.bench.labels import Labelled

PARTS = 120  # of each photo
WHOLE, ANYWHERE = 0.1, 0.25  # shares of parts that are the whole photo, and any place or whole
SHARP = 0.15  # share of parts left as they are
LEAST, MOST = 0.3, 8.0  # pixels, sigma, of the others
NOISY, MOST_NOISE = 0.5, 8.0  # share, and standard deviation in grey levels
CODED, QUALITIES = 0.5, (40, 96)  # share, and JPEG qualities
SHRUNK = 0.6  # share of parts that are shrunk further than to the working length
HIDDEN = 16
Rows = tuple[list[tuple[float, ...]], list[float]]


def fit_sharpness(labels: list[Labelled], held: list[list[int]]) -> None:
    """Fit the networks, one on all photos and one without each fold, and put the file in place."""
    fold = {row: number for number, rows in enumerate(held) for row in rows}
    used = [row for row, label in enumerate(labels) if label.focus in {"", "sharp"}]
    with ProcessPoolExecutor() as workers:
        made = list(workers.map(parts_of, [(labels[row], row) for row in used]))
    x = np.array([seen for rows, _ in made for seen in rows])
    blur = np.array([value for _, values in made for value in values])
    of_fold = np.repeat([fold[row] for row in used], [len(rows) for rows, _ in made])
    fits = [fitted(x, blur)]
    fits += [fitted(x[of_fold != k], blur[of_fold != k]) for k in range(len(held))]
    stacked = {name: np.stack([one[name] for one in fits]) for name in fits[0]}
    file = networks.shipped("insect").with_name("sharpness.npz")
    np.savez_compressed(file, allow_pickle=False, **stacked)


def parts_of(job: tuple[Labelled, int]) -> Rows:
    """Evidence and true blur of altered parts of one photo."""
    label, row = job
    random = np.random.default_rng((7, row))
    grey = images.grey_of(label.rgb())
    rows: Rows = [], []
    for _ in range(PARTS):
        part = _shrunk(_part(grey, label.body_box or label.box, random), random)
        if min(part.shape) < sharpness.SMALLEST_SIDE:
            continue
        sigma = 0.0 if random.random() < SHARP else _between(LEAST, MOST, random)
        family = str(random.choice(list(AMOUNT_OF)))
        seen = sharpness.evidence(_worn(part, family, sigma, random))
        if seen is not None:
            rows[0].append(astuple(seen))
            rows[1].append(sigma)
    return rows


def fitted(x: npt.NDArray[Any], blur: npt.NDArray[Any]) -> dict[str, npt.NDArray[Any]]:
    """The layers of one network, as ``sharpness.BlurNetwork`` names them."""
    from sklearn.neural_network import MLPRegressor

    centre, scale = x.mean(axis=0), x.std(axis=0)
    network = MLPRegressor(
        hidden_layer_sizes=(HIDDEN,),
        activation="tanh",
        alpha=0.01,
        batch_size=512,
        learning_rate_init=0.005,
        max_iter=120,
        random_state=0,
    )
    network.fit((x - centre) / scale, np.log(blur + sharpness.OFFSET))
    (hidden, out), (hidden_bias, out_bias) = network.coefs_, network.intercepts_
    return {
        "centre": centre,
        "scale": scale,
        "hidden": hidden,
        "hidden_bias": hidden_bias,
        "out": out[:, 0],
        "out_bias": out_bias[0],
    }


def _part(grey: images.Pixels, body: Box | None, random: np.random.Generator) -> Any:
    """The whole photo, any place in it, or about the body or the body's middle."""
    drawn = random.random()
    if drawn < WHOLE:
        return grey
    if body is None or drawn < ANYWHERE:
        height, width = grey.shape
        side = _between(60, max(height, width), random)
        slim = float(np.exp(random.normal(0, 0.5)))
        across, down = min(1.0, side * slim**0.5 / width), min(1.0, side / slim**0.5 / height)
        x, y = random.uniform(0, 1 - across), random.uniform(0, 1 - down)
        return sharpness.region(grey, (x, y, x + across, y + down))
    share = float(random.choice((sharpness.INNER, 1.0, 1.0)))
    across, down = body[2] - body[0], body[3] - body[1]
    x = (body[0] + body[2]) / 2 + random.normal(0, 0.07) * across
    y = (body[1] + body[3]) / 2 + random.normal(0, 0.07) * down
    across *= share * np.exp(random.normal(0, 0.12)) / 2
    down *= share * np.exp(random.normal(0, 0.12)) / 2
    box = (max(0.0, x - across), max(0.0, y - down), min(1.0, x + across), min(1.0, y + down))
    return sharpness.region(grey, box)


def _shrunk(part: Any, random: np.random.Generator) -> Any:
    side = float(min(max(part.shape), sharpness.WORKING_LENGTH))
    if random.random() < SHRUNK:
        side *= np.exp(-random.exponential(0.4))
    return images.shrink(part, max(1, round(side)), exact=True)


def _worn(part: Any, family: Any, sigma: float, random: np.random.Generator) -> images.Pixels:
    values = blurred(part, family, sigma * AMOUNT_OF[family], random)
    noise = random.uniform(0, MOST_NOISE) if random.random() < NOISY else 0.0
    quality = int(random.integers(*QUALITIES)) if random.random() < CODED else 0
    return recompressed(values, noise, quality, random)


def _between(low: float, high: float, random: np.random.Generator) -> float:
    """Evenly drawn on a logarithmic scale."""
    return float(np.exp(random.uniform(np.log(low), np.log(high))))
