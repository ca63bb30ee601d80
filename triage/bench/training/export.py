"""Write trained layers as a compact ONNX file.

Batch normalisation is folded into the convolutions; weights are stored as floats, or as integers of
8 bits with one scale per output channel, which onnxruntime turns back once, when it opens the file.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

from triage.analysis.networks import Floats
from triage.bench.training.insect_network import ALIKE, ANSWERS, CELL, EMBEDDED, InsectNetwork
from triage.bench.training.network import Block, Lite, SameConvolution

OPSET = 17
ODONATE_CLASSES = (319, 320)  # dragonfly and damselfly among the 1,000 of ImageNet 2012
MEAN, SCALE = 127.0, 128.0  # the published input scaling of the Lite variants


def _exact(tensor: Any) -> Floats:
    return np.asarray(tensor.detach().double().cpu().numpy())


class Graph:
    """An ONNX graph under construction: nodes and constants by name."""

    def __init__(self, *, small: bool) -> None:
        self.small = small
        self.nodes: list[Any] = []
        self.constants: list[Any] = []
        self.held: set[str] = set()

    def constant(self, value: Any, name: str, *, small: bool = False) -> str:
        """A constant; a small one of many floats becomes integers times a scale per channel."""
        if name in self.held:
            return name
        self.held.add(name)
        array = np.asarray(value)
        many = array.dtype == np.float32 and array.ndim >= 2 and array.size >= 1024
        if not many or not (small or self.small):
            self.constants.append(numpy_helper.from_array(array, name))
            return name
        largest = np.abs(array).reshape(len(array), -1).max(axis=1).astype(np.float64)
        scale = np.maximum(largest, 1e-12).reshape(-1, *[1] * (array.ndim - 1)) / 127
        stored = {"stored": np.rint(array / scale).astype(np.int8), "scale": np.float32(scale)}
        self.constants += [numpy_helper.from_array(x, f"{name}.{of}") for of, x in stored.items()]
        whole = self.node("Cast", f"{name}.stored", name=f"{name}.whole", to=TensorProto.FLOAT)
        return self.node("Mul", whole, f"{name}.scale", name=name)

    def number(self, value: float) -> str:
        """A scalar constant, held once."""
        name = f"number {value:g}"
        if all(held.name != name for held in self.constants):
            self.constants.append(numpy_helper.from_array(np.float32(value), name))
        return name

    def node(self, kind: str, *given: str, name: str, **attributes: Any) -> str:
        """One operator with one output called ``name``."""
        self.nodes.append(
            helper.make_node(kind, list(given), [name], name=f"{name}/{kind}", **attributes)
        )
        return name

    def convolution(
        self, x: str, layer: SameConvolution, normal: Any, name: str, clip: bool = True
    ) -> str:
        """A convolution with its batch normalisation folded in, and ReLU6 where asked."""
        weight = _exact(layer.weight)
        bias = np.zeros(len(weight)) if layer.bias is None else _exact(layer.bias)
        if normal is not None:
            gain = _exact(normal.weight) / np.sqrt(_exact(normal.running_var) + normal.eps)
            bias = _exact(normal.bias) + (bias - _exact(normal.running_mean)) * gain
            weight = weight * gain[:, None, None, None]
        kernel, stride = layer.kernel_size[0], layer.stride[0]
        before = max(kernel - stride, 0) // 2
        after = max(kernel - stride, 0) - before
        y = self.node(
            "Conv",
            x,
            self.constant(weight.astype(np.float32), f"{name}.weight"),
            self.constant(bias.astype(np.float32), f"{name}.bias"),
            name=f"{name}.convolved" if clip else name,
            strides=[stride, stride],
            group=layer.groups,
            kernel_shape=[kernel, kernel],
            pads=[before, before, after, after],
        )
        return self.relu6(y, name) if clip else y

    def relu6(self, x: str, name: str) -> str:
        """Clip to 0..6."""
        return self.node("Clip", x, self.number(0.0), self.number(6.0), name=name)

    def normal(self, x: str, normal: Any, name: str) -> str:
        """A batch normalisation by itself, then ReLU6."""
        parts = (normal.weight, normal.bias, normal.running_mean, normal.running_var)
        held = [
            self.constant(_exact(part).astype(np.float32), f"{name}.normal{number}")
            for number, part in enumerate(parts)
        ]
        y = self.node("BatchNormalization", x, *held, name=f"{name}.normalised", epsilon=normal.eps)
        return self.relu6(y, name)

    def doubled(self, x: str, name: str) -> str:
        """A map with each cell repeated twice in both directions."""
        self.constant(np.array([1, 1, 2, 2], dtype=np.float32), "twice")
        how = {"coordinate_transformation_mode": "asymmetric", "nearest_mode": "floor"}
        return self.node("Resize", x, "", "twice", name=name, mode="nearest", **how)

    def linear(self, x: str, layer: Any, name: str, held: str = "") -> str:
        """A fully connected layer; its weights are called ``held``, by which two may share them."""
        held = held or name
        weight = self.constant(_exact(layer.weight).astype(np.float32), f"{held}.weight")
        bias = self.constant(_exact(layer.bias).astype(np.float32), f"{held}.bias")
        return self.node("Gemm", x, weight, bias, name=name, transB=1)

    def normalised_input(self) -> str:
        """uint8 N x H x W x 3 to the network's float N x 3 x H x W."""
        x = self.node("Cast", "rgb", name="pixels", to=TensorProto.FLOAT)
        x = self.node("Transpose", x, name="planes", perm=[0, 3, 1, 2])
        x = self.node("Sub", x, self.number(MEAN), name="centred")
        return self.node("Mul", x, self.number(1 / SCALE), name="normalised")

    def backbone(self, x: str, network: Lite) -> tuple[str, str, str]:
        """The network's three maps."""
        x = self.convolution(x, network._conv_stem, network._bn0, "stem")
        maps = []
        for number, block in enumerate(network._blocks):
            x = self._block(x, block, f"block{number}")
            if number in (network.stage_ends[2], network.stage_ends[4]):
                maps.append(x)
        return maps[0], maps[1], self.convolution(x, network._conv_head, network._bn1, "features")

    def _block(self, x: str, block: Block, name: str) -> str:
        y = x
        if block.widens:
            y = self.convolution(y, block._expand_conv, block._bn0, f"{name}.wide")
        y = self.convolution(y, block._depthwise_conv, block._bn1, f"{name}.filtered")
        y = self.convolution(y, block._project_conv, block._bn2, f"{name}.narrow", clip=False)
        return self.node("Add", y, x, name=f"{name}.sum") if block.adds else y

    def save(self, path: Path, outputs: dict[str, list[Any]], note: str) -> int:
        """Write the checked model; returns its size in bytes."""
        model = helper.make_model(
            helper.make_graph(
                self.nodes,
                path.stem,
                [helper.make_tensor_value_info("rgb", TensorProto.UINT8, ["n", "h", "w", 3])],
                [
                    helper.make_tensor_value_info(k, TensorProto.FLOAT, s)
                    for k, s in outputs.items()
                ],
                self.constants,
            ),
            opset_imports=[helper.make_opsetid("", OPSET)],
            producer_name="odonata-triage",
            doc_string=note,
            ir_version=9,
        )
        onnx.checker.check_model(model)
        path.write_bytes(model.SerializeToString())
        return path.stat().st_size


def class_map_model(network: Lite, classifier: Any, bias: Any, path: Path) -> int:
    """The registry's network and its classifier, nothing trained, as one ONNX file.

    Outputs: ``features`` (N x 1,280 x rows x columns), ``odonate`` (N x 2 x rows x columns: each
    cell's softmax probability of dragonfly and damselfly) and ``classes`` (N x 1,000: the logits
    of the mean feature).
    """
    graph = Graph(small=False)
    features = graph.backbone(graph.normalised_input(), network)[2]
    weight = graph.constant(
        np.asarray(classifier)[:, :, None, None], "classifier.weight", small=True
    )
    graph.constant(np.asarray(bias), "classifier.bias")
    one = {"kernel_shape": [1, 1]}
    logits = graph.node("Conv", features, weight, "classifier.bias", name="class map", **one)
    shares = graph.node("Softmax", logits, name="shares", axis=1)
    graph.constant(np.array(ODONATE_CLASSES, dtype=np.int64), "odonate classes")
    graph.node("Gather", shares, "odonate classes", name="odonate", axis=1)
    graph.node("ReduceMean", logits, name="classes", axes=[2, 3], keepdims=0)
    shapes: dict[str, list[Any]] = {
        "features": ["n", len(np.asarray(classifier)[0]), "rows", "columns"],
        "odonate": ["n", 2, "rows", "columns"],
        "classes": ["n", len(np.asarray(classifier))],
    }
    return graph.save(path, shapes, "EfficientNet-Lite0 with ImageNet weights; see NOTICE")


def insect_model(network: InsectNetwork, path: Path, *, note: str, small: bool = True) -> int:
    """A trained insect network as one ONNX file.

    Outputs: ``heat`` (N x 1 x rows x columns, 0..1, cells of 16 px), ``sides`` (N x 8 x rows x
    columns: distances in pixels to left, top, right, bottom of the insect and of its body),
    ``edges`` (the same shape: logits of where each of these sides is), ``fine edges`` (the same
    with cells of 8 px),
    ``embedding`` (N x 128) and ``answers`` (N x 8, logits).
    """
    graph = Graph(small=small)
    finest, fine, coarse = graph.backbone(graph.normalised_input(), network.backbone)
    low = graph.convolution(coarse, network.from_coarse, None, "from coarse", clip=False)
    low = graph.doubled(low, "low doubled")
    high = graph.convolution(fine, network.from_fine, None, "from fine", clip=False)
    merged = graph.normal(graph.node("Add", high, low, name="added"), network.merged_norm, "merged")
    spread = graph.convolution(merged, network.spread, network.spread_norm, "spread")
    mixed = graph.convolution(spread, network.mix, network.mix_norm, "mix")
    mixed = graph.node("Add", mixed, merged, name="mixed")
    dense = graph.convolution(mixed, network.dense, None, "dense", clip=False)
    far = graph.convolution(mixed, network.far, network.far_norm, "far")
    graph.convolution(far, network.edge, None, "edges", clip=False)
    near = graph.convolution(finest, network.from_finest, None, "from finest", clip=False)
    near = graph.node("Add", near, graph.doubled(far, "far doubled"), name="near added")
    near = graph.normal(near, network.finest_norm, "near merged")
    near = graph.convolution(near, network.near, network.near_norm, "near")
    graph.convolution(near, network.fine_edge, None, "fine edges", clip=False)
    for name, start, stop in (("heat logits", 0, 1), ("side logits", 1, 9)):
        bounds = [
            graph.constant(np.array([n], dtype=np.int64), f"{name} {n}") for n in (start, stop)
        ]
        axis = graph.constant(np.array([1], dtype=np.int64), f"{name} axis")
        graph.node("Slice", dense, *bounds, axis, name=name)
    graph.node("Sigmoid", "heat logits", name="heat")
    sides = graph.node("Clip", "side logits", graph.number(-4.0), graph.number(4.0), name="clipped")
    sides = graph.node("Exp", sides, name="cells far")
    graph.node("Mul", sides, graph.number(float(CELL)), name="sides")
    weight = graph.node(
        "AveragePool", "heat", name="heat halved", kernel_shape=[2, 2], strides=[2, 2]
    )
    weight = graph.node("Add", weight, graph.number(1e-4), name="weight")
    total = graph.node("ReduceMean", weight, name="weight mean", axes=[2, 3], keepdims=1)
    weight = graph.node("Div", weight, total, name="relative weight")
    looked = graph.node("Mul", coarse, weight, name="weighted features")
    looked = graph.node("ReduceMean", looked, name="looked", axes=[2, 3], keepdims=0)
    whole = graph.node("ReduceMean", coarse, name="whole", axes=[2, 3], keepdims=0)
    pooled = graph.node("Concat", whole, looked, name="pooled", axis=1)
    graph.linear(whole, network.classify, "classes")
    graph.linear(looked, network.classify, "classes looked", held="classes")
    graph.linear(pooled, network.alike, "alike")
    graph.relu6(graph.linear(pooled, network.embed, "embedded"), "embedding")
    graph.linear("embedding", network.answer, "answers")
    maps: dict[str, list[Any]] = {
        "heat": ["n", 1, "rows", "columns"],
        "sides": ["n", 8, "rows", "columns"],
        "edges": ["n", 8, "rows", "columns"],
        "fine edges": ["n", 8, "fine rows", "fine columns"],
        "alike": ["n", ALIKE],
        "embedding": ["n", EMBEDDED],
        "answers": ["n", ANSWERS],
        "classes": ["n", network.classify.out_features],
        "classes looked": ["n", network.classify.out_features],
    }
    return graph.save(path, maps, note)
