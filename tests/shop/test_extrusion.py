"""The gap behind an O-ring against the printed table, its edges, and what it does not say."""

import pytest
from scipy import constants

from shop.calc.extrusion import BAR_PER_PSI, extrusion_clearance
from shop.calc.parameters import InputError

PSI = constants.psi / constants.bar
IN = constants.inch * 1000

# sealanddesign.com/category/Extrusion-Limits/611.html: greatest diametral clearance, inches, by psi band.
EDGES = (0, 500, 1000, 1500, 2000, 3000)
PRINTED = {70: (0.016, 0.010, 0.006, 0.004, 0.002), 90: (0.028, 0.024, 0.020, 0.016, 0.010)}
CELLS = [
    (shore, low, high, inch)
    for shore, row in PRINTED.items()
    for low, high, inch in zip(EDGES, EDGES[1:], row, strict=False)
]


def test_the_factor_of_psi_is_exact():
    """scipy.constants, after NIST Special Publication 811."""
    assert pytest.approx(PSI, rel=1e-12) == BAR_PER_PSI


@pytest.mark.parametrize(("shore", "low", "high", "inch"), CELLS)
def test_every_printed_cell_inside_its_band(shore, low, high, inch):
    for psi in (low, (low + high) / 2, high - 1):
        found = extrusion_clearance(
            hardness_shore_a=shore, pressure_bar=psi * PSI, diametral_clearance_mm=inch * IN
        )
        assert found.allowed_mm == pytest.approx(inch * IN)
        assert (found.acceptable, found.answer) == (True, "acceptable")


@pytest.mark.parametrize(("shore", "low", "high", "inch"), CELLS)
def test_a_hair_more_than_the_printed_clearance_is_not_acceptable(shore, low, high, inch):
    found = extrusion_clearance(
        hardness_shore_a=shore,
        pressure_bar=(low + high) / 2 * PSI,
        diametral_clearance_mm=inch * IN + 0.001,
    )
    assert (found.acceptable, found.answer) == (False, "not acceptable")


@pytest.mark.parametrize(("edge", "band"), [(500, 1), (1000, 2), (1500, 3), (2000, 4), (3000, 4)])
def test_an_edge_belongs_to_the_stricter_band(edge, band):
    for shore, row in PRINTED.items():
        found = extrusion_clearance(
            hardness_shore_a=shore, pressure_bar=edge * PSI, diametral_clearance_mm=0.0
        )
        assert found.allowed_mm == pytest.approx(row[band] * IN)


@pytest.mark.parametrize("psi", [999, 1000])
def test_printed_example_that_is_not_acceptable_in_either_band(psi):
    """applerubber.com, use of back-up rings: 70 Shore A, 1000 psi, 0.016 in: not acceptable."""
    found = extrusion_clearance(
        hardness_shore_a=70, pressure_bar=psi * PSI, diametral_clearance_mm=0.016 * IN
    )
    assert found.answer == "not acceptable"


@pytest.mark.parametrize("shore", [80, 69.9, 70.1, 95])
def test_nothing_is_interpolated_between_hardnesses(shore):
    """applerubber.com prints 80 Shore A, 1000 psi, 0.016 in as acceptable; the table has no such column."""
    found = extrusion_clearance(
        hardness_shore_a=shore, pressure_bar=1000 * PSI, diametral_clearance_mm=0.016 * IN
    )
    assert (found.allowed_mm, found.acceptable, found.answer) == (None, None, "not tabulated")
    assert "ask the maker" in found.warnings[0]


def test_above_3000_psi_nothing_is_tabulated():
    found = extrusion_clearance(hardness_shore_a=90, pressure_bar=3001 * PSI, diametral_clearance_mm=0.0)
    assert (found.allowed_mm, found.answer, found.band) == (None, "not tabulated", "not tabulated")


@pytest.mark.parametrize(
    ("pressure_bar", "advised"), [(103.5, False), (103.6, True), (400, True), (0, False)]
)
def test_a_backup_ring_is_advised_above_103_5_bar(pressure_bar, advised):
    """O-ring handbook, section IV, 4.0: consider one above 103.5 bar (1500 psi)."""
    found = extrusion_clearance(hardness_shore_a=90, pressure_bar=pressure_bar, diametral_clearance_mm=0.1)
    assert found.backup_ring_advised is advised
    assert any("back-up ring" in warning for warning in found.warnings) is advised


@pytest.mark.parametrize("shore", [70, 90])
def test_more_pressure_never_allows_more(shore):
    allowed = [
        extrusion_clearance(hardness_shore_a=shore, pressure_bar=bar, diametral_clearance_mm=0.1).allowed_mm
        for bar in range(0, 206)
    ]
    assert allowed == sorted(allowed, reverse=True)


@pytest.mark.parametrize(
    ("changed", "message"),
    [
        (
            {"hardness_shore_a": 19},
            "hardness_shore_a must be at least 20 Shore A and at most 100 Shore A; got 19",
        ),
        ({"hardness_shore_a": 101}, "got 101 Shore A"),
        ({"pressure_bar": -1}, "pressure_bar must be at least 0 bar and at most 4000 bar; got -1 bar"),
        ({"diametral_clearance_mm": -0.1}, "diametral_clearance_mm must be at least 0 mm"),
        ({"diametral_clearance_mm": "0.1"}, "got '0.1'"),
    ],
)
def test_bad_input_is_refused(changed, message):
    values = {"hardness_shore_a": 70, "pressure_bar": 100, "diametral_clearance_mm": 0.1, **changed}
    with pytest.raises(InputError, match=message):
        extrusion_clearance(**values)
