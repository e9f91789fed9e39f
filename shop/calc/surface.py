"""Surfaces that a moving seal runs on: roughness and chrome against published limits."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import FAILS, NOT_DECIDED, PASSES, Check, Figure, Result, within

_SURFACE = "simritna.com SurfaceFinish (rod and bore: Ra 0.05 to 0.3 µm, Rmax at most 2.5 µm)"
_CHROME = "simritna.com SurfaceFinish prints 30 to 50 µm; sterc.org (August 2002) 13 to 25 µm for new rods"
_RT = "epm.com: Rt = (7 Ra + 0.2 µm) ± 35 %, for Ra above 0.1 µm"

Roughness = Annotated[float, Number(title="Roughness Ra, measured", of="µm", above=0, at_most=50)]
Peak = Annotated[float | None, Number(title="Highest peak to valley Rmax, measured", of="µm", above=0)]
Chrome = Annotated[float | None, Number(title="Chrome, measured", of="µm", at_least=0, at_most=2000)]
RaLeast = Annotated[
    float, Number(title="Ra, at least", of="µm", at_least=0, at_most=50, setting="rod-roughness-least")
]
RaMost = Annotated[
    float, Number(title="Ra, at most", of="µm", above=0, at_most=50, setting="rod-roughness-most")
]
RmaxMost = Annotated[float, Number(title="Rmax, at most", of="µm", above=0, setting="rod-rmax-most")]
ChromeLeast = Annotated[float, Number(title="Chrome, at least", of="µm", at_least=0, setting="chrome-least")]
ChromeMost = Annotated[float, Number(title="Chrome, at most", of="µm", above=0, setting="chrome-most")]


@dataclass(frozen=True, kw_only=True)
class RodSurface(Result):
    """A rod or bore surface against its limits."""

    rt_estimate_um: Annotated[
        float | None,
        Figure(title="Peak to valley Rt that such an Ra suggests", of="µm", formula="7 * ra_um + 0.2"),
    ]
    checks: Annotated[tuple[Check, ...], Figure(title="Checks", how="each reading against its limits")]
    verdict: Annotated[str, Figure(title="Verdict", how="the worst of the checks")]


@calculation(
    family="cylinders",
    title="Surface of a rod or bore",
    example={"ra_um": 0.2, "rmax_um": 2.0, "chrome_um": 20.0},
    example_source="Derived here: inside simritna.com's limits for roughness, and between the two published "
    "ranges for chrome, so that it fails the one and meets the other.",
)
def rod_surface_check(
    *,
    ra_um: Roughness,
    rmax_um: Peak = None,
    chrome_um: Chrome = None,
    ra_least_um: RaLeast = 0.05,
    ra_most_um: RaMost = 0.3,
    rmax_most_um: RmaxMost = 2.5,
    chrome_least_um: ChromeLeast = 30.0,
    chrome_most_um: ChromeMost = 50.0,
) -> RodSurface:
    """Judge the surface that a moving seal runs on.

    Parameters
    ----------
    ra_um : float
        Roughness Ra as measured, above 0 to 50 [µm].
    rmax_um : float, optional
        Highest peak to valley Rmax as measured, above 0 [µm].
    chrome_um : float, optional
        Thickness of the hard chrome as measured, 0 to 2000 [µm].
    ra_least_um, ra_most_um : float
        Limits of Ra, from 0 and above 0, to 50 [µm].
    rmax_most_um : float
        Limit of Rmax, above 0 [µm].
    chrome_least_um, chrome_most_um : float
        Limits of the chrome, from 0 and above 0 [µm].

    Returns
    -------
    RodSurface
        Estimate of Rt [µm], checks with verdict and advice, and the worst verdict [-].

    Raises
    ------
    InputError
        Outside the ranges, or where a least limit is above its most.

    Notes
    -----
    Too rough a surface wears the seal, too smooth a one holds no oil for it. What was not
    measured is not decided.

    Validity: elastomer seals; for PTFE skf.com prints Ra 0.2 µm at most. The estimate of Rt holds
    within 35 % for Ra above 0.1 µm and is not given below.
    Left out: bearing ratio Mr (50 to 90 % in the same source), lay of the grooves, waviness, pits.
    A pit into the base metal or chrome that is worn through is a reject whatever the roughness.

    References
    ----------
    simritna.com SurfaceFinish; skf.com surface-properties; sterc.org, August 2002 ("no one
    industry standard"); epm.com for Rt.

    Examples
    --------
    >>> rod_surface_check(ra_um=0.2, rmax_um=2.0).verdict, rod_surface_check(ra_um=0.4).verdict
    ('passes', 'fails')
    """
    for name, least, most in (
        ("ra_least_um", ra_least_um, ra_most_um),
        ("chrome_least_um", chrome_least_um, chrome_most_um),
    ):
        if least > most:
            raise InputError(name, f"{name} must be at most {most:g} µm; got {least:g} µm")
    checks = [
        within(
            what="Roughness Ra",
            value=ra_um,
            unit="µm",
            lower=ra_least_um,
            upper=ra_most_um,
            source=_SURFACE,
            advice="Polish along the rod's turning, or grind and plate again."
            if ra_um > ra_most_um
            else "Roughen lightly with fine cloth, crosswise: so smooth a surface holds no oil film.",
        )
    ]
    if rmax_um is not None:
        advice = "Polish the peaks away; measure again."
        checks.append(
            within(what="Rmax", value=rmax_um, unit="µm", upper=rmax_most_um, source=_SURFACE, advice=advice)
        )
    if chrome_um is not None:
        checks.append(_chrome(chrome_um, chrome_least_um, chrome_most_um))
    words = [check.verdict for check in checks]
    return RodSurface(
        rt_estimate_um=7 * ra_um + 0.2 if ra_um > 0.1 else None,
        checks=tuple(checks),
        verdict=next((word for word in (FAILS, NOT_DECIDED) if word in words), PASSES),
        warnings=() if chrome_um is None else ("Published limits of chrome disagree; ask the customer.",),
        sources=(_SURFACE, _RT) if chrome_um is None else (_SURFACE, _CHROME, _RT),
    )


def _chrome(chrome_um: float, least_um: float, most_um: float) -> Check:
    return within(
        what="Chrome",
        value=chrome_um,
        unit="µm",
        lower=least_um,
        upper=most_um,
        source=_CHROME,
        advice="Too thin wears through, too thick may flake: strip and plate again, or agree another limit.",
    )
