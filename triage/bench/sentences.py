"""What it costs to ask what sentences mean: the first of a process, then each of them.

The sentences are made up, none twice. Asked one by one, a mail of them at a time, all at once, and
once more take turns, and so do the words around a site or a day, of which a mail has one or two.
"""

from __future__ import annotations

from collections.abc import Iterator
from itertools import count, islice

from triage.bench.running import in_own_process, medians
from triage.mail.meaning import READ, meanings

OF_A_MAIL = 8  # sentences
ALONE, BY_MAIL, AT_ONCE, AGAIN = "one by one", "by mails", "all at once", "asked again"
AROUND = "the words around a mention"


def bench(mails: int) -> list[str]:
    """Load the encoder in a process of its own; ask for the sentences of so many mails in another.

    Raises
    ------
    ValueError
        If there are no mails.
    """
    if mails < 1:
        raise ValueError(f"mails must be at least 1, got {mails}")
    imports, first = in_own_process(nothing), in_own_process(first_sentence)
    held = (first.peak_bytes - imports.peak_bytes) / 1e6
    spent = in_own_process(in_turn, mails).result
    told = [
        f"the first sentence of a process: {first.seconds:.2f} s of processor time, {held:.0f} MB"
        f" more memory (imports alone {imports.peak_bytes / 1e6:.0f} MB)",
        f"then, milliseconds of processor time each, medians over {mails} mails of {OF_A_MAIL}"
        " sentences:",
    ]
    for how in (ALONE, BY_MAIL, AT_ONCE):
        faster = spent[ALONE] / max(spent[how], 1e-9)
        told.append(f"a sentence, {how}: {spent[how] * 1000:.2f}, {faster:.1f} times as fast")
    told.append(f"a sentence, {AGAIN}: {spent[AGAIN] * 1000:.4f}")
    longer = spent[AROUND] / max(spent[ALONE], 1e-9)
    told.append(
        f"{AROUND}, {READ} characters: {spent[AROUND] * 1000:.1f},"
        f" {longer:.1f} times as long as a sentence"
    )
    return told


def nothing() -> None:
    """Only what asking needs is loaded."""


def first_sentence() -> None:
    """The encoder is loaded, and asked once."""
    meanings([next(_made_up())])


def in_turn(mails: int, rounds: int = 3) -> dict[str, float]:
    """Seconds a sentence for each way of asking; of the words around a mention, each."""
    made = _made_up()
    number = mails * OF_A_MAIL

    def by(size: int) -> None:
        for _ in range(0, number, size):
            meanings(list(islice(made, size)))

    known = list(islice(made, number))
    meanings(known)
    steps = {
        ALONE: lambda: by(1),
        BY_MAIL: lambda: by(OF_A_MAIL),
        AT_ONCE: lambda: by(number),
        AGAIN: lambda: meanings(known),
        AROUND: lambda: [meanings([_long(made)]) for _ in range(mails)],
    }
    spent = medians(steps, rounds)
    return {how: seconds / (mails if how == AROUND else number) for how, seconds in spent.items()}


def _made_up() -> Iterator[str]:
    for number in count():
        yield f"On the {number % 30 + 1}th we counted {number} blue hawkers over the reeds there."


def _long(made: Iterator[str]) -> str:
    words = ""
    while len(words) < READ:
        words += next(made) + " "
    return words
