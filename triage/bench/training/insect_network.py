"""A photo in, where the insect and its body are, view, suborder, odonate and pair out: in torch.

The registry's backbone, its maps of 16 and 32 pixels a cell merged, and on them

- a heat map of insect centres with the distances from each cell to the four sides of the insect
  and of its body (as in Tian et al. 2019): this finds several insects;
- eight maps, one for each of those sides, whose softmax says where the insect's outermost point
  lies; the side is the mean coordinate under it (as in Sun et al. 2018): this is more exact, and
  holds for one insect. Where along its side the outermost point lies is learned without labels.
  They are drawn twice, in cells of 16 pixels and, with the backbone's finer map, of 8.

The features are pooled over the photo and over the heat into one short vector; all other answers
are linear in it, so that they can be refitted without torch.

References
----------
Z. Tian, C. Shen, H. Chen and T. He, 2019. FCOS: fully convolutional one-stage object detection.
ICCV 2019. arXiv:1904.01355.
X. Sun, B. Xiao, F. Wei, S. Liang and Y. Wei, 2018. Integral human pose regression. ECCV 2018.
arXiv:1711.08229.
X. Zhou, D. Wang and P. Krahenbuhl, 2019. Objects as points. arXiv:1904.07850.
"""

from __future__ import annotations

from dataclasses import dataclass

import torch
from torch import Tensor, nn
from torch.nn import functional

from triage.bench.training.network import Lite, SameConvolution, Weights, batch_norm, classifier

CELL = 16  # px of the photo in one cell of the dense maps
MERGED = 128  # channels of the merged map
EMBEDDED = 128  # length of the pooled vector
ALIKE = 48  # length of the vector by which one animal is known again
ANSWERS = 14  # five views, suborder, odonate, pair, six kinds


@dataclass(frozen=True)
class Seen:
    """What the network says of a batch: maps N x C x rows x columns, answers N x 14, and the
    logits of the 1,000 classes that the backbone was first trained on, N x 1,000."""

    heat: Tensor
    sides: Tensor
    edges: Tensor
    fine_edges: Tensor
    pooled: Tensor
    alike: Tensor
    embedding: Tensor
    answers: Tensor
    classes: Tensor


class InsectNetwork(nn.Module):  # type: ignore[misc]
    """Backbone, merged map, dense answers and pooled answers."""

    def __init__(self, weights: Weights) -> None:
        super().__init__()
        self.backbone = Lite(weights)
        finest, fine, coarse = self.backbone.widths
        self.from_fine = SameConvolution(fine, MERGED, 1, bias=False)
        self.from_coarse = SameConvolution(coarse, MERGED, 1, bias=False)
        self.merged_norm = batch_norm(MERGED)
        self.spread = SameConvolution(MERGED, MERGED, 5, groups=MERGED, bias=False)
        self.spread_norm = batch_norm(MERGED)
        self.mix = SameConvolution(MERGED, MERGED, 1, bias=False)
        self.mix_norm = batch_norm(MERGED)
        self.dense = SameConvolution(MERGED, 9, 1)
        self.far = SameConvolution(MERGED, MERGED, 5, groups=MERGED, bias=False)
        self.far_norm = batch_norm(MERGED)
        self.edge = SameConvolution(MERGED, 8, 1)
        self.from_finest = SameConvolution(finest, MERGED, 1, bias=False)
        self.finest_norm = batch_norm(MERGED)
        self.near = SameConvolution(MERGED, MERGED, 3, groups=MERGED, bias=False)
        self.near_norm = batch_norm(MERGED)
        self.fine_edge = SameConvolution(MERGED, 8, 1)
        self.embed = nn.Linear(2 * coarse, EMBEDDED)
        self.answer = nn.Linear(EMBEDDED, ANSWERS)
        self.classify = classifier(weights)
        self.alike = nn.Linear(2 * coarse, ALIKE)
        nn.init.normal_(self.dense.weight, std=0.01)
        nn.init.zeros_(self.dense.bias)
        with torch.no_grad():
            self.dense.bias[0] = -3.0  # insects' centres are rare among the cells
            self.dense.bias[1:] = 1.0  # e cells: a start near the common size
        nn.init.normal_(self.answer.weight, std=0.02)
        nn.init.zeros_(self.answer.bias)

    def forward(self, x: Tensor, drop: float = 0.0, forget: float = 0.0) -> Seen:
        """Normalised RGB, N x 3 x H x W, sides multiples of 32."""
        finest, fine, coarse = self.backbone(x, drop)
        wide = functional.interpolate(self.from_coarse(coarse), scale_factor=2, mode="nearest")
        merged = functional.relu6(self.merged_norm(self.from_fine(fine) + wide))
        spread = functional.relu6(self.spread_norm(self.spread(merged)))
        mixed = functional.relu6(self.mix_norm(self.mix(spread))) + merged
        dense = self.dense(mixed)
        heat = dense[:, :1]
        weight = functional.avg_pool2d(torch.sigmoid(heat.detach().float()), 2) + 1e-4
        weight = weight / weight.sum(dim=(2, 3), keepdim=True)
        looked = (coarse.float() * weight).sum(dim=(2, 3))
        mean = coarse.float().mean(dim=(2, 3))
        pooled = torch.cat([mean, looked], dim=1)
        kept = functional.dropout(pooled, forget, self.training)
        embedding = functional.relu6(self.embed(kept))
        answers = self.answer(functional.dropout(embedding, forget, self.training))
        far = functional.relu6(self.far_norm(self.far(mixed)))
        edges = self.edge(far)
        wide = functional.interpolate(far, scale_factor=2, mode="nearest")
        near = functional.relu6(self.finest_norm(self.from_finest(finest) + wide))
        near = functional.relu6(self.near_norm(self.near(near)))
        fine_edges = self.fine_edge(near)
        alike = self.alike(pooled.detach())  # reads what the rest learned, and leaves it alone
        return Seen(
            heat,
            dense[:, 1:],
            edges,
            fine_edges,
            pooled,
            alike,
            embedding,
            answers,
            self.classify(mean),
        )


def boxes_of_cells(sides: Tensor) -> Tensor:
    """Box of each cell, N x 4 x rows x columns (x0, y0, x1, y1 in pixels), from four sides."""
    rows, columns = sides.shape[2:]
    y = (torch.arange(rows, device=sides.device) + 0.5) * CELL
    x = (torch.arange(columns, device=sides.device) + 0.5) * CELL
    far = torch.exp(sides.float().clamp(-4, 4)) * CELL
    x, y = x[None, None, :], y[None, :, None]
    return torch.stack([x - far[:, 0], y - far[:, 1], x + far[:, 2], y + far[:, 3]], dim=1)


def means_of_edges(edges: Tensor, side: int) -> tuple[Tensor, Tensor]:
    """Mean coordinate under each edge map's softmax, N x 8 pixels, and the marginals N x 8 x cells.

    The cells' coordinates run from 0 to ``side``, so that an edge can lie on the photo's border.
    The maps are square.
    """
    shares = edges.float().flatten(2).softmax(dim=2).view(edges.shape)
    across = torch.stack([shares[:, k].sum(dim=1 if k % 2 == 0 else 2) for k in range(8)], dim=1)
    place = torch.linspace(0, side, edges.shape[2], device=edges.device)
    return (across * place).sum(dim=2), across
