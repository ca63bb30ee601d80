"""Reads tables (CSV) with Darwin Core headers: rows with line numbers, checked cells, refusals."""

from triage.standards.tables.cells import (
    LIST_SEPARATOR,
    CellError,
    answer_of,
    category,
    columns_of,
    day,
    event_days,
    identifier,
    integer,
    listed,
    needed_number,
    number,
    parse_event_days,
    person,
    records_of,
    text,
    words,
    year_first,
    yes_or_no,
)
from triage.standards.tables.damage import plain_identifier, without_zeros
from triage.standards.tables.day_order import DayOrder, with_day_order
from triage.standards.tables.held import keep_held, refuse_respelt
from triage.standards.tables.reading import (
    RefusedRow,
    Table,
    TableRow,
    read_bytes,
    read_table,
)
from triage.standards.tables.sexes import FEMALE_WORDS, MALE_WORDS, sex, sex_of
