"""Tells outcomes on the screen: results on standard output, progress on standard error."""

from __future__ import annotations

import dataclasses
import json
import math
import re
import sys
from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import TYPE_CHECKING, Any, Protocol

from triage.standards.counting import counted

if TYPE_CHECKING:
    from triage.workers.progress import Progress

# Of the text of a mail: characters that would steer a terminal or turn the order of a line round.
_STEERING = re.compile(r"[\x00-\x08\x0b-\x1f\x7f-\x9f\u200e\u200f\u2028-\u202e\u2066-\u2069]")


def line(text: str = "") -> None:
    """One line of a result."""
    print(_harmless(text))


def lines(texts: Sequence[str], *, json: bool = False) -> None:
    """Several lines of a result, or one JSON list."""
    if json:
        as_json(list(texts))
        return
    for text in texts:
        line(text)


def each(before: str, texts: Iterable[object], after: str = "") -> None:
    """A line of each text, with the same words before it."""
    for text in texts:
        line(f"{before}{text}{after}")


class Outcome(Protocol):
    """What came of a command, as a record and in lines for people."""

    @property
    def lines(self) -> Sequence[str]: ...


def told(outcome: Outcome, *, json: bool) -> None:
    """What came of a command: the record as JSON, or its lines."""
    as_json(outcome) if json else lines(outcome.lines)


def note(text: str) -> None:
    """One line beside the result, on standard error; nothing of an empty text."""
    if text:
        print(_harmless(text), file=sys.stderr)


def _harmless(text: str) -> str:
    return _STEERING.sub("\ufffd", text)


def as_json(value: Any) -> None:
    """One JSON document and nothing else."""
    json.dump(_plain(value), sys.stdout, ensure_ascii=False, indent=1)
    sys.stdout.write("\n")


def _plain(value: Any) -> Any:
    if dataclasses.is_dataclass(value) and not isinstance(value, type):
        return {f.name: _plain(getattr(value, f.name)) for f in dataclasses.fields(value)}
    if isinstance(value, dict):
        return {str(key): _plain(one) for key, one in value.items()}
    if isinstance(value, list | tuple | set):
        return [_plain(one) for one in value]
    if isinstance(value, bytes):
        return value.hex()
    if isinstance(value, Path):
        return str(value)
    if isinstance(value, float) and not math.isfinite(value):
        return None  # JSON has no word for it (RFC 8259, section 6)
    return value


def table(
    headings: Sequence[str], rows: Iterable[Sequence[str]], *, empty: str = "Nothing yet."
) -> None:
    """Columns wide enough for what they hold; without rows only the sentence ``empty``."""
    rows = list(rows)
    if not rows:
        line(empty)
        return
    kept = [list(headings), *[[str(cell) for cell in row] for row in rows]]
    widths = [max(len(row[i]) for row in kept) for i in range(len(headings))]
    for row in kept:
        cells = [cell.ljust(width) for cell, width in zip(row[:-1], widths[:-1], strict=True)]
        line("  ".join([*cells, row[-1]]).rstrip())


def listed(
    found: Sequence[Any], columns: Mapping[str, Callable[[Any], str]], *, empty: str, json: bool
) -> None:
    """Records as JSON, or as a table: what stands of each under every heading."""
    if json:
        as_json(found)
        return
    table(list(columns), [[of(one) for of in columns.values()] for one in found], empty=empty)


def written(path: Path, content: bytes, number: int, noun: str) -> None:
    """Write a table of so many rows, and say so beside the result."""
    from triage.store.whole_files import handed_out

    with handed_out(path, "the table") as part:
        part.write_bytes(content)
    note(f"{counted(number, noun)} written to {path}")


def handed_on(
    to: Path, outcome: object, told: Iterable[str], *, internal: bool, json: bool
) -> None:
    """What was written to be handed on."""
    if json:
        as_json(outcome)
        return
    line(f"{to}: {'internal, not to be handed on' if internal else 'released'}")
    each("  ", told)


@contextmanager
def progress_bars() -> Iterator[Progress]:
    """Bars on standard error during the work; silent where nobody watches."""
    from triage.workers.progress import silent

    if not sys.stderr.isatty():
        yield silent
        return
    from rich.console import Console
    from rich.progress import BarColumn, MofNCompleteColumn, TextColumn, TimeRemainingColumn
    from rich.progress import Progress as Bars

    columns = (
        TextColumn("{task.description}"),
        BarColumn(),
        MofNCompleteColumn(),
        TimeRemainingColumn(),
    )
    with Bars(*columns, console=Console(stderr=True), transient=True) as bars:
        tasks: dict[str, Any] = {}

        def show(what: str, done: int, total: int | None) -> None:
            if what not in tasks:
                tasks[what] = bars.add_task(what, total=total)
            bars.update(tasks[what], completed=done, total=total)

        yield show
