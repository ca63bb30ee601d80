"""Numbers, days, tables and pages as people get them: laws that hold whatever a survey holds."""

from __future__ import annotations

import io
import math
from datetime import date, timedelta

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pypdf import PdfReader

from triage.estimates.interval import Estimate
from triage.report import paper, style
from triage.report.parts import MINUS, NOTHING, Table, number, raw, with_interval
from triage.report.wording import MONTHS, dates, day_of_year, days, month_and_day
from triage.standards.counting import counted
from triage.standards.darwin_core import snake_case

WORDS = st.text(st.characters(codec="utf-8", categories=("L", "N", "P", "Zs")), max_size=30)
FINITE = st.floats(-1e6, 1e6)


@given(FINITE, st.integers(0, 6))
def test_a_number_for_people_reads_back_to_its_digits(value: float, digits: int):
    text = number(value, digits)
    assert "-" not in text
    assert float(text.replace(MINUS, "-")) == pytest.approx(value, abs=0.51 * 10**-digits)


def test_a_number_never_says_minus_nothing():
    assert number(-0.001, 2) == "0.00"


@pytest.mark.parametrize(
    ("value", "text"),
    [(None, NOTHING), (math.nan, NOTHING), (math.inf, "infinite"), (-math.inf, f"{MINUS}infinite")],
)
def test_what_is_no_number_is_told(value: float | None, text: str):
    assert number(value) == text


def plain(headings: tuple[str, ...], rows: tuple[tuple[str, ...], ...], **more: object) -> Table:
    """A table whose rows are what people read."""
    return Table(
        name="t", title="T", columns=headings, rows=rows, headings=headings, shown=rows, **more
    )


@given(FINITE)
def test_a_value_in_a_file_reads_back(value: float):
    if abs(value) < 1:
        assert float(raw(value)) == pytest.approx(value, rel=1e-5, abs=1e-300)
    else:
        assert float(raw(value)) == pytest.approx(value, rel=1e-5, abs=0.0005001)
        assert len(raw(value).partition(".")[2].partition("e")[0]) <= 5
    assert float(raw(value, 17)) == value


def test_an_estimate_without_interval_is_its_value():
    nothing = math.nan
    assert with_interval(Estimate(value=0.5, low=nothing, high=nothing, variant="")) == "0.50"


@pytest.mark.parametrize(
    ("term", "name"),
    [
        ("occurrenceID", "occurrence_id"),
        ("decimalLatitude", "decimal_latitude"),
        ("em50Days", "em50_days"),
        ("rhoP", "rho_p"),
        ("already_so", "already_so"),
    ],
)
def test_a_term_of_a_standard_in_snake_case(term: str, name: str):
    assert snake_case(term) == name


def test_the_rows_for_a_program_hold_numbers_and_no_nan():
    made = plain(("locationID", "x"), (("A", "1"),), values=(("A", math.nan),))
    assert made.records() == [{"location_id": "A", "x": None}]


@given(st.integers(1, 365))
def test_a_day_of_the_year_is_that_day_of_a_common_year(day: int):
    when = date(2025, 1, 1) + timedelta(days=day - 1)
    assert day_of_year(day) == f"{when.day} {MONTHS[when.month - 1]}"
    assert month_and_day(f"{when:%m-%d}") == day_of_year(day)


@pytest.mark.parametrize(
    ("text", "told"),
    [
        (days("05-20", "06-10"), "20 May to 10 Jun"),
        (days("", ""), "not known"),
        (dates("2026-06-01", "2026-06-01"), "2026-06-01"),
        (dates("2026-06-01", "2026-06-03"), "2026-06-01 to 2026-06-03"),
        (dates("2026-06-01", ""), "2026-06-01"),
        (counted(0, "visit"), "0 visits"),
        (counted(1, "taxon", "taxa"), "1 taxon"),
        (counted(3, "taxon", "taxa"), "3 taxa"),
        (day_of_year(math.nan), NOTHING),
        (month_and_day(""), ""),
    ],
)
def test_days_and_counts_in_words(text: str, told: str):
    assert text == told


@given(st.lists(st.tuples(WORDS, WORDS, WORDS), min_size=1, max_size=6), st.integers(120, 600))
def test_the_columns_of_a_printed_table_fill_its_width(rows: list, width: int):
    paper.register_fonts()
    widths = paper.column_widths(("site", "taxon", "count"), rows, float(width))
    assert sum(widths) == pytest.approx(width)
    assert min(widths) > 0


def test_a_printed_table_shows_markup_instead_of_obeying_it():
    shown = (("<b>Pond</b> & co", "1"),)
    content = plain(("site", "count"), shown, numeric=(1,))
    known = paper.styles()
    page = paper.document([paper.grid(content, 400, known)], title="t", subject="s", foot="foot")
    text = PdfReader(io.BytesIO(page)).pages[0].extract_text()
    assert "<b>Pond</b> & co" in text
    assert "foot" in text


def test_the_same_parts_give_the_same_pages():
    def made() -> bytes:
        words = paper.paragraph("Alder Pool", paper.styles()["text"])
        return paper.document([words], title="t", subject="s", foot="f")

    assert made() == made()


def test_a_plot_is_the_same_bytes_every_time_and_carries_its_data():
    data = plain(("x", "y"), (("1", "2"),))

    def drawn():
        with style.figure(3.0, 2.0) as figure:
            axes = figure.subplots()
            style.marks(axes, [(1.0, 2.0)], ("o", style.WATER, style.INK), size=20, label="point")
            return style.drawn(figure, name="p", title="P", caption="c", data=data)

    first, second = drawn(), drawn()
    assert (first.png, first.svg) == (second.png, second.svg)
    assert (first.columns, first.rows) == (data.columns, data.rows)
    assert (first.width, first.height) == (450, 300)
    assert b"<script" not in first.svg


@pytest.mark.parametrize("marker", ["x", "|", "o", "s"])
def test_every_mark_has_the_colour_of_its_edge(marker: str):
    from matplotlib.colors import to_hex

    with style.figure(2.0, 2.0) as figure:
        axes = figure.subplots()
        style.marks(axes, [(0.0, 0.0)], (marker, "#ffffff", style.DARK), size=9)
        (drawn,) = axes.collections
        assert to_hex(drawn.get_edgecolor()[0]) == style.DARK
