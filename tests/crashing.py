"""Kills each kind of work again and again, repeats it, and compares with work left in peace.

Half of the kills come just before a write (spread over all of them), half after a random time. The
repeated work must end in the same canonical dump and the same files beside the survey; what was
acknowledged to a person must be there; audit must find no damage; and what a kill left half-written
must be gone or named by audit and removed by what ``repair`` clears.

``make crash`` runs 200 kills of each; the tests run ten.
"""

from __future__ import annotations

import argparse
import mailbox
import os
import random
import shutil
import sys
import tempfile
import time
from collections.abc import Callable
from dataclasses import dataclass
from functools import partial
from pathlib import Path

from desk.desks import come_in, desk_of, post
from killing import run_killed, spread
from tests_support import DEMO, NOW, dump

from triage.demo.walk import import_tables
from triage.determinations import Statement
from triage.inbox import Settlement
from triage.mail.meaning import meanings
from triage.pipeline import audit, determine, message_page, publish, receive, repair, settle, walk
from triage.pipeline.examine import examine
from triage.pipeline.standing import sightings
from triage.store.actions import newest_number
from triage.store.connection import create_survey, open_survey

KINDS = ("receive", "examine", "run", "settle", "determine", "export", "desk")


@dataclass(frozen=True, slots=True, kw_only=True)
class Deed:
    """A piece of work on a survey: what it starts from, and what does it.

    ``do`` is given the survey's folder and a folder beside it for what the work hands out.
    """

    kind: str
    base: Path | None  # a survey, copied for each kill; None: there is none yet
    do: Callable[[Path, Path], None]


@dataclass(frozen=True, slots=True, kw_only=True)
class Outcome:
    """What became of the kills of one kind of work."""

    kind: str
    writes: int  # to which the work comes
    at_writes: int  # kills just before a write
    at_random: int  # kills after a random time
    halves: int  # kills after which a repetition still left something half-written
    seconds: float


# -- surveys that the work starts from -----------------------------------------------------------


@dataclass(frozen=True, slots=True, kw_only=True)
class Bases:
    """A mailbox, and surveys before it is received, after that, and when all is done."""

    inbox: Path
    empty: Path
    received: Path
    walked: Path


def make_bases(place: Path, messages: int) -> Bases:
    """Make the surveys from the first messages of the demo."""
    made = Bases(
        inbox=_first(place / "inbox.mbox", messages),
        empty=place / "empty",
        received=place / "received",
        walked=place / "walked",
    )
    create_survey(made.empty, title="Linnet Water Survey")
    with open_survey(made.empty) as survey:
        import_tables(survey, DEMO, now=NOW)
    for folder, do in ((made.received, take_in), (made.walked, go_through)):
        shutil.copytree(made.empty, folder)
        assert run_killed(partial(do, made.inbox, folder, place)) > 0
    return made


def _first(path: Path, count: int) -> Path:
    whole, few = mailbox.mbox(DEMO / "inbox.mbox", create=False), mailbox.mbox(path)
    for key in list(whole.keys())[:count]:
        few.add(whole.get_bytes(key))
    few.close()
    whole.close()
    return path


# -- the work ------------------------------------------------------------------------------------


def take_in(inbox: Path, folder: Path, beside: Path) -> None:
    with open_survey(folder) as survey:
        receive.take_in(survey, [inbox], now=NOW)


def look(folder: Path, beside: Path) -> None:
    _one_thread()
    with open_survey(folder) as survey:
        examine(survey, now=NOW, processes=0)


def go_through(inbox: Path, folder: Path, beside: Path) -> None:
    _one_thread()
    walk.run([inbox], folder, now=NOW, processes=0)


def decide(message: str, folder: Path, beside: Path) -> None:
    with open_survey(folder) as survey:
        settle.settle(survey, [message], Settlement(site="Heron Mere"), by="Bo", now=NOW)


def name_it(sighting: str, folder: Path, beside: Path) -> None:
    with open_survey(folder) as survey:
        said = Statement(taxon="Aeshna cyanea")
        determine.determine(survey, sighting, said, by="Una Lark", new=True, now=NOW)


def hand_out(folder: Path, beside: Path) -> None:
    if not (beside / "out").exists():  # where one is, it must be whole: it is never written over
        with open_survey(folder) as survey:
            publish.export(survey, beside / "out", now=NOW)


def sit_at_the_desk(wanted: tuple[tuple[str, dict[str, str]], ...], folder: Path, beside: Path):
    """Send what the desk has not acknowledged yet, one after the other, as its pages do."""
    noted = os.open(beside / "acknowledged", os.O_CREAT | os.O_RDWR | os.O_APPEND)
    done = os.read(noted, 1000).decode().split()
    client = come_in(desk_of(folder), "Una Lark")
    for number, (path, said) in enumerate(wanted):
        if str(number) not in done:
            answer = post(client, path, said)
            assert answer.status_code < 400, answer.get_data(as_text=True)
            os.write(noted, f"{number}\n".encode())
    os.close(noted)


def _one_thread() -> None:
    import cv2

    cv2.setNumThreads(1)  # its threads do not live on in a forked process


def deed(kind: str, bases: Bases) -> Deed:
    """The work of this kind on the surveys made for it."""
    with open_survey(bases.walked) as survey:
        found = [one.identifier for one in sightings(survey)]
        (message, *_) = [
            one.identifier
            for group in message_page.open_messages(survey)
            for sender in group.senders
            for one in sender.messages
        ]
        stands = message_page.whole_message(survey, message).stands
        shown = {"current": message, "seen": f"{newest_number(survey)} {stands}"}
    said = (
        *(
            ("/determine/record", {"sighting": one, "taxon": "Aeshna cyanea", "sex": "male"})
            for one in found[:3]
        ),
        ("/inbox/settle", {**shown, "do": "date", "date": "2026-06-05"}),
        ("/determine/record", {"sighting": found[0], "taxon": "Aeshna grandis"}),
    )
    made: dict[str, tuple[Path | None, Callable[[Path, Path], None]]] = {
        "receive": (bases.empty, partial(take_in, bases.inbox)),
        "examine": (bases.received, look),
        "run": (None, partial(go_through, bases.inbox)),
        "settle": (bases.walked, partial(decide, message)),
        "determine": (bases.walked, partial(name_it, found[0])),
        "export": (bases.walked, hand_out),
        "desk": (bases.walked, partial(sit_at_the_desk, said)),
    }
    base, do = made[kind]
    return Deed(kind=kind, base=base, do=do)


# -- kills ---------------------------------------------------------------------------------------


def crash(work: Deed, *, kills: int, seed: int, place: Path) -> Outcome:
    """Kill, repeat, compare, ``kills`` times; raises AssertionError at the first difference."""
    began = time.monotonic()
    peace = _fresh(work, place / "peace")
    writes = run_killed(partial(work.do, *peace))
    expected, files = dump(peace[0]), _files(peace[1])
    chance = random.Random(seed)
    moments: list[int | None] = [*spread(min(kills - kills // 2, writes), writes)]
    moments += [None] * (kills - len(moments))
    lasts, halves, done, tries = 1.0, 0, 0, 0
    while done < len(moments):
        at, tries = moments[done], tries + 1
        after = None if at else chance.uniform(0, lasts)
        folder, beside = _fresh(work, place / f"try{tries}")
        started = time.monotonic()
        if run_killed(partial(work.do, folder, beside), at, after=after) > 0:
            assert not at, f"{work.kind}: not killed at write {at}"
            lasts = time.monotonic() - started  # done before the time came: another time is drawn
        else:
            where = f"{work.kind} killed at write {at}" if at else f"{work.kind} after {after} s"
            assert run_killed(partial(work.do, folder, beside)) >= 0
            assert dump(folder) == expected, f"{where}: another survey"
            assert _files(beside) == files, f"{where}: other files beside it"
            halves += _check_leftovers(folder, where)
            done += 1
        shutil.rmtree(folder.parent)
    return Outcome(
        kind=work.kind,
        writes=writes,
        at_writes=sum(at is not None for at in moments),
        at_random=moments.count(None),
        halves=halves,
        seconds=time.monotonic() - began,
    )


def _fresh(work: Deed, place: Path) -> tuple[Path, Path]:
    folder, beside = place / "survey", place / "beside"
    beside.mkdir(parents=True)
    if work.base is not None:
        shutil.copytree(work.base, folder)
    return folder, beside


def _files(folder: Path) -> dict[str, bytes]:
    return {
        path.relative_to(folder).as_posix(): b"" if path.is_dir() else path.read_bytes()
        for path in folder.rglob("*")
        if path.name != "acknowledged"
    }


def _check_leftovers(folder: Path, where: str) -> bool:
    """Whether anything half-written is left; audit must say so, and clearing must remove it."""
    with open_survey(folder) as survey:
        left = [path for path in folder.rglob("*") if path.suffix in (".part", ".unfinished")]
        found = audit.check(survey, now=NOW)
        assert found.damage == (), f"{where}: {found.damage}"
        named = any("half-written" in line for line in found.not_done)
        assert named == bool(left), f"{where}: {left} against {found.not_done}"
        repair.clear_leftovers(survey)
    assert not [path for path in left if path.exists()], f"{where}: {left}"
    return bool(left)


def main() -> int:
    """Kill each kind of work and print a table."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument(
        "kinds", nargs="*", choices=[*KINDS, []], help="which work; all unless told"
    )
    parser.add_argument("--kills", type=int, default=200)
    parser.add_argument("--messages", type=int, default=14, help="of the demo's inbox")
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    print("| work | its writes | killed at a write | at random | halves left | seconds |")
    print("|---|---|---|---|---|---|", flush=True)
    meanings(["Heron Mere"])  # loads what each forked process would load for itself
    with tempfile.TemporaryDirectory(prefix="triage-crash-") as place:
        bases = make_bases(Path(place), asked.messages)
        for kind in asked.kinds or KINDS:
            with tempfile.TemporaryDirectory(dir=place) as here:
                done = crash(
                    deed(kind, bases), kills=asked.kills, seed=asked.seed, place=Path(here)
                )
            print(
                f"| {done.kind} | {done.writes} | {done.at_writes} | {done.at_random} |"
                f" {done.halves} | {done.seconds:.0f} |",
                flush=True,
            )
    return 0


if __name__ == "__main__":
    sys.exit(main())
