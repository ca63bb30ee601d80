"""The small demo gives the survey that is held in tests/data, row by row.

After a change that is meant to change it, ``TRIAGE_WRITE_GOLDEN=1 python -m pytest
tests/pipeline/test_golden.py`` writes the file anew; read its diff before you commit it.
"""

from __future__ import annotations

import os
import re
from collections.abc import Iterable
from pathlib import Path

import pytest

from triage.store.connection import open_survey
from triage.store.dump import canonical_dump

GOLDEN = Path(__file__).parents[1] / "data" / "small_demo_dump.txt"
MOST = 160  # characters of a cell; features and keys are longer, and tested where they are made
NEAR = 2e-3  # of a number: processors round the networks' sums differently

_DIGEST = re.compile(r"\b([0-9a-f]{10})[0-9a-f]{22,}\b")
_NUMBER = re.compile(r"(?<![\w.-])-?\d+\.\d+(?:e-?\d+)?(?![\w.])")


def shortened(lines: Iterable[str]) -> list[str]:
    """Digests by their first ten digits, and of long cells the beginning."""
    return [
        "\t".join(cell[:MOST] for cell in _DIGEST.sub(r"\1", line).split("\t")).rstrip()
        for line in lines
    ]


def differs(held: str, found: str) -> bool:
    """Whether two lines say something else, numbers compared as such."""
    if _NUMBER.sub("#", held) != _NUMBER.sub("#", found):
        return True
    pairs = zip(_NUMBER.findall(held), _NUMBER.findall(found), strict=True)
    return any(abs(float(a) - float(b)) > NEAR for a, b in pairs)


def test_the_small_demo_is_the_survey_that_is_held(walked_once: Path):
    with open_survey(walked_once) as survey:
        found = shortened(canonical_dump(survey))
    if os.environ.get("TRIAGE_WRITE_GOLDEN") == "1":
        GOLDEN.write_text("\n".join(found) + "\n", encoding="utf-8")
    held = GOLDEN.read_text(encoding="utf-8").splitlines()
    assert len(found) == len(held)
    wrong = [f"{a}\n{b}" for a, b in zip(held, found, strict=True) if differs(a, b)]
    assert wrong == []


@pytest.mark.parametrize(
    ("held", "found", "apart"),
    [
        ("a\t0.5001", "a\t0.5002", False),
        ("a\t0.50", "a\t0.51", True),
        ("a\t0.5", "b\t0.5", True),
        ("a\t3", "a\t4", True),
        ("2026-06-14T10:31:12.5", "2026-06-14T10:31:13.5", True),
        ("-0.5", "0.5", True),
    ],
)
def test_a_changed_word_or_number_is_seen(held: str, found: str, apart: bool):
    assert differs(held, found) is apart


def test_long_cells_and_digests_are_cut():
    digest = "0123456789" * 6 + "abcd"
    assert shortened([f"{digest}\t{'x' * 200}\tend"]) == [f"0123456789\t{'x' * MOST}\tend"]
