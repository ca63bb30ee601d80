"""Rewrite a network's backbone to reckon in integers of 8 bits: a float ONNX file in, another out.

Each map of the backbone is kept as 256 steps between the least and the most that it held while
calibration pictures were looked at; weights as integers with one scale a channel (affine
quantisation after training, Jacob et al. 2018). What rounding the weights adds to the mean of each
channel is taken from its bias (Nagel et al. 2019). What stands on the backbone stays in float.

Older processors add two products in 16 bits before they add further: weights are small enough that
no two neighbours overflow there, so that every processor gets the same integers.

References
----------
B. Jacob, S. Kligys, B. Chen, M. Zhu, M. Tang, A. Howard, H. Adam and D. Kalenichenko, 2018.
Quantization and training of neural networks for efficient integer-arithmetic-only inference. CVPR
2018. arXiv:1712.05877.
M. Nagel, M. van Baalen, T. Blankevoort and M. Welling, 2019. Data-free quantization through weight
equalization and bias correction. ICCV 2019. arXiv:1906.04721.
"""

from __future__ import annotations

from collections.abc import Collection, Mapping, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import onnx
from numpy.typing import NDArray
from onnx import TensorProto, helper, numpy_helper

from triage.analysis import subject
from triage.analysis.networks import Floats, Pixels
from triage.bench.labels import Labelled

CALIBRATED = 80  # photos, at most, whose looks say what the maps hold
STEPS = 255  # between the least and the most of a map
MOST = 127  # of an integer weight
MOST_OF_PAIR = 128  # of two neighbours, absolute: 255 times as much stays below 2 to the 15th
BACKBONE = ("stem", "block", "features")  # beginnings of the names of its nodes
MEAN, SCALE = 127, 128.0  # of the input, as in export.py
PLANES = 4  # of the pictures that a shipped network takes
FIRST = "stem.convolved.weight.integers"  # the weights of those
MOST_BIAS = 2.0**30  # of an integer bias, absolute


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Held:
    """What a map held over all pictures: least and most of it, with 0 between them, and the mean
    of each channel."""

    low: float
    high: float
    means: Floats

    @property
    def step(self) -> np.float32:
        """From one integer to the next."""
        return np.float32(max(self.high - self.low, 1e-6) / STEPS)

    @property
    def zero(self) -> np.uint8:
        """The integer that stands for 0."""
        return np.uint8(round(-self.low / float(self.step)))


def quantise_all(
    labels: list[Labelled], left_out: Mapping[str, Collection[int]], folder: Path
) -> Path:
    """Make all networks in ``folder`` anew with integers; returns the folder where these lie.

    ``left_out`` names insect networks and the photos that each must not see. The class network
    sees all photos, but no label of any.
    """
    target = folder / "integers"
    target.mkdir(exist_ok=True)
    jobs = []
    with ProcessPoolExecutor() as workers:
        looks = list(workers.map(_looks_at, labels, chunksize=8))
        for name, rows in {**left_out, "imagenet": ()}.items():
            kept = [row for row in range(len(labels)) if row not in rows]
            shown = [looks[row] for row in kept[:: 1 + len(kept) // CALIBRATED]]
            pictures = [one for both in shown for one in both]
            file = f"{name}.onnx"
            jobs.append(workers.submit(quantise, folder / file, target / file, pictures))
        for job in jobs:
            job.result()
    return target


def _looks_at(label: Labelled) -> tuple[Pixels, Pixels]:
    """The whole photo and the insect from near, in exact copies, by which the steps are chosen."""
    rgb = label.rgb()
    window = subject.room_about(label.box or (0.0, 0.0, 1.0, 1.0), *rgb.shape[:2])
    return subject.whole_look(rgb, exact=True), subject.close_look(rgb, window, exact=True)


def quantise(source: Path, target: Path, pictures: Sequence[Pixels]) -> None:
    """Write the network in ``source`` with an integer backbone to ``target``."""
    model = onnx.load(source)
    nodes = {node.output[0]: node for node in model.graph.node}
    inside = [node for node in model.graph.node if _of_backbone(node)]
    maps = dict.fromkeys(name for node in inside for name in _maps_of(node, nodes))
    rewriting = _Rewriting(model, nodes, _held(model, list(maps), pictures))
    for node in inside:
        rewriting.add(node)
    rewriting.finish()
    onnx.checker.check_model(model)
    target.write_bytes(model.SerializeToString())


def integer_weights(weight: Floats) -> tuple[NDArray[np.int8], Floats]:
    """Integers and the step of each output channel; neighbours along the inputs stay small.

    ``weight`` is outputs x inputs x rows x columns. A filter of one channel alone has no neighbours
    that are added in 16 bits.
    """
    along = np.moveaxis(np.abs(weight), 1, 3).reshape(len(weight), -1)
    step = along.max(axis=1) / MOST
    if weight.shape[1] > 1:
        pairs = (along[:, :-1] + along[:, 1:]).max(axis=1)
        step = np.maximum(step, pairs / (MOST_OF_PAIR - 1))  # each is rounded by up to a half
    step = np.maximum(step, 1e-12).astype(np.float32).astype(np.float64)
    return np.rint(weight / _of_channels(step)).astype(np.int8), step


def _of_channels(step: Floats) -> Floats:
    return step.reshape(-1, 1, 1, 1)


def _of_backbone(node: Any) -> bool:
    return node.op_type in ("Conv", "Add") and node.name.startswith(BACKBONE)


def _maps_of(node: Any, nodes: dict[str, Any]) -> list[str]:
    """The maps that a convolution or a sum reads and makes, the latter after clipping."""
    given = node.input[:1] if node.op_type == "Conv" else node.input
    return [*given, _clipped(node.output[0], nodes)]


def _clipped(name: str, nodes: dict[str, Any]) -> str:
    """The map after the clipping that follows it, if one does."""
    plain = name.removesuffix(".convolved")
    return plain if plain in nodes and nodes[plain].op_type == "Clip" else name


def _held(model: Any, maps: Sequence[str], pictures: Sequence[Pixels]) -> dict[str, Held]:
    """What each map held while the network looked at the pictures."""
    import onnxruntime

    shown = onnx.ModelProto()
    shown.CopyFrom(model)
    del shown.graph.output[:]
    shown.graph.output.extend(
        helper.make_tensor_value_info(name, TensorProto.FLOAT, None) for name in maps
    )
    session = onnxruntime.InferenceSession(
        shown.SerializeToString(), providers=["CPUExecutionProvider"]
    )
    seen = [_of_picture(session.run(list(maps), {"rgb": picture[None]})) for picture in pictures]
    return {
        name: Held(
            low=min(0.0, *(low for low, _, _ in looks)),
            high=max(0.0, *(high for _, high, _ in looks)),
            means=np.mean([means for _, _, means in looks], axis=0),
        )
        for name, looks in zip(maps, zip(*seen, strict=True), strict=True)
    }


def _of_picture(maps: Sequence[Any]) -> list[tuple[float, float, Floats]]:
    return [(float(one.min()), float(one.max()), one[0].mean(axis=(1, 2))) for one in maps]


class _Rewriting:
    """A graph while its backbone becomes one of integers."""

    def __init__(self, model: Any, nodes: dict[str, Any], held: dict[str, Held]) -> None:
        self.graph = model.graph
        self.nodes = nodes
        self.held = held
        self.constants = {held.name: held for held in self.graph.initializer}
        self.fresh: list[Any] = []
        self.gone: set[str] = set()  # outputs of nodes that are replaced

    def add(self, node: Any) -> None:
        """Read and write the maps of one convolution or sum as integers."""
        made = _clipped(node.output[0], self.nodes)
        self.gone |= {node.output[0], made}
        if node.op_type == "Add":
            given = [self._from_integers(name) for name in node.input]
        else:
            given = [self._from_integers(node.input[0]), *self._weight_and_bias(node)]
        fresh = onnx.NodeProto()
        fresh.CopyFrom(node)
        del fresh.input[:], fresh.output[:]
        fresh.input.extend(given)
        fresh.output.append(f"{made}.exact")
        self.fresh.append(fresh)
        self._hold(f"{made}.step", self.held[made].step)
        self._hold(f"{made}.zero", self.held[made].zero)
        self._node("QuantizeLinear", [f"{made}.exact", *self._named(made)], f"{made}.integers")
        self._node("DequantizeLinear", [f"{made}.integers", *self._named(made)], made)

    def finish(self) -> None:
        """Put the new nodes in the place of the old ones, and drop what nothing reads."""
        kept = [node for node in self.graph.node if node.output[0] not in self.gone]
        _replace(self.graph, [*self.fresh, *kept], self.constants)

    def _named(self, name: str) -> list[str]:
        return [f"{name}.step", f"{name}.zero"]

    def _from_integers(self, name: str) -> str:
        """A map of the backbone; the photo's pixels, which are integers as they come."""
        if name != "normalised":
            return name
        self._hold("rgb.step", np.float32(1 / SCALE))
        self._hold("rgb.zero", np.uint8(MEAN))
        self.gone |= {"pixels", "planes", "centred", "normalised"}
        self._node("Transpose", ["rgb"], "planes", perm=[0, 3, 1, 2])
        self._node("DequantizeLinear", ["planes", *self._named("rgb")], "normalised")
        return "normalised"

    def _weight_and_bias(self, node: Any) -> list[str]:
        name, given = node.name.split("/")[0], self.held[node.input[0]]
        exact, bias = self._value(node.input[1]), self._value(node.input[2])
        before = 1 / SCALE if node.input[0] == "normalised" else float(given.step)
        weight, step = integer_weights(exact)
        lost = (exact - weight * _of_channels(step)).sum(axis=(2, 3))
        bias = bias + (lost @ given.means if exact.shape[1] > 1 else lost[:, 0] * given.means)
        step = np.maximum(step, np.abs(bias) / before / MOST_BIAS)  # of a channel without weights
        self._hold(f"{name}.weight.integers", weight)
        self._hold(f"{name}.weight.step", step.astype(np.float32))
        self._hold(f"{name}.bias.integers", np.rint(bias / (step * before)).astype(np.int32))
        self._hold(f"{name}.bias.step", (step * before).astype(np.float32))
        for what in ("weight", "bias"):
            constants = [f"{name}.{what}.integers", f"{name}.{what}.step"]
            self._node("DequantizeLinear", constants, f"{name}.{what}.float", axis=0)
        return [f"{name}.weight.float", f"{name}.bias.float"]

    def _value(self, name: str) -> Floats:
        """A constant, or what integers times a scale give (export.py)."""
        if name in self.constants:
            return np.asarray(numpy_helper.to_array(self.constants[name]), dtype=np.float64)
        node = self.nodes[name]
        given = [self._value(each) for each in node.input]
        reckoned: dict[str, Any] = {"Cast": lambda x: x, "Mul": np.multiply, "Add": np.add}
        return np.asarray(reckoned[node.op_type](*given), dtype=np.float64)

    def _hold(self, name: str, value: Any) -> None:
        self.constants[name] = numpy_helper.from_array(np.asarray(value), name)

    def _node(self, kind: str, given: list[str], made: str, **how: Any) -> None:
        self.fresh.append(helper.make_node(kind, given, [made], name=f"{made}/{kind}", **how))


def _planes(graph: Any) -> Any:
    """How many planes the pictures have that a graph takes."""
    return graph.input[0].type.tensor_type.shape.dim[3]


def _replace(graph: Any, nodes: list[Any], constants: Mapping[str, Any]) -> None:
    """Give a graph other nodes, and of the constants those that they read."""
    ordered = _in_order(nodes, {out.name for out in graph.output})
    read = {name for node in ordered for name in node.input}
    held = [constant for name, constant in constants.items() if name in read]
    del graph.node[:], graph.initializer[:]
    graph.node.extend(ordered)
    graph.initializer.extend(held)


def _in_order(nodes: list[Any], wanted: set[str]) -> list[Any]:
    """The nodes that lead to the wanted outcomes, each after those whose outcomes it reads."""
    makers = {node.output[0]: node for node in nodes}
    ordered: dict[str, Any] = {}

    def reach(name: str) -> None:
        stack = [(name, False)]
        while stack:
            one, ready = stack.pop()
            if one not in makers or one in ordered:
                continue
            if ready:
                ordered[one] = makers[one]
            else:
                stack.append((one, True))
                stack.extend((given, False) for given in makers[one].input)

    for name in sorted(wanted):
        reach(name)
    return list(ordered.values())


def four_planes(network: Path) -> bytes:
    """The same network for pictures of four planes, of which nothing weighs the last.

    onnxruntime multiplies integers four by four, and is a twelfth quicker so.
    """
    model = onnx.load(network)
    first = next(held for held in model.graph.initializer if held.name == FIRST)
    weight = numpy_helper.to_array(first)
    more = [(0, 0), (0, PLANES - weight.shape[1]), (0, 0), (0, 0)]
    first.CopyFrom(numpy_helper.from_array(np.pad(weight, more), FIRST))
    _planes(model.graph).dim_value = PLANES
    onnx.checker.check_model(model)
    return bytes(model.SerializeToString())


def in_float(network: Path) -> bytes:
    """A network with an integer backbone as one that reckons in float: to measure what that costs.

    Weights are what the integers stand for; maps are clipped where the exporter clips them, and
    not rounded.
    """
    model = onnx.load(network)
    nodes = {node.output[0]: node for node in model.graph.node}
    held = {constant.name: constant for constant in model.graph.initializer}
    for name, value in (("least", 0), ("most", 6), ("middle", MEAN), ("part", 1 / SCALE)):
        held[name] = numpy_helper.from_array(np.float32(value), name)
    fresh = []
    for node in model.graph.node:
        given, made = node.input[0], node.output[0]
        if node.op_type != "DequantizeLinear":
            fresh += [node]
        elif given in held:
            whole, step = (numpy_helper.to_array(held[name]) for name in node.input)
            exact = whole * step.reshape(-1, *[1] * (whole.ndim - 1))
            exact = exact[:, :3] if whole.ndim > 1 and whole.shape[1] == PLANES else exact
            held[made] = numpy_helper.from_array(exact.astype(np.float32), made)
        elif given == "planes":
            fresh += [
                helper.make_node("Cast", [given], ["pixels"], to=TensorProto.FLOAT),
                helper.make_node("Sub", ["pixels", "middle"], ["centred"]),
                helper.make_node("Mul", ["centred", "part"], [made]),
            ]
        else:
            exact = nodes[given].input[0]
            clips = nodes[exact].name.endswith(".convolved/Conv")
            kind, bounds = ("Clip", ["least", "most"]) if clips else ("Identity", [])
            fresh.append(helper.make_node(kind, [exact, *bounds], [made]))
    _planes(model.graph).dim_value = 3
    _replace(model.graph, fresh, held)
    onnx.checker.check_model(model)
    return bytes(model.SerializeToString())
