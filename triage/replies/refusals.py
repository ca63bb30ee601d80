"""Recognises that somebody wants no more letters: a refusal counts however shortly it is put."""

from __future__ import annotations

import re

_NO_LETTERS = re.compile(
    r"\b(?:no (?:more )?(?:such )?letters?|keine (?:weiteren )?briefe|bez listów"
    r"|pas de lettres|plus de lettres|unsubscribe|please stop writing)\b",
    re.IGNORECASE,
)
_QUOTED = re.compile(r"\s*[>|]")
# Our own sentence, when a mail program quotes it without a mark.
_OURS = re.compile(r"(?i)if you would rather not|wenn sie solche|jeśli nie chcą|si vous préférez")


def refuses_letters(text: str) -> bool:
    """Whether a mail's own words ask for no more letters; quoted lines are passed over.

    >>> refuses_letters("No letters please.\\n> answer \\"no letters\\" and we will stop")
    True
    >>> refuses_letters("> answer \\"no letters\\" and we will stop")
    False
    """
    return any(
        _NO_LETTERS.search(line)
        for line in text.splitlines()
        if not _QUOTED.match(line) and not _OURS.search(line)
    )
