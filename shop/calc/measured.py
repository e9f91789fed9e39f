"""A figure measured on an assembled unit against the one that the catalogue has."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

AGREES, DIFFERS, UNKNOWN = "agrees", "differs", "not known"
DIAMETER_UNCERTAINTY_MM, LENGTH_UNCERTAINTY_MM = 0.5, 3.0  # from memory, no source; the shop's to set

Length = Annotated[float, Number(title="Measured", of="mm", above=0, at_most=50000)]
KnownLength = Annotated[float, Number(title="Known", of="mm", above=0, at_most=50000)]
Uncertainty = Annotated[
    float,
    Number(
        title="Measuring uncertainty",
        of="mm",
        above=0,
        at_most=1000,
        setting="identify-diameter",
        help="the largest error that is believed",
    ),
]


@dataclass(frozen=True, kw_only=True)
class Agreement(Result):
    """Whether a measured figure agrees with a known one."""

    apart_mm: Annotated[float, Figure(title="Apart", of="mm", formula="abs(measured_mm - known_mm)")]
    share: Annotated[
        float, Figure(title="Apart, in parts of the uncertainty", formula="apart_mm / uncertainty_mm")
    ]
    status: Annotated[str, Figure(title="It", how="agrees up to 1 part of the uncertainty, else differs")]


@calculation(
    family="identity",
    title="A measured figure against a known one",
    example={"measured_mm": 24.7, "known_mm": 25.0, "uncertainty_mm": 0.5},
    example_source="Derived here: 0.3 mm apart, within 0.5 mm.",
)
def measured_against_known(
    *, measured_mm: Length, known_mm: KnownLength, uncertainty_mm: Uncertainty = DIAMETER_UNCERTAINTY_MM
) -> Agreement:
    """Whether a figure measured on an assembled unit may be the one that the catalogue has.

    Parameters
    ----------
    measured_mm : float
        As measured, above 0 to 50000 [mm].
    known_mm : float
        As the catalogue has it, above 0 to 50000 [mm].
    uncertainty_mm : float
        The largest error that is believed, above 0 to 1000 [mm].

    Returns
    -------
    Agreement
        How far they are apart [mm], that in parts of the uncertainty [-], and whether they agree.

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    They agree where the uncertainty covers the distance. Identifying a unit compares bore, rod,
    stroke and closed length so, and then puts the types in order: by how many numbers on the body
    are the type's, by whether the family is another one, and by agreeing facts less differing
    facts. A near number counts as one agreeing fact; what the catalogue does not know counts
    nothing. Types that tie stand closest first. It proposes; a person chooses.

    Validity: nominal figures of the catalogue, one measured figure each.
    Left out: wear and plating, which move a rod or a bore by less than a caliper tells here.

    References
    ----------
    The rule is this project's own. The uncertainties proposed (0.5 mm for a diameter by caliper,
    3 mm for a length by tape, on a dirty assembled unit) are from memory, no source.

    Examples
    --------
    >>> found = measured_against_known(measured_mm=24.7, known_mm=25.0)
    >>> round(found.apart_mm, 3), found.status
    (0.3, 'agrees')
    """
    apart = abs(measured_mm - known_mm)
    return Agreement(
        apart_mm=apart,
        share=apart / uncertainty_mm,
        status=AGREES if round(apart, 9) <= uncertainty_mm else DIFFERS,
        sources=("The rule is this project's own; the uncertainty proposed is from memory, no source.",),
    )
