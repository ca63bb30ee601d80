"""A table (CSV) with Darwin Core headers in, rows with their line numbers and refusals out."""

from triage.standards.tables.cells import (
    CellError,
    day,
    event_days,
    integer,
    listed,
    number,
    parse_event_days,
    text,
    yes_or_no,
)
from triage.standards.tables.reading import (
    RefusedRow,
    Table,
    TableRow,
    read_bytes,
    read_table,
)
from triage.standards.tables.sexes import FEMALE_WORDS, MALE_WORDS, sex

__all__ = [
    "FEMALE_WORDS",
    "MALE_WORDS",
    "CellError",
    "RefusedRow",
    "Table",
    "TableRow",
    "day",
    "event_days",
    "integer",
    "listed",
    "number",
    "parse_event_days",
    "read_bytes",
    "read_table",
    "sex",
    "text",
    "yes_or_no",
]
