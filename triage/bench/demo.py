"""How well the work from mail to sightings recovers what the demo meant.

The pictures are renders: these figures show that the walk works and say nothing of accuracy on
photographs.
"""

from __future__ import annotations

from collections import Counter, defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime
from itertools import combinations
from pathlib import Path, PurePosixPath

from triage.analysis.subject import overlap
from triage.demo.walk import files, import_tables, read_truth
from triage.metadata.choosing import Chosen
from triage.pipeline import claims, inbox, standing, walk
from triage.store import copies as store_copies
from triage.store import messages, photos
from triage.store.connection import Survey, create_survey, open_survey

Truth = list[dict[str, str]]


@dataclass(frozen=True, slots=True, kw_only=True)
class Share:
    """How many of how many came out as the truth has it, and those that did not."""

    what: str
    right: int
    total: int
    wrong: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True, kw_only=True)
class DemoBench:
    """All shares, in the order of the walk."""

    shares: tuple[Share, ...]

    def lines(self) -> list[str]:
        """The table as text, with what went otherwise."""
        found = []
        for share in self.shares:
            found.append(f"{share.what}: {share.right} of {share.total}")
            found += [f"    not so: {text}" for text in share.wrong]
        return found


def bench(
    folder: Path, *, now: datetime, demo_files: Path | None = None, processes: int | None = None
) -> DemoBench:
    """Walk the demo inbox into a new survey and compare it with the truth.

    Parameters
    ----------
    folder : Path
        Where the survey is made; must not exist.
    now : datetime
        The clock of the walk.
    demo_files : Path, optional
        A folder in the form of ``demo_photos``; the shipped one by default.
    """
    source = demo_files or files(folder / "demo_photos")
    truth = read_truth(source / "truth.csv")
    create_survey(folder, title="Linnet Water Survey")
    with open_survey(folder) as survey:
        import_tables(survey, source, now=now)
    walk.run([source / "inbox.mbox"], folder, now=now, processes=processes)
    with open_survey(folder) as survey:
        return compare(survey, truth)


def compare(survey: Survey, truth: Truth) -> DemoBench:
    """Compare a survey that received the demo inbox with the truth."""
    pictures = [row for row in truth if row["expected_outcome"] == "taken in"]
    by_photo = {row["sha256"]: row for row in reversed(pictures)}
    chosen = _chosen(survey, by_photo)
    return DemoBench(
        shares=(
            _outcomes(survey, truth),
            _copy_groups(survey, by_photo),
            _odonates(survey, by_photo),
            _views(survey, by_photo),
            _boxes(survey, by_photo),
            _times(by_photo, chosen),
            _places(by_photo, chosen),
            _sightings(survey, by_photo),
            _questions(survey, truth),
        )
    )


def _share(what: str, checks: Iterable[tuple[str, bool]]) -> Share:
    results = list(checks)
    wrong = tuple(text for text, right in results if not right)
    return Share(what=what, right=len(results) - len(wrong), total=len(results), wrong=wrong)


def _outcomes(survey: Survey, truth: Truth) -> Share:
    """Every file of the inbox, by its message and name: what was meant to become of it."""
    rows = {row.row: row for row in messages.every(survey)}
    became: dict[tuple[str, str], Counter[str]] = defaultdict(Counter)
    for part in messages.every_part(survey):
        header = rows[part.message].message_id.strip("<>")
        became[(header, PurePosixPath(part.file_name).name)][part.outcome] += 1
    checks = []
    for row in truth:
        if row["expected_outcome"] == "no attachment" or not row["message_id"]:
            continue
        key = (row["message_id"].strip("<>"), PurePosixPath(row["file_name"]).name)
        found = became.get(key, Counter())
        text = f"{row['message_id']} {row['file_name']}: {row['expected_outcome']}, is {found}"
        checks.append((text, bool(found[row["expected_outcome"]])))
    return _share("parts with the outcome meant", checks)


def _copy_groups(survey: Survey, by_photo: dict[str, dict[str, str]]) -> Share:
    """Pairs of photos that are copies, or are not, as meant."""
    groups = store_copies.groups(survey, "copy")
    known = sorted(by_photo)
    checks = []
    for a, b in combinations(known, 2):
        meant = by_photo[a]["copy_group"] == by_photo[b]["copy_group"]
        found = a in groups and b in groups and groups[a][0] == groups[b][0]
        if meant or found:
            text = f"{by_photo[a]['file_name']} and {by_photo[b]['file_name']}: copies {meant}"
            checks.append((text, meant == found))
    return _share("pairs of copies found and not invented", checks)


def _odonates(survey: Survey, by_photo: dict[str, dict[str, str]]) -> Share:
    rows = photos.load(survey, by_photo)
    return _share(
        "odonate or not",
        (
            (f"{t['file_name']} ({t['shows']}): {m.odonate:.2f}", (m.odonate >= 0.5) is meant)
            for photo, t in by_photo.items()
            if (m := rows[photo].measurement)
            and ((meant := t["is_odonate"] == "true") or t["shows"] != "exuvia")
        ),
    )


def _views(survey: Survey, by_photo: dict[str, dict[str, str]]) -> Share:
    rows = photos.load(survey, by_photo)
    return _share(
        "views of adults",
        (
            (f"{t['file_name']}: {t['view']}, is {m.view}", m.view == t["view"])
            for photo, t in by_photo.items()
            if t["shows"] == "adult" and (m := rows[photo].measurement)
        ),
    )


def _boxes(survey: Survey, by_photo: dict[str, dict[str, str]]) -> Share:
    rows = photos.load(survey, by_photo)
    checks = []
    for photo, meant in by_photo.items():
        measured = rows[photo].measurement
        if not meant["box"] or measured is None:
            continue
        wanted = tuple(float(x) for x in meant["box"].split(";"))
        shared = overlap(measured.box, (wanted[0], wanted[1], wanted[2], wanted[3]))
        checks.append((f"{meant['file_name']}: overlap {shared:.2f}", shared >= 0.5))
    return _share("boxes that overlap by half (IoU 0.5)", checks)


def _chosen(survey: Survey, by_photo: dict[str, dict[str, str]]) -> dict[str, Chosen]:
    groups = store_copies.exposures(survey, by_photo)
    best_of = {photo: best for best, everyone in groups.items() for photo in everyone}
    chosen = claims.choose(survey, groups)
    return {photo: chosen[best_of[photo]] for photo in by_photo}


def _times(by_photo: dict[str, dict[str, str]], chosen: dict[str, Chosen]) -> Share:
    checks = []
    for photo, meant in by_photo.items():
        if meant["shows"] != "adult":
            continue
        time = chosen[photo].time
        found = time.event_date if time else ""
        wanted = meant["expected_event_date"]
        # A day is met by a time on that day: the truth names what the evidence says at least.
        right = found[: len(wanted)] == wanted if wanted else not found
        checks.append((f"{meant['file_name']}: {wanted or 'none'}, is {found or 'none'}", right))
    return _share("times of adults", checks)


def _places(by_photo: dict[str, dict[str, str]], chosen: dict[str, Chosen]) -> Share:
    checks = []
    for photo, meant in by_photo.items():
        if meant["shows"] != "adult":
            continue
        place = chosen[photo].place
        here = place is not None and place.decimal_latitude is not None
        if meant["expected_latitude"] and place is not None and here:
            assert place.decimal_latitude is not None
            assert place.decimal_longitude is not None
            near = abs(place.decimal_latitude - float(meant["expected_latitude"])) < 2e-4
            right = near and (
                abs(place.decimal_longitude - float(meant["expected_longitude"])) < 3e-4
            )
        else:
            right = here == bool(meant["expected_latitude"])
        where = f"{place.source} {place.location_id}" if place else "none"
        meant_text = meant["expected_location_id"] or meant["place_from"] or "none"
        checks.append((f"{meant['file_name']}: {meant_text}, is {where}", right))
    return _share("places of adults", checks)


def _sightings(survey: Survey, by_photo: dict[str, dict[str, str]]) -> Share:
    """Pairs of different pictures of adults that are one animal, or are not, as meant."""
    home: dict[str, str] = {}
    for one in standing.sightings(survey):
        for photo in one.photos:
            home[photo] = one.identifier
    checks = []
    for a, b in combinations(sorted(p for p in by_photo if by_photo[p]["sighting"]), 2):
        if a not in home or b not in home:
            continue
        meant = by_photo[a]["sighting"] == by_photo[b]["sighting"]
        found = home[a] == home[b]
        if meant or found:
            names = f"{by_photo[a]['file_name']} and {by_photo[b]['file_name']}"
            checks.append((f"{names}: one animal {meant}", meant == found))
    return _share("pairs of photos joined as one animal and not invented", checks)


def _questions(survey: Survey, truth: Truth) -> Share:
    """Messages that need a human for the reason meant."""
    needs = {
        entry.message.message_id.strip("<>"): {need.kind for need in entry.needs}
        for entry in inbox.entries(survey)
    }
    checks = []
    for row in truth:
        for kind in row["expected_question"].split(" and "):
            if kind:
                found = needs.get(row["message_id"].strip("<>"), set())
                text = f"{row['message_id']} {row['file_name']}: {kind}, is {sorted(found)}"
                checks.append((text, kind in found))
    return _share("questions to a human that were meant", checks)
