"""What a night, a decision, a page and the whole work cost in simulated surveys of any size.

A survey is that of ``triage.bench.scale`` with a checklist, exuviae lots, a name for every second
sighting, settled mails, and real files for its first photos. A night, a decision and a page are to
cost the same in a survey of any size; whatever looks at everything grows with it.
"""

from __future__ import annotations

import statistics
import tempfile
from collections.abc import Callable, Iterator, Sequence
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

from triage.bench.desk import add_tables, name_half, name_of
from triage.bench.running import in_own_process, markdown, seconds_of
from triage.bench.scale import NIGHT, PAGE, make_survey, one_night
from triage.determinations import Statement
from triage.inbox import Settlement
from triage.pipeline import (
    analysis,
    audit,
    determine,
    inbox,
    match,
    photo_list,
    publish,
    queueing,
    settle,
)
from triage.store import actions, messages
from triage.store.connection import open_survey

SIZES = (1_000, 20_000)  # photos
WHOLE = ("queue", "inbox", "match", "export", "report", "audit")
REPEATS = 45  # of each decision; its figure is the median: mails and their days differ
LEFT_OPEN = 100  # mails of the past that nobody has settled
_NOW = datetime(2026, 11, 2, tzinfo=UTC)
_WHO = "Ada Moor"


def bench(
    time_pages: Callable[[Path], dict[str, float]],
    *,
    photos: Sequence[int] = SIZES,
    night: int = NIGHT,
    whole: Sequence[str] = WHOLE,
) -> Iterator[tuple[int, dict[str, float]]]:
    """Make a survey of each size, and time in fresh processes what is done in it.

    ``time_pages`` gives the figures of the desk of the survey in a folder. Gives each size with
    every figure by what it is of: a night, decisions and pages, whole work.

    Raises
    ------
    ValueError
        If no size is given, or one is less than one photo.
    """
    if not photos or min(photos) < 1 or night < 1:
        raise ValueError("sizes and night must be at least one photo")
    for size in photos:
        with tempfile.TemporaryDirectory() as place:
            survey = Path(place) / "survey"
            make_survey(survey, size)
            placing = prepare(survey)
            nightly = in_own_process(one_night, survey, size, night)
            of_database = (survey / "survey.db").stat().st_size
            decided = in_own_process(decisions, survey)
            done = in_own_process(everything, survey, place, whole)
            yield (
                size,
                {
                    **{f"a night of {night}: {step}, s": n for step, n in nightly.result.items()},
                    "the night, s": sum(nightly.result.values()),
                    "the night's peak, MB": nightly.peak_bytes / 1e6,
                    **{f"{what}, ms": n for what, n in decided.result.items()},
                    **time_pages(survey),
                    "all sightings placed in the queue, s": placing,
                    **{f"whole {what}, s": n for what, n in done.result.items()},
                    "their peak, MB": done.peak_bytes / 1e6,
                    "survey.db, MB": of_database / 1e6,
                },
            )


def lines(costs: Sequence[tuple[int, dict[str, float]]]) -> list[str]:
    """The figures as a table in Markdown, with the growth from the first size to the last."""
    sizes = [size for size, _ in costs]
    headings = ("", *(f"{size:,} photos" for size in sizes), f"x {sizes[-1] / sizes[0]:.0f}")
    rows = []
    for what in costs[0][1]:
        figures = [found[what] for _, found in costs]
        growth = figures[-1] / max(figures[0], 1e-9)
        shown = [f"{n:,.2f}" if what.endswith(", s") else f"{n:,.0f}" for n in figures]
        rows.append((what, *shown, f"x {growth:.1f}"))
    return markdown(headings, rows)


def prepare(folder: Path) -> float:
    """Give a simulated survey a checklist, lots and names, and have its past mails settled.

    Returns the seconds in which all its sightings are placed in the queue.
    """
    add_tables(folder)
    name_half(folder)
    with open_survey(folder) as survey:
        with survey.transaction():
            action = actions.record(survey, command="settle", summary="past", by=_WHO, now=_NOW)
            for row in messages.unsettled(survey)[:-LEFT_OPEN]:
                messages.set_state(survey, row.row, "settled", "past", now=_NOW, action=action)
        inbox.settle_states(survey, now=_NOW)  # what is due of the past is not the night's
        return seconds_of(lambda: queueing.bring_up_to_date(survey, now=_NOW))


def decisions(folder: str) -> dict[str, float]:
    """Milliseconds of processor time of one look at the queue and of three kinds of decision."""
    with open_survey(Path(folder)) as survey:
        waiting = [row.entry.sighting for row in queueing.queue(survey, now=_NOW, limit=REPEATS)]
        mails = [row.identifier for row in islice(messages.unsettled(survey), 2 * REPEATS)]
        timed = {row.message for row in photo_list.standing_photos(survey, mails) if row.event_date}

        def name(number: int) -> object:
            said = Statement(taxon=name_of(number % 12, number % 5))
            return determine.determine(survey, waiting[number], said, by=_WHO, new=True, now=_NOW)

        def clear(number: int) -> object:
            day = "" if mails[number] in timed else "2026-06-14"
            decided = Settlement(site="S01", date=day)
            return settle.settle(survey, [mails[number]], decided, by=_WHO, now=_NOW)

        def contradict(number: int) -> object:
            decided = Settlement(date="2020-02-29")
            return settle.settle(survey, [mails[-1 - number]], decided, by=_WHO, now=_NOW)

        ways: dict[str, Callable[[int], object]] = {
            "first page of the queue": lambda _: queueing.queue(survey, now=_NOW, limit=PAGE),
            "determine": name,
            "settle": clear,
            "settle, with a day that a clock contradicts": contradict,
        }
        return {
            what: 1000 * statistics.median(_each(way, min(len(waiting), len(mails) // 2)))
            for what, way in ways.items()
        }


def _each(way: Callable[[int], object], count: int) -> list[float]:
    return [seconds_of(lambda number=number: way(number)) for number in range(count)]  # type: ignore[misc]


def everything(folder: str, into: str, whole: Sequence[str]) -> dict[str, float]:
    """Seconds of processor time of all that looks at the whole survey."""
    with open_survey(Path(folder)) as survey:
        ways: dict[str, Callable[[], object]] = {
            "queue": lambda: queueing.queue(survey, now=_NOW),
            "inbox": lambda: inbox.entries(survey),
            "match": lambda: match.match(survey),
            "export": lambda: publish.export(survey, Path(into) / "export", now=_NOW),
            "report": lambda: analysis.report(survey, Path(into) / "report", now=_NOW),
            "audit": lambda: audit.check(survey, now=_NOW),
        }
        return {what: round(seconds_of(ways[what]), 2) for what in whole}
