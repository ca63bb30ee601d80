"""What a night, a decision, a page and the whole work cost in simulated surveys of any size.

A survey is that of ``triage.bench.scale`` with a checklist, exuviae lots, a name for every second
sighting, settled mails, and real files for its first photos. A night, a decision and a page are to
cost the same in a survey of any size; whatever looks at everything grows with it.
"""

from __future__ import annotations

import json
import statistics
import sys
import tempfile
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from datetime import UTC, datetime
from itertools import islice
from pathlib import Path

from triage.bench.desk import add_tables, name_half, name_of
from triage.bench.running import in_own_process, markdown, peak_bytes, seconds_of
from triage.bench.scale import NIGHT, PAGE, NightCost, make_survey
from triage.determinations import Statement
from triage.inbox import Settlement
from triage.pipeline import analysis, audit, determine, inbox, match, publish, queueing, settle
from triage.store import actions, messages
from triage.store.connection import Survey, open_survey

SIZES = (1_000, 20_000)  # photos
WHOLE = ("queue", "inbox", "match", "export", "report", "audit")
REPEATS = 9  # of each decision; its figure is the median
LEFT_OPEN = 100  # mails of the past that nobody has settled
_NOW = datetime(2026, 11, 2, tzinfo=UTC)
_WHO = "Ada Moor"


@dataclass(frozen=True, slots=True, kw_only=True)
class SurveyCost:
    """What a survey costs: a night, decisions and pages (milliseconds), whole work (seconds)."""

    night: NightCost
    decisions: dict[str, float]
    pages: dict[str, float]
    whole: dict[str, float]
    peak_bytes: int  # of the process that did the whole work

    def rows(self) -> dict[str, float]:
        """Every figure by what it is of, in the order of a table."""
        night = self.night
        return {
            **{f"a night of {night.night}: {step}, s": n for step, n in night.seconds.items()},
            "the night, s": night.total,
            "the night's peak, MB": night.peak_bytes / 1e6,
            **{f"{what}, ms": n for what, n in self.decisions.items()},
            **{f"page {path}, ms": n for path, n in self.pages.items()},
            **{f"whole {what}, s": n for what, n in self.whole.items()},
            "their peak, MB": self.peak_bytes / 1e6,
            "survey.db, MB": night.database_bytes / 1e6,
        }


def bench(
    time_pages: Callable[[Path], dict[str, float]],
    *,
    photos: Sequence[int] = SIZES,
    night: int = NIGHT,
    whole: Sequence[str] = WHOLE,
) -> Iterator[SurveyCost]:
    """Make a survey of each size, and time in fresh processes what is done in it.

    ``time_pages`` gives the milliseconds of the pages of the desk of the survey in a folder.

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
            prepare(survey)
            cost = NightCost(**in_own_process("triage.bench.scale", survey, size, night))
            decided, spent = measured(survey, whole)
            peak = int(spent.pop("peak_bytes"))
            yield SurveyCost(
                night=cost,
                decisions=decided,
                pages=time_pages(survey),
                whole=spent,
                peak_bytes=peak,
            )


def lines(costs: Sequence[SurveyCost]) -> list[str]:
    """The figures as a table in Markdown, with the growth from the first size to the last."""
    sizes = [cost.night.photos for cost in costs]
    columns = [cost.rows() for cost in costs]
    headings = ("", *(f"{size:,} photos" for size in sizes), f"x {sizes[-1] / sizes[0]:.0f}")
    rows = []
    for what in columns[0]:
        figures = [column[what] for column in columns]
        growth = figures[-1] / max(figures[0], 1e-9)
        shown = [f"{n:,.2f}" if what.endswith(", s") else f"{n:,.0f}" for n in figures]
        rows.append((what, *shown, f"x {growth:.1f}"))
    return markdown(headings, rows)


def prepare(folder: Path) -> None:
    """Give a simulated survey a checklist, lots and names, and have its past mails settled."""
    add_tables(folder)
    name_half(folder)
    with open_survey(folder) as survey:
        with survey.transaction():
            action = actions.record(survey, command="settle", summary="past", by=_WHO, now=_NOW)
            for row in messages.unsettled(survey)[:-LEFT_OPEN]:
                messages.set_state(survey, row.row, "settled", "past", now=_NOW, action=action)
        inbox.settle_states(survey, now=_NOW)  # what is due of the past is not the night's
        queueing.bring_up_to_date(survey, now=_NOW)


def decisions(folder: Path) -> dict[str, float]:
    """Milliseconds of processor time of one look at the queue and of two kinds of decision."""
    with open_survey(folder) as survey:
        waiting = [row.entry.sighting for row in queueing.queue(survey, now=_NOW, limit=REPEATS)]
        mails = [row.identifier for row in islice(messages.unsettled(survey), REPEATS)]

        def name(number: int) -> object:
            said = Statement(taxon=name_of(number, number % 5))
            return determine.determine(survey, waiting[number], said, by=_WHO, new=True, now=_NOW)

        def clear(number: int) -> object:
            decided = Settlement(site="S01", date="2026-06-14")
            return settle.settle(survey, [mails[number]], decided, by=_WHO, now=_NOW)

        ways: dict[str, Callable[[int], object]] = {
            "first page of the queue": lambda _: queueing.queue(survey, now=_NOW, limit=PAGE),
            "determine": name,
            "settle": clear,
        }
        return {
            what: 1000 * statistics.median(_each(way, min(len(waiting), len(mails))))
            for what, way in ways.items()
        }


def _each(way: Callable[[int], object], count: int) -> list[float]:
    return [seconds_of(lambda number=number: way(number)) for number in range(count)]  # type: ignore[misc]


def everything(folder: Path, into: Path, whole: Sequence[str]) -> dict[str, float]:
    """Seconds of processor time of all that looks at the whole survey, and the peak of memory."""
    with open_survey(folder) as survey:
        steps = _steps(survey, into)
        spent = {what: round(seconds_of(steps[what]), 2) for what in whole}
    return {**spent, "peak_bytes": peak_bytes()}


def _steps(survey: Survey, into: Path) -> dict[str, Callable[[], object]]:
    return {
        "queue": lambda: queueing.queue(survey, now=_NOW),
        "inbox": lambda: inbox.entries(survey),
        "match": lambda: match.match(survey),
        "export": lambda: publish.export(survey, into / "export", now=_NOW),
        "report": lambda: analysis.report(survey, into / "report", now=_NOW),
        "audit": lambda: audit.check(survey, now=_NOW),
    }


def measured(folder: Path, whole: Sequence[str]) -> tuple[dict[str, float], dict[str, float]]:
    """Decisions and whole work, each in a process of its own."""
    with tempfile.TemporaryDirectory() as into:
        return tuple(  # type: ignore[return-value]
            in_own_process("triage.bench.survey_work", what, folder, into, *whole)
            for what in ("decisions", "everything")
        )


if __name__ == "__main__":
    what, place, target, *names = sys.argv[1:]
    found = (
        decisions(Path(place))
        if what == "decisions"
        else everything(Path(place), Path(target), names)
    )
    sys.stdout.write(json.dumps(found))
