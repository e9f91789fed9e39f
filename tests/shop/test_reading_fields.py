"""Numbers typed in inches: kept in metric, against the printed inch and metric sizes of AS568."""

import csv
from decimal import Decimal
from pathlib import Path

import pytest

import shop.calc
from shop.forms.reading import ReadingsForm, reading_field, span_in_inch

TABLE = Path(shop.calc.__file__).parent / "data" / "as568.csv"


class Ring(ReadingsForm):
    """One length, one torque, and one number that has no other unit."""

    inside = reading_field("Inside", unit="mm", required=False, max_digits=9, min_value=0, max_value=1000)
    torque = reading_field("Torque", unit="N·m", required=False)
    volts = reading_field("Supply", unit="V", required=False)

    def __init__(self, *args, inch=True, **kwargs):
        super().__init__(*args, **kwargs)
        self.take_units(inch=inch)


def cleaned(name, text, **kwargs):
    form = Ring({name: text}, **kwargs)
    assert form.is_valid(), form.errors
    return form.cleaned_data[name]


def test_the_sizes_of_as568_in_inches_are_those_in_mm():
    # shop/calc/data/as568.csv prints both units, the mm rounded to 0.01; its sources are named there.
    with TABLE.open(encoding="utf-8") as file:
        sizes = list(csv.DictReader(file))
    assert len(sizes) > 300
    for size in sizes:
        assert abs(float(cleaned("inside", size["id_in"])) - float(size["id_mm"])) <= 0.0051, size["dash"]


def test_a_reading_at_a_limit_is_not_moved_off_it_by_rounding():
    # The inch is 25.4 mm exactly (NIST SP 811, Appendix B.8); as binary fractions 0.7 x 25.4 is below 17.78.
    assert 0.7 * 25.4 < 17.78
    assert float(cleaned("inside", "0.7")) == 17.78


def test_a_torque_in_pound_feet_comes_in_newton_metres():
    # NIST SP 811, Appendix B.8: pound-force foot = 1.355 818 N·m.
    assert float(cleaned("torque", "1")) == pytest.approx(1.355818, abs=5e-7)


def test_a_unit_without_a_counterpart_stays():
    form = Ring({"volts": "12"})
    assert form.is_valid()
    assert (form.cleaned_data["volts"], form.fields["volts"].widget.attrs["data-unit"]) == (12, "V")
    assert form.converted == ""


def test_metric_is_as_before():
    form = Ring({"inside": "25.4", "torque": "41.5"}, inch=False)
    assert form.is_valid()
    assert (form.cleaned_data["inside"], form.converted) == (Decimal("25.4"), "")
    assert form.fields["inside"].widget.attrs["data-unit"] == "mm"


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("40", "Must be at most 1000 mm."),
        ("-1", "Must be at least 0 mm."),
        ("one", "Enter a number."),
        ("NaN", "Enter a number."),
        ("1.1234567", "no more than 6 decimal places"),
        ("1e30", "no more than 12 digits"),
    ],
)
def test_what_is_wrong_in_inches_is_told(text, words):
    form = Ring({"inside": text})
    assert not form.is_valid()
    assert words in str(form.errors["inside"])


def test_what_stands_is_shown_in_inches_and_comes_back_unchanged():
    stands = {"inside": 131.7627, "torque": 33.333333}
    shown = {name: str(Ring(initial=stands)[name].value()) for name in stands}
    assert shown == {"inside": "5.187508", "torque": "24.5854"}
    form = Ring(shown, initial=stands)
    assert form.is_valid()
    assert {name: float(form.cleaned_data[name]) for name in stands} == stands
    assert form.converted == ""
    assert Ring(initial=stands, inch=False)["inside"].value() == "131.7627"


@pytest.mark.parametrize(
    ("low", "high", "unit", "words"),
    [
        (25.4, 50.8, "mm", "1 to 2 in"),
        (25.4, None, "mm", "at least 1 in"),
        (None, 25.4, "mm", "at most 1 in"),
        (0.0, 2.54, "µm", "0 to 100 µin"),
        (None, None, "mm", ""),
        (1.0, 2.0, "V", ""),
    ],
)
def test_limits_are_told_in_inch_units_to_aim_at(low, high, unit, words):
    assert span_in_inch(low=low, high=high, unit=unit) == words


def test_a_wrong_number_stays_as_it_was_typed():
    form = Ring({"inside": "0,5 x"})
    assert not form.is_valid()
    assert form["inside"].value() == "0,5 x"


def test_the_reason_of_a_correction_names_what_was_typed():
    form = Ring({"inside": "0.7", "torque": "20"})
    assert form.is_valid()
    assert form.converted == "typed as 0.7 in, 20 lbf·ft"
    assert form.reason({}) == "typed as 0.7 in, 20 lbf·ft"
    assert form.reason({"why": " misread "}) == "misread (typed as 0.7 in, 20 lbf·ft)"
    plain = Ring({"inside": "0.7"}, inch=False)
    assert plain.is_valid()
    assert plain.reason({"why": "misread"}) == "misread"
