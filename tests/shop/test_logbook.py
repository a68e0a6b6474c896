"""Logs of hours as spreadsheets of several regions write them, and every mistake of one at once."""

import codecs
from datetime import date

import pytest

from chequerwork.domain.basics.errors import Refused
from chequerwork.shop.loader import describe_faults
from chequerwork.shop.logbook import MOST_TOLD, read_log, read_log_file

PLAIN = "date,operation,hours,boards,units,order\n2027-02-17,mill,1.5,2,16,club\n2027-02-18,pack,0.5,,,\n"


@pytest.fixture
def read(tables):
    return lambda text: read_log(text, tables, name="log.csv")


@pytest.fixture
def faults_of_log(read):
    def faults(text):
        with pytest.raises(Refused) as refused:
            read(text)
        return refused.value.faults

    return faults


def test_a_row_is_what_one_operation_took(read):
    first, second = read(PLAIN)
    assert (first.row, first.day, first.order, first.operation) == (2, date(2027, 2, 17), "club", "mill")
    assert (first.boards, first.units, first.hours_h) == (2, 16.0, 1.5)
    assert (second.order, second.boards, second.units, second.hours_h) == ("", None, None, 0.5)


@pytest.mark.parametrize(
    "text",
    [
        "date;operation;hours;boards;units;order\n17.2.2027;mill;1,5;2;16;club\n18.02.2027;pack;0,5;;;\n",
        "date\toperation\thours\tboards\tunits\torder\n2027-02-17\tmill\t1,5\t2\t16\tclub\n2027-02-18\tpack\t0,5\n",
        'date,operation,hours,boards,units,order\n2027-02-17,mill,"1,5",2,16,club\n2027-02-18,pack,"0,5",,,\n',
        "Date , Operation,HOURS,boards,units,order\r\n2027-02-17,mill,1:30,2,16,club\r\n2027-02-18,pack,30 min,,,\r\n",
        "order,units,boards,hours,operation,date,note\nclub,16.0,2,1.5 h,mill,2027-02-17,\n,,,0.5,pack,2027-02-18,\n",
        "date,operation,hours,boards,units,order\n2027-02-17,mill,1.500000000000,2,16,club\n2027-02-18,pack,0.5,,,\n",
    ],
    ids=["semicolons", "tabs", "quoted", "clock and minutes", "other order, a column more", "a program's digits"],
)
def test_other_regions_and_ways_give_the_same_entries(read, text):
    def facts(entries):
        return [(e.day, e.order, e.operation, e.boards, e.units, e.hours_h) for e in entries]

    assert facts(read(text)) == facts(read(PLAIN))


def test_a_line_that_names_the_separator_and_empty_rows_are_skipped(read):
    entries = read("sep=;\ndate;operation;hours\n;;\n2027-02-17;mill;1,5\n\n2027-02-18;pack;1\n")
    assert [entry.row for entry in entries] == [4, 6]


@pytest.mark.parametrize("encoding", ["utf-8", "utf-8-sig", "utf-16", "cp1252"])
def test_files_of_several_encodings_are_read(tmp_path, tables, encoding):
    path = tmp_path / "log.csv"
    path.write_bytes("date;order;operation;hours\n2027-02-17;Müller;mill;1,5\n".encode(encoding))
    (entry,) = read_log_file(path, tables)
    assert entry.order == "Müller"
    assert codecs.BOM_UTF8.decode() not in entry.order


def test_work_of_several_days_on_one_order_is_one_entry(read):
    rows = "2027-02-17,sand,2,3,5.7,club\n2027-02-18,sand,1.25,,,club\n2027-02-18,sand,1,,,\n2027-02-19,sand,1,,,\n"
    entries = read("date,operation,hours,boards,units,order\n" + rows)
    assert [(e.row, e.boards, e.units, e.hours_h) for e in entries] == [
        (2, 3, 5.7, 3.25), (4, None, None, 1.0), (5, None, None, 1.0),
    ]  # fmt: skip


def test_all_mistakes_are_named_at_once_with_row_column_value_limit_and_remedy(faults_of_log):
    text = (
        "date;operation;hours;boards;units\n"
        "2027-02-30;mill;1,5;1;8\n"  # no day
        "2/3/2027;sanding;0;1,5;8\n"  # a slash, a near name, no time, half a board
        ";mill;about two;501;-3\n"  # empty, words, too many, negative
        "2027-02-18;mill;1000;;1.000,5\n"
        "2027-02-18;mill;1;1;8;9\n"
    )
    faults = faults_of_log(text)
    assert [(fault.at[1:], fault.code) for fault in faults] == [
        (("row 2", "date"), "bad-date"),
        (("row 3", "date"), "bad-date"),
        (("row 3", "operation"), "unknown-name"),
        (("row 3", "boards"), "wrong-type"),
        (("row 3", "hours"), "out-of-range"),
        (("row 4", "date"), "missing"),
        (("row 4", "boards"), "out-of-range"),
        (("row 4", "units"), "wrong-type"),
        (("row 4", "hours"), "number-missing"),
        (("row 5", "units"), "wrong-type"),
        (("row 5", "hours"), "out-of-range"),
        (("row 6",), "wrong-count"),
    ]
    told = describe_faults(Refused(faults))
    for words in ("2027-02-17 or 17.2.2027", "Did you mean sand?", "more than 0 and at most 400", "1 to 500", "'-3'"):
        assert words in told


def test_a_decimal_comma_that_splits_a_cell_is_explained(faults_of_log):
    (fault,) = faults_of_log("date,operation,hours\n2027-02-17,mill,1,5\n")
    assert fault.code == "wrong-count"
    assert "decimal comma" in fault.detail
    assert "quotes" in fault.detail


@pytest.mark.parametrize(
    ("text", "code", "words"),
    [
        ("", "missing", "no column 'date'"),
        ("day,operation,hours\n2027-02-17,mill,1\n", "missing", "date, operation, hours"),
        ("dates,operation,hours\n2027-02-17,mill,1\n", "missing", "Is it 'dates'?"),
        ("date,operation,hours,hours\n2027-02-17,mill,1,1\n", "duplicate", "2 times"),
        ("date,operation,hours\n", "no-rows", "Give one or more"),
        ("date,operation,hours\n2027-02-17,mill," + "9" * 200_000 + "\n", "not-csv", "Save it as CSV"),
    ],
)
def test_what_is_no_log_is_refused(faults_of_log, text, code, words):
    fault = faults_of_log(text)[0]
    assert fault.code == code
    assert words in fault.detail


def test_two_rows_of_one_piece_of_work_may_not_disagree(faults_of_log):
    rows = "2027-02-17,sand,2,3,5.7,club\n2027-02-18,sand,1,2,5.7,club\n"
    (fault,) = faults_of_log("date,operation,hours,boards,units,order\n" + rows)
    assert (fault.at, fault.code) == (("log.csv", "row 3", "boards"), "conflict")
    assert "row 2" in fault.detail


def test_no_more_faults_are_told_than_can_be_read(faults_of_log):
    faults = faults_of_log("date,operation,hours\n" + "x,y,z\n" * 1000)
    assert len(faults) == MOST_TOLD + 1
    assert "2900 mistakes more" in faults[-1].detail


def test_a_file_that_is_not_there_or_too_large_is_told(tmp_path, tables):
    with pytest.raises(Refused, match="cannot be read"):
        read_log_file(tmp_path / "none.csv", tables)
    path = tmp_path / "large.csv"
    path.write_bytes(b"x" * 2_000_001)
    with pytest.raises(Refused, match="2000001 bytes"):
        read_log_file(path, tables)
