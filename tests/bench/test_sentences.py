"""What sentences cost is told in ratios of one run."""

from __future__ import annotations

import re

import pytest

from triage.bench import sentences


def test_each_way_of_asking_is_told_beside_asking_one_by_one():
    first, heading, alone, by_mail, at_once, again, around = sentences.bench(2)
    assert re.fullmatch(
        r"the first sentence of a process: [\d.]+ s of processor time, \d+ MB more memory"
        r" \(imports alone \d+ MB\)",
        first,
    )
    assert "medians over 2 mails of 8 sentences" in heading
    for line, how in ((alone, "one by one"), (by_mail, "by mails"), (at_once, "all at once")):
        assert re.fullmatch(rf"a sentence, {how}: [\d.]+, [\d.]+ times as fast", line)
    assert alone.endswith(" 1.0 times as fast")
    assert again.startswith("a sentence, asked again: ")
    assert around.startswith("the words around a mention, 1000 characters: ")


def test_what_is_made_up_is_never_the_same_twice_and_long_enough():
    made = sentences._made_up()
    assert len({next(made) for _ in range(500)}) == 500
    assert len(sentences._long(made)) >= sentences.READ


def test_no_mails_are_refused():
    with pytest.raises(ValueError, match="at least 1"):
        sentences.bench(0)
