"""Build a fully convolutional EfficientNet-Lite in torch from the registry's weights.

The layer names are those of the registry's weight files, so a file loads as it is. The shape of
the network (kernels, widths, depths) is read from the weights; only the strides and the padding
rule are knowledge of ours, taken from the papers.

References
----------
M. Tan and Q. V. Le, 2019. EfficientNet: rethinking model scaling for convolutional neural
networks. ICML 2019. arXiv:1905.11946. The Lite variants (no squeeze-and-excitation, ReLU6, stem
and head of fixed width) were published by the same group in 2020 with their TPU models.
"""

from __future__ import annotations

from collections import OrderedDict

import torch
from torch import Tensor, nn
from torch.nn import functional

STAGE_STRIDES = (1, 2, 2, 2, 1, 2, 1)  # Tan and Le 2019, table 1; unchanged in the Lite variants
BATCH_NORM_EPSILON = 1e-3  # the value the published weights were trained with
BATCH_NORM_MOMENTUM = 0.01
STRIDE_16_STAGE = 4  # the last stage whose map has one cell per 16 pixels
Weights = OrderedDict[str, Tensor]


class SameConvolution(nn.Conv2d):  # type: ignore[misc]  # torch may be absent: untyped
    """A convolution with TensorFlow's SAME padding, which is lopsided at stride 2.

    For an even input and stride 2 the extra pixel goes to the right and the bottom.
    """

    def forward(self, x: Tensor) -> Tensor:
        kernel, stride = self.kernel_size[0], self.stride[0]
        if kernel == 1:
            return super().forward(x)
        total = kernel - stride
        before, after = total // 2, total - total // 2
        return super().forward(functional.pad(x, (before, after, before, after)))


def batch_norm(channels: int) -> nn.BatchNorm2d:
    """A batch normalisation with the constants of the published weights."""
    return nn.BatchNorm2d(channels, eps=BATCH_NORM_EPSILON, momentum=BATCH_NORM_MOMENTUM)


class Block(nn.Module):  # type: ignore[misc]
    """An inverted residual: widen, filter each channel, narrow, add the input back."""

    def __init__(self, given: int, expanded: int, made: int, kernel: int, stride: int) -> None:
        super().__init__()
        self.widens = expanded != given
        if self.widens:
            self._expand_conv = SameConvolution(given, expanded, 1, bias=False)
            self._bn0 = batch_norm(expanded)
        self._depthwise_conv = SameConvolution(
            expanded, expanded, kernel, stride=stride, groups=expanded, bias=False
        )
        self._bn1 = batch_norm(expanded)
        self._project_conv = SameConvolution(expanded, made, 1, bias=False)
        self._bn2 = batch_norm(made)
        self.adds = stride == 1 and given == made

    def forward(self, x: Tensor, drop: float = 0.0) -> Tensor:
        y = functional.relu6(self._bn0(self._expand_conv(x))) if self.widens else x
        y = functional.relu6(self._bn1(self._depthwise_conv(y)))
        y = self._bn2(self._project_conv(y))
        if not self.adds:
            return y
        if drop and self.training:
            kept = torch.rand(x.shape[0], 1, 1, 1, device=x.device) >= drop
            y = y * (kept / (1 - drop)).to(y.dtype)
        return y + x


class Lite(nn.Module):  # type: ignore[misc]
    """EfficientNet-Lite without its classifier.

    ``forward`` takes normalised RGB, float N x 3 x H x W with H and W multiples of 32, and gives
    the maps with one cell per 8, 16 and 32 pixels (the last one after the 1,280-channel head).
    """

    def __init__(self, weights: Weights) -> None:
        super().__init__()
        stem = weights["_conv_stem.weight"].shape[0]
        self._conv_stem = SameConvolution(3, stem, 3, stride=2, bias=False)
        self._bn0 = batch_norm(stem)
        self._blocks = nn.ModuleList()
        self.stage_ends: list[int] = []
        made, stage = stem, -1
        count = 1 + max(int(name.split(".")[1]) for name in weights if name.startswith("_blocks."))
        for number in range(count):
            narrowed, expanded = weights[f"_blocks.{number}._project_conv.weight"].shape[:2]
            kernel = weights[f"_blocks.{number}._depthwise_conv.weight"].shape[-1]
            starts_stage = narrowed != made or number == 0
            if starts_stage:
                stage += 1
                self.stage_ends.append(number)
            self.stage_ends[stage] = number
            stride = STAGE_STRIDES[stage] if starts_stage else 1
            self._blocks.append(Block(made, expanded, narrowed, kernel, stride))
            made = narrowed
        self._conv_head = SameConvolution(
            made, weights["_conv_head.weight"].shape[0], 1, bias=False
        )
        self._bn1 = batch_norm(weights["_conv_head.weight"].shape[0])
        self.load_state_dict({k: v for k, v in weights.items() if not k.startswith("_fc.")})

    @property
    def widths(self) -> tuple[int, int, int]:
        """Channels of the three maps."""
        ends = [self._blocks[self.stage_ends[stage]] for stage in (2, STRIDE_16_STAGE)]
        middle = [block._project_conv.out_channels for block in ends]
        return middle[0], middle[1], self._conv_head.out_channels

    def forward(self, x: Tensor, drop: float = 0.0) -> tuple[Tensor, Tensor, Tensor]:
        x = functional.relu6(self._bn0(self._conv_stem(x)))
        maps = []
        for number, block in enumerate(self._blocks):
            x = block(x, drop * number / len(self._blocks))
            if number in (self.stage_ends[2], self.stage_ends[STRIDE_16_STAGE]):
                maps.append(x)
        return maps[0], maps[1], functional.relu6(self._bn1(self._conv_head(x)))


def classifier(weights: Weights) -> nn.Linear:
    """The registry's last layer: mean features to the logits of its classes."""
    classes, width = weights["_fc.weight"].shape
    layer = nn.Linear(width, classes)
    layer.load_state_dict({"weight": weights["_fc.weight"], "bias": weights["_fc.bias"]})
    return layer


class Classes(nn.Module):  # type: ignore[misc]
    """The registry's network as it is, from normalised RGB to the logits of its classes."""

    def __init__(self, weights: Weights) -> None:
        super().__init__()
        self.backbone = Lite(weights)
        self.classify = classifier(weights)

    def forward(self, x: Tensor) -> Tensor:
        return self.classify(self.backbone(x)[2].float().mean(dim=(2, 3)))


def read_weights(path: str) -> Weights:
    """The registry's weight file as tensors on the processor, nothing but tensors unpickled."""
    weights: Weights = torch.load(path, map_location="cpu", weights_only=True)
    return weights
