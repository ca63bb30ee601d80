"""Names that several test folders share, and what they read back with."""

from __future__ import annotations

import csv
import io
import random
import socket
from contextlib import suppress
from datetime import UTC, datetime
from pathlib import Path

from triage.mail.kept import PartRow
from triage.pipeline import inbox
from triage.privacy import Leak, Secrets, leaks_in
from triage.store import messages
from triage.store.connection import Survey, open_survey
from triage.store.dump import canonical_dump

DEMO = Path(__file__).parent.parent / "demo_photos"
NOW = datetime(2026, 11, 1, 12, 0, tzinfo=UTC)


def dump(folder: Path) -> list[str]:
    """The canonical dump of a survey."""
    with open_survey(folder) as survey:
        return list(canonical_dump(survey))


def every_part(survey: Survey) -> list[PartRow]:
    """Every part of every message."""
    return [part for row in messages.every(survey) for part in messages.parts_of(survey, row.row)]


def needs(survey: Survey, message: str) -> list[str]:
    """The kinds of what a message needs from a human."""
    found = (entry for entry in inbox.entries(survey) if entry.message.identifier == message)
    return [need.kind for entry in found for need in entry.needs]


def csv_rows(table: Path | bytes | str) -> list[dict[str, str]]:
    """The rows of a table, of a file or of its content in UTF-8."""
    content = table.read_bytes() if isinstance(table, Path) else table
    text = content if isinstance(content, str) else content.decode("utf-8")
    return list(csv.DictReader(io.StringIO(text, newline="")))


def find_leaks(folder: Path, secrets: Secrets) -> tuple[Leak, ...]:
    """Every secret found in the files of a folder and of those in it."""
    files = {
        path.relative_to(folder).as_posix(): path.read_bytes()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }
    return leaks_in(files, secrets)


def own_ports(count: int) -> list[int]:
    """Ports that the system gives to nobody who asks for any: free now, and still free later.

    They lie below those that Linux, macOS and Windows give out by themselves (RFC 6335 section 6
    names 49152 and above; Linux begins at 32768).
    """
    found: list[int] = []
    for port in random.sample(range(20_000, 30_000), 400):
        with socket.socket() as probe, suppress(OSError):
            probe.bind(("127.0.0.1", port))
            found.append(port)
        if len(found) == count:
            return found
    raise AssertionError("no port is free")
