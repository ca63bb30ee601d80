"""Show a drafted question, and keep it with other words; nothing is ever sent."""

from __future__ import annotations

import os
from pathlib import Path

from triage.errors import UnknownError
from triage.pipeline.drafts import drafts
from triage.replies.editing import Letter, read_letter, with_words
from triage.store.connection import Survey


def letter(survey: Survey, code: str) -> Letter:
    """The drafted letter of this code."""
    return read_letter(path_of_letter(survey, code).read_bytes())


def save_words(survey: Survey, code: str, words: str) -> None:
    """Keep the letter with these words."""
    path = path_of_letter(survey, code)
    changed = with_words(path.read_bytes(), words)
    temporary = path.with_suffix(".part")
    temporary.write_bytes(changed)
    os.replace(temporary, path)


def path_of_letter(survey: Survey, code: str) -> Path:
    """Where the draft of this code lies.

    Raises
    ------
    UnknownError
        If no question has this code, or its file was deleted.
    """
    found = next((Path(one.path) for one in drafts(survey) if one.code == code), None)
    if found is None or not found.is_file():
        raise UnknownError(
            "there is no drafted question of this code",
            failing=code[:40],
            next_step="Ask again from the message: the draft is written anew.",
        )
    return found
