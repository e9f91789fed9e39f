"""The table of the record: every row that is due has a test, and the page is up to date."""

from tests.guards import record_table


def without_test(found):
    return [r["row"] for r in record_table.rows() if r["due"] == "now" and not found.get(r["row"])]


def test_every_row_that_is_due_has_a_test():
    assert without_test(record_table.marked_tests()) == []


def test_a_row_that_loses_its_test_is_seen():
    found = record_table.marked_tests()
    del found["R1"]
    assert without_test(found) == ["R1"]
    assert "**no test**" in record_table.table(found)


def test_the_page_shows_the_tests_as_they_are():
    text = record_table.PAGE.read_text(encoding="utf-8")
    made = record_table.page_with(text, record_table.marked_tests())
    assert made == text, "run: python -m tests.guards.record_table"


def test_a_stale_page_is_seen(tmp_path):
    found = record_table.marked_tests()
    found["R2"] = [("test_x.py", "test_made_up")]
    text = record_table.PAGE.read_text(encoding="utf-8")
    assert record_table.page_with(text, found) != text


def test_markers_are_read_from_decorators_and_modules(tmp_path):
    (tmp_path / "test_a.py").write_text(
        "import pytest\npytestmark = [pytest.mark.record_row('R5')]\n"
        "@pytest.mark.record_row('R6')\ndef test_b():\n    pass\n"
    )
    assert record_table.marked_tests(tmp_path) == {
        "R5": [("test_a.py", "test_b")],
        "R6": [("test_a.py", "test_b")],
    }
