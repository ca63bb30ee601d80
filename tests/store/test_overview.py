"""Counts kept by triggers are those of the rows, whatever comes, changes and goes."""

from __future__ import annotations

import random

import pytest
import records_made as made

from triage.store import overview
from triage.store.connection import Survey

STATES = ("open", "waiting", "settled", "set aside")
OUTCOMES = ("taken in", "kept, not examined", "kept, other kind", "nothing to keep")


@pytest.mark.parametrize("seed", range(6))
def test_random_histories_of_messages_and_parts_are_counted(empty: Survey, seed: int):
    draw, run = random.Random(seed), empty.connection.execute
    mails = [made.message(empty, number) for number in range(4)]
    digests = [f"{number:064x}" for number in range(3)]
    for number in range(60):
        part, digest = draw.randrange(12), draw.choice([*digests, None])
        deed = draw.randrange(4)
        if deed == 0:
            run("update messages set state = ? where id = ?", (draw.choice(STATES), 1 + part % 4))
        elif deed == 1:
            run("delete from parts where id = ?", (part,))
        elif deed == 2:
            said = (draw.choice(OUTCOMES), digest, part)
            run("update parts set outcome = ?, sha256 = ? where id = ?", said)
        else:
            run(
                "insert into parts (message_id, path, envelope, file_name, declared_type,"
                " media_type, outcome, reason, sha256, byte_size)"
                " values (?, ?, 0, '', '', '', ?, 'x', ?, 0)",
                (1 + part % len(mails), f"9.{number}", draw.choice(OUTCOMES), digest),
            )
        assert overview.miscounted(empty) == []
    held = overview.holdings(empty)
    assert sum(held.messages.values()) == len(mails)
    assert sum(held.parts.values()) == run("select count(*) from parts").fetchone()[0]
    taken = run("select count(distinct sha256) from parts where outcome = 'taken in'")
    assert held.photos == taken.fetchone()[0]


def test_a_wrong_count_is_named_and_counted_again(empty: Survey):
    made.message(empty, 1)
    empty.connection.execute("update holdings set count = 7 where what = 'messages'")
    [line] = overview.miscounted(empty)
    assert line.startswith("database: 1 messages are")
    assert "7 are counted" in line
    overview.count_again(empty)
    assert overview.miscounted(empty) == []
    assert sum(overview.holdings(empty).messages.values()) == 1
