"""The record against exiftool, on files that packages carry and on files made here.

Oracle: exiftool (Debian package libimage-exiftool-perl), EXIF group only, text cut at NUL and
trimmed, latitude and longitude within 1e-5 degree, altitude within 0.05 m.
"""

import io
import json
import os
import shutil
import subprocess
import sysconfig
from pathlib import Path

import pillow_heif
import pytest
from exif_files import block, gps_place, jpeg, rationals, short, text
from PIL import Image

from triage.metadata.exif import exif_only, read_exif

pytestmark = [
    pytest.mark.system("exiftool"),
    pytest.mark.skipif(shutil.which("exiftool") is None, reason="exiftool is not installed"),
]

SUFFIXES = {".jpg", ".jpeg", ".tif", ".tiff", ".heic", ".heif", ".hif", ".png", ".webp"}
TEXTS = {
    "DateTimeOriginal": "date_time_original",
    "OffsetTimeOriginal": "offset_time",
    "SubSecTimeOriginal": "sub_sec_time_original",
    "Make": "make",
    "Model": "model",
}


def exiftool(paths: list[Path]) -> dict[str, dict[str, object]]:
    tags = [*TEXTS, "Orientation", "GPSLatitude", "GPSLongitude", "GPSAltitude",
            "GPSLatitudeRef", "GPSLongitudeRef", "GPSAltitudeRef"]  # fmt: skip
    options = ["-json", "-n", "-charset", "filename=utf8"]
    command = ["exiftool", *options, *(f"-EXIF:{tag}" for tag in tags), "-@", "-"]
    listed = "\n".join(str(path) for path in paths)
    done = subprocess.run(command, input=listed.encode(), capture_output=True, check=False)
    return {entry["SourceFile"]: entry for entry in json.loads(done.stdout or b"[]")}


def signed(entry: dict[str, object], tag: str, negative: str) -> float | None:
    try:
        value = float(str(entry[tag]))
    except (KeyError, ValueError):
        return None
    return -value if str(entry.get(f"{tag}Ref", "")).upper()[:1] == negative else value


def differences(path: Path, entry: dict[str, object]) -> list[str]:
    found = exif_only(read_exif(path.read_bytes()))
    wrong = []
    for tag, field in TEXTS.items():
        theirs = str(entry.get(tag, "")).split("\0")[0].strip()
        ours = getattr(found, field)
        if field == "date_time_original":
            ours = ours.replace("-", ":").replace("T", " ")
        wrong += [f"{path.name} {tag}: {ours!r} {theirs!r}"] if ours != theirs else []
    numbers = [
        ("Orientation", found.orientation, entry.get("Orientation"), 0),
        ("GPSLatitude", found.gps_latitude, signed(entry, "GPSLatitude", "S"), 1e-5),
        ("GPSLongitude", found.gps_longitude, signed(entry, "GPSLongitude", "W"), 1e-5),
        ("GPSAltitude", found.gps_altitude, signed(entry, "GPSAltitude", "1"), 0.05),
    ]
    for tag, ours, theirs, within in numbers:
        same = ours is None if theirs is None else ours == pytest.approx(theirs, abs=within)
        wrong += [] if same else [f"{path.name} {tag}: {ours} {theirs}"]
    return wrong


# Files of package sources whose difference is explained in docs/metadata.md.
EXPLAINED = {
    "pport_g4.tif",
    "hopper_bad_exif.jpg",
    "exif_gps.jpg",
    "01.jpg",  # the same photo in another package
    "invalid_metadata_type.heic",
}
# More folders may be named to measure on, divided as a search path is.
FOLDERS = [
    sysconfig.get_path("purelib"),
    *os.environ.get("TRIAGE_EXIF_FILES", "").split(os.pathsep),
]


@pytest.mark.parametrize("folder", [folder for folder in FOLDERS if folder])
def test_files_that_packages_carry_are_read_as_exiftool_reads_them(folder):
    paths = [p for p in sorted(Path(folder).rglob("*")) if p.suffix.lower() in SUFFIXES]
    assert paths
    entries = exiftool(paths)
    wrong = {p.name: found for p in paths if (found := differences(p, entries[str(p)]))}
    with_exif = sum(len(entry) > 1 for entry in entries.values())
    print(f"{len(paths)} files, {with_exif} with one of these fields, differ: {wrong}")
    assert set(wrong) <= EXPLAINED


CASES = {
    "plain": {"first": [text(0x10F, "Acme"), text(0x110, "Pond Cam"), short(0x112, 8)],
              "exif": [text(0x9003, "2026:06:14 10:05:12"), text(0x9011, "-03:30"),
                       text(0x9291, "007")]},
    "south west": {"gps": [text(1, "S"), *gps_place()[1:2], text(3, "W"), *gps_place()[3:],
                           (5, 1, b"\1"), rationals(6, (12345, 100))]},
    "unterminated": {"exif": [text(0x9003, "2005:08:13 09:47:23", end=b"")],
                     "first": [text(0x10F, "EASTMAN KODAK COMPANY", end=b"")]},
    "padded": {"first": [text(0x10F, b"Acme   \0\0\0junk"), text(0x110, "Model 7  ")]},
    "minutes": {"gps": gps_place(lat=((53, 1), (5450833, 100000), (0, 1)))},
    "decimal degrees": {"gps": gps_place(lat=((539084583, 10_000_000), (0, 1), (0, 1)))},
    "unknown seconds": {"gps": gps_place(lat=((53, 1), (54, 1), (0, 0)))},
    "no fix": {"gps": gps_place(lat=((0, 0),) * 3, lon=((0, 0),) * 3)},
    "empty gps": {"first": [text(0x10F, "Acme")], "gps": []},
}  # fmt: skip


def _made(folder: Path) -> list[Path]:
    paths = []
    for name, directories in CASES.items():
        made = block(**directories)
        held = io.BytesIO()
        pillow_heif.from_pillow(Image.new("RGB", (16, 8))).save(held, exif=made)
        for suffix, content in ((".jpg", jpeg(made)), (".tif", made), (".heic", held.getvalue())):
            path = folder / f"{name}{suffix}"
            path.write_bytes(content)
            paths.append(path)
    return paths


def test_files_made_here_are_read_as_exiftool_reads_them(tmp_path):
    paths = _made(tmp_path)
    entries = exiftool(paths)
    assert len(entries) == len(paths)
    assert [d for p in paths for d in differences(p, entries[str(p)])] == []


@pytest.mark.parametrize("suffix", [".jpg", ".tif", ".png", ".webp"])
def test_files_that_exiftool_writes_are_read_back(tmp_path, suffix):
    path = tmp_path / f"written{suffix}"
    Image.new("RGB", (16, 8)).save(path)
    fields = ["DateTimeOriginal=2026:06:14 10:05:12", "OffsetTimeOriginal=+02:00",
              "SubSecTimeOriginal=25", "Make=Acme", "Model=Pond Cam", "GPSLatitude=53.9087",
              "GPSLatitudeRef=S", "GPSLongitude=21.7321", "GPSLongitudeRef=W", "GPSAltitude=117.5",
              "GPSAltitudeRef=1"]  # fmt: skip
    done = subprocess.run(
        ["exiftool", "-q", "-n", "-overwrite_original", "-EXIF:Orientation=3",
         *(f"-EXIF:{field}" for field in fields), str(path)],
        capture_output=True, check=False,
    )  # fmt: skip
    assert done.returncode == 0, done.stderr
    found = read_exif(path.read_bytes())
    assert (found.gps_latitude, found.gps_longitude) == pytest.approx((-53.9087, -21.7321))
    assert found.orientation == 3
    assert differences(path, exiftool([path])[str(path)]) == []
