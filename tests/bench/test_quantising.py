"""Networks that reckon in integers answer as those in float, alike on every processor."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from hypothesis.extra import numpy as arrays
from skimage import data

from triage.analysis import networks

onnx = pytest.importorskip("onnx", reason="needs onnx (extra: training)")


def small_network(path):
    """A stem, a block that adds its input, features and their mean, named as the exporter does."""
    from onnx import TensorProto, helper, numpy_helper

    random = np.random.default_rng(5)
    nodes, held = [], []

    def constant(name, value):
        held.append(numpy_helper.from_array(np.asarray(value), name))
        return name

    def convolution(x, name, shape, *, group=1, clip=True):
        weight = constant(f"{name}.weight", random.normal(0, 0.5, shape).astype(np.float32))
        bias = constant(f"{name}.bias", random.normal(0.5, 0.5, shape[0]).astype(np.float32))
        made = f"{name}.convolved" if clip else name
        pads = [shape[2] // 2] * 4
        nodes.append(
            helper.make_node(
                "Conv", [x, weight, bias], [made], f"{made}/Conv", group=group, pads=pads
            )
        )
        if clip:
            nodes.append(helper.make_node("Clip", [made, "least", "most"], [name], f"{name}/Clip"))
        return name

    for name, value in (("least", 0), ("most", 6), ("middle", 127), ("part", 1 / 128)):
        constant(name, np.float32(value))
    nodes += [
        helper.make_node("Cast", ["rgb"], ["pixels"], "pixels/Cast", to=TensorProto.FLOAT),
        helper.make_node("Transpose", ["pixels"], ["planes"], "planes/T", perm=[0, 3, 1, 2]),
        helper.make_node("Sub", ["planes", "middle"], ["centred"], "centred/Sub"),
        helper.make_node("Mul", ["centred", "part"], ["normalised"], "normalised/Mul"),
    ]
    stem = convolution("normalised", "stem", (8, 3, 3, 3))
    wide = convolution(stem, "block0.wide", (16, 8, 1, 1))
    filtered = convolution(wide, "block0.filtered", (16, 1, 3, 3), group=16)
    narrow = convolution(filtered, "block0.narrow", (8, 16, 1, 1), clip=False)
    nodes.append(helper.make_node("Add", [narrow, stem], ["block0.sum"], "block0.sum/Add"))
    convolution("block0.sum", "features", (12, 8, 1, 1))
    nodes.append(helper.make_node("ReduceMean", ["features"], ["means"], "means/R", axes=[2, 3]))
    given_as = helper.make_tensor_value_info("rgb", TensorProto.UINT8, ["n", "h", "w", 3])
    shapes = {"features": ["n", 12, "h", "w"], "means": ["n", 12, 1, 1]}
    outcomes = [
        helper.make_tensor_value_info(name, TensorProto.FLOAT, shape)
        for name, shape in shapes.items()
    ]
    graph = helper.make_graph(nodes, "small", [given_as], outcomes, held)
    opset = [helper.make_opsetid("", 17)]
    onnx.save(helper.make_model(graph, opset_imports=opset, ir_version=9), path)


def test_integers_say_what_floats_do_to_a_fiftieth(tmp_path):
    from triage.bench.training.quantising import quantise

    exact, quick = tmp_path / "exact.onnx", tmp_path / "quick.onnx"
    small_network(exact)
    quantise(exact, quick, [networks.fitted(data.coffee(), 96), networks.fitted(data.rocket(), 96)])
    rgb = networks.fitted(data.chelsea(), 96)
    names = ["features", "means"]
    wanted, found = (networks.outcomes(file, names, rgb, threads=1) for file in (exact, quick))
    for one, other in zip(wanted, found, strict=True):
        assert 0 < np.sqrt(np.mean((one - other) ** 2)) < 0.02 * np.ptp(one)
    kinds = [node.op_type for node in onnx.load(quick).graph.node]
    assert "Clip" not in kinds  # the integers end where it clipped
    assert kinds.count("QuantizeLinear") == 6  # five convolutions and a sum


def test_a_network_in_float_again_says_the_same_to_a_fiftieth(tmp_path):
    from triage.bench.training.quantising import four_planes, in_float, quantise

    exact, quick, again = (tmp_path / f"{name}.onnx" for name in ("exact", "quick", "again"))
    small_network(exact)
    quantise(exact, quick, [networks.fitted(data.coffee(), 96), networks.fitted(data.rocket(), 96)])
    quick.write_bytes(four_planes(quick))
    again.write_bytes(in_float(quick))
    rgb = networks.fitted(data.chelsea(), 96)
    wanted, found = (
        networks.outcomes(file, ["features"], rgb, threads=1)[0] for file in (exact, again)
    )
    assert 0 < np.sqrt(np.mean((wanted - found) ** 2)) < 0.02 * np.ptp(wanted)
    kinds = [node.op_type for node in onnx.load(again).graph.node]
    assert not {"QuantizeLinear", "DequantizeLinear"} & set(kinds)
    assert kinds.count("Clip") == 4  # those of the network before, and none besides


def test_a_fourth_plane_changes_nothing(tmp_path):
    from triage.bench.training.quantising import four_planes, quantise

    exact, quick, wide = (tmp_path / f"{name}.onnx" for name in ("exact", "quick", "wide"))
    small_network(exact)
    quantise(exact, quick, [networks.fitted(data.coffee(), 96)])
    wide.write_bytes(four_planes(quick))
    assert onnx.load(wide).graph.input[0].type.tensor_type.shape.dim[3].dim_value == 4
    rgb = networks.fitted(data.chelsea(), 96)
    one, other = (networks.outcomes(file, ["features"], rgb, threads=1) for file in (quick, wide))
    assert np.array_equal(one[0], other[0])


def most_added(whole):
    """The most that two neighbours add to, with the largest integers they are multiplied by."""
    along = np.moveaxis(np.abs(whole.astype(int)), 1, 3).reshape(len(whole), -1)
    return 255 * int((along[:, :-1] + along[:, 1:]).max())


@given(arrays.arrays(np.float64, (3, 6, 2, 2), elements=st.floats(-4, 4)))
def test_two_neighbours_never_overflow_16_bits(weight):
    from triage.bench.training.quantising import integer_weights

    whole, step = integer_weights(weight)
    assert most_added(whole) < 2**15
    assert np.abs(whole * step.reshape(-1, 1, 1, 1) - weight).max() <= step.max() / 2 * 1.001


@pytest.mark.parametrize("name", ["insect", "imagenet"])
def test_the_shipped_networks_never_overflow_16_bits(name):
    from onnx import numpy_helper

    held = onnx.load(networks.shipped(name)).graph.initializer
    weights = [numpy_helper.to_array(one) for one in held if one.name.endswith("weight.integers")]
    added = [weight for weight in weights if weight.shape[1] > 1]
    assert len(added) > 30
    assert all(weight.dtype == np.int8 for weight in weights)
    assert max(map(most_added, added)) < 2**15
