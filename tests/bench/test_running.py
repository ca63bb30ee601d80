"""The one runner of the benches: turns are taken, the warm-up is left out, figures are a table."""

from __future__ import annotations

import mailbox
from pathlib import Path

import numpy as np
import pytest

from triage.bench import receive, scale, survey_work
from triage.bench.running import in_own_process, markdown, medians, one_of_few, seconds_of


class Clock:
    """A clock that moves only when a step moves it."""

    def __init__(self) -> None:
        self.now = 0.0

    def __call__(self) -> float:
        return self.now


def test_a_step_takes_what_the_clock_says():
    clock = Clock()

    def work() -> None:
        clock.now += 2.5

    assert seconds_of(work, clock=clock) == 2.5


def test_steps_take_turns_and_the_first_round_warms_up():
    clock, order = Clock(), []
    costs = {"a": iter([90.0, 1.0, 5.0, 2.0]), "b": iter([80.0, 4.0, 4.0, 4.0])}

    def step(name: str):
        def work() -> None:
            order.append(name)
            clock.now += next(costs[name])

        return work

    found = medians({name: step(name) for name in costs}, 3, clock=clock)
    assert order == ["a", "b"] * 4
    assert found == {"a": 2.0, "b": 4.0}


def test_no_rounds_are_refused():
    with pytest.raises(ValueError, match="at least 1"):
        medians({}, 0)


def test_a_table_has_its_line_below_the_headings():
    assert markdown(("kind", "n"), [("crop", 3)]) == ["| kind | n |", "|---|---|", "| crop | 3 |"]


def test_few_senders_send_most():
    random = np.random.default_rng(1)
    drawn = [one_of_few(random, 50) for _ in range(2000)]
    counts = np.bincount(drawn, minlength=50)
    assert counts.argmax() == 0
    assert counts[0] > 5 * counts[10]
    assert max(drawn) < 50


def test_the_mbox_that_is_made_is_one_and_is_received_whole(tmp_path: Path):
    path = tmp_path / "bench.mbox"
    receive.write_mbox(path, 10_000_000)
    box = mailbox.mbox(path, create=False)
    count = len(box)
    box.close()
    for found in (
        in_own_process(receive.read, path),
        in_own_process(receive.receive, path, tmp_path / "survey"),
    ):
        assert found.result == {"messages": count, "photos": count}
        assert found.seconds > 0
        assert found.clock > 0
    assert receive.iterate(str(path)) == {"messages": count}
    assert 2 <= count <= 5


def test_work_in_simulated_surveys_is_told_line_by_line():
    made = survey_work.bench(
        lambda _: {"page /, ms": 2.0}, photos=[40, 80], night=8, whole=["export"]
    )
    costs = list(made)
    assert [size for size, _ in costs] == [40, 80]
    told = survey_work.lines(costs)
    assert told[0] == "|  | 40 photos | 80 photos | x 2 |"
    wanted = [f"a night of 8: {step}, s" for step in scale.STEPS]
    wanted += ["determine, ms", "page /, ms", "whole export, s", "their peak, MB", "survey.db, MB"]
    assert all(any(line.startswith(f"| {one} |") for line in told) for one in wanted)
    for _, found in costs:
        assert found["settle, ms"] > 0
        assert found["whole export, s"] > 0
        assert found["page /, ms"] == 2.0
        assert found["the night, s"] == pytest.approx(sum(found[one] for one in wanted[:5]))
