"""Tables as RFC 4180 describes them (Shafranovich 2005), and as spreadsheets really save them."""

from datetime import date
from functools import partial
from pathlib import Path

import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from triage.errors import TableError
from triage.standards.spreadsheets import without_guard
from triage.standards.tables import (
    CellError,
    RefusedRow,
    TableRow,
    event_days,
    integer,
    listed,
    needed_number,
    number,
    parse_event_days,
    person,
    read_table,
    records_of,
    words,
    yes_or_no,
)

HEADER = ("locationID", "locality", "decimalLatitude")


def table(tmp_path: Path, content: bytes) -> Path:
    path = tmp_path / "table.csv"
    path.write_bytes(content)
    return path


def row(**cells: str) -> TableRow:
    return TableRow(line=2, cells=cells)


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
@pytest.mark.parametrize("delimiter", [",", ";", "\t"])
@pytest.mark.parametrize("line_end", ["\n", "\r\n", "\r"])
def test_every_unicode_form_delimiter_and_line_end_gives_the_same_rows(
    tmp_path, encoding, delimiter, line_end
):
    lines = [delimiter.join(HEADER), delimiter.join(["LM", "Łąka mokra", "53.9"])]
    path = table(tmp_path, line_end.join(lines).encode(encoding))
    read = read_table(path, required=HEADER)
    assert [(found.line, found.cells) for found in read.rows] == [
        (2, {"locationID": "LM", "locality": "Łąka mokra", "decimalLatitude": "53.9"})
    ]


def test_text_that_is_no_utf_8_is_read_as_windows_1252(tmp_path):
    path = table(tmp_path, "locationID,locality\nA,Mühlteich – Süd\n".encode("windows-1252"))
    read = read_table(path, required=("locationID",), optional=("locality",))
    assert read.rows[0].cells["locality"] == "Mühlteich – Süd"
    assert read.encoding == "windows-1252"


def test_a_quoted_newline_keeps_the_line_numbers_of_later_rows(tmp_path):
    path = table(tmp_path, b'locationID,locality\nA,"two\nlines"\n\nB,plain\n')
    read = read_table(path, required=("locationID",), optional=("locality",))
    assert [(found.line, found.cells["locationID"]) for found in read.rows] == [(2, "A"), (5, "B")]
    assert read.rows[0].cells["locality"] == "two\nlines"


def test_headers_match_without_case_spaces_underscores_and_prefixes(tmp_path):
    path = table(tmp_path, b"Location ID,LOCALITY,dwc:decimal_latitude,old/locality\nA,B,1,x\n")
    assert read_table(path, required=HEADER).columns == (*HEADER, "old/locality")
    path = table(tmp_path, b"http://rs.tdwg.org/dwc/terms/locationID\nA\n")
    assert read_table(path, required=HEADER[:1]).columns == ("locationID",)


def test_a_spreadsheet_separator_line_is_obeyed_and_counted(tmp_path):
    path = table(tmp_path, b"sep=;\r\nlocationID;locality;decimalLatitude\r\nA;b, c;53,9\r\n")
    read = read_table(path, required=HEADER)
    assert read.rows[0].line == 3
    assert read.rows[0].cells["locality"] == "b, c"


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "holds no rows"),
        (b"\n\n", "holds no rows"),
        (b"locationID,locality\n", "lacks the column decimalLatitude"),
        (b"locationID,locality,,decimalLatitude\n", "column 3 has no name"),
        (b"locationID,locality,Locality,decimalLatitude\n", "locality stands in the header twice"),
        (b"locationID,localty,decimalLatitude\n", "localty is not known and looks like locality"),
        (b"PK\x03\x04\x14\x00", "spreadsheet workbook"),
        (b'locationID,locality,decimalLatitude\nA,"b,1\n', "line 2 is never closed"),
        (b"\x81\x8d\x8f", "no encoding known here"),
    ],
)
def test_a_table_that_cannot_be_used_is_refused_with_file_cause_and_next_step(
    tmp_path, content, said
):
    path = table(tmp_path, content)
    with pytest.raises(TableError) as caught:
        read_table(path, required=HEADER)
    assert said in caught.value.what
    assert caught.value.failing == str(path)
    assert caught.value.next_step.endswith(".")


@pytest.mark.parametrize("term", ["recordedByID", "subfamily", "parentEventID", "eventType"])
def test_another_term_of_darwin_core_is_no_slip_of_a_known_one(tmp_path, term):
    path = table(tmp_path, f"locationID,{term}\nA,b\n".encode())
    known = ("recordedBy", "family", "eventID", "eventDate")
    read = read_table(path, required=("locationID",), optional=known)
    assert read.rows[0].cells[term] == "b"


def test_a_missing_file_a_folder_and_a_table_over_the_limit_are_refused(tmp_path):
    with pytest.raises(TableError, match="no such file"):
        read_table(tmp_path / "absent.csv")
    with pytest.raises(TableError, match="not a file"):
        read_table(tmp_path)
    with pytest.raises(TableError, match="larger than 4 bytes"):
        read_table(table(tmp_path, b"a,b,c\n"), maximum_bytes=4)


def test_bad_rows_are_refused_with_their_line_and_the_rest_is_read(tmp_path):
    path = table(tmp_path, b"locationID,locality\nA,b,c\nB,x\x00y\nC\nD,fine\n")
    read = read_table(path, required=("locationID", "locality"))
    assert [refused.line for refused in read.refused] == [2, 3]
    assert [found.cells for found in read.rows] == [
        {"locationID": "C", "locality": ""},
        {"locationID": "D", "locality": "fine"},
    ]


@given(
    st.lists(
        st.lists(
            st.text(st.characters(codec="utf-8", exclude_characters="\x00\ufeff"), max_size=8),
            min_size=2,
            max_size=2,
        ).filter(lambda cells: any(cell.strip() for cell in cells)),
        max_size=6,
    )
)
def test_what_a_csv_writer_writes_reads_back(tmp_path_factory, rows):
    import csv

    path = tmp_path_factory.mktemp("tables") / "table.csv"
    with path.open("w", newline="", encoding="utf-8") as file:
        csv.writer(file, quoting=csv.QUOTE_ALL).writerows([["locationID", "locality"], *rows])
    try:
        read = read_table(path, required=("locationID", "locality"))
    except TableError as question:
        # Text that looks doubly encoded is asked about, whatever it was meant to be: see
        # test_odd_tables.py.
        assume("wrong encoding" not in str(question))
        raise
    assert not read.refused
    assert [list(found.cells.values()) for found in read.rows] == [
        [without_guard(cell.strip()) for cell in cells] for cells in rows
    ]


def test_a_decimal_comma_is_a_number_only_beside_semicolons():
    with_semicolons = TableRow(line=2, cells={"x": "53,9"}, decimal_comma=True)
    assert number(with_semicolons, "x") == 53.9
    with pytest.raises(CellError, match="decimal comma is read only in tables with semicolons"):
        number(row(x="53,9"), "x")


@pytest.mark.parametrize(
    "written", ["abc", "1 000", "1.2.3", "nan", "inf", "1e999", "30 m", "0x10", "٣", "1_0", "--1"]
)
def test_what_is_no_number_is_refused(written):
    with pytest.raises(CellError):
        number(row(x=written), "x")


@pytest.mark.parametrize(
    ("written", "value"), [("1", 1.0), ("-0.5", -0.5), ("−3", -3.0), ("1e3", 1000.0), (".5", 0.5)]
)
def test_numbers_are_read(written, value):
    assert number(row(x=written), "x") == value
    assert number(row(x=""), "x") is None


def test_whole_numbers_lists_and_answers_are_checked():
    assert integer(row(n="3.0"), "n", least=0, most=9) == 3
    with pytest.raises(CellError, match="not a whole number"):
        integer(row(n="3.5"), "n", least=0, most=9)
    with pytest.raises(CellError, match="outside 0 to 9"):
        integer(row(n="-1"), "n", least=0, most=9)
    assert listed(row(a="one | two|| one"), "a") == ("one", "two")
    assert yes_or_no(row(p="Yes"), "p")
    assert not yes_or_no(row(), "p")
    with pytest.raises(CellError, match="neither yes nor no"):
        yes_or_no(row(p="perhaps"), "p")


# The forms are those of the comments and examples of Darwin Core eventDate (2023-06-28).
@pytest.mark.parametrize(
    ("written", "first", "last"),
    [
        ("1963-03-08T14:07-0600", date(1963, 3, 8), date(1963, 3, 8)),
        ("2009-02-20T08:40Z", date(2009, 2, 20), date(2009, 2, 20)),
        ("2018-08-29T15:19", date(2018, 8, 29), date(2018, 8, 29)),
        ("1809-02-12", date(1809, 2, 12), date(1809, 2, 12)),
        ("1906-06", date(1906, 6, 1), date(1906, 6, 30)),
        ("1971", date(1971, 1, 1), date(1971, 12, 31)),
        ("2007-03-01T13:00:00Z/2008-05-11T15:30:00Z", date(2007, 3, 1), date(2008, 5, 11)),
        ("1900/1909", date(1900, 1, 1), date(1909, 12, 31)),
        ("2007-11-13/15", date(2007, 11, 13), date(2007, 11, 15)),
        ("2024-02", date(2024, 2, 1), date(2024, 2, 29)),
        ("13.06.2026", date(2026, 6, 13), date(2026, 6, 13)),
        ("2026-06-13T09:00/11:30", date(2026, 6, 13), date(2026, 6, 13)),
    ],
)
def test_event_dates_of_darwin_core_are_read(written, first, last):
    assert parse_event_days(written) == (first, last)


@pytest.mark.parametrize(
    "written",
    [
        "",
        "yesterday",
        "13/06/2026",
        "2026-13-01",
        "2026-02-30",
        "2026-06-15/2026-06-13",
        "0026-06-13",
        "2026-6-1",
        "2026-06-13/",
        "/2026-06-13",
        "2026-06-13/15/17",
    ],
)
def test_what_is_no_event_date_is_refused(written):
    with pytest.raises(ValueError, match=r"date|day|year|month|begins"):
        parse_event_days(written)


def test_an_event_in_the_future_or_over_a_year_long_is_refused():
    with pytest.raises(CellError, match="future"):
        event_days(row(d="2027-01-01"), "d", today=date(2026, 11, 24))
    with pytest.raises(CellError, match="more than 366 days"):
        event_days(row(d="2024/2026"), "d")


@given(
    st.dates(date(1758, 1, 1), date(9999, 12, 31)), st.dates(date(1758, 1, 1), date(9999, 12, 31))
)
def test_an_interval_of_days_reads_back(one, other):
    first, last = sorted((one, other))
    assert parse_event_days(f"{first.isoformat()}/{last.isoformat()}") == (first, last)


def test_rows_become_records_or_are_refused_by_their_lines_or_are_passed_over():
    rows = [
        TableRow(line=n, cells={"count": cell}) for n, cell in enumerate(["4", "x", "", "2"], 2)
    ]
    before = [RefusedRow(line=n, column="", reason="not read") for n in (9, 1)]
    count = partial(integer, column="count", least=0, most=9)
    found, refused = records_of(rows, count, before, named=lambda one: ("", ""))
    assert found == [4, 2]
    assert [(one.line, one.column) for one in refused] == [(1, ""), (3, "count"), (9, "")]


@pytest.mark.parametrize(
    ("written", "reason"),
    [
        ("", "is empty"),
        ("<0.01", "is a limit"),
        (">5", "is a limit"),
        ("high", "not a number"),
        ("9" * 101, "more than 100"),
    ],
)
def test_a_number_that_is_needed_is_no_limit_and_not_empty(written, reason):
    with pytest.raises(CellError, match=reason) as refused:
        needed_number(row(value=written), "value")
    assert refused.value.column == "value"


def test_a_number_that_is_needed_is_read():
    assert needed_number(row(value="-0.5"), "value") == -0.5


@pytest.mark.parametrize("cell", ["B?oto", "&#322;", "%C5%81%C4%85ka"])
def test_a_letter_that_was_lost_or_coded_is_refused(cell: str):
    with pytest.raises(CellError, match="letter"):
        words(row(locality=cell), "locality")


def test_an_address_keeps_its_signs():
    address = "https://example.org/protocol.php?id=%C5%82%C4%85ka"
    assert words(row(samplingProtocol=address), "samplingProtocol") == address


@pytest.mark.parametrize(
    ("lines", "refused"),
    [
        # A comma in words without quotation marks: the row is a cell longer, its last one empty.
        (("LM,Wet Meadow,53.9", "AP,Alder Pool, the small one,53.8", "HM,Mere,54.0"), [3]),
        (("LM,Wet Meadow,", "AP,Alder Pool, small,", "HM,Mere,54.0"), [3]),
        (("LM,Wet Meadow,53.9,", "AP,Alder Pool,53.8,"), []),  # every row ends so
        (("LM,Wet Meadow,53.9,,", "AP,Alder Pool,53.8,"), [2]),
        (("LM,Wet Meadow", "AP,Alder Pool,53.8"), []),
    ],
)
def test_a_row_of_more_cells_than_the_others_is_shifted_though_its_last_are_empty(
    tmp_path, lines: tuple[str, ...], refused: list[int]
):
    path = table(tmp_path, "\n".join([",".join(HEADER), *lines]).encode())
    read = read_table(path, required=HEADER)
    assert [one.line for one in read.refused] == refused
    assert all("Put text that contains the delimiter" in one.reason for one in read.refused)
    assert len(read.rows) == len(lines) - len(refused)


@pytest.mark.parametrize(
    ("written", "taken"),
    [
        ("60 min", False),
        ("100 m", False),
        ("~45 Minuten, 80 m", False),
        ("2 h 30", False),
        ("1.5 godz.", False),
        ("Ruth Fenner", True),
        ("2nd Troop", True),
        ("Class 4", True),
        ("4 Marias", True),
        ("3 Hansen", True),
    ],
)
def test_an_effort_is_nobodys_name(written: str, taken: bool):
    if taken:
        assert person(row(recordedBy=written), "recordedBy") == written
        return
    with pytest.raises(CellError, match="nobody's name"):
        person(row(recordedBy=written), "recordedBy")
