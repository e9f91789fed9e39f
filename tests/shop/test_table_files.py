"""Lists as files, read back by pandas and by openpyxl as independent readers."""

import csv
import datetime as dt
import io

import openpyxl
import pandas as pd
import pytest

from shop.tables.writing import as_written, harmless, write_table

# OWASP, "CSV Injection": the signs with which a cell may start a formula, tab, carriage return and
# line feed, and the full-width signs of some spreadsheets.
OWASP = ["=", "+", "-", "@", "\t", "\r", "\n", "\uff1d", "\uff0b", "\uff0d", "\uff20"]
# The page's own examples of what such cells do, harmless here: a command, an address, a sum.
ATTACKS = [
    *(f"{sign}1+1" for sign in OWASP),
    '=HYPERLINK("https://example.org","look")',
    "=1+2';=1+2",
    "@SUM(1+1)",
]
PLAIN = ["'tis", "a=b", "10 x 2", "Northhaven", "", "1-2", 'ö, "quoted"; and\nanother line']
DAY = dt.date(2026, 3, 4)
MOMENT = dt.datetime(2026, 3, 4, 10, 30, tzinfo=dt.UTC)


def written(form, rows, titles=("a",)):
    file = io.BytesIO()
    write_table(file=file, form=form, titles=titles, rows=rows)
    return file.getvalue()


@pytest.mark.parametrize("text", ATTACKS)
def test_no_text_in_a_csv_starts_a_formula(text):
    data = written("csv", [[text]]).decode("utf-8-sig")
    cell = list(csv.reader(io.StringIO(data, newline="")))[1][0]
    assert cell == f"'{text}"
    assert as_written(cell) == text


@pytest.mark.parametrize("text", ATTACKS)
def test_no_text_in_a_workbook_is_a_formula(text):
    cell = openpyxl.load_workbook(io.BytesIO(written("xlsx", [[text]])))["List"]["A2"]
    assert cell.data_type != "f"
    # The XML of the file cannot hold a lone carriage return; it comes back as a line feed.
    assert cell.value.replace("\r", "\n") == text.replace("\r", "\n")
    assert cell.quotePrefix


@pytest.mark.parametrize("text", PLAIN)
def test_plain_text_stays_as_it_is(text):
    assert harmless(text) == text
    assert as_written(text) == text


def test_a_heading_is_made_harmless_too():
    assert written("csv", [], titles=["=1+1"]).decode("utf-8-sig").startswith("'=1+1")
    sheet = openpyxl.load_workbook(io.BytesIO(written("xlsx", [], titles=["=1+1"])))["List"]
    assert sheet["A1"].data_type == "s"


def test_numbers_stay_numbers_and_dates_dates_for_pandas():
    titles = ["text", "whole", "real", "day", "moment", "yes"]
    rows = [["-5", -5, -0.25, DAY, MOMENT, True], ["ö", 7, 2.5, DAY, MOMENT, False]]
    book = pd.read_excel(io.BytesIO(written("xlsx", rows, titles)))
    sheet = pd.read_csv(io.BytesIO(written("csv", rows, titles)), parse_dates=["day", "moment"])
    for table in (book, sheet):
        assert table["whole"].tolist() == [-5, 7]
        assert table["real"].tolist() == [-0.25, 2.5]
        assert table["day"].tolist() == [pd.Timestamp("2026-03-04")] * 2
        assert table["moment"].tolist() == [pd.Timestamp("2026-03-04 10:30")] * 2
        assert table["yes"].tolist() == ["yes", "no"]
    assert book["text"].tolist() == ["-5", "ö"]
    assert sheet["text"].tolist() == ["'-5", "ö"]


def test_a_moment_is_written_in_the_shops_time_zone(settings):
    settings.TIME_ZONE = "Europe/Berlin"
    assert "2026-03-04 11:30" in written("csv", [[MOMENT]]).decode()
    cell = openpyxl.load_workbook(io.BytesIO(written("xlsx", [[MOMENT]])))["List"]["A2"]
    assert cell.value == dt.datetime(2026, 3, 4, 11, 30)


def test_a_sign_that_a_workbook_cannot_hold_becomes_a_blank():
    cell = openpyxl.load_workbook(io.BytesIO(written("xlsx", [["a\x01b"]])))["List"]["A2"]
    assert cell.value == "a b"
