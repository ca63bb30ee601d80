"""The trainer: what it exports computes what it trained; batches hold what they say."""

import numpy as np
import pytest
from PIL import Image
from skimage import data

from triage.analysis import networks

torch = pytest.importorskip("torch", reason="needs torch (extra: training)")
pytest.importorskip("onnx", reason="needs onnx (extra: training)")


def weights():
    """Random weights of the Lite shape, small: two blocks a stage would be the real depth."""
    held = {"_conv_stem.weight": torch.randn(8, 3, 3, 3) * 0.2}

    def norm(name, size):
        held.update({f"{name}.weight": torch.ones(size), f"{name}.bias": torch.randn(size) * 0.1})
        held[f"{name}.running_mean"] = torch.zeros(size)
        held[f"{name}.running_var"] = torch.ones(size)
        held[f"{name}.num_batches_tracked"] = torch.tensor(0)

    norm("_bn0", 8)
    made = 8
    for number, (wide, narrow) in enumerate(
        [(8, 4), (24, 6), (36, 10), (60, 12), (72, 14), (84, 16), (96, 20)]
    ):
        name, kernel = f"_blocks.{number}", 5 if number in (2, 5) else 3
        if wide != made:
            held[f"{name}._expand_conv.weight"] = torch.randn(wide, made, 1, 1) * 0.4
            norm(f"{name}._bn0", wide)
        held[f"{name}._depthwise_conv.weight"] = torch.randn(wide, 1, kernel, kernel) * 0.4
        norm(f"{name}._bn1", wide)
        held[f"{name}._project_conv.weight"] = torch.randn(narrow, wide, 1, 1) * 0.3
        norm(f"{name}._bn2", narrow)
        made = narrow
    held["_fc.weight"], held["_fc.bias"] = torch.randn(1000, 32) * 0.1, torch.zeros(1000)
    held["_conv_head.weight"] = torch.randn(32, made, 1, 1) * 0.4
    norm("_bn1", 32)
    return held


def test_the_exported_network_answers_as_the_trained_one(tmp_path):
    from triage.bench.training.export import insect_model
    from triage.bench.training.insect_network import InsectNetwork

    torch.manual_seed(1)
    network = InsectNetwork(weights()).eval()
    insect_model(network, tmp_path / "x.onnx", note="test", small=False)
    rgb = networks.fitted(data.chelsea(), 160)
    with torch.no_grad():
        planes = torch.tensor(rgb[None].astype(np.float32)).permute(0, 3, 1, 2)
        expected = network((planes - 127) / 128)
    seen = networks.insect_maps(rgb, threads=1, model=tmp_path / "x.onnx")
    assert seen.answers == pytest.approx(expected.answers[0].numpy(), abs=1e-4)
    assert seen.heat == pytest.approx(torch.sigmoid(expected.heat[0, 0]).numpy(), abs=1e-4)
    alike = expected.alike[0].numpy()
    assert seen.alike == pytest.approx(alike / np.linalg.norm(alike), abs=1e-4)
    assert seen.edges == pytest.approx(expected.edges[0].numpy(), abs=1e-3)
    assert seen.fine_edges == pytest.approx(expected.fine_edges[0].numpy(), abs=1e-3)
    assert seen.fine_edges.shape[1] == 2 * seen.edges.shape[1]


def test_batches_keep_boxes_in_the_crop_and_repeat_with_their_seed(tmp_path):
    from triage.bench.labels import read_labels
    from triage.bench.training.batches import Photos, Sampler

    Image.fromarray(data.chelsea()).save(tmp_path / "a.png")
    Image.fromarray(data.coffee()).save(tmp_path / "b.png")
    (tmp_path / "labels.csv").write_text(
        "file,is_odonate,suborder,view,subject_box,body_box\n"
        "a.png,1,anisoptera,dorsal,0.3;0.2;0.7;0.8,0.4;0.3;0.6;0.7\nb.png,0,,,,\n",
        encoding="utf-8",
    )
    photos = Photos(read_labels(tmp_path / "labels.csv"), "cpu")
    first, again = (Sampler(photos, [0, 1], 3, 64, 32).batch() for _ in range(2))
    assert torch.equal(first.crops, again.crops)
    assert torch.equal(first.boxes, again.boxes)
    held = first.boxes[first.present]
    assert (held >= 0).all()
    assert (held <= 64).all()
    assert (held[:, 2:] > held[:, :2]).float().mean() > 0.9
    assert not first.single[:4].any()
    assert first.single[6:].all()
    assert first.marked.all()  # no photo here shows an insect that is not marked
    assert (first.present.sum(dim=1)[first.single] <= 1).all()
    assert torch.allclose(first.kinds.sum(dim=1), torch.ones(32))


def test_an_insect_pasted_beside_another_is_seen_there_and_apart_from_it():
    from triage.bench.training.collage import collaged

    crops = torch.zeros(48, 3, 64, 64)
    crops[:, :, 4:20, 4:20] = 1.0
    boxes = torch.tensor([[4.0, 4.0, 20.0, 20.0]]).repeat(48, 1)
    present = torch.ones(48, dtype=torch.bool)
    scene = collaged(crops, boxes, boxes, present, np.random.default_rng(1))
    pasted = [row for row in range(6, 9) if scene.present[row, 1]]
    assert pasted
    for row in pasted:
        x0, y0, x1, y1 = scene.boxes[row, 1].tolist()
        inside = scene.crops[row, 0, int(y0) + 2 : int(y1) - 1, int(x0) + 2 : int(x1) - 1]
        assert inside.numel() == 0 or float(inside.mean()) > 0.8
        assert min(x1, 20.0) <= max(x0, 4.0) or min(y1, 20.0) <= max(y0, 4.0)
        assert not scene.single[row]


def test_cells_without_heat_teach_nothing_where_an_insect_is_not_marked():
    from triage.bench.training.fitting import _heat_loss

    target = torch.zeros(2, 6, 6)
    target[:, 2, 2] = 1.0
    logits = torch.zeros(2, 6, 6, requires_grad=True)
    _heat_loss(logits, target, torch.tensor([True, False])).backward()
    assert (logits.grad[0] != 0).all()
    assert torch.nonzero(logits.grad[1]).tolist() == [[2, 2]]


def test_a_copy_finds_its_own_crop_when_the_vectors_say_so():
    from triage.bench.training.alike import alike_loss, changed

    vectors = torch.eye(8)
    photo, valid = torch.arange(8), torch.ones(8, dtype=torch.bool)
    right = float(alike_loss(vectors, vectors, photo, valid))
    wrong = float(alike_loss(vectors, vectors.roll(1, dims=0), photo, valid))
    assert right < 0.01 < wrong
    torch.manual_seed(0)
    crops = torch.rand(8, 3, 64, 64)
    boxes = torch.tensor([[16.0, 16.0, 48.0, 48.0]]).repeat(8, 1)
    copies = changed(crops, boxes)
    assert copies.shape == crops.shape
    assert torch.isfinite(copies).all()


def test_a_short_training_lowers_the_loss(tmp_path):
    from triage.bench.labels import read_labels
    from triage.bench.training.batches import Photos, Sampler
    from triage.bench.training.fitting import Recipe, Training, loss_of

    test_batches_keep_boxes_in_the_crop_and_repeat_with_their_seed(tmp_path)
    photos = Photos(read_labels(tmp_path / "labels.csv"), "cpu")
    torch.manual_seed(2)
    recipe = Recipe(side=64, batch=16, steps=25, rate=3e-3)
    training = Training(photos, [0, 1], weights(), recipe, seed=0)

    def loss() -> float:
        batch = Sampler(photos, [0, 1], 9, 64, 32).batch()
        with torch.no_grad():
            return float(loss_of(training.network(batch.crops), batch, 64))

    before = loss()
    for _ in range(recipe.steps):
        training.step()
    assert loss() < before
