"""The records of a packet: blind by construction, since they have no field for who or where."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from triage.analysis.view import Box


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture as it goes into the packet: a JPEG without metadata, of the part shown.

    ``box`` is where the insect is, as fractions of the part; None where nothing was measured.
    ``insect_px`` is its length in pixels of this picture, ``focus`` in [0, 1].
    """

    jpeg: bytes
    width: int
    height: int
    view: str
    box: Box | None
    focus: float
    insect_px: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """One sighting of a packet: its key, the day it was seen, or nothing, and its pictures."""

    key: str
    day: str
    pictures: tuple[Picture, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class Packet:
    """Everything that leaves the survey: sightings in order, and the checklist's names to type.

    ``names`` are as the page of the desk takes them.
    """

    identifier: str
    title: str
    shown: tuple[Shown, ...]
    names: tuple[dict[str, Any], ...]

    @property
    def file_name(self) -> str:
        """The name of the packet's files, without an ending."""
        return f"packet-{self.identifier}"
