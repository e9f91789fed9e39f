"""The rig under the unit: its compliance by metered withdrawal, and its own leak taken off."""

from dataclasses import dataclass
from math import hypot, sqrt
from typing import Annotated

import numpy as np
from scipy import stats

from shop.calc.parameters import InputError, Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result
from workorders.calc.uncertainty import COVERAGE_FACTOR

# Published bulk moduli of oils run from 1400 MPa (Rabie, p. 53) to 2070 MPa (leeimh.com): the middle
# of the two and half of what lies between them.
STIFFNESS_SPREAD_PCT = 20.0
MUCH_SOFTER = 1.5  # common practice, no source

Withdrawn = Annotated[
    tuple[float, ...],
    Numbers(
        title="Oil withdrawn so far",
        fewest=3,
        help="the first is 0, before any is let out; each later one counts from there",
        each=Number(title="Oil withdrawn so far", of="mL", at_least=0, at_most=100000),
    ),
]
Pressures = Annotated[
    tuple[float, ...],
    Numbers(
        title="Pressure then",
        fewest=3,
        help="one for each volume, read when it has settled",
        each=Number(title="Pressure then", of="bar", at_least=0, at_most=2000),
    ),
]
MeterError = Annotated[
    float, Number(title="Largest error of the metered volume, ±", of="mL", at_least=0, at_most=1000)
]
GaugeError = Annotated[
    float, Number(title="Largest error of the gauge, ±", of="bar", at_least=0, at_most=100)
]
Decay = Annotated[
    float,
    Number(title="Decay of the hold", of="bar/min", at_least=-1e4, at_most=1e4, help="rig and unit together"),
]
DecayUncertainty = Annotated[
    float,
    Number(title="Its expanded uncertainty, k = 2", of="bar/min", at_least=0, at_most=1e4),
]
Compliance = Annotated[
    float | None,
    Number(
        title="Measured compliance of rig and unit",
        of="mL/bar",
        above=0,
        at_most=10000,
        help="by metered withdrawal; goes before volume and bulk modulus",
    ),
]
ComplianceUncertainty = Annotated[
    float, Number(title="Its expanded uncertainty, k = 2", of="mL/bar", at_least=0, at_most=10000)
]
Volume = Annotated[
    float | None,
    Number(title="Oil shut in, of unit and rig together", of="mL", above=0, at_most=500000),
]
Modulus = Annotated[
    float | None, Number(title="Bulk modulus of the oil, by a handbook", of="MPa", above=0, at_most=10000)
]
ModulusSpread = Annotated[
    float,
    Number(
        title="Expanded uncertainty of the bulk modulus",
        of="%",
        at_least=0,
        at_most=100,
        help="20 covers the published moduli of hydraulic oils, and no air or hoses at all",
    ),
]
BlankDecay = Annotated[
    float | None,
    Number(
        title="Decay of the blanked rig",
        of="bar/min",
        at_least=-1e4,
        at_most=1e4,
        help="recorded before the hold, from the same pressure, with the outlet to the unit blanked",
    ),
]
BlankUncertainty = Annotated[
    float, Number(title="Its expanded uncertainty, k = 2", of="bar/min", at_least=0, at_most=1e4)
]
BlankCompliance = Annotated[
    float | None,
    Number(title="Compliance of the blanked rig", of="mL/bar", above=0, at_most=10000),
]
BlankComplianceUncertainty = Annotated[
    float, Number(title="Its expanded uncertainty, k = 2", of="mL/bar", at_least=0, at_most=10000)
]

_GUM = "JCGM 100:2008 (GUM), clauses 4.3.7 and 5.1.2 (numbers from memory)"
_SOFT = (
    "The rig is {ratio:.1f} times as soft at its lowest pressure as at its highest: there is air in it. "
    "Bleed it, or measure near the pressure of the hold."
)
_SETTLED = (
    "Let each pressure settle before it is read. Withdraw through a valve into a vessel, hands clear of "
    "the jet; local codes and licensed practice come first."
)
_HANDBOOK = (
    "Volume and bulk modulus know no air, no hoses and no housing that gives way: the true leak is "
    "larger. Measure the compliance by metered withdrawal."
)
_NO_BLANK = (
    "Without a check of the blanked rig its own leak counts as the unit's; in a unit of a few mL it "
    "may be the larger of the two."
)
_TEMPERATURE = "Warming hides a leak and cooling looks like one (temperature_corrected_decay)."


@dataclass(frozen=True, kw_only=True)
class RigCompliance(Result):
    """How much oil a bar of pressure holds."""

    compliance_ml_per_bar: Annotated[
        float,
        Figure(
            title="Compliance", of="mL/bar", how="slope of the volume over the pressure, by least squares"
        ),
    ]
    expanded_ml_per_bar: Annotated[
        float,
        Figure(
            title="Its expanded uncertainty, k = 2",
            of="mL/bar",
            how="standard error of the slope, meter and gauge over the whole drop (each rectangular), "
            "as the root of the sum of squares, times 2",
        ),
    ]
    softest_ml_per_bar: Annotated[
        float,
        Figure(
            title="Softest step", of="mL/bar", how="the largest of the steps from one reading to the next"
        ),
    ]
    stiffest_ml_per_bar: Annotated[
        float, Figure(title="Stiffest step", of="mL/bar", how="the smallest of them")
    ]


@calculation(
    family="bench",
    title="Compliance of rig and unit",
    example={
        "withdrawn_ml": (0.0, 0.5, 1.0, 1.5, 2.0),
        "pressure_bar": (200.0, 178.0, 157.0, 135.0, 114.0),
        "meter_error_ml": 0.02,
        "gauge_error_bar": 0.5,
    },
    example_source="Derived here: 0.5 mL take off 21 or 22 bar each time, 0.0233 mL/bar.",
)
def rig_compliance(
    *,
    withdrawn_ml: Withdrawn,
    pressure_bar: Pressures,
    meter_error_ml: MeterError = 0.0,
    gauge_error_bar: GaugeError = 0.0,
) -> RigCompliance:
    """Compliance of the shut rig, with or without the unit, by metered withdrawal.

    Parameters
    ----------
    withdrawn_ml : list of float
        Oil let out so far at each reading, 3 or more, rising [mL].
    pressure_bar : list of float
        Pressure at each reading, falling, as many [bar].
    meter_error_ml : float
        Largest error of the metered volume, 0 or more [mL].
    gauge_error_bar : float
        Largest error of the gauge, 0 or more [bar].

    Returns
    -------
    RigCompliance
        Compliance with its expanded uncertainty, softest and stiffest step [mL/bar].

    Raises
    ------
    InputError
        Outside the ranges, lists of two lengths, or a volume that does not rise as the pressure falls.

    Notes
    -----
    A line is fitted to the volume over the pressure. Compliance is what one bar more holds: oil that
    is pressed together, hoses that widen, air. Measure it with the unit on, and once with the rig
    blanked: a leak is compliance times decay, each with its own.

    Validity: around the pressures measured; readings that have settled, at one temperature.
    Left out: a leak during the measurement, which makes the compliance look smaller.

    References
    ----------
    Definition of the compliance; JCGM 100:2008 (GUM), clauses 4.3.7 and 5.1.2 (numbers from memory).

    Examples
    --------
    >>> found = rig_compliance(withdrawn_ml=(0, 0.5, 1, 1.5, 2), pressure_bar=(200, 178, 157, 135, 114))
    >>> round(found.compliance_ml_per_bar, 4)
    0.0233
    """
    volume, pressure = np.array(withdrawn_ml), np.array(pressure_bar)
    if volume.size != pressure.size:
        raise InputError(
            "pressure_bar",
            f"pressure_bar must be as many as withdrawn_ml ({volume.size}); got {pressure.size}",
        )
    rising, falling = np.diff(volume), -np.diff(pressure)
    if np.any(rising <= 0) or np.any(falling <= 0):
        raise InputError(
            "pressure_bar", "pressure_bar must be falling while withdrawn_ml rises; got readings that are not"
        )
    line = stats.linregress(pressure, volume)
    compliance, drop = -float(line.slope), float(pressure[0] - pressure[-1])
    parts = (
        float(line.stderr),
        meter_error_ml / sqrt(3) / drop,
        compliance * gauge_error_bar / sqrt(3) / drop,
    )
    steps = rising / falling
    ratio = float(steps[-1] / steps[0])
    return RigCompliance(
        compliance_ml_per_bar=compliance,
        expanded_ml_per_bar=COVERAGE_FACTOR * hypot(*parts),
        softest_ml_per_bar=float(steps.max()),
        stiffest_ml_per_bar=float(steps.min()),
        warnings=(_SETTLED, *((_SOFT.format(ratio=ratio),) if ratio > MUCH_SOFTER else ())),
        sources=("definition of the compliance", _GUM),
    )


@dataclass(frozen=True, kw_only=True)
class HoldLeak(Result):
    """The leak of the unit alone, with its spread."""

    used_ml_per_bar: Annotated[
        float,
        Figure(
            title="Compliance that counts",
            of="mL/bar",
            how="the measured one; without it volume / (10 × bulk modulus)",
        ),
    ]
    together_ml_min: Annotated[
        float,
        Figure(title="Leak of rig and unit", of="mL/min", formula="used_ml_per_bar * decay_bar_per_min"),
    ]
    rig_ml_min: Annotated[
        float,
        Figure(
            title="Of it the rig", of="mL/min", how="compliance of the blanked rig × its decay; 0 without"
        ),
    ]
    leak_ml_min: Annotated[
        float, Figure(title="Leak of the unit", of="mL/min", formula="together_ml_min - rig_ml_min")
    ]
    expanded_ml_min: Annotated[
        float,
        Figure(
            title="Its expanded uncertainty, k = 2",
            of="mL/min",
            how="each uncertainty times what it acts on, as the root of the sum of squares",
        ),
    ]
    handbook_ml_min: Annotated[
        float | None,
        Figure(
            title="Leak of rig and unit by handbook oil, to compare",
            of="mL/min",
            formula="volume_ml / (10 * bulk_modulus_mpa) * decay_bar_per_min",
        ),
    ]


@calculation(
    family="bench",
    title="Leak of the unit from a hold",
    example={
        "decay_bar_per_min": 2.0,
        "decay_uncertainty_bar_per_min": 0.1,
        "compliance_ml_per_bar": 0.0233,
        "compliance_uncertainty_ml_per_bar": 0.0008,
        "volume_ml": 25.0,
        "bulk_modulus_mpa": 1400.0,
        "blank_decay_bar_per_min": 0.8,
        "blank_uncertainty_bar_per_min": 0.1,
        "blank_compliance_ml_per_bar": 0.0197,
        "blank_compliance_uncertainty_ml_per_bar": 0.0008,
    },
    example_source="Derived here: 0.0466 mL/min together, 0.0158 of it the rig's; handbook oil (Rabie, "
    "p. 53) sees 0.0036 in place of 0.0466.",
)
def hold_leak_rate(
    *,
    decay_bar_per_min: Decay,
    decay_uncertainty_bar_per_min: DecayUncertainty = 0.0,
    compliance_ml_per_bar: Compliance = None,
    compliance_uncertainty_ml_per_bar: ComplianceUncertainty = 0.0,
    volume_ml: Volume = None,
    bulk_modulus_mpa: Modulus = None,
    modulus_spread_pct: ModulusSpread = STIFFNESS_SPREAD_PCT,
    blank_decay_bar_per_min: BlankDecay = None,
    blank_uncertainty_bar_per_min: BlankUncertainty = 0.0,
    blank_compliance_ml_per_bar: BlankCompliance = None,
    blank_compliance_uncertainty_ml_per_bar: BlankComplianceUncertainty = 0.0,
) -> HoldLeak:
    """Leak of the unit from the decay of a hold, with the leak of the blanked rig taken off.

    Parameters
    ----------
    decay_bar_per_min, decay_uncertainty_bar_per_min : float
        Decay of rig and unit together, and its expanded uncertainty [bar/min].
    compliance_ml_per_bar : float, optional
        Measured compliance of rig and unit; where it is given it counts, above 0 [mL/bar].
    compliance_uncertainty_ml_per_bar : float
        Its expanded uncertainty, 0 or more [mL/bar].
    volume_ml : float, optional
        Oil shut in, above 0; with the bulk modulus the second best [mL].
    bulk_modulus_mpa : float, optional
        Bulk modulus by a handbook, above 0 [MPa].
    modulus_spread_pct : float
        Its expanded uncertainty, 0 to 100 [%].
    blank_decay_bar_per_min : float, optional
        Decay of the blanked rig from the same pressure; None where it was not recorded [bar/min].
    blank_uncertainty_bar_per_min : float
        Its expanded uncertainty, 0 or more [bar/min].
    blank_compliance_ml_per_bar : float, optional
        Compliance of the blanked rig; needed with its decay, above 0 [mL/bar].
    blank_compliance_uncertainty_ml_per_bar : float
        Its expanded uncertainty, 0 or more [mL/bar].

    Returns
    -------
    HoldLeak
        Compliance that counts [mL/bar]; leak of both, of the rig, of the unit with its expanded
        uncertainty, and of both by handbook oil [mL/min].

    Raises
    ------
    InputError
        Outside the ranges; without compliance and without volume and modulus; a blank decay
        without the blanked rig's compliance.

    Notes
    -----
    A leak is compliance times decay. The rig's leak is taken off as mL/min, each with its own
    compliance: the two decays alone must not be subtracted, since the blanked rig is stiffer than
    rig and unit together, and the same leak makes its pressure fall faster.

    Validity: a straight hold at one temperature, blanked check and hold from the same pressure.
    Left out: leaks past the blank itself; the change of the compliance with pressure.

    References
    ----------
    Definition of the compliance; M. G. Rabie, Fluid Power Engineering, p. 53, and leeimh.com (bulk
    moduli); JCGM 100:2008 (GUM), clauses 4.3.7 and 5.1.2 (numbers from memory).

    Examples
    --------
    >>> found = hold_leak_rate(
    ...     decay_bar_per_min=2,
    ...     compliance_ml_per_bar=0.0233,
    ...     blank_decay_bar_per_min=0.8,
    ...     blank_compliance_ml_per_bar=0.0197,
    ... )
    >>> round(found.leak_ml_min, 4)
    0.0308
    """
    handbook = None
    if volume_ml is not None and bulk_modulus_mpa is not None:
        handbook = volume_ml / (10 * bulk_modulus_mpa)
    used, spread = compliance_ml_per_bar, compliance_uncertainty_ml_per_bar
    if used is None:
        used = _needed(
            handbook,
            "compliance_ml_per_bar",
            "compliance_ml_per_bar is needed, or volume_ml with bulk_modulus_mpa",
        )
        spread = used * modulus_spread_pct / 100
    blank = stiff = 0.0
    if blank_decay_bar_per_min is not None:
        name = "blank_compliance_ml_per_bar"
        stiff = _needed(blank_compliance_ml_per_bar, name, f"{name} is needed with blank_decay_bar_per_min")
        blank = blank_decay_bar_per_min
    parts = (
        used * decay_uncertainty_bar_per_min,
        spread * decay_bar_per_min,
        stiff * blank_uncertainty_bar_per_min,
        blank_compliance_uncertainty_ml_per_bar * blank,
    )
    return HoldLeak(
        used_ml_per_bar=used,
        together_ml_min=used * decay_bar_per_min,
        rig_ml_min=stiff * blank,
        leak_ml_min=used * decay_bar_per_min - stiff * blank,
        expanded_ml_min=hypot(*parts),
        handbook_ml_min=None if handbook is None else handbook * decay_bar_per_min,
        warnings=(
            *((_HANDBOOK,) if compliance_ml_per_bar is None else ()),
            *((_NO_BLANK,) if blank_decay_bar_per_min is None else ()),
            _TEMPERATURE,
        ),
        sources=("definition of the compliance; Rabie, Fluid Power Engineering, p. 53 (1.4 GPa)", _GUM),
    )


def _needed(value: float | None, name: str, sentence: str) -> float:
    if value is None:
        raise InputError(name, f"{sentence}; got nothing")
    return value
