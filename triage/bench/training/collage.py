"""Make pictures of several insects from crops of one: tiles of many crops, and one beside another.

Photos of several odonates are too few to learn from, so some crops of each batch give way to
pictures of four and of sixteen crops, and to crops with the insect of another pasted beside.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import torch
from torch import Tensor
from torch.nn import functional

GRIDS = (2, 4)  # tiles along a side where one picture is made of several crops
SHARE = 16  # one in so many crops becomes a picture of each make of tiles
BESIDE = 12  # one in so many gets another insect beside its own
ROOM = 1.15  # sides of what is pasted over those of the insect's box
PASTED = (0.12, 0.4)  # longer side of a pasted insect, of the picture's side
TRIES = 8  # places tried for an insect beside another


@dataclass(frozen=True)
class Scene:
    """Crops, N x 3 x S x S, with the boxes of K insects each in pixels, and which are there."""

    crops: Tensor
    boxes: Tensor  # N x K x 4
    bodies: Tensor  # N x K x 4
    present: Tensor  # N x K, bool
    single: Tensor  # N, bool: the crop shows one scene


def collaged(
    crops: Tensor, boxes: Tensor, bodies: Tensor, present: Tensor, random: np.random.Generator
) -> Scene:
    """The batch with its first crops made into pictures of several insects.

    ``boxes`` and ``bodies`` are N x 4 on the processor, ``present`` N, ``crops`` on any device.
    """
    size, side, most = len(crops), crops.shape[-1], GRIDS[-1] ** 2
    scene = Scene(
        crops=crops.clone(),
        boxes=boxes[:, None].repeat(1, most, 1),
        bodies=bodies[:, None].repeat(1, most, 1),
        present=torch.zeros(size, most, dtype=torch.bool),
        single=torch.ones(size, dtype=torch.bool),
    )
    scene.present[:, 0] = present
    count, first = size // SHARE, 0
    for grid in GRIDS:
        here = slice(first, first + count)
        order = torch.from_numpy(random.integers(0, size, (count, grid * grid)))
        small = functional.avg_pool2d(crops, grid)[order.to(crops.device)]
        small = small.view(count, grid, grid, 3, side // grid, side // grid)
        scene.crops[here] = small.permute(0, 3, 1, 4, 2, 5).reshape(count, 3, side, side)
        across, down = torch.meshgrid(torch.arange(grid), torch.arange(grid), indexing="xy")
        shift = torch.stack([across, down, across, down], dim=-1).view(-1, 4) * (side / grid)
        scene.present[here] = False
        scene.present[here, : grid * grid] = present[order]
        scene.boxes[here, : grid * grid] = boxes[order] / grid + shift
        scene.bodies[here, : grid * grid] = bodies[order] / grid + shift
        scene.single[here] = False
        first += count
    given = np.flatnonzero(present.numpy())
    for row in range(first, first + size // BESIDE) if len(given) else ():
        other = int(random.choice(given))
        _paste(scene, row, crops[other], boxes[other], bodies[other], random)
    return scene


def _paste(
    scene: Scene,
    row: int,
    crop: Tensor,
    box: Tensor,
    body: Tensor,
    random: np.random.Generator,
) -> None:
    """Put the insect of another crop beside that of a row, if there is a free place."""
    side = crop.shape[-1]
    width, height = (box[2:] - box[:2]).clamp(min=4.0).tolist()
    scale = float(np.exp(random.uniform(*np.log(PASTED)))) * side / max(width, height)
    wide, high = width * scale, height * scale
    own = scene.boxes[row, 0].tolist() if scene.present[row, 0] else (0.0, 0.0, 0.0, 0.0)
    for _ in range(TRIES):
        x0, y0 = random.uniform(0, side - wide), random.uniform(0, side - high)
        across = min(x0 + wide, own[2]) - max(x0, own[0])
        down = min(y0 + high, own[3]) - max(y0, own[1])
        if min(across, down) <= 0:
            break
    else:
        return
    placed = torch.tensor([x0, y0, x0 + wide, y0 + high])
    _blend(scene.crops[row], crop, box, placed)
    scene.boxes[row, 1] = placed
    low = torch.tensor([x0, y0] * 2)
    scene.bodies[row, 1] = (body - box[:2].repeat(2)) * scale + low
    scene.present[row, 1] = True
    scene.single[row] = False


def _blend(onto: Tensor, crop: Tensor, box: Tensor, placed: Tensor) -> None:
    """Draw the box of a crop at another place and size, its rim fading into what is there."""
    side = crop.shape[-1]
    at = torch.arange(side, device=crop.device) + 0.5
    middle, half = (placed[:2] + placed[2:]) / 2, (placed[2:] - placed[:2]) / 2
    u, v = ((at - float(middle[k])) / max(float(half[k]), 2.0) for k in (0, 1))
    source, reach = (box[:2] + box[2:]) / 2, (box[2:] - box[:2]) / 2
    x = (float(source[0]) + u * float(reach[0])) * 2 / side - 1
    y = (float(source[1]) + v * float(reach[1])) * 2 / side - 1
    grid = torch.stack(torch.meshgrid(x, y, indexing="xy"), dim=-1)
    drawn = functional.grid_sample(crop[None], grid[None], align_corners=False)[0]
    far = torch.maximum(u.abs()[None, :], v.abs()[:, None])
    share = ((ROOM - far) / (ROOM - 1)).clamp(0, 1)
    onto.lerp_(drawn, share)
