"""Cells that pass through a spreadsheet come back as they were."""

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from triage.standards.spreadsheets import guard_cell, without_guard


@settings(deadline=None)
@given(st.text())
def test_a_guarded_cell_reads_back_and_never_starts_a_formula(text):
    cell = guard_cell(text)
    assert without_guard(cell) == text
    assert not cell.startswith(("=", "@", "\t", "\r"))


@pytest.mark.parametrize("identifier", ["1234567890123456", "12345678901234e5", "0012", "=A1"])
def test_an_identifier_that_a_spreadsheet_would_change_is_guarded(identifier):
    assert guard_cell(identifier) == f"'{identifier}"


@pytest.mark.parametrize("value", ["0", "0.25", "-21.7", "2026-06-13", "12", "'t Veld", "EX-0001"])
def test_what_a_person_typed_is_left_alone(value):
    assert without_guard(value) == value
