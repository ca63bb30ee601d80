"""Draw endless batches of altered crops with their targets from labelled photos, on the GPU.

Each photo is kept at three sizes, so that a crop is sampled from the size nearest to what it
needs and does not alias. Crops vary in scale and place, are mirrored, turned by quarters and by a
few degrees, stretched, recoloured, blurred, made noisy and coarse. Crops of the background of
odonate photos join the photos without an odonate as negatives. Some crops give way to pictures of
several insects (``collage``).
"""

from __future__ import annotations

from collections.abc import Sequence
from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import torch
from numpy.typing import NDArray
from PIL import Image, ImageOps
from torch import Tensor
from torch.nn import functional

from triage.analysis.view import VIEWS
from triage.bench.labels import KINDS, Labelled
from triage.bench.training.collage import collaged

LARGEST = 640  # px, the longer side of the largest copy kept
LEVELS = 3
SURE, UNSURE = 0.95, 0.65  # share of the label's own view in its target
NO_ODONATE = 0.25  # share of crops from photos without an odonate
BACKGROUND = 0.07  # and of crops beside the insect
WHOLE_PHOTO = 0.4  # share of the others that show the whole photo
MINOR = 0.6  # how much oftener rare views and kinds are drawn: (most / own) to this power
Values = NDArray[np.float64]
Rows = NDArray[np.int64]
Flags = NDArray[np.bool_]


@dataclass(frozen=True)
class Batch:
    """Normalised crops and what is true of them; boxes in pixels, K insects a crop."""

    crops: Tensor  # N x 3 x S x S
    boxes: Tensor  # N x K x 4
    bodies: Tensor  # N x K x 4
    present: Tensor  # N x K, bool
    single: Tensor  # N, bool: the crop shows one scene, so the answers below hold
    views: Tensor  # N x 5, sums to 1
    view_known: Tensor  # N
    suborder: Tensor  # N, 1 Anisoptera
    suborder_known: Tensor  # N
    odonate: Tensor  # N
    pair: Tensor  # N
    kinds: Tensor  # N x 6, sums to 1
    photo: Tensor  # N, which photo
    marked: Tensor  # N, bool: every insect in the crop is marked


class Photos:
    """All photos of a table on one device, with their labels as tensors."""

    def __init__(self, labels: list[Labelled], device: str) -> None:
        self.device = device
        self.labels = labels
        with ThreadPoolExecutor() as readers:
            pyramids = list(readers.map(_pyramid, [label.path for label in labels]))
        self.levels = [
            torch.stack([levels[k] for levels, _ in pyramids]).to(device) for k in range(LEVELS)
        ]
        self.sizes = torch.tensor([size for _, size in pyramids], dtype=torch.float32)
        unknown = (0.0, 0.0, 1.0, 1.0)
        self.boxes = torch.tensor([label.box or unknown for label in labels])
        self.bodies = torch.tensor([label.body_box or label.box or unknown for label in labels])
        scale = self.sizes.repeat(1, 2)
        self.boxes, self.bodies = self.boxes * scale, self.bodies * scale
        self.views = torch.stack(
            [_target(VIEWS, label.view, SURE if label.sure else UNSURE) for label in labels]
        )
        self.kinds = torch.stack([_kind_target(label) for label in labels])


def _pyramid(file: Path) -> tuple[list[Tensor], tuple[float, float]]:
    with Image.open(file) as opened:
        image = ImageOps.exif_transpose(opened).convert("RGB")
    image.thumbnail((LARGEST, LARGEST), Image.Resampling.LANCZOS)
    width, height = image.size
    levels = []
    for level in range(LEVELS):
        side = LARGEST >> level
        small = image.resize(
            (max(1, width >> level), max(1, height >> level)), Image.Resampling.BOX
        )
        canvas = np.full((side, side, 3), 127, dtype=np.uint8)
        canvas[: small.height, : small.width] = np.asarray(small)
        levels.append(torch.from_numpy(canvas).permute(2, 0, 1).contiguous())
    return levels, (float(width), float(height))


def _target(names: Sequence[str], name: str, own: float = SURE) -> Tensor:
    """The share of its own name, if it has one, and the rest divided among the others."""
    target = torch.full((len(names),), (1 - own) / (len(names) - 1))
    if name:
        target[names.index(name)] = own
    return target


def _kind_target(label: Labelled) -> Tensor:
    target = _target(KINDS, label.kind)
    if label.emerging:
        target[[KINDS.index("adult"), KINDS.index("exuvia")]] = SURE / 2
    return target


def _oftener(names: list[str]) -> Values:
    """The chance of drawing each entry: entries of rare names are drawn oftener."""
    most = max((names.count(name) for name in set(names)), default=1)
    drawn = np.array([(most / names.count(name)) ** MINOR for name in names])
    return np.asarray(drawn / drawn.sum())


class Sampler:
    """Draws batches of ``size`` crops of ``side`` pixels from the photos in ``rows``.

    The same seed gives the same batches.
    """

    def __init__(self, photos: Photos, rows: list[int], seed: int, side: int, size: int) -> None:
        self.photos, self.side, self.size = photos, side, size
        self.random = np.random.default_rng(seed)
        labels = photos.labels
        self.insects = np.array([r for r in rows if labels[r].odonate and labels[r].box])
        self.empty = np.array([r for r in rows if not labels[r].odonate] or self.insects[:0])
        self.chances = _oftener([labels[r].view for r in self.insects])
        self.empty_chances = _oftener([labels[r].kind for r in self.empty])
        self.known = {
            "view": torch.tensor([bool(label.view) for label in labels]),
            "suborder": torch.tensor([bool(label.suborder) for label in labels]),
            "anisoptera": torch.tensor([float(label.suborder == "anisoptera") for label in labels]),
            "pair": torch.tensor([float(label.pair) for label in labels]),
            "several": torch.tensor([label.several for label in labels]),
        }

    def batch(self) -> Batch:
        """The next batch."""
        drawn, places, insect = self._places()
        rows = torch.from_numpy(drawn)
        matrices = torch.from_numpy(self._matrices(*places))
        positive = torch.from_numpy(insect)
        crops = self._sample(rows, matrices)
        boxes = _moved(self.photos.boxes[rows], matrices, self.side)
        bodies = _moved(self.photos.bodies[rows], matrices, self.side)
        scene = collaged(crops, boxes, bodies, positive, self.random)
        odonate = positive.float()
        beside = ~positive & torch.tensor([self.photos.labels[row].odonate for row in drawn])
        nothing = _target(KINDS, "no insect")
        batch = Batch(
            **vars(scene),
            views=self.photos.views[rows],
            view_known=positive & self.known["view"][rows],
            suborder=self.known["anisoptera"][rows],
            suborder_known=positive & self.known["suborder"][rows],
            odonate=odonate,
            pair=self.known["pair"][rows] * odonate,
            kinds=torch.where(beside[:, None], nothing, self.photos.kinds[rows]),
            photo=rows,
            marked=~(scene.single & self.known["several"][rows]),
        )
        return Batch(**{k: v.to(self.photos.device) for k, v in vars(batch).items()})

    def _places(self) -> tuple[Rows, tuple[Values, Values, Values], Flags]:
        """The photos, the crops' centres and sides in photo pixels, and which show the insect."""
        chance = self.random.random(self.size)
        empty = (chance < NO_ODONATE) & (len(self.empty) > 0)
        rows = self.random.choice(self.insects, self.size, p=self.chances)
        if len(self.empty):
            drawn = self.random.choice(self.empty, self.size, p=self.empty_chances)
            rows = np.where(empty, drawn, rows)
        width, height = self.photos.sizes[rows].numpy().T
        longer = np.maximum(width, height)
        x0, y0, x1, y1 = self.photos.boxes[rows].numpy().T
        length = np.maximum(x1 - x0, y1 - y0)
        whole = empty | (self.random.random(self.size) < WHOLE_PHOTO)
        near = length * np.exp(self._uniform(np.log(1.02), np.log(3.0)))
        near = np.maximum(np.minimum(near, 1.2 * longer), 1.02 * length)
        wide = longer * np.where(empty, self._uniform(0.35, 1.1), self._uniform(0.85, 1.25))
        side = np.where(whole, wide, near)
        reach = np.where(self.random.random(self.size) < 0.8, 0.5, 0.65)
        centres = []
        for low, high, size in ((x0, x1, width), (y0, y1, height)):
            slack = np.maximum(side - (high - low), 0) * reach * self._uniform(-1, 1)
            around = _clipped((low + high) / 2 + slack, side, size)
            centres.append(np.where(whole, self._within(size, side), around))
        insect = ~empty
        for _ in range(6):  # crops of the background beside the insect
            small = longer * self._uniform(0.15, 0.5)
            x, y = self._within(width, small), self._within(height, small)
            apart = np.maximum(np.maximum(x0 - x, x - x1), np.maximum(y0 - y, y - y1)) > small / 2
            taken = insect & (chance > 1 - BACKGROUND) & apart & (small < np.minimum(width, height))
            side, insect = np.where(taken, small, side), insect & ~taken
            centres = [np.where(taken, new, old) for new, old in zip((x, y), centres, strict=True)]
        return rows, (centres[0], centres[1], side), insect

    def _uniform(self, low: float, high: float) -> Values:
        return self.random.uniform(low, high, self.size)

    def _within(self, length: Values, side: Values) -> Values:
        """Centres along one axis that keep the crop in the photo where it fits."""
        outside = length / 2 + self._uniform(-0.1, 0.1) * side
        inside = side / 2 + self._uniform(0, 1) * np.maximum(length - side, 0)
        return np.where(side >= length, outside, inside)

    def _matrices(self, x: Values, y: Values, side: Values) -> NDArray[np.float32]:
        """Crop coordinates in -1..1 to photo pixels: flips, quarter turns, small turn, stretch."""
        turn = self.random.integers(4, size=self.size) * np.pi / 2
        turn = turn + np.where(self.random.random(self.size) < 0.5, self._uniform(-0.2, 0.2), 0.0)
        flip = np.where(self.random.random(self.size) < 0.5, 1.0, -1.0)
        stretch = np.exp(self._uniform(-0.12, 0.12))
        a, b = np.cos(turn) * side / 2, np.sin(turn) * side / 2
        first = np.stack([a * flip * stretch, -b / stretch, x], axis=1)
        second = np.stack([b * flip * stretch, a / stretch, y], axis=1)
        return np.stack([first, second], axis=1).astype(np.float32)

    def _sample(self, rows: Tensor, matrices: Tensor) -> Tensor:
        device, side = self.photos.device, self.side
        zoom = torch.linalg.det(matrices[:, :, :2]).abs().sqrt() * 2 / side  # photo px per crop px
        level = torch.floor(torch.log2(zoom.clamp(min=1.0)) + 0.25).clamp(0, LEVELS - 1).long()
        crops = torch.zeros(len(rows), 3, side, side, device=device)
        axis = (torch.arange(side, device=device) + 0.5) * 2 / side - 1
        yy, xx = torch.meshgrid(axis, axis, indexing="ij")
        grid = torch.stack([xx, yy, torch.ones_like(xx)], dim=-1)  # side x side x 3
        for k in range(LEVELS):
            chosen = torch.nonzero(level == k)[:, 0]
            if not len(chosen):
                continue
            maps = (matrices[chosen] / (LARGEST / 2)).to(device)  # photo px to 0..2
            points = torch.einsum("hwc,ndc->nhwd", grid, maps) - 1
            size = (self.photos.sizes[rows[chosen]] / (LARGEST / 2) - 1).to(device)
            images = self.photos.levels[k][rows[chosen].to(device)].float()
            images = (images - 127) / 128
            drawn = functional.grid_sample(images, points, align_corners=False)
            inside = ((points >= -1) & (points <= size[:, None, None, :])).all(dim=-1)
            crops[chosen.to(device)] = drawn * inside[:, None]
        return crops


def altered(crops: Tensor) -> Tensor:
    """Light, colour, blur, noise and coarseness, each crop its own."""
    n = len(crops)

    def uniform(low: float, high: float) -> Tensor:
        drawn = torch.rand(n, 1, 1, 1, device=crops.device)
        return low + (high - low) * drawn

    def some(share: float) -> Tensor:
        return (uniform(0, 1) < share).float()

    grey = crops.mean(dim=1, keepdim=True)
    mean = crops.mean(dim=(1, 2, 3), keepdim=True)
    colour = grey + (crops - grey) * (1 + some(0.8) * uniform(-0.5, 0.5))
    colour = torch.where(some(0.06) > 0, grey.expand_as(crops), colour)
    tint = torch.rand(n, 3, 1, 1, device=crops.device) - 0.5
    colour = colour * (1 + some(0.6) * 0.3 * tint)
    colour = mean + (colour - mean) * (1 + some(0.8) * uniform(-0.4, 0.4))
    colour = colour + some(0.8) * uniform(-0.35, 0.35)
    coarse = functional.interpolate(
        functional.avg_pool2d(colour, 2), scale_factor=2, mode="bilinear"
    )
    share = some(0.25) * uniform(0.3, 1.0)
    colour = colour + share * (coarse - colour)
    wide = functional.avg_pool2d(colour, 5, stride=1, padding=2)
    colour = colour + some(0.15) * uniform(0.3, 1.0) * (wide - colour)
    noise = torch.randn(crops.shape, device=crops.device)
    colour = colour + some(0.4) * uniform(0.0, 0.12) * noise
    return colour.clamp(-127 / 128, 1.0)


def _clipped(centre: Values, side: Values, size: Values) -> Values:
    """Centres moved so that a crop that fits into the photo lies in it."""
    return np.where(side < size, np.clip(centre, side / 2, np.maximum(size - side / 2, 0)), centre)


def _moved(boxes: Tensor, matrices: Tensor, side: int) -> Tensor:
    """Boxes in photo pixels to upright boxes in crop pixels.

    A box turned by a few degrees would grow if it were full of insect; it is not, so the mean of
    the turned rectangle's box and of the turned inscribed ellipse's is taken.
    """
    back = torch.linalg.inv(matrices[:, :, :2])  # photo px to crop -1..1
    centre = (boxes[:, :2] + boxes[:, 2:]) / 2 - matrices[:, :, 2]
    half = (boxes[:, 2:] - boxes[:, :2]) / 2
    centre = torch.einsum("nij,nj->ni", back, centre)
    parts = back * half[:, None, :]
    reach = (parts.abs().sum(dim=2) + parts.square().sum(dim=2).sqrt()) / 2
    moved = torch.cat([centre - reach, centre + reach], dim=1)
    return ((moved + 1) * side / 2).clamp(0, side)
