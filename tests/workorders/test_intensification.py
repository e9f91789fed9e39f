"""Pressure raised inside a cylinder whose rod port is plugged."""

import math

import pytest

from workorders.calc.intensification import intensified_pressure


def test_a_published_cylinder_gives_its_pressure():
    # Bore 100 mm, rod 70 mm, 200 bar; areas 7853.98 and 4005.53 mm² as printed at
    # mechanicalengineeringcourse.com/?p=1680; the danger: scribd.com 163207220. 200 * 7853.98 / 4005.53.
    raised = intensified_pressure(pressure_bar=200, bore_mm=100, rod_mm=70)
    assert raised == pytest.approx(200 * 7853.98 / 4005.53, rel=1e-5)
    assert round(raised) == 392


@pytest.mark.parametrize(("bore", "rod"), [(25, 12), (50, 28), (200, 140)])
def test_the_forces_on_both_sides_of_the_piston_are_equal(bore, rod):
    raised = intensified_pressure(pressure_bar=160, bore_mm=bore, rod_mm=rod)
    push = 160 * math.pi / 4 * bore**2
    assert raised * math.pi / 4 * (bore**2 - rod**2) == pytest.approx(push)


def test_a_thin_rod_raises_little_and_a_thick_one_much():
    thin = intensified_pressure(pressure_bar=100, bore_mm=100, rod_mm=1)
    assert thin == pytest.approx(100.01, abs=1e-3)
    assert intensified_pressure(pressure_bar=100, bore_mm=100, rod_mm=99) > 5000
    assert intensified_pressure(pressure_bar=0, bore_mm=100, rod_mm=50) == 0


@pytest.mark.parametrize(
    ("fields", "message"),
    [
        ({"pressure_bar": -1}, "0 bar or more; got -1"),
        ({"pressure_bar": math.nan}, "0 bar or more"),
        ({"rod_mm": 100}, "rod 100 and bore 100"),
        ({"rod_mm": 0}, "rod 0"),
        ({"bore_mm": math.nan}, "bore nan"),
    ],
)
def test_what_cannot_be_is_refused(fields, message):
    with pytest.raises(ValueError, match=message):
        intensified_pressure(**{"pressure_bar": 100, "bore_mm": 100, "rod_mm": 50, **fields})
