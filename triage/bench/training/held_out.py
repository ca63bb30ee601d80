"""Look at each labelled photo with the network that has not seen it, and keep what it says.

``finish`` fits the shipped heads on these sights and writes, for each photo's digest, what heads
fitted without its fold say of it. That table holds numbers only, and is what ``triage bench
vision`` shows for photos the shipped networks were trained on.
"""

from __future__ import annotations

import csv
from concurrent.futures import ProcessPoolExecutor
from dataclasses import replace
from pathlib import Path

import numpy as np

from triage.analysis import images, networks, subject, view
from triage.analysis.view import VIEWS, Heads
from triage.bench.labels import Labelled
from triage.bench.training.heads import fit_heads
from triage.bench.training.quantising import four_planes
from triage.standards.digests import digest_of

LOOKED_AT_PX = 1024  # least longer side of what is looked at, as the program does
COLUMNS = (
    "sha256", "fold", "odonate", "anisoptera", "pair", *(f"p_{name}" for name in VIEWS),
    "box", "body_box", "outline", "other_boxes", "kind",
)  # fmt: skip


def put_networks(folder: Path) -> None:
    """Put the trained networks in their places among the program's files."""
    for name in ("insect", "imagenet"):
        networks.shipped(name).write_bytes(four_planes(folder / f"{name}.onnx"))


def finish(labels: list[Labelled], held: list[list[int]], folder: Path) -> None:
    """Put heads and the held-out table in their places beside the networks there."""
    from threadpoolctl import threadpool_limits

    fold = np.zeros(len(labels), dtype=np.int64)
    for number, rows in enumerate(held):
        fold[rows] = number
    jobs = [(label, folder, int(k)) for label, k in zip(labels, fold, strict=True)]
    with ProcessPoolExecutor() as workers:
        seen = list(workers.map(_sight, jobs, chunksize=8))
    features = np.array([sight.features for sight in seen]).astype(np.float16).astype(np.float64)
    shipped = networks.shipped("insect")
    reading = repr((subject.MIDDLE, subject.INWARD)).encode()  # heads move the boxes read by it
    version = digest_of((folder / "insect.onnx").read_bytes() + reading)[:8]
    everything = np.arange(len(labels))
    apart = [everything[fold != number] for number in range(len(held))]
    with threadpool_limits(1):  # sums in one order: the same heads on any number of cores
        heads, *without = [fit_heads(features, labels, x, version) for x in (everything, *apart)]
    shipped.with_name("heads.npz").write_bytes(heads.to_bytes())
    rows_out = []
    for number, others in enumerate(without):
        for row in np.flatnonzero(fold == number).tolist():
            digest = digest_of(labels[row].content())
            rows_out.append(_row(digest, number, _as_asked(seen[row], others), others))
    with shipped.with_name("out_of_fold.csv").open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file, lineterminator="\n")
        writer.writerow(COLUMNS)
        writer.writerows(sorted(rows_out))


def _sight(job: tuple[Labelled, Path, int]) -> subject.Sight:
    label, folder, fold = job
    smaller = images.halved(label.rgb(), LOOKED_AT_PX)
    model = folder / f"fold_{fold}.onnx"
    return subject.sight_of(smaller, insect_model=model, fold=fold, always=True)


def _as_asked(sight: subject.Sight, heads: Heads) -> subject.Sight:
    """The sight as the program has it: without the class network where these heads are sure."""
    typical = view.without_classes(sight.features)
    return replace(sight, features=typical) if view.is_sure(typical, heads) else sight


def _row(digest: str, fold: int, sight: subject.Sight, heads: Heads) -> list[str]:
    said = subject.subject_of(sight, heads)

    def box(sides: view.Box) -> str:
        return ";".join(f"{side:.4f}" for side in sides)

    numbers = [
        said.odonate,
        said.anisoptera,
        float(view.pair_probability(view.stored_features(said.features), heads)),
        *(getattr(said, f"p_{name}") for name in VIEWS),
    ]
    return [
        digest,
        str(fold),
        *(f"{number:.5f}" for number in numbers),
        box(said.box),
        box(said.body_box),
        " ".join(f"{x:.4f};{y:.4f}" for x, y in sight.outline),
        " ".join(box(other) for other in said.other_boxes),
        said.kind,
    ]
