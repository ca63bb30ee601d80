"""Photos handed on: what may leave, what a file says of itself, what nobody may find in it."""

from __future__ import annotations

import io
import json
import shutil
import subprocess
from dataclasses import replace
from pathlib import Path

import pytest
from exports.test_archives import BY, NOW, adult, content, site
from PIL import Image
from tests_support import csv_rows

from triage.determinations import Accepted
from triage.errors import TriageError
from triage.exports import ExportContent, MediaRow
from triage.exports.photo_pack import REMADE, UNALTERED, PackOutcome, write_photo_pack
from triage.privacy import ReleasePolicy
from triage.standards.jpeg_segments import segments

HELD = ("53.9123456", "Bo Wren", "bo@example.org", "Quince Cottage")


def picture(kind: str = "JPEG") -> bytes:
    """A file with the sender's name, address and exact place in every corner of its metadata."""
    image = Image.new("RGB", (80, 60), "green")
    exif = Image.Exif()
    exif[0x013B] = "Bo Wren"
    exif[0x0112] = 6
    exif.get_ifd(0x8825).update({1: "N", 2: (53, 54, 44.44416), 3: "E", 4: (21, 43, 7.5)})
    exif.get_ifd(0x8769)[0x927C] = b"Quince Cottage 53.9123456"
    buffer = io.BytesIO()
    if kind == "PNG":
        image.save(buffer, "PNG", exif=exif)
    else:
        image.save(buffer, kind, exif=exif, comment=b"bo@example.org", xmp=b"<x>Bo Wren</x>")
    return buffer.getvalue() + (b"bo@example.org" if kind == "JPEG" else b"")


def photo(sighting: str, digest: str, **changes: object) -> MediaRow:
    fields: dict[str, object] = {
        "sighting": sighting,
        "sha256": digest * 64,
        "format": "JPEG",
        "width": 60,
        "height": 80,
        "view": "dorsal",
        "box": (0.25, 0.25, 0.75, 0.5),
        "capture_date": "2026-06-13T14:07:05+02:00",
        "creator": "obs-7",
        "licence": BY,
        "cleared_for_publication": True,
        "is_best": True,
    }
    return MediaRow(**(fields | changes))  # type: ignore[arg-type]


def held(**changes: object) -> ExportContent:
    fields: dict[str, object] = {
        "sightings": (adult("s1", decimal_latitude=53.9123456), adult("s2")),
        "photos": (photo("s1", "a"), photo("s1", "b", view="lateral"), photo("s2", "c")),
    }
    return content(**(fields | changes))


def write(
    folder: Path, given: ExportContent | None = None, kind: str = "JPEG", **options: object
) -> PackOutcome:
    return write_photo_pack(
        folder,
        given or held(),
        ReleasePolicy(),
        read_photo=lambda _: picture(kind),
        now=NOW,
        **options,  # type: ignore[arg-type]
    )


def test_each_photo_is_named_by_sighting_and_place_and_has_a_row_and_a_checksum(tmp_path):
    outcome = write(tmp_path / "pack")
    names = sorted(path.name for path in (tmp_path / "pack" / "photos").iterdir())
    assert names == ["s1_1.jpg", "s1_2.jpg", "s2_1.jpg"]
    assert len(outcome.photos) == len(csv_rows(tmp_path / "pack" / "photos.csv")) == 3
    assert outcome.leaks == ()
    import hashlib

    for line in (tmp_path / "pack" / "checksums.sha256").read_text().splitlines():
        digest, _, name = line.partition("  ")
        assert hashlib.sha256((tmp_path / "pack" / name).read_bytes()).hexdigest() == digest


def test_the_compressed_pixels_of_a_jpeg_are_the_ones_received(tmp_path):
    write(tmp_path / "pack")
    made = (tmp_path / "pack" / "photos" / "s1_1.jpg").read_bytes()
    scans = [[one.scan for one in segments(content) if one.scan] for content in (picture(), made)]
    assert scans[0] == scans[1]
    assert {row["variant"] for row in csv_rows(tmp_path / "pack" / "photos.csv")} == {UNALTERED}


def test_a_photo_in_another_format_is_remade_upright(tmp_path):
    write(tmp_path / "pack", kind="PNG")
    assert {row["variant"] for row in csv_rows(tmp_path / "pack" / "photos.csv")} == {REMADE}
    with Image.open(tmp_path / "pack" / "photos" / "s1_1.jpg") as image:
        assert (image.size, image.getexif()[0x0112]) == ((60, 80), 1)


@pytest.mark.parametrize("kind", ["JPEG", "PNG"])
def test_nothing_held_is_in_any_byte_of_the_pack(tmp_path, kind):
    write(tmp_path / "pack", kind=kind)
    before = picture(kind)
    assert any(secret.encode() in before for secret in HELD)
    for path in (tmp_path / "pack").rglob("*"):
        if path.is_file():
            for secret in HELD:
                assert secret.encode() not in path.read_bytes(), (path.name, secret)


@pytest.mark.system("exiftool")
def test_an_independent_reader_finds_the_released_place_and_the_code_of_the_observer(tmp_path):
    program = shutil.which("exiftool")
    if program is None:
        pytest.skip("exiftool is not installed")
    write(tmp_path / "pack")
    done = subprocess.run(
        [program, "-json", "-n", "-a", str(tmp_path / "pack" / "photos" / "s1_1.jpg")],
        capture_output=True,
        text=True,
        check=True,
    )
    (read,) = json.loads(done.stdout)
    assert read["GPSLatitude"] == pytest.approx(53.912, abs=1e-6)
    assert read["Creator"] == "obs-7"
    assert read["Credit"] == "obs-7, Linnet Water Survey"
    assert read["WebStatement"] == BY
    assert not any(secret in done.stdout for secret in HELD)


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"photos": (photo("s1", "a", licence=""),)}, "no licence"),
        ({"photos": (photo("s1", "a", cleared_for_publication=False),)}, "looked for people"),
        ({"photos": (photo("s1", "a", held_back="a child: no guardian's consent"),)}, "guardian"),
        ({"in_doubt": {"s1": "the place is in doubt"}}, "the place is in doubt"),
        ({"sites": (site("HM", "Quince Cottage", private=True),)}, "private home"),
        (
            {
                "accepted": {
                    "s1": Accepted(
                        state="second opinion",
                        scientific_name="Anax imperator",
                        taxon_rank="species",
                    )
                }
            },
            "not settled",
        ),
    ],
)
def test_what_may_not_leave_is_listed_with_its_reason(tmp_path, changes, reason):
    given = held(**({"sightings": (adult("s1"),), "photos": (photo("s1", "a"),)} | changes))
    outcome = write(tmp_path / "pack", given)
    assert outcome.photos == ()
    (row,) = csv_rows(tmp_path / "pack" / "left-out.csv")
    assert reason in row["reason"]
    assert not (tmp_path / "pack" / "photos").exists()


def test_only_the_best_photos_of_named_sightings_are_chosen(tmp_path):
    given = held(
        sightings=(adult("s1"), adult("s2", "")),
        photos=(photo("s1", "a"), photo("s1", "b", is_best=False), photo("s2", "c")),
    )
    assert write(tmp_path / "pack", given).photos == (("s1", "a" * 64),)


def test_one_unreadable_photo_does_not_stop_the_pack(tmp_path):
    def read(digest: str) -> bytes:
        return b"no picture" if digest.startswith("a") else picture()

    outcome = write_photo_pack(tmp_path / "pack", held(), ReleasePolicy(), read_photo=read, now=NOW)
    assert len(outcome.photos) == 2
    assert outcome.left_out == (("the photo cannot be read", 1),)


def test_a_pack_names_what_changed_since_the_last(tmp_path):
    write(tmp_path / "one")
    fewer = held(photos=(photo("s1", "a"), photo("s2", "d")))
    outcome = write(tmp_path / "two", fewer, since=tmp_path / "one")
    assert dict(outcome.changes) == {"added": 1, "withdrawn": 2}
    again = write(tmp_path / "three", since=tmp_path / "one")
    assert again.changes == ()


def test_a_pack_is_never_written_over_another(tmp_path):
    write(tmp_path / "pack")
    with pytest.raises(TriageError, match="never written over"):
        write(tmp_path / "pack")


def test_a_doubted_sighting_is_left_out_of_an_export_or_marked(tmp_path):
    from triage import exports

    given = replace(held(), in_doubt={"s1": "the time is in doubt"}, open_messages=3)
    outcome = exports.write_export(tmp_path / "a", given, ReleasePolicy(), now=NOW)
    assert "1 sighting with an open question about time or place is left out" in outcome.withheld
    assert "3 messages are still open: their records may change" in outcome.withheld
    assert [r["otherCatalogNumbers"] for r in csv_rows(tmp_path / "a" / "sightings.csv")] == ["s2"]
    marked = ReleasePolicy(include_doubted=True)
    exports.write_export(tmp_path / "b", given, marked, now=NOW)
    remarks = {r["otherCatalogNumbers"]: r for r in csv_rows(tmp_path / "b" / "sightings.csv")}
    assert remarks["s1"]["occurrenceRemarks"] == "the time is in doubt"
