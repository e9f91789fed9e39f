"""Metric units and their inch-pound counterparts; sums are made in metric, and converted at the edge."""

from dataclasses import dataclass

from scipy import constants as c

MM, ML = c.milli, c.milli * c.liter
IN3 = c.inch**3
LBF_FT = c.lbf * c.foot


@dataclass(frozen=True)
class InchPound:
    """A counterpart: so many metric units make one of it; ``offset`` is metric at its zero."""

    name: str
    metric_per: float
    offset: float = 0.0


# Factors: scipy.constants, after NIST Special Publication 811.
INCH_POUND = {
    "mm": InchPound("in", c.inch / MM),
    "µm": InchPound("µin", c.inch),
    "mm²": InchPound("in²", (c.inch / MM) ** 2),
    "mL": InchPound("in³", IN3 / ML),
    "cm³": InchPound("in³", IN3 / ML),
    "cm³/rev": InchPound("in³/rev", IN3 / ML),
    "bar": InchPound("psi", c.psi / c.bar),
    "bar/min": InchPound("psi/min", c.psi / c.bar),
    "bar/K": InchPound("psi/°F", c.psi / c.bar / c.degree_Fahrenheit),
    "mL/bar": InchPound("in³/psi", IN3 / ML / (c.psi / c.bar)),
    "MPa": InchPound("psi", c.psi / c.mega),
    "N": InchPound("lbf", c.lbf),
    "kN": InchPound("lbf", c.lbf / c.kilo),
    "N·m": InchPound("lbf·ft", LBF_FT),
    "W": InchPound("hp", c.hp),
    "L/min": InchPound("gal/min", c.gallon / c.liter),
    "mL/min": InchPound("in³/min", IN3 / ML),
    "mm/s": InchPound("in/s", c.inch / MM),
    "mm/m": InchPound("in/ft", c.inch / MM / c.foot),
    "K": InchPound("°F of difference", c.degree_Fahrenheit),
    "1/K": InchPound("1/°F", 1 / c.degree_Fahrenheit),
    "°C": InchPound("°F", c.degree_Fahrenheit, offset=-32 * c.degree_Fahrenheit),
}


def unit_name(*, unit: str, inch: bool) -> str:
    """Name of a unit as it is shown.

    Parameters
    ----------
    unit : str
        Metric unit.
    inch : bool
        Whether inch-pound is wanted.

    Returns
    -------
    str
        The counterpart's name; the unit itself where it has none.
    """
    return INCH_POUND[unit].name if inch and unit in INCH_POUND else unit


def shown(*, value: float, unit: str, inch: bool) -> float:
    """Convert a metric value for showing.

    Parameters
    ----------
    value : float
        The value [`unit`].
    unit : str
        Metric unit; one without a counterpart is left alone.
    inch : bool
        Whether inch-pound is wanted.

    Returns
    -------
    float
        The value in the unit that `unit_name` names.

    References
    ----------
    Factors of ``scipy.constants``, after NIST Special Publication 811 (2008).

    Examples
    --------
    >>> shown(value=25.4, unit="mm", inch=True), round(shown(value=100, unit="°C", inch=True), 6)
    (1.0, 212.0)
    """
    if not inch or unit not in INCH_POUND:
        return value
    counterpart = INCH_POUND[unit]
    return (value - counterpart.offset) / counterpart.metric_per


def metric(*, value: float, unit: str, inch: bool) -> float:
    """Convert what was entered into the metric unit.

    Parameters
    ----------
    value : float
        The value as entered, in the unit that `unit_name` names.
    unit : str
        The metric unit wanted.
    inch : bool
        Whether inch-pound was entered.

    Returns
    -------
    float
        The value [`unit`].

    Examples
    --------
    >>> round(metric(value=1.0, unit="in", inch=True), 6), round(metric(value=2, unit="mm", inch=True), 6)
    (1.0, 50.8)
    """
    if not inch or unit not in INCH_POUND:
        return value
    counterpart = INCH_POUND[unit]
    return value * counterpart.metric_per + counterpart.offset
