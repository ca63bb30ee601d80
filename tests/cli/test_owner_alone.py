"""What the program writes is its owner's alone to read: names, mail and photos of people."""

from __future__ import annotations

import os
import stat
import subprocess
import sys
from pathlib import Path

import pytest
from tests_support import DEMO

pytestmark = pytest.mark.skipif(os.name == "nt", reason="Windows has no modes")
PROGRAM = "import sys; sys.argv[0] = 'triage'; from triage.cli import entry_point; entry_point()"


def run(place: Path, *arguments: str) -> None:
    command = [sys.executable, "-c", PROGRAM, *arguments]
    subprocess.run(command, cwd=place, check=True, capture_output=True, umask=0, timeout=600)


def open_to_others(place: Path) -> list[str]:
    return [
        str(path.relative_to(place))
        for path in place.rglob("*")
        if path.stat().st_mode & (stat.S_IRWXG | stat.S_IRWXO)
    ]


def test_surveys_previews_exports_packets_and_backups_are_their_owners_alone(tmp_path: Path):
    few = tmp_path / "few"
    few.mkdir(mode=0o700)
    mails = (DEMO / "inbox.mbox").read_bytes().split(b"\nFrom ")
    (few / "some.mbox").write_bytes(b"\nFrom ".join(mails[:6]) + b"\n")
    (few / "some.mbox").chmod(0o600)
    here = ("--survey", "made/survey")
    run(tmp_path, "init", *here)
    run(tmp_path, "sites", str(DEMO / "sites.csv"), *here)
    run(tmp_path, "run", "few/some.mbox", *here)
    run(tmp_path, "queue", *here, "--html", "made/queue.html")
    run(tmp_path, "queue", *here, "--csv", "made/queue.csv")
    run(tmp_path, "photos", *here, "--csv", "made/photos.csv")
    run(tmp_path, "desk", *here, "--starter", "made/starter")
    run(tmp_path, "export", "--to", "made/export", *here)
    run(tmp_path, "export", "--to", "made/internal", "--internal", *here)
    run(tmp_path, "report", "--to", "made/report", *here)
    run(tmp_path, "packet", "--for", "Ida Kvist", "--new", "--to", "made/ida.zip", *here)
    run(tmp_path, "backup", "--to", "made/backup.zip", *here)
    run(tmp_path, "restore", "made/backup.zip", "--survey", "made/restored")
    made = {path.name for path in (tmp_path / "made").iterdir()}
    assert made == {
        *("survey", "restored", "backup.zip", "ida.zip", "starter"),
        *("queue.html", "queue.csv", "photos.csv", "export", "internal", "report"),
    }
    assert open_to_others(tmp_path) == []
