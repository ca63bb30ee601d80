"""Searches for texts of 20 kB that a reader of mail takes long over: ``make slow`` (a long trial).

Samples of every pattern that the readers are made of, alone and in pairs, are repeated to a text. A
reader that takes more than its share of a short one is given a long one; what takes more than a
second is printed. What it finds becomes a line of tests/metadata/test_texts_made_to_be_slow.py.
"""

from __future__ import annotations

import argparse
import importlib
import pkgutil
import random
import re
import signal
import sys
import time
from collections.abc import Callable, Iterator
from pathlib import Path
from re import _constants as regex  # type: ignore[attr-defined]
from re import _parser  # type: ignore[attr-defined]
from typing import Any

sys.path.append(str(Path(__file__).parent / "metadata"))

PACKAGES = ("triage.mail", "triage.metadata", "triage.checklist", "triage.replies")
SEPARATORS = (" ", "", ". ", "\n", ", ")
SHORT, LONG = 4_000, 20_000  # characters
SUSPECT, SLOW, MOST = 0.05, 1.0, 20.0  # seconds of a short text, of a long one, of any


def readers() -> dict[str, Callable[[str], object]]:
    from test_texts_made_to_be_slow import SITES, read

    from triage.mail import consent, headers, photographers, wishes
    from triage.mail.authorship import divide_text
    from triage.mail.body_text import find_links, text_of_html
    from triage.mail.signatures import without_signature
    from triage.metadata.clock_words import clock_spans, read_clock_words
    from triage.metadata.corrections import words_of_a_correction
    from triage.metadata.private_places import words_of_a_private_place
    from triage.metadata.text_dates import days_of_no_calendar
    from triage.replies.answers import read_answer
    from triage.sightings.words import words_of_several

    names = [site.locality for site in SITES]
    return {
        "times and places": read,
        "consent": consent.read_consent,
        "children": consent.speaks_of_children,
        "authorship": divide_text,
        "answer": lambda text: read_answer(text, "publish"),
        "photographers": lambda text: photographers.another_took_it(text, places=names),
        "wishes": wishes.asks_to_delete,
        "signatures": lambda text: without_signature(text.splitlines()),
        "corrections": words_of_a_correction,
        "several animals": words_of_several,
        "private places": words_of_a_private_place,
        "days of no calendar": days_of_no_calendar,
        "clock": read_clock_words,
        "clock spans": clock_spans,
        "links": find_links,
        "HTML": text_of_html,
        "encoded words": headers.decode_words,
        "parameters": headers.parameters,
        "address": headers.read_address,
        "date": headers.read_date,
        "identifiers": headers.read_identifiers,
    }


def patterns() -> Iterator[re.Pattern[str]]:
    """Every compiled pattern that a module of the readers holds, in a list or table, too."""
    for name in PACKAGES:
        package = importlib.import_module(name)
        for found in pkgutil.walk_packages(package.__path__, f"{name}."):
            for value in list(vars(importlib.import_module(found.name)).values()):
                held = value.values() if isinstance(value, dict) else [value]
                for one in held:
                    yield from (
                        each
                        for each in (one if isinstance(one, list | tuple) else [one])
                        if isinstance(each, re.Pattern) and isinstance(each.pattern, str)
                    )


def sample(parsed: Any, chance: random.Random) -> str:
    """A short text that a part of a pattern matches, but for what it looks ahead or back at."""
    made = []
    for kind, what in parsed:
        if kind is regex.LITERAL:
            made.append(chr(what))
        elif kind is regex.IN:
            made.append(chance.choice([_of_class(one) for one in what]))
        elif kind is regex.BRANCH:
            made.append(sample(chance.choice(what[1]), chance))
        elif kind is regex.SUBPATTERN:
            made.append(sample(what[-1], chance))
        elif kind in (regex.MAX_REPEAT, regex.MIN_REPEAT):
            least, most, inner = what
            count = min(least + chance.randrange(3), most)
            made += [sample(inner, chance) for _ in range(count)]
        elif kind in (regex.ANY, regex.NOT_LITERAL):
            made.append("x")
    return "".join(made)


def _of_class(one: tuple[Any, Any]) -> str:
    kind, what = one
    if kind is regex.CATEGORY:
        return {regex.CATEGORY_DIGIT: "1", regex.CATEGORY_SPACE: " "}.get(what, "a")
    return chr(what if kind is regex.LITERAL else what[0]) if what else "x"


def pieces(chance: random.Random, *, each: int) -> list[str]:
    found = set()
    for one in set(patterns()):
        parsed = _parser.parse(one.pattern, one.flags)
        count = min(each, 4 + len(one.pattern) // 60)
        found |= {sample(parsed, chance) for _ in range(count)}
    return sorted(piece for piece in found if 0 < len(piece) < 80)


class _SlowError(Exception):
    pass


def _give_up(*_: object) -> None:
    raise _SlowError


def seconds(read: Callable[[str], object], text: str) -> float:
    """Processor time that a reader takes, at most MOST."""
    signal.signal(signal.SIGPROF, _give_up)
    signal.setitimer(signal.ITIMER_PROF, MOST)
    began = time.process_time()
    try:
        read(text)
    except _SlowError:
        return MOST
    finally:
        signal.setitimer(signal.ITIMER_PROF, 0)
    return time.process_time() - began


def main() -> int:
    """Search for so long; 1 if anything was slow."""
    parser = argparse.ArgumentParser(description=__doc__.partition("\n")[0])
    parser.add_argument("--hours", type=float, default=0.2)
    parser.add_argument("--seed", type=int, default=1)
    asked = parser.parse_args()
    chance = random.Random(asked.seed)
    found, read_by = pieces(chance, each=40), readers()
    for reader in read_by.values():
        reader("Seen on 1 June at Heron Mere.")  # what is loaded once is in no figure
    until, slow, count = time.monotonic() + asked.hours * 3600, 0, 0
    left = chance.sample(found, len(found))
    while time.monotonic() < until:
        piece = left.pop() if left else "".join(chance.sample(found, 2))
        piece += chance.choice(SEPARATORS)
        count += 1
        for name, read in read_by.items():
            if seconds(read, piece * (SHORT // len(piece))) > SUSPECT:
                took = seconds(read, piece * (LONG // len(piece)))
                if took > SLOW:
                    slow += 1
                    print(f"{name}: {took:.1f} s for {piece!r}", flush=True)
    print(f"{count:,} texts of {len(found):,} pieces, {slow} slow")
    return int(slow > 0)


if __name__ == "__main__":
    sys.exit(main())
