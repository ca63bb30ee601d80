"""The batches of mails that volunteers wrote (tests/data/mails), for all tests that read them.

``tells`` are the sentences of a mail for which it must be heard; a mail that has none is neutral.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from pathlib import Path
from typing import Any

from triage.mail.authorship import divide_text
from triage.mail.likeness import FOLDS

FOLDER = Path(__file__).parent / "data" / "mails"
Reader = Callable[..., str]


def mails(kind: str, number: str = "*") -> list[tuple[int, dict[str, Any]]]:
    """The mails of all batches of a kind, or of one, each with the fold of its batch."""
    return [
        (int(path.stem.rpartition("_")[2]) % FOLDS, mail)
        for path in sorted(FOLDER.glob(f"{kind}_{number}.toml"))
        for mail in tomllib.loads(path.read_text("utf-8"))["mails"]
    ]


def own_words(mail: dict[str, Any]) -> str:
    """The subject and what the author wrote."""
    subject = mail.get("subject", "")
    return f"{subject}\n\n{divide_text(mail['text'], subject=subject)[0].text}"


def heard(read: Reader, kind: str, number: int) -> tuple[list[str], list[str]]:
    """Of one batch the mails that were not heard, and those heard in vain.

    Each is read by weights that had not seen the batch, nor any other by the same hand.
    """
    read_so = [
        (mail, bool(read(own_words(mail), without=fold))) for fold, mail in mails(kind, str(number))
    ]
    return (
        [mail["text"] for mail, found in read_so if mail["tells"] and not found],
        [mail["text"] for mail, found in read_so if found and not mail["tells"]],
    )


def heard_of_all(read: Reader, kind: str) -> tuple[list[str], list[str]]:
    """Of all batches of a kind together."""
    numbers = {int(path.stem.rpartition("_")[2]) for path in FOLDER.glob(f"{kind}_*.toml")}
    of_each = [heard(read, kind, number) for number in sorted(numbers)]
    return [m for unheard, _ in of_each for m in unheard], [m for _, vain in of_each for m in vain]


def plain_shown(read: Reader, kind: str) -> tuple[int, int]:
    """How many plain mails are shown, by weights that had not seen their batch.

    Those of the first hand, and those of hands that knew no rules, but for mails that tell of the
    kind besides.
    """
    first, later = (
        [read(own_words(mail), without=fold) for fold, mail in mails(batch) if tells_no(mail, kind)]
        for batch in ("plain", "mention")
    )
    assert (len(first), len(later)) > (1_100, 1_100)
    return sum(map(bool, first)), sum(map(bool, later))


def tells_no(mail: dict[str, Any], kind: str) -> bool:
    """Whether a mail tells nothing of a kind besides what it is for."""
    return kind not in mail.get("also", {})
