"""The people, cameras and waters of the invented Linnet Water Survey, and what a letter is.

Everybody and everything here is made up: the waters, the people (all at example.org or
example.com, reserved by RFC 2606) and the makers of the cameras.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any, Literal

from triage.demo.data_files import read_table, read_toml
from triage.demo.shots import Shot

ZONE = "Europe/Warsaw"
SURVEY_ADDRESS = "linnet.water@example.org"


@dataclass(frozen=True, slots=True, kw_only=True)
class Person:
    """Somebody who writes to the survey."""

    name: str
    address: str

    def mailbox(self) -> str:
        """Return the name and address as a header has them."""
        return f"{self.name} <{self.address}>"


@dataclass(frozen=True, slots=True, kw_only=True)
class Device:
    """A camera or phone; phones know the zone and, unless switched off, the place."""

    make: str
    model: str
    phone: bool
    gps: bool
    software: str = ""
    serial: str = ""
    clock_error: timedelta = timedelta(0)
    unset_since: datetime | None = None


@dataclass(frozen=True, slots=True, kw_only=True)
class Water:
    """A water of the survey: its middle in degrees (WGS 84) and its radius in metres."""

    latitude: float
    longitude: float
    radius: float


def _device(clock_error_minutes: int = 0, **given: Any) -> Device:
    return Device(clock_error=timedelta(minutes=clock_error_minutes), **given)


_CAST = read_toml("people.toml")
PEOPLE = {key: Person(**person) for key, person in _CAST["people"].items()}
DEVICES = {key: _device(**camera) for key, camera in _CAST["cameras"].items()}
WATERS = {
    row["locationID"]: Water(
        latitude=float(row["decimalLatitude"]),
        longitude=float(row["decimalLongitude"]),
        radius=float(row["coordinateUncertaintyInMeters"]),
    )
    for row in read_table("sites.csv")
}


@dataclass(frozen=True, slots=True, kw_only=True)
class Picture:
    """One picture in a letter: what was taken, with what, when and where, and what it should give.

    ``taken`` is the true local time. ``spot`` is the water where it was taken. ``told`` says from
    where the time and the place can be had; ``expected_date`` overrides what follows from that.
    ``copy_of`` names the file whose exposure this is again, and ``shrink`` its longer side.
    """

    file_name: str
    shot: Shot | None = None
    device: str = "pocket"
    taken: datetime | None = None
    spot: str = ""
    kind: Literal["JPEG", "HEIF", "PNG", "WEBP"] = "JPEG"
    orientation: int = 1
    bare: bool = False
    copy_of: str = ""
    shrink: int = 0
    quality: int = 80
    inline: bool = False
    sighting: str = ""
    place_from: str = "camera gps"
    time_from: str = "camera clock"
    expected_date: str | None = None
    declared: str = ""
    loose: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Extra:
    """An attachment that is no photo of an insect: how to make it, and what becomes of it."""

    file_name: str
    maker: Literal["logo", "pixel", "pdf", "video", "resource fork"]
    outcome: str
    reason: str
    inline: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Letter:
    """One mail. ``day`` is its local time of sending; ``question`` what the survey should ask."""

    key: str
    sender: str
    day: datetime
    subject: str
    text: str = ""
    html: str = ""
    pictures: tuple[Picture, ...] = ()
    extras: tuple[Extra, ...] = ()
    zipped: str = ""
    forwards: tuple[Letter, ...] = ()
    in_reply_to: str = ""
    automatic: str = ""
    question: str = ""
    note: str = ""
    message_id: str = ""

    def identifier(self) -> str:
        """Return the Message-ID."""
        return self.message_id or f"<{self.key}.{self.day:%Y%m%d}@example.org>"
