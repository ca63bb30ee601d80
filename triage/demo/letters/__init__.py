"""Nothing in, all letters to the Linnet Water Survey in 2026 out, in the order of their dates."""

from __future__ import annotations

from triage.demo.letters.copies import copies
from triage.demo.letters.odd import odd
from triage.demo.letters.passed_on import passed_on
from triage.demo.letters.plain import plain
from triage.demo.letters.spoken import spoken
from triage.demo.letters.troubled import troubled
from triage.demo.scenario import Letter


def letters() -> tuple[Letter, ...]:
    """Return all letters, each once."""
    every = (*plain(), *passed_on(), *copies(), *troubled(), *spoken(), *odd())
    return tuple(sorted(every, key=lambda letter: (letter.day, letter.key)))
