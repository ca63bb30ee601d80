"""The demo is one story told in mails, tables and a truth that covers them."""

from __future__ import annotations

import email
import email.policy
import mailbox
import re
import zipfile
from io import BytesIO
from pathlib import Path

import pytest
from tests_support import csv_rows

from triage.demo.generate import generate
from triage.demo.truth import TRUTH_COLUMNS
from triage.mail.message import read_message
from triage.mail.sources import iter_source

COMMITTED = Path(__file__).parents[2] / "demo_photos"
MOST_BYTES = 10_000_000


@pytest.fixture(scope="module")
def small(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo at a tenth of its size."""
    folder = tmp_path_factory.mktemp("demo")
    generate(folder, scale=0.1)
    return folder


def _mails(path: Path) -> list[email.message.EmailMessage]:
    box = mailbox.mbox(path)
    mails = [
        email.message_from_bytes(box.get_bytes(key), policy=email.policy.default)
        for key in box.keys()  # noqa: SIM118 (a mailbox iterates over its messages, not its keys)
    ]
    box.close()
    return mails


def _files(mail: email.message.EmailMessage) -> list[str]:
    """Name every file that a mail carries, in forwarded mails and zip archives too."""
    names = []
    for part in mail.walk():
        name = part.get_filename()
        if name is None:
            continue
        names.append(name)
        if name.endswith(".zip"):
            with zipfile.ZipFile(BytesIO(part.get_content())) as archive:
                names += archive.namelist()
    return names


def test_the_same_seed_gives_the_same_truth_and_the_same_inbox(small: Path, tmp_path: Path) -> None:
    generate(tmp_path, scale=0.1)
    for name in ("truth.csv", "inbox.mbox", "sites.csv", "visits.csv", "lots.csv", "checklist.csv"):
        assert (tmp_path / name).read_bytes() == (small / name).read_bytes(), name


def test_another_seed_gives_other_pictures_and_the_same_story(small: Path, tmp_path: Path) -> None:
    generate(tmp_path, seed=7, scale=0.1)
    ours, others = csv_rows(small / "truth.csv"), csv_rows(tmp_path / "truth.csv")
    moving = {"sha256", "box"}
    for ours_row, other_row in zip(ours, others, strict=True):
        for column in set(TRUTH_COLUMNS) - moving:
            assert ours_row[column] == other_row[column]
    photos = [(a, b) for a, b in zip(ours, others, strict=True) if a["shows"]]
    assert all(a["sha256"] != b["sha256"] for a, b in photos)


@pytest.mark.parametrize("folder", ["small", "committed"])
def test_every_file_in_every_mail_has_its_row_and_every_row_its_file(
    folder: str, small: Path
) -> None:
    where = small if folder == "small" else COMMITTED
    told = {
        (row["message_id"], row["file_name"])
        for row in csv_rows(where / "truth.csv")
        if row["message_id"] and row["file_name"]
    }
    found = {
        (mail["Message-ID"], name) for mail in _mails(where / "inbox.mbox") for name in _files(mail)
    }
    assert found == told


def test_every_part_that_the_mail_reader_finds_has_its_row(small: Path) -> None:
    """The two number the parts alike, and agree on what is text, file or wrapping."""
    told = {
        (row["message_id"].strip("<>"), row["part"]): row["expected_outcome"]
        for row in csv_rows(small / "truth.csv")
        if row["message_id"]
    }
    found = {
        (message.message_id.strip("<>"), part.path): part.outcome
        for delivery in iter_source(small / "inbox.mbox")
        for message in [read_message(delivery.raw)]
        for part in message.parts
    }
    assert set(found) == set(told)
    texts = {key for key, outcome in told.items() if outcome == "nothing to keep"}
    assert {key for key, outcome in found.items() if outcome == "nothing to keep"} >= texts


def test_every_mail_is_named_in_the_truth_and_parses_without_defects(small: Path) -> None:
    told = {row["message_id"] for row in csv_rows(small / "truth.csv")}
    mails = _mails(small / "inbox.mbox")
    assert len(mails) >= 40
    for mail in mails:
        assert not mail.defects
        assert mail["Date"].datetime is not None
        assert mail["Message-ID"] in told


def test_one_mail_was_delivered_twice(small: Path) -> None:
    names = [mail["Message-ID"] for mail in _mails(small / "inbox.mbox")]
    assert len(names) - len(set(names)) == 1


def test_copies_and_sightings_of_the_truth_hold_together(small: Path) -> None:
    rows = [row for row in csv_rows(small / "truth.csv") if row["copy_group"]]
    groups: dict[str, set[str]] = {}
    for row in rows:
        groups.setdefault(row["copy_group"], set()).add(row["sighting"])
    assert all(len(sightings) == 1 for sightings in groups.values())
    assert sum(1 for group in groups if sum(r["copy_group"] == group for r in rows) > 1) >= 4
    species: dict[str, set[str]] = {}
    for row in rows:
        if row["sighting"]:
            species.setdefault(row["sighting"], set()).add(row["scientific_name"])
    assert all(len(names) == 1 for names in species.values())
    assert len(species) >= 30


@pytest.mark.parametrize("name", ["sites.csv", "truth.csv"])
def test_all_places_lie_in_the_survey_area(small: Path, name: str) -> None:
    prefix = "" if name == "sites.csv" else "expected_"
    latitude = "decimalLatitude" if not prefix else "expected_latitude"
    longitude = "decimalLongitude" if not prefix else "expected_longitude"
    placed = [row for row in csv_rows(small / name) if row[latitude]]
    assert placed
    for row in placed:
        assert 53.85 < float(row[latitude]) < 53.95
        assert 21.6 < float(row[longitude]) < 21.8


def test_the_tables_refer_to_each_other(small: Path) -> None:
    sites = {row["locationID"] for row in csv_rows(small / "sites.csv")}
    visits = csv_rows(small / "visits.csv")
    taxa = {row["scientificName"] for row in csv_rows(small / "checklist.csv")}
    assert {visit["locationID"] for visit in visits} <= sites
    lots = csv_rows(small / "lots.csv")
    assert {lot["eventID"] for lot in lots} < {visit["eventID"] for visit in visits}
    assert {lot["scientificName"] for lot in lots} <= taxa
    seen = {
        row["scientific_name"] for row in csv_rows(small / "truth.csv") if row["scientific_name"]
    }
    assert seen <= taxa


def test_every_species_seen_is_seen_in_its_season(small: Path) -> None:
    from datetime import date

    seasons = {
        row["scientificName"]: [int(part) for part in row["season"].split("-")]
        for row in csv_rows(small / "checklist.csv")
        if row["season"]
    }
    dated = [
        r
        for r in csv_rows(small / "truth.csv")
        if r["scientific_name"] and r["expected_event_date"]
    ]
    assert dated
    for row in dated:
        day = date.fromisoformat(row["expected_event_date"][:10]).timetuple().tm_yday
        first, last = seasons[row["scientific_name"]]
        assert first <= day <= last, row["scientific_name"]


def test_the_committed_demo_is_small_and_whole() -> None:
    size = sum(path.stat().st_size for path in COMMITTED.rglob("*") if path.is_file())
    assert size < MOST_BYTES
    names = {path.name for path in COMMITTED.iterdir()}
    tables = {"sites.csv", "visits.csv", "lots.csv", "checklist.csv", "truth.csv"}
    assert names >= {"inbox.mbox", "photos", *tables}


def test_nobody_in_the_demo_can_be_written_to() -> None:
    """RFC 2606 reserves example.org and example.com."""
    for mail in _mails(COMMITTED / "inbox.mbox"):
        texts = [str(value) for value in mail.values()]
        for part in mail.walk():
            if part.get_content_maintype() == "text":
                texts.append(part.get_content())
        for domain in re.findall(r"(?:@|https?://)([\w.-]+\w)", " ".join(texts)):
            assert domain.endswith(("example.org", "example.com")), domain


def test_the_committed_truth_tells_the_story_of_the_generator(small: Path) -> None:
    ours, committed = csv_rows(small / "truth.csv"), csv_rows(COMMITTED / "truth.csv")
    for ours_row, committed_row in zip(ours, committed, strict=True):
        for column in set(TRUTH_COLUMNS) - {"sha256", "box"}:
            assert ours_row[column] == committed_row[column]
