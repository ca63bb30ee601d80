"""Says, a sentence each, what still tells of a forgotten person and cannot be removed."""

from __future__ import annotations

import re
from collections.abc import Collection, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

from triage.privacy import Secrets, leaks_in
from triage.standards.counting import counted
from triage.standards.letters import any_phrase
from triage.store import forgetting, originals
from triage.store.connection import DATABASE, FOLDERS, Survey
from triage.store.turns import TURNS

OWN = (DATABASE, f"{DATABASE}-wal", f"{DATABASE}-shm", f"{DATABASE}-journal", TURNS, *FOLDERS)
LARGEST = 100_000_000  # bytes of a file of the folder that is searched
HEAD = 128 * 1024  # bytes of a photo in which a camera or a program writes an owner's name
_WIDTHS = ("utf-8", "utf-16-le", "utf-16-be")


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What was found while somebody was forgotten: mails of ``others``, ``photos`` that were kept,
    ``letters`` to others that were removed, names ``shared`` with somebody else, and whether the
    database is ``whole``, without anything of theirs between its rows.
    """

    others: int
    photos: int
    letters: int
    shared: Sequence[str]
    whole: bool


def told_of_the_rest(
    survey: Survey, names: Sequence[str], needles: Sequence[str], told: Told
) -> Iterator[str]:
    """What still tells of a forgotten person, with what to do."""
    if told.others:
        yield (
            f"{counted(told.others, 'mail')} of others that name, quote or answer them: kept as"
            " they came"
        )
    if told.letters:
        yield (
            f"{counted(told.letters, 'draft')} to others that named or showed them:"
            " removed from replies/"
        )
    if told.photos:
        yield (
            f"{counted(told.photos, 'photo')} kept as they came, with what the camera wrote into"
            " them"
        )
    words = Secrets(words=(*needles, *names))
    if loose := [one for one in _loose(survey) if _tells(one.name, _head(one), words)]:
        which = ", ".join(path.stem[:12] for path in loose)
        yield (
            f"{counted(len(loose), 'loose photo')} whose file names them, kept as it came: {which}"
        )
    for name in told.shared:
        yield f"Somebody else here is called {name}, too: that name was left where it stands"
    last = {name.split()[-1] for name in names if name.split()}
    for word in sorted(last):
        for table, count in forgetting.rows_still_naming(survey, word).items():
            yield (
                f"{counted(count, 'text')} of {table} with the word '{word}': look whether it is"
                " them"
            )
    for file in _files_telling(survey.folder, words):
        yield f"{file} in the survey's folder holds their name: correct or delete it"
    yield (
        "Exports, reports, packets and sheets that were made before, here or elsewhere, are not"
        " changed and may hold their pictures: delete them and make them anew ('triage audit'"
        " names the exports that carry photos which may not be out any more)"
    )
    if not told.whole:
        yield (
            "Another program is reading the database, which still holds what was forgotten: close"
            " it, then run 'triage repair'"
        )


def mails_headed(survey: Survey, names: Collection[str]) -> set[str]:
    """Kept mails that hold one of these addresses or Message-IDs in their head, as "To" or "Cc"."""
    spelt = [re.escape(one.encode(width)) for one in sorted(names) for width in _WIDTHS]
    pattern = re.compile(rb"(?<![\w.+-])(?:" + b"|".join(spelt) + rb")(?!\.?[\w-])", re.IGNORECASE)
    kept = originals.all_digests(survey.messages) if spelt else {}
    return {digest for digest, path in kept.items() if pattern.search(_header(path))}


def _header(path: Path) -> bytes:
    """The header fields of a mail; an Outlook message keeps them anywhere."""
    head = _head(path)
    return head if path.suffix == ".msg" else re.split(rb"\r?\n\r?\n", head, maxsplit=1)[0]


def _loose(survey: Survey) -> list[Path]:
    found = [originals.path_of(survey.originals, one) for one in forgetting.of_nobody(survey)]
    return [path for path in found if path is not None]


def _head(path: Path) -> bytes:
    with path.open("rb") as file:
        return file.read(HEAD)


def _files_telling(folder: Path, words: Secrets) -> Iterator[Path]:
    """Files that are not the program's own, and such set aside as damaged, by their place."""
    own = [folder / name for name in OWN]
    paths = [one for one in folder.rglob("*") if not any(one.is_relative_to(at) for at in own)]
    for at in own:
        paths += (at / originals.DAMAGED).glob("*")
    for one in sorted(path for path in paths if path.is_file()):
        name = one.relative_to(folder)
        if one.stat().st_size > LARGEST or _tells(str(name), one.read_bytes(), words):
            yield name


def _tells(name: str, content: bytes, words: Secrets) -> bool:
    """Whether a file, or its name, holds one of these words, in whatever width its letters are."""
    pattern = re.compile(any_phrase(words.words), re.IGNORECASE)
    found = any(leak.found in words.words for leak in leaks_in({name: content}, words))
    return found or any(pattern.search(content.decode(one, "replace")) for one in _WIDTHS)
