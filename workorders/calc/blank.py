"""The blanked rig checked before a hold: its share of the decay taken off, with its uncertainty."""

from dataclasses import dataclass
from math import hypot, isfinite

from workorders.calc.hold import HoldFit
from workorders.calc.uncertainty import (
    COVERAGE_FACTOR,
    Gauge,
    HandHold,
    Uncertainty,
    hand_hold,
    slope_uncertainty,
)

# Expanded uncertainty of a compliance whose own was not measured, k = 2: common practice, no source.
COMPLIANCE_SPREAD = 0.10
# A check begun higher than the hold would take off too much.
MOST_ABOVE = 1.05


@dataclass(frozen=True, kw_only=True)
class Blank:
    """A check of the rig with its outlet blanked, and the compliances of rig and of rig and unit.

    ``rig_spread`` and ``together_spread`` are their expanded uncertainties as shares of them, k = 2.
    """

    hold: HandHold | HoldFit
    uncertainty: Uncertainty
    rig_ml_per_bar: float
    together_ml_per_bar: float
    rig_spread: float = COMPLIANCE_SPREAD
    together_spread: float = COMPLIANCE_SPREAD

    def __post_init__(self) -> None:
        for spread in (self.rig_spread, self.together_spread):
            if not (isfinite(spread) and spread >= 0):
                raise ValueError(f"the uncertainty of a compliance must be 0 or more; got {spread:g} of it")
        if not 0 < self.rig_ml_per_bar <= self.together_ml_per_bar:
            raise ValueError(
                "the compliance of the rig alone must be above 0 and at most that of rig and unit; got "
                f"{self.rig_ml_per_bar:g} and {self.together_ml_per_bar:g} mL/bar"
            )

    @property
    def share(self) -> float:
        """Compliance of the rig as a share of that of rig and unit [-]."""
        return self.rig_ml_per_bar / self.together_ml_per_bar

    @property
    def decay_bar_per_min(self) -> float:
        """What the rig's own leak adds to the decay of rig and unit together [bar/min]."""
        return self.share * self.hold.decay_bar_per_min

    @property
    def parts(self) -> tuple[tuple[str, float], ...]:
        """Standard uncertainties of what is taken off, by name [bar/min]."""
        spread = hypot(self.rig_spread, self.together_spread) * abs(self.decay_bar_per_min)
        return (
            ("blanked rig, its decay", self.share * self.uncertainty.standard),
            ("blanked rig, compliances", spread / COVERAGE_FACTOR),
        )

    @property
    def expanded_bar_per_min(self) -> float:
        """Expanded uncertainty of what is taken off, k = 2 [bar/min]."""
        return Uncertainty(parts=self.parts).expanded

    def leak_ml_min(self, *, decay: float, expanded: float) -> tuple[float, float]:
        """Turn the decay that is left into a leak with its expanded uncertainty, k = 2 [mL/min]."""
        leak = self.together_ml_per_bar * decay
        return leak, hypot(self.together_ml_per_bar * expanded, self.together_spread * leak)


@dataclass(frozen=True, kw_only=True)
class Compliance:
    """A compliance with its expanded uncertainty, k = 2 [mL/bar]; None where that was not measured."""

    ml_per_bar: float
    expanded_ml_per_bar: float | None = None

    @property
    def spread(self) -> float:
        """Its expanded uncertainty as a share of it [-]."""
        if self.expanded_ml_per_bar is None or self.ml_per_bar <= 0:
            return COMPLIANCE_SPREAD
        return self.expanded_ml_per_bar / self.ml_per_bar


def blank_check(
    *,
    start_bar: float,
    end_bar: float,
    duration_s: float,
    rig_ml_per_bar: float,
    together_ml_per_bar: float,
    gauge: Gauge,
    hold_start_bar: float,
    rig_expanded_ml_per_bar: float | None = None,
    together_expanded_ml_per_bar: float | None = None,
) -> Blank:
    """Evaluate the check of the blanked rig before a hold.

    Parameters
    ----------
    start_bar, end_bar : float
        Pressure of the blanked rig at the start and the end of its check [bar].
    duration_s : float
        Time between them, above 0 [s].
    rig_ml_per_bar, together_ml_per_bar : float
        Measured compliance of the blanked rig, and of rig and unit; the first is not the larger [mL/bar].
    gauge : Gauge
        The gauge of both [bar].
    hold_start_bar : float
        Pressure at the start of the hold that follows [bar].
    rig_expanded_ml_per_bar, together_expanded_ml_per_bar : float, optional
        Expanded uncertainty of each compliance, k = 2; 10 % of it where it was not measured [mL/bar].

    Returns
    -------
    Blank
        What to take off the decay, with its expanded uncertainty [bar/min].

    Raises
    ------
    ValueError
        By `workorders.calc.uncertainty.hand_hold`; compliances that cannot be; a check begun at more
        than 1.05 times the pressure of the hold.

    Notes
    -----
    The rig leaks compliance times decay, and with the unit on the same leak lets the pressure of both
    fall more slowly: by the share that the rig has of the compliance. The drifts of the gauge in the
    check and in the hold are taken as independent.

    References
    ----------
    Definition of the compliance; JCGM 100:2008 (GUM), clause 5.1.2 (number from memory).

    Examples
    --------
    >>> gauge = Gauge(accuracy=0.04, full_scale=16)
    >>> found = blank_check(start_bar=7, end_bar=6.9, duration_s=300, rig_ml_per_bar=0.6,
    ...                     together_ml_per_bar=1.0, gauge=gauge, hold_start_bar=7)
    >>> round(found.decay_bar_per_min, 3)
    0.012
    """
    _check_start(start_bar, hold_start_bar)
    hold = hand_hold(start_bar=start_bar, end_bar=end_bar, duration_s=duration_s, gauge=gauge)
    rig = Compliance(ml_per_bar=rig_ml_per_bar, expanded_ml_per_bar=rig_expanded_ml_per_bar)
    both = Compliance(ml_per_bar=together_ml_per_bar, expanded_ml_per_bar=together_expanded_ml_per_bar)
    return Blank(
        hold=hold,
        uncertainty=hold.uncertainty,
        rig_ml_per_bar=rig.ml_per_bar,
        together_ml_per_bar=both.ml_per_bar,
        rig_spread=rig.spread,
        together_spread=both.spread,
    )


def logged_blank(
    *,
    hold: HoldFit,
    rig: Compliance,
    together: Compliance,
    gauge: Gauge,
    hold_start_bar: float,
    few: bool = True,
) -> Blank:
    """Evaluate the check of the blanked rig from a logger file.

    Parameters
    ----------
    hold : HoldFit
        The check, a straight line over its window [bar].
    rig, together : Compliance
        As in `blank_check` [mL/bar].
    gauge : Gauge
        The transducer of both [bar].
    hold_start_bar : float
        Pressure at the start of the hold that follows [bar].
    few : bool
        As `workorders.calc.uncertainty.slope_uncertainty` [-].

    Returns
    -------
    Blank
        As `blank_check`, with the standard error of the line raised for samples that are alike.

    Raises
    ------
    ValueError
        As `blank_check`, and for a check that is not a straight line.
    """
    _check_start(hold.first_bar, hold_start_bar)
    if not hold.straight:
        raise ValueError(f"the check of the blanked rig is not a straight line ({hold.bend}); check it again")
    return Blank(
        hold=hold,
        uncertainty=slope_uncertainty(hold=hold, gauge=gauge, few=few),
        rig_ml_per_bar=rig.ml_per_bar,
        together_ml_per_bar=together.ml_per_bar,
        rig_spread=rig.spread,
        together_spread=together.spread,
    )


def _check_start(start_bar: float, hold_start_bar: float) -> None:
    if start_bar > MOST_ABOVE * hold_start_bar:
        raise ValueError(
            f"the blanked rig was checked from {start_bar:.4g} bar, above the {hold_start_bar:.4g} bar of "
            "the hold; check it from the same pressure"
        )
