"""Rows of the inbox: numbered for this listing, with the mail's own words, files and fixes."""

from __future__ import annotations

import sys
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING, Any

import typer

from triage.cli import say

if TYPE_CHECKING:
    from triage.inbox import Need, RecordNeed
    from triage.pipeline.inbox import InboxEntry
    from triage.store.connection import Survey


def rows(entries: Sequence[InboxEntry], records: Sequence[RecordNeed]) -> list[str]:
    """The lines of the listing: what hangs on no message, then each message, worst first."""
    lines = [line for one in records for line in _record_lines(one)]
    if not entries:
        return [*lines, "The inbox is clear: no message is open or waiting."]
    for number, entry in enumerate(entries, 1):
        lines += _entry_lines(number, entry)
    open_count = sum(entry.message.state == "open" for entry in entries)
    return [*lines, f"{open_count} open, {len(entries) - open_count} waiting for their sender"]


def _record_lines(one: RecordNeed) -> Iterator[str]:
    yield one.record
    yield f"    {one.kind}: {one.text}"
    yield f"        {one.fix}"


def _entry_lines(number: int, entry: InboxEntry) -> Iterator[str]:
    from triage.inbox.facts import shortened

    yield f"{number}.  {_heading(entry)}"
    if words := shortened(entry.words):
        yield f'    wrote: "{words}"'
    if entry.files:
        yield f"    photos: {', '.join(name or 'without a name' for name in entry.files)}"
    if entry.message.state == "waiting":
        yield f"    {entry.message.state_reason}"
    for need in entry.needs if entry.message.state == "open" else ():
        yield f"    {need.kind}: {need.text}"
        yield f"        {need.fix}"


def _heading(entry: InboxEntry) -> str:
    message = entry.message
    who = message.sender_name or message.sender_address or message.origin
    return (
        f"{message.identifier[:10]}  {message.state}  {who}  {message.sent_at[:10]}"
        f"  {message.subject}"
    )


def as_data(entries: Sequence[InboxEntry], records: Sequence[RecordNeed]) -> list[dict[str, Any]]:
    """The listing for a program."""
    listed: list[dict[str, Any]] = [
        {
            "row": number,
            "message": entry.message,
            "words": entry.words,
            "files": entry.files,
            "needs": [_need(need) for need in entry.needs],
        }
        for number, entry in enumerate(entries, 1)
    ]
    return listed + [
        {
            "record": one.record,
            "needs": [{"kind": one.kind, "text": one.text, "photo": "", "fix": one.fix}],
        }
        for one in records
    ]


def _need(need: Need) -> dict[str, str]:
    return {"kind": need.kind, "text": need.text, "photo": need.photo, "fix": need.fix}


def show(survey: Survey, row: str) -> None:
    """Print a row with all its words and where its files lie, and open the files."""
    from triage.exports.standing_photos import sentence_of
    from triage.pipeline import inbox as stage
    from triage.pipeline import photo_list

    entry = stage.entry_of(survey, row)
    say.line(_heading(entry))
    say.each("    ", entry.words.splitlines())
    for photo in photo_list.standing_photos(survey, [entry.message.identifier]):
        say.line(f"  stands: {sentence_of(photo)}")
    for need in entry.needs:
        say.line(f"  {need.kind}: {need.text}")
        say.line(f"      {need.fix}")
    for name, path in stage.kept_files(survey, entry.message.identifier):
        say.line(f"  file: {name}  {path}")
        if sys.stdout.isatty():
            typer.launch(path)
