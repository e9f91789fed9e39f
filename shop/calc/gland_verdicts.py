"""Every figure of an O-ring gland held against its limit."""

from shop.calc.gland_geometry import FACE, Gland, Ring, Span
from shop.calc.gland_limits import Limits, Service, fill_check, gap_check, squeeze_checks, stretch_check
from shop.calc.result import Check


def gland_checks(
    *,
    gland: Gland,
    ring: Ring,
    service: Service,
    limits: Limits,
    stretch: Span | None,
    squeeze: Span,
    fill: float,
) -> tuple[Check, ...]:
    """Squeeze, stretch, fill and gap; a face groove has no gap here, and a stretch only with a seat.

    Parameters
    ----------
    gland, ring : Gland, Ring
        Sizes [mm].
    service : Service
        Motion, pressure [bar] and hardness [Shore A].
    limits : Limits
        Limits [%].
    stretch : Span or None
        Stretch at both ends [%]; None where the seat is unknown.
    squeeze : Span
        Squeeze at both ends [%].
    fill : float
        Most fill [%].

    Returns
    -------
    tuple of Check
        One for each limit.
    """
    of_squeeze = limits.squeeze(motion=service.motion, section_mm=ring.nominal_section)
    checks = list(squeeze_checks(squeeze=squeeze, limits=of_squeeze))
    if stretch or gland.arrangement != FACE:
        checks.append(stretch_check(stretch=stretch, limit=limits.stretch))
    checks.append(fill_check(fill_pct=fill, limit=limits.fill))
    if gland.arrangement != FACE:
        checks.append(
            gap_check(
                gap_mm=gland.clearance.most if gland.clearance else None,
                hardness_shore_a=service.hardness_shore_a,
                pressure_bar=service.pressure_bar,
            )
        )
    return tuple(checks)
