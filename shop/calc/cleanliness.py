"""Cleanliness of oil: the code of ISO 4406 from particle counts."""

import csv
import re
from bisect import bisect_left
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from shop.calc.parameters import InputError, Number
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

TABLE = Path(__file__).parent / "data" / "iso4406.csv"
ENOUGH_COUNTED = 20
# ">=" before a number that rests on fewer than 20 particles, as laboratories print it.
CODE = re.compile("/".join([r"\s*(?:>=|≥)?\s*(\d{1,2})\s*"] * 3))
Count4 = Annotated[float, Number(title="Particles of 4 µm(c) and more in 1 mL", of="1/mL", at_least=0)]
Count6 = Annotated[float, Number(title="Particles of 6 µm(c) and more in 1 mL", of="1/mL", at_least=0)]
Count14 = Annotated[float, Number(title="Particles of 14 µm(c) and more in 1 mL", of="1/mL", at_least=0)]
_RAW = "the number the counter saw in the whole sample; below 20 the code gets a mark"
Counted4 = Annotated[
    int | None, Number(title="Counted of 4 µm(c) and more", at_least=0, whole=True, help=_RAW)
]
Counted6 = Annotated[
    int | None, Number(title="Counted of 6 µm(c) and more", at_least=0, whole=True, help=_RAW)
]
Counted14 = Annotated[
    int | None, Number(title="Counted of 14 µm(c) and more", at_least=0, whole=True, help=_RAW)
]

_SOURCES = (
    "ISO 4406, table of scale numbers 0 to 28, read in a filter maker's appendix (p. 128), a "
    "fluid-control manual (p. 98) and Machinery Lubrication India, Nov-Dec 2019, p. 30",
    "BS ISO 4406:2021, clause 4.1 (sizes, cumulative counts)",
)
_LOOKED_UP = "the row of the table whose upper limit is the first one not below the count"


@dataclass(frozen=True, kw_only=True)
class Cleanliness(Result):
    """The code, and its three scale numbers."""

    scale_4um: Annotated[int, Figure(title="Scale number at 4 µm(c)", how=_LOOKED_UP)]
    scale_6um: Annotated[int, Figure(title="Scale number at 6 µm(c)", how=_LOOKED_UP)]
    scale_14um: Annotated[int, Figure(title="Scale number at 14 µm(c)", how=_LOOKED_UP)]
    code: Annotated[
        str,
        Figure(
            title="Code of ISO 4406",
            how="the three scale numbers; >= before one that rests on fewer than 20 particles",
        ),
    ]


@calculation(
    family="pumps",
    title="Cleanliness code of oil",
    example={"count_4um": 2178.0, "count_6um": 847.0, "count_14um": 63.0},
    example_source="A laboratory report in AWEA RP 508, figure A: 18/17/13.",
)
def cleanliness_code(
    *,
    count_4um: Count4,
    count_6um: Count6,
    count_14um: Count14,
    counted_4um: Counted4 = None,
    counted_6um: Counted6 = None,
    counted_14um: Counted14 = None,
) -> Cleanliness:
    """Code of ISO 4406 from cumulative particle counts.

    Parameters
    ----------
    count_4um, count_6um, count_14um : float
        Particles in 1 mL of that size and more, 0 to 2500000, none above the one before it [1/mL].
    counted_4um, counted_6um, counted_14um : int, optional
        Particles that the counter saw in the whole sample, from 0 [-].

    Returns
    -------
    Cleanliness
        ``code`` such as ``18/16/13`` or ``14/12/>=7``, and its scale numbers [-].

    Raises
    ------
    InputError
        A count below 0, above the table, or above the count of the smaller size.

    Notes
    -----
    Each count has the scale number of its row; upper limits are included. The limits are rounded
    doublings, so that no power of two gives the number. A number that rests on fewer than 20
    particles gets ``>=`` before it.

    Validity: automatic counters calibrated after ISO 11171.
    Left out: counts under the microscope (5 and 15 µm, two numbers); NAS 1638 and AS4059, whose
    classes differ in kind, so that a conversion would only be approximate.

    References
    ----------
    ISO 4406, table 0 to 28, as printed in a filter maker's appendix, p. 128, in a fluid-control
    manual, p. 98, and in Machinery Lubrication India, Nov-Dec 2019, p. 30; BS ISO 4406:2021, 4.1.

    Examples
    --------
    >>> cleanliness_code(count_4um=2178, count_6um=847, count_14um=63).code
    '18/17/13'
    >>> cleanliness_code(count_4um=150, count_6um=40, count_14um=1.2, counted_14um=12).code
    '14/12/>=7'
    """
    _check_cumulative("count_6um", count_6um, "count_4um", count_4um)
    _check_cumulative("count_14um", count_14um, "count_6um", count_6um)
    numbers = (
        _scale_number("count_4um", count_4um),
        _scale_number("count_6um", count_6um),
        _scale_number("count_14um", count_14um),
    )
    few = [
        counted is not None and counted < ENOUGH_COUNTED
        for counted in (counted_4um, counted_6um, counted_14um)
    ]
    parts = [f"{'>=' if marked else ''}{number}" for number, marked in zip(numbers, few, strict=True)]
    warnings = []
    if any(few):
        warnings.append("Fewer than 20 particles were counted where >= stands: that number is uncertain.")
    if None in (counted_4um, counted_6um, counted_14um):
        warnings.append("Without the number of particles counted, a number that needs >= cannot be told.")
    return Cleanliness(
        scale_4um=numbers[0],
        scale_6um=numbers[1],
        scale_14um=numbers[2],
        code="/".join(parts),
        warnings=tuple(warnings),
        sources=_SOURCES,
    )


def read_code(text: str) -> tuple[int, int, int]:
    """Read a code of three scale numbers, such as ``18/16/13`` or ``14/12/>=7``, into its numbers.

    Raises ValueError with a sentence for anything else: numbers that rise, or beyond the table.

    >>> read_code("18/16/>=13")
    (18, 16, 13)
    """
    found = CODE.fullmatch(text.strip())
    if not found:
        raise ValueError(f"Write the code as three scale numbers, such as 18/16/13; got {text!r}.")
    first, second, third = (int(number) for number in found.groups())
    last = len(_limits()) - 1
    if first > last:
        raise ValueError(f"The scale numbers of ISO 4406 end at {last}; got {text.strip()}.")
    if not first >= second >= third:
        raise ValueError(f"The numbers of a code never rise with the size; got {text.strip()}.")
    return first, second, third


def _check_cumulative(name: str, count: float, smaller_name: str, smaller: float) -> None:
    if count > smaller:
        raise InputError(
            name,
            f"{name} must be at most {smaller_name} ({smaller:.12g} 1/mL), since each count includes the "
            f"larger sizes and the code never rises with size; got {count:.12g} 1/mL",
        )


def _scale_number(name: str, count: float) -> int:
    limits = _limits()
    row = bisect_left(limits, count)  # the upper limit belongs to its row
    if row == len(limits):
        raise InputError(
            name,
            f"{name} must be at most {limits[-1]:.0f} 1/mL, where the table ends; got {count:.12g} 1/mL",
        )
    return row


@cache
def _limits() -> list[float]:
    """Upper limits by scale number [1/mL]."""
    with TABLE.open(encoding="utf-8", newline="") as file:
        return [float(row["up_to_per_ml"]) for row in csv.DictReader(file)]
