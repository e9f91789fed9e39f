"""Rods: how far they may run out."""

from dataclasses import dataclass
from typing import Annotated

from shop.calc.parameters import Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

Length = Annotated[
    float,
    Number(title="Length between the rests", of="mm", above=0, at_most=50000, help="rollers or V-blocks"),
]
RunOutPerMetre = Annotated[
    float,
    Number(title="Run-out for each metre, at most", of="mm/m", above=0, at_most=10, setting="rod-run-out"),
]

_HALF = "0.5 mm for each metre: maintenanceworld.com; hydraulic-ram-repairs.com (0.65 mm for 1300 mm)"
_WHOLE = "1 mm in 1 m (a machine maker's workshop manual, p. 195)"


@dataclass(frozen=True, kw_only=True)
class RunOutLimit(Result):
    """How far a rod may run out."""

    limit_mm: Annotated[
        float, Figure(title="Run-out, at most", of="mm", formula="limit_mm_per_m * length_mm / 1000")
    ]
    other_limit_mm: Annotated[
        float, Figure(title="By the other published limit, at most", of="mm", formula="length_mm / 1000")
    ]


@calculation(
    family="cylinders",
    title="Run-out limit of a rod",
    example={"length_mm": 1300.0},
    example_source="hydraulic-ram-repairs.com prints 0.65 mm for 1300 mm.",
)
def rod_runout_limit(*, length_mm: Length, limit_mm_per_m: RunOutPerMetre = 0.5) -> RunOutLimit:
    """Most run-out of a rod that turns on two rests, read at the middle between them.

    Parameters
    ----------
    length_mm : float
        Length between the rests, above 0 to 50000 [mm].
    limit_mm_per_m : float
        Run-out allowed for each metre, above 0 to 10 [mm/m].

    Returns
    -------
    RunOutLimit
        The limit, and what the other published one gives [mm].

    Raises
    ------
    InputError
        Outside the ranges.

    Notes
    -----
    The limit grows with the length. The published limits disagree by a factor of 2, so the figure
    is the shop's to set; a limit of the machine's maker comes first.

    Validity: a dial gauge at the middle, greatest less least reading over one turn.
    Left out: wear, local dents, straightness over a part of the length.

    References
    ----------
    maintenanceworld.com and hydraulic-ram-repairs.com (0.5 mm for each metre); a machine maker's
    workshop manual, p. 195 (1 mm in 1 m, V-blocks, dial gauge at the middle).

    Examples
    --------
    >>> rod_runout_limit(length_mm=1300).limit_mm
    0.65
    """
    return RunOutLimit(
        limit_mm=limit_mm_per_m * length_mm / 1000,
        other_limit_mm=length_mm / 1000,
        warnings=(
            "Published limits disagree: 0.5 mm for each metre, and 1 mm in 1 m. "
            "The machine maker's own limit comes first.",
        ),
        sources=(_HALF, _WHOLE),
    )
