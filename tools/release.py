"""Build wheel and sdist, install each offline in a fresh environment, and try the program there.

    python tools/release.py            # writes dist/
    python tools/release.py --demo     # walks the whole demo in each environment, too

Needs setuptools and, once, the network: what requirements.lock names is downloaded into
build/wheelhouse with its hashes checked, and everything after that is installed from there alone.
"""

from __future__ import annotations

import argparse
import shutil
import subprocess
import sys
import tempfile
import venv
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
DIST, WHEELHOUSE, LOCK = ROOT / "dist", ROOT / "build" / "wheelhouse", ROOT / "requirements.lock"


OFFLINE = ("-m", "pip", "install", "-q", "--no-index", "--find-links", WHEELHOUSE)


def run(*arguments: object, folder: Path = ROOT) -> None:
    """Run a command, show it, and stop where it fails."""
    print("+", *arguments, flush=True)
    subprocess.run([str(one) for one in arguments], check=True, cwd=folder)


def build() -> list[Path]:
    """Wheel and sdist in an emptied dist/, made with what the wheelhouse has."""
    shutil.rmtree(DIST, ignore_errors=True)
    DIST.mkdir()
    with tempfile.TemporaryDirectory() as name:
        python = fresh_environment(Path(name)) / "python"
        run(python, *OFFLINE, "setuptools>=77", "wheel")
        for kind in ("wheel", "sdist"):
            made = f"from setuptools import build_meta; build_meta.build_{kind}({str(DIST)!r})"
            run(python, "-c", made)
    return sorted(DIST.iterdir())


def fresh_environment(folder: Path) -> Path:
    """The folder of programs of a new, empty environment."""
    venv.create(folder / "env", with_pip=True)
    return folder / "env" / ("Scripts" if sys.platform == "win32" else "bin")


def download() -> None:
    """Every locked package, with its hash, and what an sdist is built with."""
    WHEELHOUSE.mkdir(parents=True, exist_ok=True)
    pip = (sys.executable, "-m", "pip", "download", "-q", "-d", WHEELHOUSE)
    run(*pip, "--require-hashes", "-r", LOCK)
    run(*pip, "setuptools>=77", "wheel")


def try_out(package: Path, *, demo: bool) -> None:
    """Install offline in a fresh environment, start the program, and walk the demo if asked."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        programs = fresh_environment(folder)
        python = programs / "python"
        run(python, *OFFLINE, "--require-hashes", "-r", LOCK)
        run(python, *OFFLINE, "setuptools>=77", "wheel")  # an sdist is built where it is installed
        run(python, *OFFLINE, "--no-deps", "--no-build-isolation", package)
        run(programs / "python", "-m", "pip", "check", folder=folder)
        triage = programs / "triage"
        for words in (["--version"], ["--help"], ["init", "--survey", "empty"]):
            run(triage, *words, folder=folder)
        for command in ("inbox", "queue", "audit"):
            run(triage, command, "--survey", "empty", folder=folder)
        if demo:
            run(triage, "demo", "--survey", "demo", folder=folder)


def main() -> None:
    """Build, download, and try every package that was built."""
    parser = argparse.ArgumentParser(description=__doc__.splitlines()[0])
    parser.add_argument("--demo", action="store_true", help="walk the whole demo, too")
    wanted = parser.parse_args()
    download()
    packages = build()
    for package in packages:
        try_out(package, demo=wanted.demo)
    print("ready:", *(path.name for path in packages))


if __name__ == "__main__":
    main()
