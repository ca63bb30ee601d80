"""Nothing in, the people, cameras and waters of the invented Linnet Water Survey out.

Everybody and everything here is made up: the waters, the people (all at example.org or
example.com, reserved by RFC 2606) and the makers of the cameras.
"""

from __future__ import annotations

from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Literal

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


PEOPLE = {
    "ruth": Person(name="Ruth Fenner", address="ruth.fenner@example.org"),
    "anna": Person(name="Anna Wilga", address="anna.wilga@example.org"),
    "ida": Person(name="Ida Kvist", address="ida.kvist@example.org"),
    "lena": Person(name="Lena Moor", address="lena.moor@example.com"),
    "marek": Person(name="Marek Olszak", address="marek.olszak@example.org"),
    "greta": Person(name="Greta Sumpf", address="greta.sumpf@example.com"),
    "peter": Person(name="Peter Rushton", address="p.rushton@example.com"),
    "jonas": Person(name="Jonas Weir", address="jonas.weir@example.org"),
    "tomasz": Person(name="Tomasz Brzeg", address="tomasz.brzeg@example.org"),
    "olga": Person(name="Olga Trzcina", address="olga.trzcina@example.org"),
    "sam": Person(name="Sam Ferry", address="sam.ferry@example.com"),
}

DEVICES = {
    "pocket": Device(
        make="Lakeside Optics", model="Pocket 7", phone=True, gps=True, software="LO 7.2"
    ),
    "fern": Device(make="Brightwater", model="Fern 3", phone=True, gps=True, software="19.1"),
    "quiet": Device(make="Brightwater", model="Fern 2", phone=True, gps=False, software="17.4"),
    "reed": Device(
        make="Lakeside Optics", model="Reed 90", phone=False, gps=False, serial="4100872"
    ),
    "tarn": Device(
        make="TARN & HALE",
        model="TH Macro 2",
        phone=False,
        gps=False,
        serial="0093317",
        clock_error=timedelta(days=-365),
    ),
    "slow": Device(
        make="Lakeside Optics",
        model="Reed 70",
        phone=False,
        gps=False,
        serial="2204519",
        clock_error=timedelta(hours=-1, minutes=-7),
    ),
    "north": Device(
        make="Northfen",
        model="NF-1",
        phone=False,
        gps=False,
        unset_since=datetime(2000, 1, 1, 0, 0, 0),
    ),
}

Water = tuple[str, str, float, float, float]
WATERS: dict[str, Water] = {
    "LNT-01": ("Heron Mere", "Heron Lake | the Mere", 53.9021, 21.6954, 260.0),
    "LNT-02": ("Alder Pool", "Alderpool | Olszynka", 53.9108, 21.7172, 40.0),
    "LNT-03": ("Kingcup Marsh", "Kingcup Bog | Bagno Kaczeniec", 53.8934, 21.7310, 190.0),
    "LNT-04": ("Otter Reach", "Otter Bend | Linnet river bend", 53.8869, 21.6838, 210.0),
    "LNT-05": ("Bulrush Pit", "the old gravel pit | Gravel Pit", 53.9195, 21.6713, 60.0),
    "LNT-06": ("Sallow Pond", "Mill Pond | Sallows", 53.9052, 21.7421, 35.0),
    "LNT-07": ("Miller's Weir", "Mill Pond | the weir", 53.8795, 21.6702, 50.0),
    "LNT-08": ("Ferry Bay", "Ferry Landing | Heron Mere north bay", 53.9079, 21.6889, 70.0),
    "LNT-09": ("Quince Garden pond", "Lena's garden pond", 53.9003, 21.7055, 15.0),
    "LNT-10": ("Sundew Mire", "the mire | Rosiczka", 53.9241, 21.7366, 80.0),
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
    maker: Literal["logo", "pixel", "pdf", "video", "calendar", "resource fork"]
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
