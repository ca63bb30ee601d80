"""The stated choices of matching, and the published movement and time figures behind it."""

from __future__ import annotations

import functools
import math
import tomllib
from dataclasses import dataclass, field, fields
from importlib import resources
from typing import Any

from triage.errors import SettingsError
from triage.estimates.detection import PUBLISHED_DETECTION

SKINS_LAST_DAYS = 42  # "weeks": Aliberti Lubertazzi & Ginsberg 2009, Northeast. Nat. 16: 141-147


@dataclass(frozen=True, slots=True, kw_only=True)
class Kernel:
    """How the animals of some taxa spread from where they emerged.

    A mixture of round Gaussian clouds: ``shares`` (sum 1) with ``scales``, the standard deviation
    along one axis in metres. ``farthest`` is where inference by distance ends. A kernel without
    shares allows no inference: the animals migrate.
    """

    name: str
    taxa: tuple[str, ...]
    shares: tuple[float, ...]
    scales: tuple[float, ...]
    farthest: float
    source: str

    def __post_init__(self) -> None:
        if len(self.shares) != len(self.scales):
            raise ValueError(f"kernel {self.name}: as many shares as scales are needed")
        if self.shares and not math.isclose(sum(self.shares), 1.0, abs_tol=1e-9):
            raise ValueError(f"kernel {self.name}: the shares must sum to 1")
        if any(value <= 0 for value in (*self.shares, *self.scales)):
            raise ValueError(f"kernel {self.name}: shares and scales must be positive")

    @property
    def infers(self) -> bool:
        """Whether distance says anything about where an animal emerged."""
        return bool(self.shares)


@dataclass(frozen=True, slots=True, kw_only=True)
class Window:
    """Days from emergence to a sighting of the adult, least and most, for some taxa."""

    name: str
    taxa: tuple[str, ...]
    least: int
    most: int
    source: str

    def __post_init__(self) -> None:
        if not 0 <= self.least <= self.most:
            raise ValueError(f"window {self.name}: 0 <= least <= most is needed")


def read_kernels_and_windows(content: str) -> tuple[tuple[Kernel, ...], tuple[Window, ...]]:
    """The kernels and windows of a text in the form of ``matching.toml``.

    Raises
    ------
    SettingsError
        The text is not in that form; the message names the entry and the reason.
    """
    entry: Any = "the whole"
    try:
        document = tomllib.loads(content)
        kernels: list[Kernel] = []
        for entry in document.get("kernel", []):
            kernels.append(
                Kernel(
                    **{
                        **entry,
                        **{key: tuple(entry[key]) for key in ("taxa", "shares", "scales")},
                    }
                )
            )
        windows: list[Window] = []
        for entry in document.get("window", []):
            windows.append(Window(**{**entry, "taxa": tuple(entry["taxa"])}))
    except (KeyError, TypeError, ValueError) as error:
        name = entry.get("name", entry) if isinstance(entry, dict) else entry
        raise SettingsError(
            f"the entry {name} of the movement and time figures cannot be used ({error})",
            failing="matching figures",
            next_step="Write it like the entries in docs/matching.md.",
        ) from error
    return tuple(kernels), tuple(windows)


@functools.cache
def _data() -> tuple[tuple[Kernel, ...], tuple[Window, ...]]:
    content = resources.files("triage.matching").joinpath("matching.toml").read_text("utf-8")
    return read_kernels_and_windows(content)


def default_kernels() -> tuple[Kernel, ...]:
    """The movement kernels of ``matching.toml``."""
    return _data()[0]


def default_windows() -> tuple[Window, ...]:
    """The time windows of ``matching.toml``."""
    return _data()[1]


@dataclass(frozen=True, slots=True, kw_only=True)
class MatchingSettings:
    """Every choice that a match depends on; docs/matching.md says what each does."""

    unknown_sites_per_square_kilometre: float = 0.1
    movement_scale: float = 1.0  # multiplies every distance of every kernel
    detection_per_pass: float = PUBLISHED_DETECTION  # where the survey's searches give none
    exuviae_last_days: int = SKINS_LAST_DAYS
    missing_uncertainty_in_meters: float = 30.0  # Darwin Core: GPS without stated accuracy
    footprint_uncertainty_in_meters: float = 8.0  # imagery after 2008: Chapman & Wieczorek 2020
    least_share: float = 0.01
    most_sites: int = 12
    kernels: tuple[Kernel, ...] = field(default_factory=default_kernels)
    windows: tuple[Window, ...] = field(default_factory=default_windows)

    def __post_init__(self) -> None:
        for setting in fields(self):
            value = getattr(self, setting.name)
            if setting.name.endswith(("_in_meters", "_kilometre", "_scale")) and not (
                0 < value < math.inf
            ):
                raise ValueError(f"{setting.name} must be positive, not {value}")
        if not 0 <= self.least_share < 0.5 or self.most_sites < 1 or self.exuviae_last_days < 0:
            raise ValueError("least_share, most_sites or exuviae_last_days is out of range")
        if not 0 < self.detection_per_pass < 1:
            raise ValueError(
                f"detection_per_pass must lie in 0 to 1, not {self.detection_per_pass}"
            )
        for name in ("Odonata", "Zygoptera", "Anisoptera"):
            if not any(name in kernel.taxa for kernel in self.kernels):
                raise ValueError(f"the kernels must have one for {name}")
        if not any("Odonata" in window.taxa for window in self.windows):
            raise ValueError("the windows must have one for Odonata")
