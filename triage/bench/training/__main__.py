"""Train everything the program sees with, from labelled photos, in one command.

    python -m triage.bench.training PHOTOS [PHOTOS ...] --to FOLDER

Each PHOTOS holds photos and labels.csv (columns in ``triage/bench/labels.py``). The command trains,
for each of ten folds, a network that has not seen the fold, and one on all photos; makes their
backbones reckon in integers; looks at each photo with the network that has not seen it; fits what
tells a hand, the heads on these sights, and the reading of blur; and puts the files in place,
together with what heads fitted without a photo's fold say of it. Networks that already lie in
FOLDER are kept. Four GPUs do it in eight minutes, one in half an hour, a processor in days.
"""

from __future__ import annotations

import argparse
import sys
from collections.abc import Sequence
from pathlib import Path

from triage.bench.labels import FOLDS, folds, read_sets
from triage.bench.training.hands import fit_hands
from triage.bench.training.held_out import finish, put_networks
from triage.bench.training.quantising import quantise_all
from triage.bench.training.sharpness import fit_sharpness


def main(arguments: Sequence[str] | None = None) -> int:
    """Run the command."""
    parser = argparse.ArgumentParser(prog="python -m triage.bench.training", description=__doc__)
    parser.add_argument("photos", type=Path, nargs="+", help="folders with photos and labels.csv")
    parser.add_argument("--to", type=Path, required=True, help="folder for the networks")
    parser.add_argument("--weights", type=Path, help="the registry's file, if not installed")
    parser.add_argument("--steps", type=int, help="a trial: one short training for each network")
    chosen = parser.parse_args(arguments)
    labels = read_sets(chosen.photos)
    held = folds(labels, FOLDS)
    left_out = {f"fold_{number}": set(rows) for number, rows in enumerate(held)} | {"insect": set()}
    missing = {
        name: [row for row in range(len(labels)) if row not in rows]
        for name, rows in left_out.items()
        if not (chosen.to / f"{name}.onnx").exists()
    }
    chosen.to.mkdir(parents=True, exist_ok=True)
    if missing or not (chosen.to / "imagenet.onnx").exists():
        from triage.bench.training.devices import train_all  # torch is not needed to finish

        train_all(labels, missing, chosen.to, weights=chosen.weights, steps=chosen.steps)
    quick = quantise_all(labels, left_out, chosen.to)
    put_networks(quick)
    fit_hands(labels, held)
    finish(labels, held, quick)
    fit_sharpness(labels, held)
    return 0


if __name__ == "__main__":
    sys.exit(main())
