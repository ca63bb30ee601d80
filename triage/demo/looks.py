"""The looks of the species that the demo draws, and of an empty skin, read from its data."""

from __future__ import annotations

from triage.demo.data_files import read_toml
from triage.demo.insect import Look

LOOKS = {name: Look(**look) for name, look in read_toml("looks.toml").items()}
SKIN = LOOKS.pop("exuvia")
