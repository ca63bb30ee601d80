"""How well the work from mail to sightings recovers what the demo meant.

The pictures are renders: these figures show that the walk works and say nothing of accuracy on
photographs.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Callable, Iterable, Iterator, Mapping
from datetime import datetime
from itertools import combinations
from pathlib import Path, PurePosixPath

from triage.analysis.subject import overlap
from triage.demo.walk import files, import_tables, read_truth
from triage.metadata.choosing import Chosen
from triage.pipeline import claims, inbox, standing, walk
from triage.quality import Measurement
from triage.store import copies as store_copies
from triage.store import messages, photos
from triage.store.connection import Survey, create_survey, open_survey

Meant = dict[str, str]
"""A row of truth.csv: what was meant with one part of a mail."""
Checks = Iterator[tuple[str, bool]]
"""What was meant and found, in words, and whether both are the same."""


def bench(
    folder: Path, *, now: datetime, demo_files: Path | None = None, processes: int | None = None
) -> list[str]:
    """Walk the demo inbox into a new survey and say how much came out as the truth has it.

    The folder must not exist; ``demo_files`` is one in the form of ``demo_photos``, the shipped one
    by default.
    """
    source = demo_files or files(folder / "demo_photos")
    truth = read_truth(source / "truth.csv")
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, source, now=now)
    walk.run([source / "inbox.mbox"], folder, now=now, processes=processes)
    lines = []
    with open_survey(folder) as survey:
        for what, checks in compare(survey, truth).items():
            wrong = [text for text, right in checks if not right]
            lines.append(f"{what}: {len(checks) - len(wrong)} of {len(checks)}")
            lines += [f"    not so: {text}" for text in wrong]
    return lines


def compare(survey: Survey, truth: list[Meant]) -> dict[str, list[tuple[str, bool]]]:
    """What a survey that received the demo inbox says against the truth, in the walk's order."""
    pictures = [row for row in truth if row["expected_outcome"] == "taken in"]
    meant = {row["sha256"]: row for row in reversed(pictures)}
    chosen = _chosen(survey, meant)
    rows = photos.load(survey, meant)
    seen = [(one, m) for photo, one in meant.items() if (m := rows[photo].measurement)]
    adults = [(one, chosen[photo]) for photo, one in meant.items() if one["shows"] == "adult"]
    copies = store_copies.groups(survey, "copy")
    home = {photo: one.identifier for one in standing.sightings(survey) for photo in one.photos}
    found: dict[str, Checks] = {
        "parts with the outcome meant": _outcomes(survey, truth),
        "pairs of copies found and not invented": _pairs(
            meant,
            "copy_group",
            sorted(meant),
            lambda a, b: a in copies and b in copies and copies[a][0] == copies[b][0],
            "copies",
        ),
        "odonate or not": _odonates(seen),
        "views of adults": (
            (f"{one['file_name']}: {one['view']}, is {m.view}", m.view == one["view"])
            for one, m in seen
            if one["shows"] == "adult"
        ),
        "boxes that overlap by half (IoU 0.5)": _boxes(seen),
        "times of adults": _times(adults),
        "places of adults": _places(adults),
        "pairs of photos joined as one animal and not invented": _pairs(
            meant,
            "sighting",
            sorted(p for p in meant if meant[p]["sighting"] and p in home),
            lambda a, b: home[a] == home[b],
            "one animal",
        ),
        "questions to a human that were meant": _questions(survey, truth),
    }
    return {what: list(checks) for what, checks in found.items()}


def _outcomes(survey: Survey, truth: list[Meant]) -> Checks:
    """Every file of the inbox, by its message and name: what was meant to become of it."""
    rows = {row.row: row for row in messages.every(survey)}
    became: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for part in messages.every_part(survey):
        header = rows[part.message].message_id.strip("<>")
        became[(header, PurePosixPath(part.file_name).name)][part.outcome] += 1
    for row in truth:
        if row["expected_outcome"] != "no attachment" and row["message_id"]:
            key = (row["message_id"].strip("<>"), PurePosixPath(row["file_name"]).name)
            found = became.get(key, Counter())
            text = f"{row['message_id']} {row['file_name']}: {row['expected_outcome']}, is {found}"
            yield text, bool(found[row["expected_outcome"]])


def _pairs(
    meant: Mapping[str, Meant],
    group: str,
    pictures: list[str],
    are_joined: Callable[[str, str], bool],
    words: str,
) -> Checks:
    """Pairs of photos that are one in the truth's column ``group``, or that were found to be."""
    for a, b in combinations(pictures, 2):
        wanted, found = meant[a][group] == meant[b][group], are_joined(a, b)
        if wanted or found:
            names = f"{meant[a]['file_name']} and {meant[b]['file_name']}"
            yield f"{names}: {words} {wanted}", wanted == found


def _odonates(seen: Iterable[tuple[Meant, Measurement]]) -> Checks:
    for one, measured in seen:
        wanted = one["is_odonate"] == "true"
        if wanted or one["shows"] != "exuvia":
            text = f"{one['file_name']} ({one['shows']}): {measured.odonate:.2f}"
            yield text, (measured.odonate >= 0.5) is wanted


def _boxes(seen: Iterable[tuple[Meant, Measurement]]) -> Checks:
    for one, measured in seen:
        if one["box"]:
            x0, y0, x1, y1 = (float(side) for side in one["box"].split(";"))
            shared = overlap(measured.box, (x0, y0, x1, y1))
            yield f"{one['file_name']}: overlap {shared:.2f}", shared >= 0.5


def _chosen(survey: Survey, meant: Mapping[str, Meant]) -> dict[str, Chosen]:
    known = claims.exposures(survey, meant)
    return {photo: known.chosen[known.best_of[photo]] for photo in meant}


def _times(adults: Iterable[tuple[Meant, Chosen]]) -> Checks:
    for one, chosen in adults:
        found, wanted = chosen.time.event_date if chosen.time else "", one["expected_event_date"]
        # A day is met by a time on that day: the truth names what the evidence says at least.
        right = found[: len(wanted)] == wanted if wanted else not found
        yield f"{one['file_name']}: {wanted or 'none'}, is {found or 'none'}", right


def _places(adults: Iterable[tuple[Meant, Chosen]]) -> Checks:
    for one, chosen in adults:
        place = chosen.place
        latitude = place.decimal_latitude if place else None
        longitude = place.decimal_longitude if place else None
        if one["expected_latitude"] and latitude is not None and longitude is not None:
            right = abs(latitude - float(one["expected_latitude"])) < 2e-4
            right = right and abs(longitude - float(one["expected_longitude"])) < 3e-4
        else:
            right = (latitude is not None) == bool(one["expected_latitude"])
        where = f"{place.source} {place.location_id}" if place else "none"
        wanted = one["expected_location_id"] or one["place_from"] or "none"
        yield f"{one['file_name']}: {wanted}, is {where}", right


def _questions(survey: Survey, truth: list[Meant]) -> Checks:
    """Messages that need a human for the reason meant."""
    needs = {
        entry.message.message_id.strip("<>"): {need.kind for need in entry.needs}
        for entry in inbox.entries(survey)
    }
    for row in truth:
        for kind in filter(None, row["expected_question"].split(" and ")):
            found = needs.get(row["message_id"].strip("<>"), set())
            yield (
                f"{row['message_id']} {row['file_name']}: {kind}, is {sorted(found)}",
                kind in found,
            )
