"""Learn which close looks are of one animal: changed copies of a crop against all other crops.

A copy is turned, mirrored, nearer, in other light, and half of the time before another crop's
background, so that the insect decides and not the reed it sits on. The loss is that of Chen et
al. 2020 (A simple framework for contrastive learning of visual representations, ICML,
arXiv:2002.05709).
"""

from __future__ import annotations

import torch
from torch import Tensor
from torch.nn import functional

from triage.bench.training.batches import Photos, Sampler, altered
from triage.bench.training.insect_network import InsectNetwork

STEPS, SIDE, SIZE = 300, 320, 48  # of training, pixels of a crop, crops of a batch
RATE, DECAY = 1e-3, 0.01
TEMPERATURE = 0.1  # of the similarity; the value of Chen et al. 2020
NEAREST = 0.45  # of the crop's side, least that a copy shows
ELSEWHERE = 0.5  # share of copies that get another crop's background
RIM = 0.2  # of the box, over which the insect fades into the other background


def learn_alike(
    network: InsectNetwork,
    photos: Photos,
    rows: list[int],
    *,
    steps: int = STEPS,
    size: int = SIZE,
) -> None:
    """Train the layer of a trained network by which an animal is known again, and nothing else."""
    network.eval()
    torch.manual_seed(0)
    optimiser = torch.optim.AdamW(network.alike.parameters(), lr=RATE, weight_decay=DECAY)
    sampler = Sampler(photos, rows, 0, SIDE, size)
    kind = "cuda" if photos.device.startswith("cuda") else "cpu"
    for step in range(steps):
        for group in optimiser.param_groups:
            group["lr"] = RATE * (1 - step / steps)
        batch = sampler.batch()
        with torch.no_grad(), torch.autocast(kind, dtype=torch.bfloat16):
            shown = (altered(batch.crops), changed(batch.crops, batch.boxes[:, 0]))
            pooled = [network(crops).pooled.float() for crops in shown]
        one, other = (network.alike(each) for each in pooled)
        optimiser.zero_grad(set_to_none=True)
        alike_loss(one, other, batch.photo, batch.single & batch.present[:, 0]).backward()
        optimiser.step()


def changed(crops: Tensor, boxes: Tensor) -> Tensor:
    """Copies of crops (N x 3 x S x S) about their insects' boxes (N x 4, pixels)."""
    n, _, side, _ = crops.shape
    device = crops.device
    middle = (boxes[:, :2] + boxes[:, 2:]) / side - 1
    half = ((boxes[:, 2:] - boxes[:, :2]) / side).clamp(min=0.02)
    least = (1.1 * half.amax(dim=1)).clamp(NEAREST, 1.0)
    scale = least + (1 - least) * torch.rand(n, device=device)
    turn = torch.randint(4, (n,), device=device) * (torch.pi / 2)
    turn = turn + 0.5 * (torch.rand(n, device=device) - 0.5)
    flip = torch.where(torch.rand(n, device=device) < 0.5, 1.0, -1.0)
    a, b = torch.cos(turn) * scale, torch.sin(turn) * scale
    first = torch.stack([a * flip, -b, middle[:, 0]], dim=1)
    second = torch.stack([b * flip, a, middle[:, 1]], dim=1)
    grid = functional.affine_grid(
        torch.stack([first, second], dim=1), list(crops.shape), align_corners=False
    )
    copies = functional.grid_sample(crops, grid, padding_mode="border", align_corners=False)
    off = (grid - middle[:, None, None]).abs() / half[:, None, None]
    share = ((1 + RIM - off.amax(dim=3)) / RIM).clamp(0, 1)[:, None]
    moved = (torch.rand(n, 1, 1, 1, device=device) < ELSEWHERE).float()
    share = 1 - moved * (1 - share)
    return altered(share * copies + (1 - share) * copies.roll(1, dims=0))


def alike_loss(one: Tensor, other: Tensor, photo: Tensor, valid: Tensor) -> Tensor:
    """How badly each crop finds its own copy among all, from vectors N x D; copies of one photo
    drawn twice are left out."""
    one, other = functional.normalize(one, dim=1), functional.normalize(other, dim=1)
    likeness = one @ other.T / TEMPERATURE
    own = torch.eye(len(one), dtype=torch.bool, device=one.device)
    hidden = ((photo[:, None] == photo[None, :]) & ~own) | ~valid[None, :]
    likeness = likeness.masked_fill(hidden & ~own, -1e4)
    each = -torch.diagonal(functional.log_softmax(likeness, dim=1))
    each = each - torch.diagonal(functional.log_softmax(likeness.T, dim=1))
    known = valid.float()
    return (each * known).sum() / (2 * known.sum().clamp(min=1.0))
