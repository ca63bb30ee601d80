"""The log: what holds after any sequence of acts and undos is what a simple model says."""

from __future__ import annotations

from dataclasses import dataclass, field

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import tried
from tests_support import NOW

from triage.errors import UnknownError
from triage.store import actions
from triage.store.connection import Survey

WHO = ("Ida", "Bo")
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("act"), st.sampled_from(WHO)),
        st.tuples(st.just("undo mine"), st.sampled_from(WHO)),
        st.tuples(st.just("undo"), st.integers(1, 12)),
    ),
    max_size=14,
)


@dataclass
class Model:
    """By number: who acted, what it takes back, and whether it holds."""

    by: dict[int, str] = field(default_factory=dict)
    undoes: dict[int, int] = field(default_factory=dict)
    holds: dict[int, bool] = field(default_factory=dict)

    def add(self, number: int, by: str, undoes: int | None = None) -> None:
        self.by[number], self.holds[number] = by, True
        if undoes is not None:
            self.undoes[number] = undoes
            self.turn(undoes, holds=False)

    def turn(self, number: int, *, holds: bool) -> None:
        self.holds[number] = holds
        if number in self.undoes:
            self.turn(self.undoes[number], holds=not holds)

    def mine(self, by: str) -> int | None:
        """The newest action of one's own that is no undo and holds."""
        own = [n for n in self.by if self.by[n] == by and self.holds[n] and n not in self.undoes]
        return max(own, default=None)


def live(survey: Survey) -> set[int]:
    return {row[0] for row in survey.connection.execute("select id from live_actions")}


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_what_holds_is_what_was_not_taken_back_or_was_brought_back(empty: Survey, steps):
    model = Model()
    with tried(empty):
        for kind, what in steps:
            if kind == "act":
                number = actions.record(empty, "settle", "x", by=what, now=NOW)
                model.add(number, what)
                continue
            by, number = (what, None) if kind == "undo mine" else ("Cy", what)
            wanted = model.mine(by) if number is None else number
            if wanted is None or not model.holds.get(wanted):
                again = any(u == wanted and model.holds[n] for n, u in model.undoes.items())
                why = "taken back already" if again else "no such action"
                with pytest.raises(UnknownError, match=why):
                    actions.undo(empty, by=by, now=NOW, number=number)
                continue
            undone = actions.undo(empty, by=by, now=NOW, number=number)
            assert undone.taken.number == wanted
            model.add(undone.number, by, undoes=wanted)
            root = wanted
            while root in model.undoes:
                root = model.undoes[root]
            assert (undone.root, undone.holds) == (root, model.holds[root])
        assert live(empty) == {n for n in model.by if model.holds[n] and n not in model.undoes}
        log = actions.log(empty, limit=50)
        assert [one.number for one in log] == sorted(model.by, reverse=True)
        assert {one.number: not one.taken_back for one in log} == model.holds
        for one in log:
            assert actions.by_number(empty, one.number) == one
        for who in WHO:
            newest = actions.newest_of(empty, who)
            assert (newest.number if newest else None) == model.mine(who)


@pytest.mark.parametrize("command", actions.LASTING)
def test_what_is_for_good_is_never_taken_back(empty: Survey, command: str):
    number = actions.record(empty, command, "x", by="Ida", now=NOW)
    assert actions.newest_of(empty, "Ida") is None
    for wanted in (None, number):
        with pytest.raises(UnknownError, match="is for good"):
            actions.undo(empty, by="Ida", now=NOW, number=wanted)
    assert live(empty) == {number}


def test_capitals_of_a_name_do_not_matter_to_whose_an_action_is(empty: Survey):
    number = actions.record(empty, "settle", "x", by="Ida Kvist", now=NOW)
    assert actions.undo(empty, by="IDA KVIST", now=NOW).taken.number == number


def test_an_action_and_what_is_written_under_it_are_there_together_or_not(empty: Survey):
    with pytest.raises(KeyboardInterrupt), actions.acting(empty, "a", "x", by="Bo", now=NOW):
        raise KeyboardInterrupt
    assert actions.log(empty) == []
    with actions.acting(empty, "a", "x", by="Bo", now=NOW) as number:
        pass
    [one] = actions.log(empty)
    assert (one.number, one.command, one.summary, one.by) == (number, "a", "x", "Bo")
    assert one.at == "2026-11-01T12:00:00Z"
