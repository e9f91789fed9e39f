"""Out of round: what several diameters of one bore, head or piston say together."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import Number, Numbers
from shop.calc.registry import calculation
from shop.calc.result import Check, Figure, Result, within

LIMIT_MM = 0.1778  # 0.007 in
_SOURCE = (
    "a lift maker's maintenance manual, p. 30: head or piston out of round by more than 0.007 in is a reject"
)

Diameters = Annotated[
    tuple[float, ...],
    Numbers(
        title="Diameters, measured around one section",
        each=Number(title="Diameter", of="mm", above=0, at_most=2000),
        fewest=2,
        help="with blanks or line ends between them",
    ),
]
Most = Annotated[float, Number(title="Out of round, at most", of="mm", above=0, setting="out-of-round")]


@dataclass(frozen=True, kw_only=True)
class Roundness(Result):
    """Spread of the diameters of one section."""

    least_mm: Annotated[float, Figure(title="Smallest diameter", of="mm", how="the least of the readings")]
    greatest_mm: Annotated[
        float, Figure(title="Greatest diameter", of="mm", how="the greatest of the readings")
    ]
    mean_mm: Annotated[
        float, Figure(title="Mean diameter", of="mm", how="sum of the readings / their number")
    ]
    out_of_round_mm: Annotated[float, Figure(title="Out of round", of="mm", formula="greatest_mm - least_mm")]
    checks: Annotated[tuple[Check, ...], Figure(title="Checks", how="against the limit")]
    verdict: Annotated[str, Figure(title="Verdict", how="of the check")]


@calculation(
    family="cylinders",
    title="Out of round",
    example={"diameters_mm": [63.02, 63.10, 63.21, 63.05], "limit_mm": LIMIT_MM},
    example_source="Derived here: readings that spread by 0.19 mm, past the published 0.007 in (0.178 mm).",
)
def out_of_round(*, diameters_mm: Diameters, limit_mm: Most = LIMIT_MM) -> Roundness:
    """Spread of several diameters around one section, against the limit.

    Parameters
    ----------
    diameters_mm : sequence of float
        Two or more diameters, measured across different directions of one section, each above 0
        to 2000 [mm].
    limit_mm : float
        Most spread allowed, above 0 [mm].

    Returns
    -------
    Roundness
        Least, greatest and mean diameter and their spread [mm], with the verdict [-].

    Raises
    ------
    InputError
        Fewer than two diameters, or one outside the range.

    Notes
    -----
    Greatest less smallest reading, with both ends of each reading inside the spread.

    Validity: two-point readings of one section; more directions find more.
    Left out: lobes of an odd number, which two points cannot show; taper along the length; the
    uncertainty of the readings.

    References
    ----------
    A lift maker's maintenance manual, p. 30 (0.007 in for head and piston); another part has
    the limit of its own drawing.

    Examples
    --------
    >>> round(out_of_round(diameters_mm=(50.0, 50.05, 50.02)).out_of_round_mm, 3)
    0.05
    """
    least, greatest = min(diameters_mm), max(diameters_mm)
    check = within(
        what="Out of round",
        value=greatest - least,
        unit="mm",
        upper=limit_mm,
        source=_SOURCE,
        advice="Hone or sleeve the bore, or renew the part; measure again.",
    )
    return Roundness(
        least_mm=least,
        greatest_mm=greatest,
        mean_mm=sum(diameters_mm) / len(diameters_mm),
        out_of_round_mm=greatest - least,
        checks=(check,),
        verdict=check.verdict,
        warnings=("Two directions alone may miss the widest place.",) if len(diameters_mm) == 2 else (),
        sources=(_SOURCE,),
    )
