"""How wide the gap behind an O-ring may be before the pressure presses the ring into it."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

# Read: sealanddesign.com/category/Extrusion-Limits/611.html; greatest diametral clearance in inches.
TABLE = Path(__file__).parent / "data" / "extrusion_limits.csv"
SOURCE = "Extrusion limits by hardness and pressure, sealanddesign.com/category/Extrusion-Limits/611.html"
BACKUP_SOURCE = "O-ring handbook, section IV, 4.0: back-up rings above 103.5 bar (1500 psi)"
BACKUP_ABOVE_BAR = 103.5
# One pound-force (4.4482216152605 N) on one square inch (645.16 mm2); 1 bar is 0.1 N/mm2.
BAR_PER_PSI = 4.4482216152605 / 645.16 * 10
MM_PER_IN = 25.4
NOT_TABULATED = "not tabulated"

Hardness = Annotated[float, Number(title="Hardness of the seal", of="Shore A", at_least=20, at_most=100)]
Pressure = Annotated[float, Number(title="Pressure", of="bar", at_least=0, at_most=4000)]
Clearance = Annotated[float, Number(title="Diametral clearance", of="mm", at_least=0, at_most=50)]


@dataclass(frozen=True, kw_only=True)
class Extrusion(Result):
    """A gap against the extrusion limit."""

    pressure_psi: Annotated[
        float, Figure(title="Pressure", of="psi", formula="pressure_bar * 645.16 / (4.4482216152605 * 10)")
    ]
    band: Annotated[
        str, Figure(title="Pressure band", how="column of the table; an edge belongs to the stricter column")
    ]
    allowed_mm: Annotated[
        float | None,
        Figure(title="Diametral clearance, most", of="mm", how="table by hardness and band, inch × 25.4"),
    ]
    acceptable: Annotated[
        bool | None,
        Figure(title="Acceptable", how="clearance at most the allowed one; open if not tabulated"),
    ]
    answer: Annotated[str, Figure(title="Answer", how="acceptable, not acceptable or not tabulated")]
    backup_ring_advised: Annotated[bool, Figure(title="Back-up ring advised", how="above 103.5 bar")]


def tabulated_clearance_mm(*, hardness_shore_a: float, pressure_bar: float) -> float | None:
    """Greatest diametral clearance of the table.

    Parameters
    ----------
    hardness_shore_a : float
        Hardness; only 70 and 90 are tabulated [Shore A].
    pressure_bar : float
        Pressure [bar].

    Returns
    -------
    float or None
        The clearance [mm]; None for another hardness, and above 3000 psi.

    Examples
    --------
    >>> tabulated_clearance_mm(hardness_shore_a=90, pressure_bar=200)
    0.254
    """
    clearances = _table().get(hardness_shore_a, {})
    inch = clearances.get(_band(pressure_bar))
    return None if inch is None else round(inch * MM_PER_IN, 6)


@calculation(
    family="sealing",
    title="Gap against extrusion",
    example={"hardness_shore_a": 70.0, "pressure_bar": 68.95, "diametral_clearance_mm": 0.4064},
    example_source="applerubber.com, use of back-up rings: 70 Shore A, 1000 psi, 0.016 in: not acceptable.",
)
def extrusion_clearance(
    *, hardness_shore_a: Hardness, pressure_bar: Pressure, diametral_clearance_mm: Clearance
) -> Extrusion:
    """Whether an O-ring withstands the gap behind it without a back-up ring.

    Parameters
    ----------
    hardness_shore_a : float
        Hardness of the ring, 20 to 100; only 70 and 90 are tabulated [Shore A].
    pressure_bar : float
        Pressure, 0 to 4000; tabulated to 206.8 bar, which is 3000 psi [bar].
    diametral_clearance_mm : float
        Greatest diametral clearance on the low-pressure side, 0 to 50 [mm].

    Returns
    -------
    Extrusion
        ``allowed_mm`` [mm] and ``acceptable``, None where the table has no figure; ``answer`` in
        words; ``backup_ring_advised`` above 103.5 bar.

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    A pressure at the edge of two bands is taken as the higher, stricter band. Nothing is
    interpolated between hardnesses: the table has 70 and 90 Shore A.

    Validity: solid elastomer rings without back-up ring; 0 to 3000 psi. For silicone halve the
    clearance (O-ring handbook, section IV, 4.0).
    Left out: widening of the housing under pressure, heat, pulsation and one-sided gaps.

    References
    ----------
    sealanddesign.com/category/Extrusion-Limits/611.html. Back-up rings and silicone: O-ring
    handbook, section IV, 4.0.

    Examples
    --------
    >>> extrusion_clearance(hardness_shore_a=70, pressure_bar=150, diametral_clearance_mm=0.1).answer
    'not acceptable'
    """
    allowed = tabulated_clearance_mm(hardness_shore_a=hardness_shore_a, pressure_bar=pressure_bar)
    acceptable = None if allowed is None else diametral_clearance_mm <= allowed + 1e-9
    backup = pressure_bar > BACKUP_ABOVE_BAR
    answers = {True: "acceptable", False: "not acceptable", None: NOT_TABULATED}
    return Extrusion(
        pressure_psi=pressure_bar / BAR_PER_PSI,
        band=_band(pressure_bar) or NOT_TABULATED,
        allowed_mm=allowed,
        acceptable=acceptable,
        answer=answers[acceptable],
        backup_ring_advised=backup,
        warnings=_warnings(allowed, backup),
        sources=(SOURCE, BACKUP_SOURCE),
    )


def _warnings(allowed: float | None, backup: bool) -> tuple[str, ...]:
    found = []
    if allowed is None:
        found.append(
            "The table has 70 and 90 Shore A up to 3000 psi (206.8 bar) only: ask the maker of the ring."
        )
    if backup:
        found.append("Above 103.5 bar (1500 psi) consider a back-up ring.")
    return tuple(found)


def _band(pressure_bar: float) -> str:
    """Column of the table; an edge goes up, except the last, above which there is no column."""
    psi = pressure_bar / BAR_PER_PSI
    for edge, band in ((500, "<500"), (1000, "500-1000"), (1500, "1000-1500"), (2000, "1500-2000")):
        if psi < edge - 1e-6:
            return band
    return "2000-3000" if psi <= 3000 + 1e-6 else ""


@cache
def _table() -> dict[float, dict[str, float]]:
    found: dict[float, dict[str, float]] = {}
    with TABLE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            clearance = float(row["max_diametral_clearance_in"])
            found.setdefault(float(row["shore_a"]), {})[row["pressure_band_psi"]] = clearance
    return found
