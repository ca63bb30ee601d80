"""Trained layers in, a compact ONNX file out.

Batch normalisation is folded into the convolutions; weights are stored as integers of 8, 16 or 24
bits with one scale per output channel and turned back to float32 once, when onnxruntime opens the
file. 24 bits are float32 for all that can be measured, at three quarters of the bytes.
"""

from __future__ import annotations

from pathlib import Path
from typing import Any

import numpy as np
import onnx
from onnx import TensorProto, helper, numpy_helper

from triage.bench.training.network import Block, Lite, SameConvolution

OPSET = 17
ODONATE_CLASSES = (319, 320)  # dragonfly and damselfly among the 1,000 of ImageNet 2012
MEAN, SCALE = 127.0, 128.0  # the published input scaling of the Lite variants


class Graph:
    """An ONNX graph under construction: nodes and constants by name."""

    def __init__(self, bits: int = 16) -> None:
        self.bits = bits
        self.nodes: list[Any] = []
        self.constants: list[Any] = []

    def constant(self, value: Any, name: str, bits: int | None = None) -> str:
        """A constant; float matrices and filters become integers times a scale per channel."""
        array = np.asarray(value)
        if array.dtype != np.float32 or array.ndim < 2 or array.size < 1024:
            self.constants.append(numpy_helper.from_array(array, name))
            return name
        bits = bits or self.bits
        largest = np.abs(array).reshape(len(array), -1).max(axis=1).astype(np.float64)
        scale = np.maximum(largest, 1e-12) / (2 ** (bits - 1) - 1)
        scale = scale.reshape(-1, *[1] * (array.ndim - 1))
        whole = np.rint(array / scale).astype(np.int64)
        if bits == 24:
            x = self._integers((whole >> 8).astype(np.int16), f"{name}.high")
            x = self.node("Mul", x, self._number(256.0), name=f"{name}.shifted")
            low = self._integers((whole & 255).astype(np.uint8), f"{name}.low")
            x = self.node("Add", x, low, name=f"{name}.whole")
        else:
            x = self._integers(whole.astype(np.int8 if bits == 8 else np.int16), f"{name}.whole")
        self.constants.append(numpy_helper.from_array(scale.astype(np.float32), f"{name}.scale"))
        return self.node("Mul", x, f"{name}.scale", name=name)

    def _integers(self, value: Any, name: str) -> str:
        self.constants.append(numpy_helper.from_array(value, f"{name}.stored"))
        return self.node("Cast", f"{name}.stored", name=name, to=TensorProto.FLOAT)

    def _number(self, value: float) -> str:
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
        weight = layer.weight.detach().double().cpu().numpy()
        bias = (
            np.zeros(len(weight))
            if layer.bias is None
            else layer.bias.detach().double().cpu().numpy()
        )
        if normal is not None:
            gain = normal.weight.detach().double().cpu().numpy() / np.sqrt(
                normal.running_var.double().cpu().numpy() + normal.eps
            )
            mean = normal.running_mean.double().cpu().numpy()
            bias = normal.bias.detach().double().cpu().numpy() + (bias - mean) * gain
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
        return self.node("Clip", x, self._number(0.0), self._number(6.0), name=name)

    def normalised_input(self, name: str = "rgb") -> str:
        """uint8 N x H x W x 3 to the network's float N x 3 x H x W."""
        x = self.node("Cast", name, name="pixels", to=TensorProto.FLOAT)
        x = self.node("Transpose", x, name="planes", perm=[0, 3, 1, 2])
        x = self.node("Sub", x, self._number(MEAN), name="centred")
        return self.node("Mul", x, self._number(1 / SCALE), name="normalised")

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
    graph = Graph(bits=24)
    features = graph.backbone(graph.normalised_input(), network)[2]
    weight = graph.constant(np.asarray(classifier)[:, :, None, None], "classifier.weight", bits=8)
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
