"""The lock file names all that the program needs, each with its hashes and from nowhere special."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

ROOT = Path(__file__).parent.parent
LOCK = (ROOT / "requirements.lock").read_text(encoding="utf-8")


def canonical(name: str) -> str:
    """A project's name as the packaging specifications compare it (PEP 503)."""
    return re.sub(r"[-_.]+", "-", name).lower()


def test_every_dependency_is_locked():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    wanted = {canonical(re.match(r"[\w.-]+", one)[0]) for one in project["dependencies"]}
    assert wanted <= set(re.findall(r"^([a-z0-9-]+)==", LOCK, re.M))


def test_every_package_has_one_version_and_its_hashes():
    packages = re.split(r"^(?=[a-z])", LOCK, flags=re.M)[1:]
    assert len(packages) > 50
    for text in packages:
        assert re.match(r"[a-z0-9-]+==\S+", text)
        assert re.search(r"--hash=sha256:[0-9a-f]{64}", text), text[:60]


def test_no_host_and_no_path_of_a_machine_stands_in_it():
    assert not re.search(r"://|file:|index-url|find-links|^/", LOCK, re.M)
