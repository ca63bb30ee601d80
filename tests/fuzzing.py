"""Feeds damaged files, mails, texts and tables to every reader of what comes from outside.

A reader may refuse with an error of ours that says why; anything else that it raises is a fault, as
are more than a minute or 2 GB for one input. ``make fuzz`` searches with Atheris (coverage-guided,
libFuzzer) from the tests' own files, each reader in a process of its own; the tests feed each
reader its files and ten damaged ones.
"""

from __future__ import annotations

import argparse
import atexit
import io
import random
import re
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from contextlib import suppress
from dataclasses import dataclass
from datetime import UTC, date, datetime
from functools import cache
from pathlib import Path

from tests_support import DEMO

from triage.checklist import Checklist
from triage.errors import TriageError

for _place in ("mail", "metadata"):  # whose makers of files are used here
    sys.path.append(str(Path(__file__).parent / _place))

NOW = datetime(2026, 7, 1, tzinfo=UTC)
SECONDS_EACH = 60  # what one input may take
MEGABYTES = 2048  # what the process may hold, its coverage tables and models with it
LONGEST = {"text": 4_000, "names": 2_000, "table": 20_000, "geojson": 20_000, "mail": 60_000}
ANY_LENGTH = 200_000


@dataclass(frozen=True, slots=True, kw_only=True)
class Reader:
    """Something that reads bytes from outside, and whole files to begin with."""

    read: Callable[[bytes], None]
    files: Callable[[], list[bytes]]


# -- mail ----------------------------------------------------------------------------------------


def read_mail(content: bytes) -> None:
    from test_hostile_mail import checked

    checked(content)


def read_mailbox(content: bytes) -> None:
    from triage.mail.mbox import iter_mbox
    from triage.mail.sources import DEFAULT_LIMITS

    for mail in iter_mbox(io.BytesIO(content), limits=DEFAULT_LIMITS):
        assert len(mail.raw) <= len(content)


def read_attached(content: bytes) -> None:
    """A file as an attachment: archives, documents, Outlook's and signed containers among them."""
    from triage.mail.message import file_as_message

    for name in ("a.zip", "b.bin"):
        for part in file_as_message(name, content).parts:
            assert part.reason


def mails() -> list[bytes]:
    from test_hostile_mail import VALID

    return [*VALID, *(path.read_bytes() for path in DEMO.glob("*.eml"))]


def mailboxes() -> list[bytes]:
    from mail_making import mbox_file, text_mail

    return [
        mbox_file([text_mail("Seen.\n"), text_mail("> From me\nFrom you\n")]),
        (DEMO / "inbox.mbox").read_bytes()[:ANY_LENGTH],
    ]


def attached_files() -> list[bytes]:
    from mail_making import multipart, picture, text_part, zip_file
    from wrapping import apple_double, compound_file, opaque_signature, outlook_storage, tnef

    small = picture(64, 48)
    signed = multipart(text_part("Seen\n"))
    return [
        small,
        zip_file({"a.jpg": small, "b.zip": zip_file({"c.jpg": small})}),
        tnef({"a.jpg": small}, body="Seen", inner=tnef({"b.jpg": small})),
        compound_file(
            outlook_storage(
                text="Seen", transport_headers="From: a@b\n", files=[("a.jpg", small, "x")]
            )
        ),
        opaque_signature(signed, streaming=True),
        apple_double("c"),
        b"%PDF-1.7\n1 0 obj<</Filter/DCTDecode>>stream\n" + small + b"\nendstream\nendobj\n",
    ]


# -- texts ---------------------------------------------------------------------------------------


def read_words(content: bytes) -> None:
    """What a message says: times, places, consent, who wrote it, answers, wishes."""
    from test_texts_made_to_be_slow import SITES

    from triage.mail.authorship import divide_text
    from triage.mail.body_text import text_of_html
    from triage.mail.charsets import decode_text
    from triage.mail.consent import read_consent, speaks_of_children
    from triage.mail.photographers import another_took_it
    from triage.mail.wishes import asks_to_delete
    from triage.metadata.clock_words import clock_spans, read_clock_words
    from triage.metadata.text import read_text
    from triage.packets import read_key
    from triage.replies.answers import read_answer

    text, _ = decode_text(content, "utf-8")
    read = read_text(text, sent_at=NOW, places=SITES, zone="Europe/Warsaw")
    for claim in read.places:
        assert claim.decimal_latitude is None or abs(claim.decimal_latitude) <= 90
    read_consent(text)
    speaks_of_children(text)
    divide_text(text, subject=text[:80])
    read_answer(text, "publish")
    asks_to_delete(text)
    another_took_it(text, places=[site.locality for site in SITES])
    read_clock_words(text)
    clock_spans(text)
    text_of_html(text)
    read_key(text)


def read_names(content: bytes) -> None:
    """Lines as names: of taxa as a person writes them, of the people who wrote them."""
    from triage.checklist import read_name
    from triage.standards.person_names import near_pairs

    lines = content.decode("utf-8", "replace").split("\n")[:20]
    for line in lines:
        found = read_name(line, _checklist())
        assert found.taxon or found.problem
    near_pairs(line.strip()[:100] for line in lines)


@cache
def _checklist() -> Checklist:
    from triage.checklist.reading import read_checklist

    return Checklist(read_checklist(DEMO / "checklist.csv")[0])


def names() -> list[bytes]:
    return [
        "Aeshna cf. mixta \u2642\nSympetrum vulgatum or striolatum\nAnax imperator Leach".encode(),
        b"Ada Moor\nA. Moor\nMoor, Ada\nIda Kvist-Lark",
    ]


def letters() -> list[bytes]:
    from test_texts_made_to_be_slow import REPEATED

    import triage.demo

    found = []
    for path in sorted((Path(triage.demo.__file__).parent / "data" / "letters").glob("*.toml")):
        found += re.findall(r'"""(.+?)"""', path.read_text(encoding="utf-8"), re.DOTALL)
    assert found
    said = [
        "You may publish my photos under CC BY, but not my name. Please delete the last one.",
        "N 53\u00b0 54' 30.4\" E 21\u00b0 42.5', about 300 m north of Heron Mere, 14.6.2026, 9:15",
        "> On 14 June 2026 Ben wrote:\n> yesterday evening at Alder Pool\n\nNein, lieber nicht.",
    ]
    return [text.encode() for text in (*found, *said, *(piece * 20 for piece in REPEATED))]


# -- photos --------------------------------------------------------------------------------------


def read_facts(content: bytes) -> None:
    """What a photo says of itself, and what is claimed from it."""
    from triage.metadata.capture_time import choose_time, time_claims
    from triage.metadata.exif import read_exif
    from triage.metadata.position import choose_place, place_claims

    exif = read_exif(content)
    times = time_claims(
        exif,
        file_name="IMG_1.jpg",
        sent_at=NOW,
        zone="Europe/Warsaw",
        latitude=exif.gps_latitude,
        longitude=exif.gps_longitude,
        season=(91, 304),
    )
    chosen = choose_time(times)
    places = place_claims(
        exif, captured=chosen.event_date if chosen else "", area=(53.5, 21.0, 54.5, 22.5)
    )
    choose_place(places)


def read_picture(content: bytes) -> None:
    from triage.analysis.images import decode
    from triage.mail.pictures import from_camera, pixel_size

    pixel_size(content, "image/jpeg")
    from_camera(content)
    with suppress(TriageError):
        decoded = decode(content)
        assert decoded.rgb.ndim == 3
        assert decoded.rgb.size


@cache
def photos() -> list[bytes]:
    from exif_files import block, gps_place, jpeg, short, text
    from mail_making import picture

    facts = block(
        first=[text(0x10F, "Acme"), short(0x112, 6)],
        exif=[text(0x9003, "2026:06:14 10:05:12"), text(0x9011, "+02:00")],
        gps=gps_place(),
    )
    kinds = ("JPEG", "PNG", "WEBP", "TIFF", "GIF", "HEIF", "AVIF")
    return [jpeg(facts), *(picture(48, 32, kind=kind) for kind in kinds)]


# -- tables --------------------------------------------------------------------------------------


@cache
def _folder() -> Path:
    memory = Path("/dev/shm")  # many thousand files are written a minute
    made = tempfile.mkdtemp(prefix="triage-fuzz-", dir=memory if memory.is_dir() else None)
    atexit.register(shutil.rmtree, made, ignore_errors=True)
    return Path(made)


def _file(content: bytes, suffix: str) -> Path:
    path = _folder() / f"given{suffix}"
    path.write_bytes(content)
    return path


def read_tables(content: bytes) -> None:
    from triage.checklist.reading import read_checklist
    from triage.determinations.tables import read_determinations
    from triage.exuviae import read_lots, read_sites, read_visits
    from triage.packets.answers import is_table_of_answers

    path, today = _file(content, ".csv"), date(2026, 7, 1)
    is_table_of_answers(path)
    for read in (
        read_sites,
        lambda path: read_visits(path, today=today),
        lambda path: read_lots(path, today=today),
        read_checklist,
        read_determinations,
    ):
        with suppress(TriageError):
            _, refused = read(path)
            assert all(row.reason and row.line >= 1 for row in refused)


def read_shapes(content: bytes) -> None:
    from triage.exuviae import read_sites

    for suffix in (".geojson", ".csv"):
        with suppress(TriageError):
            read_sites(_file(content, suffix))


def read_survey_settings(content: bytes) -> None:
    from triage.store.settings import read_settings

    with suppress(TriageError):
        read_settings(_file(content, ".toml"))


def read_backup(content: bytes) -> None:
    """A zip that says it is a backup; nothing may be written beside the new folder."""
    from triage.store.backups import restore

    place = _folder() / "restored"
    with suppress(TriageError):
        restore(_file(content, ".zip"), place / "survey")
    written = [path for path in _folder().iterdir() if path.stem != "given"]
    assert written in ([], [place]), written
    shutil.rmtree(place, ignore_errors=True)


def read_map(content: bytes) -> None:
    """A picture map, as a coordinator puts it into the survey's folder."""
    from triage.standards import map_archive

    path = _file(content, ".pmtiles")
    map_archive.about(path)
    for zoom, column, row in ((0, 0, 0), (3, 4, 2)):
        map_archive.tile(path, zoom, column, row, most=ANY_LENGTH)


def maps() -> list[bytes]:
    from maps_made import a_tile, write_archive

    tiles = {(0, 0, 0): a_tile(), (3, 4, 2): a_tile("JPEG")}
    with tempfile.TemporaryDirectory() as place:
        return [write_archive(Path(place), tiles).read_bytes()]


def tables() -> list[bytes]:
    named = [(DEMO / name).read_bytes() for name in ("sites.csv", "visits.csv", "lots.csv")]
    checklist = (DEMO / "checklist.csv").read_bytes()[:4_000]
    said = (
        b"sighting,scientificName,identifiedBy,cannotTell\n"
        b"12e51d,Anax imperator,Ida Kvist,\nk7Q-2-01,,,blurred\n"
    )
    semicolons = b"sep=;\r\n" + named[0].replace(b",", b";")
    return [*named, checklist, said, semicolons, named[1].decode().encode("utf-16")]


def shapes() -> list[bytes]:
    feature = (
        b'{"type":"FeatureCollection","features":[{"type":"Feature","properties":'
        b'{"locationID":"S1","locality":"Heron Mere"},"geometry":{"type":"Polygon","coordinates":'
        b"[[[21.7,53.9],[21.71,53.9],[21.71,53.91],[21.7,53.9]]]}}]}"
    )
    table = (
        b"locationID,locality,footprintWKT\nS1,Heron Mere,"
        b'"POLYGON ((21.7 53.9, 21.71 53.9, 21.71 53.91, 21.7 53.9))"\n'
    )
    return [feature, table]


def settings_files() -> list[bytes]:
    from triage.store.settings import write_default_settings

    path = _folder() / "default.toml"
    write_default_settings(path, title="Linnet Water Survey")
    content = path.read_bytes()
    path.unlink()
    return [content]


@cache
def backups() -> list[bytes]:
    from triage.pipeline.backup import back_up
    from triage.store.connection import create_survey, open_survey

    with tempfile.TemporaryDirectory() as place:
        create_survey(Path(place) / "survey")
        with open_survey(Path(place) / "survey") as survey:
            back_up(survey, Path(place) / "a.zip", now=NOW)
        return [(Path(place) / "a.zip").read_bytes()]


READERS = {
    "mail": Reader(read=read_mail, files=mails),
    "mailbox": Reader(read=read_mailbox, files=mailboxes),
    "attached": Reader(read=read_attached, files=attached_files),
    "text": Reader(read=read_words, files=letters),
    "names": Reader(read=read_names, files=names),
    "facts": Reader(read=read_facts, files=photos),
    "picture": Reader(read=read_picture, files=photos),
    "table": Reader(read=read_tables, files=tables),
    "shape": Reader(read=read_shapes, files=shapes),
    "map": Reader(read=read_map, files=maps),
    "settings": Reader(read=read_survey_settings, files=settings_files),
    "backup": Reader(read=read_backup, files=backups),
}


def damaged(files: list[bytes], *, count: int, seed: int) -> Iterator[bytes]:
    """Files of these with bytes changed, cut out, doubled and put in."""
    from test_hostile_mail import TOKENS

    chance = random.Random(seed)
    for _ in range(count):
        raw = bytearray(chance.choice(files))
        for _ in range(chance.randint(1, 8)):
            place = chance.randrange(len(raw) + 1)
            kind = chance.randrange(4)
            if kind == 0 and raw:
                raw[place % len(raw)] = chance.randrange(256)
            elif kind == 1:
                del raw[place : place + chance.choice((1, 10, 100, len(raw)))]
            elif kind == 2:
                raw[place:place] = raw[place : place + 200]
            else:
                raw[place:place] = chance.choice(TOKENS)
        yield bytes(raw)


# -- Atheris -------------------------------------------------------------------------------------


def search(name: str, seconds: float, faults: Path) -> tuple[int, float, bool]:
    """Search in a process of its own; returns executions, hours, and whether a fault was found."""
    began = time.monotonic()
    with tempfile.TemporaryDirectory() as corpus:
        for number, content in enumerate(READERS[name].files()):
            (Path(corpus) / f"file{number}").write_bytes(content)
        done = subprocess.run(
            [
                sys.executable,
                __file__,
                "--one",
                name,
                corpus,
                f"-max_total_time={seconds:.0f}",
                f"-timeout={SECONDS_EACH}",
                f"-rss_limit_mb={MEGABYTES}",
                f"-max_len={LONGEST.get(name, ANY_LENGTH)}",
                "-len_control=0",
                f"-artifact_prefix={faults}/{name}-",
                "-print_final_stats=1",
            ],
            capture_output=True,
            text=True,
            errors="replace",
            check=False,
        )
    told = re.search(r"number_of_executed_units:\s*(\d+)", done.stderr)
    found = done.returncode != 0
    if found:
        (faults / f"{name}.txt").write_text(done.stdout[-20_000:] + done.stderr[-20_000:])
    return int(told[1]) if told else 0, (time.monotonic() - began) / 3600, found


def search_one(name: str, arguments: list[str]) -> None:
    """Never returns: libFuzzer ends the process."""
    import atheris

    with atheris.instrument_imports(include=["triage", "email", "zipfile", "csv", "exifread"]):
        for content in READERS[name].files():  # imports what the reader imports
            READERS[name].read(content)
    atheris.Setup([__file__, *arguments], READERS[name].read)
    atheris.Fuzz()


def main() -> int:
    """Search with each reader in turn and print a table."""
    if sys.argv[1:2] == ["--one"]:
        search_one(sys.argv[2], sys.argv[3:])
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("readers", nargs="*", choices=[*READERS, []], help="all unless told")
    parser.add_argument("--hours", type=float, default=1.0, help="for all readers together")
    parser.add_argument("--faults", type=Path, default=Path("fuzz-faults"), help="where they go")
    asked = parser.parse_args()
    asked.faults.mkdir(exist_ok=True)
    names = asked.readers or list(READERS)
    print("| reader | executions | hours | fault |\n|---|---|---|---|", flush=True)
    any_found = False
    for name in names:
        executions, hours, found = search(name, asked.hours * 3600 / len(names), asked.faults)
        any_found |= found
        print(
            f"| {name} | {executions:,} | {hours:.2f} | {'yes' if found else 'none'} |", flush=True
        )
    return int(any_found)


if __name__ == "__main__":
    sys.exit(main())
