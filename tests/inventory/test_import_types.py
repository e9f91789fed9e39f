"""Ports, hoses and technique notes of unit types from a file, beside positions and components."""

import pytest

from shop.models import Hose, Port, TechniqueNote, TypeRevision, UnitType
from tests.factories import FluidFactory
from tests.inventory.lists import TYPES, told, workbook

pytestmark = pytest.mark.django_db

HEADS = [
    *("Row is", "Unit type", "Place", "Name", "Family", "Service fluid", "Rated pressure, bar"),
    *("Kind", "Motion", "Fitting of the port", "Thread or fitting size", "Port of the hose"),
    *("Hose is fixed or removable", "Length of the hose, mm", "Why a lower rating is right", "Step"),
    *("Basis of the note", "Note"),
]


KINDS = ("type", "position", "component", "port", "hose", "technique note")


def row(**told):
    return [told.get(head, "") for head in HEADS]


def rows(**changed):
    """Return a type with one row of every kind; ``changed`` lays values over a row by its kind."""
    given = {
        "type": {"Name": "Lift cylinder", "Family": "cylinder", "Service fluid": "HM 32"},
        "position": {"Place": "S1", "Name": "rod seal", "Kind": "rod seal", "Motion": "reciprocating"},
        "component": {"Place": "K1", "Name": "rod", "Kind": "rod"},
        "port": {
            "Place": "P1",
            "Name": "bottom",
            "Fitting of the port": "screwed",
            "Thread or fitting size": "G 1/8",
        },
        "hose": {
            "Place": "H1",
            "Name": "return hose",
            "Port of the hose": "p1",
            "Hose is fixed or removable": "removable",
            "Length of the hose, mm": "1200,5",
            "Rated pressure, bar": "40",
            "Why a lower rating is right": "return line",
        },
        "technique note": {"Place": "s1", "Step": "building", "Note": "Warm it in clean oil."},
    }
    given["type"]["Rated pressure, bar"] = "180"
    return [
        row(**{"Row is": kind, "Unit type": "C-1", **cells, **changed.get(kind, {})})
        for kind, cells in given.items()
    ]


def as_file(*more, **changed):
    return workbook([HEADS, *rows(**changed), *more])


@pytest.fixture
def entered(enter):
    FluidFactory()
    return enter("unit-types", as_file(), "types.xlsx")


def note(**cells):
    return row(
        **{"Row is": "technique note", "Unit type": "C-1", "Step": "teardown", "Note": "Look.", **cells}
    )


def test_ports_hoses_and_notes_come_with_their_type(entered, check):
    revision = UnitType.objects.get(code="C-1").revisions.get()
    port, hose = revision.ports.get(), revision.hoses.get()
    assert (str(port), port.fitting, port.thread) == ("P1 bottom", "screwed", "G 1/8")
    assert (hose.port, hose.attachment, hose.length_mm) == (port, "removable", 1200.5)
    assert (hose.rated_pressure_bar, hose.rating_reason) == (40, "return line")
    assert revision.rated_pressure_bar == 180
    written = revision.technique_notes.get()
    assert (written.place, written.step) == (revision.positions.get(), "building")
    assert (written.text, written.basis) == ("Warm it in clean oil.", "common practice, no source")
    assert (entered.rows_entered, entered.rows.count()) == (6, 7)
    again = check("unit-types", as_file(), "types.xlsx")
    assert (again.there, told(again)) == (6, [])


def test_a_note_without_a_place_is_about_the_whole_unit(enter):
    FluidFactory()
    enter("unit-types", as_file(note(**{"Basis of the note": "drawing 12"})), "types.xlsx")
    written = TechniqueNote.objects.get(step="teardown")
    assert (written.place, written.basis, written.order) == (None, "drawing 12", 2)


@pytest.mark.parametrize(
    ("changed", "column", "words"),
    [
        ({"hose": {"Port of the hose": "P9"}}, "Port of the hose", "“P9” is no port of C-1: enter its row"),
        ({"hose": {"Port of the hose": ""}}, "Port of the hose", "Name the port that the hose belongs on."),
        ({"hose": {"Length of the hose, mm": "0"}}, "", "The length of a hose is above 0 mm"),
        (
            {"hose": {"Hose is fixed or removable": "loose"}},
            "Hose is fixed or removable",
            "“loose” is none of",
        ),
        ({"port": {"Fitting of the port": "glued"}}, "Fitting of the port", "“glued” is none of: crimped in"),
        ({"technique note": {"Place": "S9"}}, "Place", "“S9” is no position, component or port of C-1"),
        ({"technique note": {"Place": "H1"}}, "Place", "“H1” is no position, component or port of C-1"),
        ({"technique note": {"Step": "lunch"}}, "Step", "“lunch” is none of: teardown, cleaning"),
        ({"technique note": {"Note": ""}}, "Note", "This is still empty."),
        ({"technique note": {"Name": "oil"}}, "Name", "A technique note has no such figure"),
        ({"port": {"Step": "building"}}, "Step", "A port has no such figure"),
    ],
)
def test_a_wrong_row_is_told_by_its_column(check, changed, column, words):
    FluidFactory()
    number, told_at, why = told(check("unit-types", as_file(**changed), "types.xlsx"))[0]
    assert (number, told_at) == ([*KINDS].index(*changed) + 2, column)
    assert words in why


def test_a_code_of_two_places_names_none_of_them(check):
    FluidFactory()
    found = check("unit-types", as_file(component={"Place": "S1"}), "types.xlsx")
    assert told(found) == [
        (7, "Place", "“s1” is the code of several places: a note needs one that is its own.")
    ]


def test_what_differs_from_a_type_that_is_there_is_told(entered, check):
    found = check(
        "unit-types",
        as_file(
            note(),
            hose={"Length of the hose, mm": "900"},
            **{"technique note": {"Basis of the note": "drawing 12"}},
        ),
        "types.xlsx",
    )
    assert [(number, column) for number, column, _why in told(found)] == [
        (6, "Length of the hose, mm"),
        (7, "Basis of the note"),
        (8, "Note"),
    ]
    assert "without this technique note: add it on its page" in told(found)[2][2]


def test_undone_it_leaves_nothing(entered, undo):
    undo(entered)
    for model in (UnitType, TypeRevision, Port, Hose, TechniqueNote):
        assert not model.objects.exists()
        assert model.history.filter(history_type="-").exists()


def test_a_file_without_the_new_columns_is_read_as_before(enter):
    FluidFactory()
    assert enter("unit-types", TYPES).rows_entered == 4
