"""Train networks by a recipe, each on its own part of the labelled photos.

A network starts from the registry's weights; the average of its weights over the last part of
the training is what is kept (Polyak averaging), which generalises better than the last step. So
that it keeps what the registry's network knows of the thousand things that are no odonate, it is
held to that network's own answers about each crop (learning without forgetting, Li and Hoiem 2016,
arXiv:1606.09282).
"""

from __future__ import annotations

import copy
import math
from dataclasses import dataclass
from typing import Any

import torch
from torch import Tensor
from torch.nn import functional

from triage.analysis import networks
from triage.bench.training.batches import Batch, Photos, Sampler, altered
from triage.bench.training.insect_network import (
    CELL,
    InsectNetwork,
    Seen,
    boxes_of_cells,
    means_of_edges,
)
from triage.bench.training.network import Classes, Weights

EDGES = 0.7  # weight of each of the two sets of edge maps
MARKED = 0.1  # heat of a cell that belongs to a marked insect


@dataclass(frozen=True)
class Recipe:
    """What one training run does; its repr is hashed into the method's version."""

    side: int = 320  # px of a training crop
    batch: int = 48
    steps: int = 1300
    rate: float = 6e-4  # of the new layers
    backbone_rate: float = 0.4  # of that
    decay: float = 0.02
    drop: float = 0.1  # stochastic depth in the last block
    forget: float = 0.3  # dropout before the pooled layers
    averaging: float = 0.995  # of the weights kept from step to step
    remember: float = 1.0  # weight of the registry's answers
    seeds: int = 2  # networks whose weights are averaged into one


class Training:
    """One network in training. On a GPU a step is recorded once and then replayed."""

    def __init__(
        self, photos: Photos, rows: list[int], weights: Weights, recipe: Recipe, seed: int
    ) -> None:
        torch.manual_seed(0)  # all start alike, so that their weights can be averaged
        self.recipe, self.device, self.done = recipe, photos.device, 0
        self.network = InsectNetwork(weights).to(self.device, memory_format=torch.channels_last)
        self.average = copy.deepcopy(self.network).eval()
        self.teacher = Classes(weights).to(self.device, memory_format=torch.channels_last).eval()
        torch.manual_seed(seed)
        self.sampler = Sampler(photos, rows, seed, recipe.side, recipe.batch)
        body = list(self.network.backbone.parameters())
        new = [p for name, p in self.network.named_parameters() if not name.startswith("backbone.")]
        self.rates = [recipe.rate * recipe.backbone_rate, recipe.rate]
        self.on_gpu = self.device.startswith("cuda")
        groups = [
            {"params": part, "lr": torch.tensor(rate, device=self.device) if self.on_gpu else rate}
            for part, rate in zip((body, new), self.rates, strict=True)
        ]
        self.optimiser = torch.optim.AdamW(
            groups, weight_decay=recipe.decay, capturable=self.on_gpu, foreach=self.on_gpu
        )
        self.pairs = _float_pairs(self.average, self.network)
        self.network.train()
        self.stream = torch.cuda.Stream() if self.on_gpu else None
        self.recorded: Any = None
        self.held: Batch | None = None

    def step(self) -> None:
        """One batch."""
        share = min(1.0, (self.done + 1) / 40)
        share *= 0.5 + 0.5 * math.cos(math.pi * self.done / self.recipe.steps)
        if self.stream is None:
            self._step(share)
        else:
            with torch.cuda.stream(self.stream):
                self._step(share)
        self.done += 1

    def _step(self, share: float) -> None:
        for group, rate in zip(self.optimiser.param_groups, self.rates, strict=True):
            now = rate * (0.02 + 0.98 * share)
            group["lr"] = group["lr"].fill_(now) if self.on_gpu else now
        batch = self.sampler.batch()
        if self.held is None or not self.on_gpu:
            self.held = batch
        else:
            for name, value in vars(batch).items():
                getattr(self.held, name).copy_(value)
        if self.recorded is not None:
            self.recorded.replay()
        else:
            self._learn()
            if self.on_gpu and self.done == 4:
                self._record()
        keep = min(self.recipe.averaging, (self.done + 1) / (self.done + 10))
        torch._foreach_lerp_(*self.pairs, 1 - keep)

    def _record(self) -> None:
        torch.cuda.synchronize()
        self.optimiser.zero_grad(set_to_none=True)
        self.recorded = torch.cuda.CUDAGraph()
        with torch.cuda.graph(self.recorded, stream=self.stream):
            self._learn()

    def _learn(self) -> None:
        assert self.held is not None
        with torch.no_grad():
            crops = altered(self.held.crops).contiguous(memory_format=torch.channels_last)
        kind = "cuda" if self.on_gpu else "cpu"
        with torch.autocast(kind, dtype=torch.bfloat16):
            seen = self.network(crops, self.recipe.drop, self.recipe.forget)
            with torch.no_grad():
                taught = self.teacher(crops).float().softmax(dim=1)
        loss = loss_of(seen, self.held, self.recipe.side)
        told = functional.log_softmax(seen.classes.float(), dim=1)
        loss = loss - self.recipe.remember * (taught * told).sum(dim=1).mean()
        if self.recorded is None:
            self.optimiser.zero_grad(set_to_none=True)
        loss.backward()
        torch.nn.utils.clip_grad_norm_(self.network.parameters(), 5.0, foreach=True)
        self.optimiser.step()


def fit_together(trainings: list[Training]) -> list[InsectNetwork]:
    """Run trainings side by side to their ends; the averaged networks."""
    while any(training.done < training.recipe.steps for training in trainings):
        for training in trainings:
            if training.done < training.recipe.steps:
                training.step()
    if trainings[0].on_gpu:
        torch.cuda.synchronize()
    return [training.average for training in trainings]


def average_of(networks: list[InsectNetwork]) -> InsectNetwork:
    """The network whose weights are the mean of those given (they share their start)."""
    mean = copy.deepcopy(networks[0])
    for number, other in enumerate(networks[1:], start=1):
        _follow(mean, other, number / (number + 1))
    return mean


@torch.no_grad()  # type: ignore[untyped-decorator]
def _follow(average: InsectNetwork, network: InsectNetwork, keep: float) -> None:
    torch._foreach_lerp_(*_float_pairs(average, network), 1 - keep)


def _float_pairs(one: InsectNetwork, other: InsectNetwork) -> tuple[list[Tensor], list[Tensor]]:
    """The floating-point tensors of two networks of one shape, in one order."""
    held, given = one.state_dict(), other.state_dict()
    floats = [name for name, value in held.items() if value.is_floating_point()]
    return [held[name] for name in floats], [given[name] for name in floats]


def loss_of(seen: Seen, batch: Batch, side: int) -> Tensor:
    """Heat, boxes and answers together; the weights were set once, by hand."""
    heat, centre = _heat_target(batch, seen.heat)
    loss = _heat_loss(seen.heat.float()[:, 0], heat, batch.marked)
    which = centre.argmax(dim=1)  # the insect each cell answers for
    strong = centre.amax(dim=1)
    weight = torch.where(strong > 0.3, strong, torch.zeros_like(strong))
    for part, boxes in ((slice(0, 4), batch.boxes), (slice(4, 8), batch.bodies)):
        rows = boxes.gather(1, which.flatten(1)[..., None].expand(-1, -1, 4))
        wanted = rows.transpose(1, 2).reshape(len(rows), 4, *which.shape[1:])
        loss = loss + _box_loss(boxes_of_cells(seen.sides[:, part]), wanted, weight)
    for edges in (seen.edges, seen.fine_edges):
        loss = loss + EDGES * _edge_loss(edges, batch, side)
    return loss + _answer_loss(seen.answers.float(), batch)


def _heat_target(batch: Batch, heat: Tensor) -> tuple[Tensor, Tensor]:
    """A bump on each insect's middle (between body and box), N x rows x columns; and per insect."""
    rows, columns = heat.shape[2:]
    y = (torch.arange(rows, device=heat.device) + 0.5) * CELL
    x = (torch.arange(columns, device=heat.device) + 0.5) * CELL
    middle = (batch.bodies[..., :2] + batch.bodies[..., 2:]) / 2
    size = (batch.boxes[..., 2:] - batch.boxes[..., :2]) * 0.18
    size = size.clamp(min=0.6 * CELL)
    dx = (x[None, None, None, :] - middle[..., 0, None, None]) / size[..., 0, None, None]
    dy = (y[None, None, :, None] - middle[..., 1, None, None]) / size[..., 1, None, None]
    bumps = torch.exp(-0.5 * (dx.square() + dy.square())) * batch.present[..., None, None]
    return bumps.amax(dim=1), bumps


def _heat_loss(logits: Tensor, target: Tensor, marked: Tensor) -> Tensor:
    """Cross-entropy with soft targets, easy cells counted less (quality focal loss, 2020).

    Crops where not every insect is marked teach where one is, and not where none is.
    """
    each = functional.binary_cross_entropy_with_logits(logits, target, reduction="none")
    hard = (torch.sigmoid(logits) - target).abs().square()
    known = marked[:, None, None] | (target > MARKED)
    return (each * hard * known).sum() / target.sum().clamp(min=1.0) * 2


def _box_loss(given: Tensor, wanted: Tensor, weight: Tensor) -> Tensor:
    """1 minus the generalised intersection over union (Rezatofighi et al. 2019) and side error."""
    x0, y0, x1, y1 = given.unbind(1)
    u0, v0, u1, v1 = wanted.unbind(1)
    across = (torch.minimum(x1, u1) - torch.maximum(x0, u0)).clamp(min=0)
    down = (torch.minimum(y1, v1) - torch.maximum(y0, v0)).clamp(min=0)
    both = across * down
    either = (x1 - x0) * (y1 - y0) + (u1 - u0) * (v1 - v0) - both
    hull = (torch.maximum(x1, u1) - torch.minimum(x0, u0)) * (
        torch.maximum(y1, v1) - torch.minimum(y0, v0)
    )
    overlap = both / either.clamp(min=1) - (hull - either) / hull.clamp(min=1)
    size = ((u1 - u0) + (v1 - v0)).clamp(min=8.0)
    sides = (given - wanted).abs().sum(dim=1) / size
    thin = _log_ratio(x1 - x0, u1 - u0) + _log_ratio(y1 - y0, v1 - v0)
    return ((1 - overlap + sides + 0.5 * thin) * weight).sum() / weight.sum().clamp(min=1.0)


def _log_ratio(given: Tensor, wanted: Tensor) -> Tensor:
    """How far apart two lengths are, in proportion: narrow insects count as much as wide ones."""
    return (given.clamp(min=2.0).log() - wanted.clamp(min=2.0).log()).abs()


def _edge_loss(edges: Tensor, batch: Batch, side: int) -> Tensor:
    """The edge maps' boxes, and their marginals against a bump one cell wide at the true side."""
    means, across = means_of_edges(edges, side)
    weight = (batch.single & batch.present[:, 0]).float()
    wanted = torch.cat([batch.boxes[:, 0], batch.bodies[:, 0]], dim=1)
    loss = _box_loss(means[:, :4], wanted[:, :4], weight)
    loss = loss + _box_loss(means[:, 4:], wanted[:, 4:], weight)
    place = torch.linspace(0, side, edges.shape[2], device=edges.device)
    cell = side / (edges.shape[2] - 1)
    bump = torch.exp(-0.5 * ((place - wanted[..., None]) / cell).square())
    bump = bump / bump.sum(dim=2, keepdim=True).clamp(min=1e-6)
    each = -(bump * across.clamp(min=1e-7).log()).sum(dim=2).mean(dim=1)
    return loss + 0.4 * (each * weight).sum() / weight.sum().clamp(min=1.0)


def _answer_loss(answers: Tensor, batch: Batch) -> Tensor:
    single = batch.single.float()

    def mean(each: Tensor, known: Tensor) -> Tensor:
        known = known.float() * single
        return (each * known).sum() / known.sum().clamp(min=1.0)

    def yes_or_no(column: int, target: Tensor) -> Tensor:
        return functional.binary_cross_entropy_with_logits(
            answers[:, column], target * 0.96 + 0.02, reduction="none"
        )

    of_views, of_kinds = answers[:, : networks.ANISOPTERA], answers[:, networks.FIRST_KIND :]
    views = -(batch.views * functional.log_softmax(of_views, dim=1)).sum(dim=1)
    kinds = -(batch.kinds * functional.log_softmax(of_kinds, dim=1)).sum(dim=1)
    everything = torch.ones_like(batch.odonate)
    return (
        mean(views, batch.view_known)
        + 0.7 * mean(yes_or_no(networks.ANISOPTERA, batch.suborder), batch.suborder_known)
        + 0.5 * mean(yes_or_no(networks.IS_ODONATE, batch.odonate), everything)
        + 0.3 * mean(yes_or_no(networks.IS_PAIR, batch.pair), batch.view_known)
        + 0.5 * mean(kinds, everything)
    )
