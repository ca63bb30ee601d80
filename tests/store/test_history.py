"""Tables that people import: what a row is follows from the changes whose actions hold."""

from __future__ import annotations

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from surveys import tried
from tests_support import NOW

from triage.store import actions, evidence, history
from triage.store.connection import Survey
from triage.store.history import Change

KEYS = ["index_name", "scientific_name"]
NAMES = st.sampled_from(["Aeshna mixta", "Lestes sponsa", "Anax imperator"])
TABLES = st.dictionaries(NAMES, st.sampled_from([1.0, 2.0, 3.0]), min_size=1, max_size=3)
STEPS = st.lists(
    st.one_of(
        st.tuples(st.just("import"), TABLES),
        st.tuples(st.just("remove"), NAMES),
        st.tuples(st.just("undo"), st.integers(1, 8)),
    ),
    max_size=10,
)


def save(survey: Survey, table: dict[str, float]) -> list[Change]:
    rows = [{"index_name": "i", "scientific_name": n, "score": s} for n, s in table.items()]
    return history.save_rows(survey, "taxon_scores", KEYS, rows)


def stands(survey: Survey) -> dict[str, float]:
    return evidence.scores(survey).get("i", {})


def act(survey: Survey, changes: list[Change]) -> int:
    history.act(survey, changes, "scores", "x", by="Ida", now=NOW)
    return actions.log(survey, limit=1)[0].number


@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(STEPS)
def test_a_row_is_what_the_newest_action_that_holds_left_of_it(empty: Survey, steps):
    made: list[tuple[int, dict[str, float | None]]] = []
    with tried(empty):
        for kind, what in steps:
            if kind == "undo":
                if any(number == what for number, _ in made) and what in _live(empty):
                    undone = actions.undo(empty, by="Ida", now=NOW, number=what)
                    history.restore(empty, undone.root)
                continue
            if kind == "import":
                changes = save(empty, what)
            else:
                key = {"index_name": "i", "scientific_name": what}
                changes = history.remove_row(empty, "taxon_scores", key)
            if changes:
                left = {c.key["scientific_name"]: (c.after or {}).get("score") for c in changes}
                made.append((act(empty, changes), left))
        wanted: dict[str, float | None] = {}
        for number, left in made:
            wanted |= left if number in _live(empty) else {}
        assert stands(empty) == {name: one for name, one in wanted.items() if one is not None}


def _live(survey: Survey) -> set[int]:
    return {row[0] for row in survey.connection.execute("select id from live_actions")}


@given(TABLES)
@settings(suppress_health_check=[HealthCheck.function_scoped_fixture])
def test_the_same_table_again_changes_nothing_and_is_no_action(empty: Survey, table):
    with tried(empty):
        act(empty, save(empty, table))
        again = save(empty, table)
        assert again == []
        history.act(empty, again, "scores", "x", by="Ida", now=NOW)
        assert len(actions.log(empty)) == 1


def test_a_change_tells_what_was_before_and_after(empty: Survey):
    [new] = save(empty, {"Aeshna mixta": 1.0})
    [changed] = save(empty, {"Aeshna mixta": 2.0})
    assert new.before is None
    assert changed.before == new.after
    assert changed.after == {**(new.after or {}), "score": 2.0}
    [gone] = history.remove_row(empty, "taxon_scores", changed.key)
    assert (gone.before, gone.after) == (changed.after, None)
    assert history.remove_row(empty, "taxon_scores", changed.key) == []


def test_undone_and_brought_back_an_import_stands_as_it_was(empty: Survey):
    act(empty, save(empty, {"Aeshna mixta": 1.0}))
    second = act(empty, save(empty, {"Aeshna mixta": 2.0, "Lestes sponsa": 3.0}))
    before = stands(empty)
    taken = actions.undo(empty, by="Ida", now=NOW, number=second)
    assert history.restore(empty, taken.root) == 2
    assert stands(empty) == {"Aeshna mixta": 1.0}
    back = actions.undo(empty, by="Ida", now=NOW, number=taken.number)
    assert history.restore(empty, back.root) == 2
    assert stands(empty) == before
    assert history.restore(empty, back.root) == 0


def test_a_row_logged_with_a_column_that_is_no_more_is_restored_without_it(empty: Survey):
    [change] = save(empty, {"Aeshna mixta": 1.0})
    odd = Change(
        table=change.table,
        key=change.key,
        before=None,
        after={**(change.after or {}), "colour": "blue"},
    )
    number = act(empty, [odd])
    taken = actions.undo(empty, by="Ida", now=NOW, number=number)
    history.restore(empty, taken.root)
    assert stands(empty) == {}
    back = actions.undo(empty, by="Ida", now=NOW, number=taken.number)
    history.restore(empty, back.root)
    assert stands(empty) == {"Aeshna mixta": pytest.approx(1.0)}
