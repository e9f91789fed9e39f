"""How long a rubber seal may be stored before use."""

import csv
import re
from dataclasses import dataclass
from datetime import date
from functools import cache
from pathlib import Path
from typing import Annotated

from shop.calc.materials import POLYMERS
from shop.calc.parameters import Choice, InputError, Text
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

TABLE = Path(__file__).parent / "data" / "storage_life.csv"
STANDARDS = {"ISO2230": "ISO 2230:2002", "AS5316": "AS5316"}
CURE_SPELLINGS = "3Q24, 3Q2024 or 3/94"
_CURE = re.compile(r"(?P<q1>[1-4])Q(?P<y1>\d{2}|\d{4})|(?P<q2>[1-4])/(?P<y2>\d{2})", re.IGNORECASE)
_QUARTER_ENDS = {1: (3, 31), 2: (6, 30), 3: (9, 30), 4: (12, 31)}
_COUNTED = (
    "the last day of the cure quarter counts as the date of manufacture "
    "(READ: fairwayseals.co.uk polymer-shelf-life, a distributor's statement about ARP5316)"
)
_LABEL = "cure date as quarter and year, such as 3/94 (READ: ISO 2230, clause 5.3)"
# The groups of ISO 2230 also name two rubbers that no part of the shop is made of.
Polymer = Annotated[str, Choice(title="Sealing material", options=(*POLYMERS, "IR", "BR"))]
Cure = Annotated[
    str,
    Text(title="Cure quarter as printed", like=f"a quarter and a year spelled {CURE_SPELLINGS}"),
]
Standard = Annotated[str, Choice(title="Standard", options=tuple(STANDARDS))]


@dataclass(frozen=True, kw_only=True)
class StorageLife(Result):
    """Dates of a seal's storage; ``None`` where no limit applies or none is known (see ``basis``)."""

    counted_from: Annotated[date, Figure(title="Counted from", how="the last day of the cure quarter")]
    use_by: Annotated[date | None, Figure(title="Use by", how="that day and the years of the polymer")]
    use_by_after_inspection: Annotated[
        date | None,
        Figure(title="Use by after a passed inspection", how="use by and the extension of ISO 2230, once"),
    ]
    rule: Annotated[str, Figure(title="Rule", how="limit, unlimited, not given or not listed")]
    basis: Annotated[str, Figure(title="Basis", how="the rule in words, with what is uncertain about it")]


@calculation(
    family="sealing",
    title="Storage life",
    example={"polymer": "NBR", "cure": "3Q24", "standard": "ISO2230"},
    example_source="The published group of NBR (7 years, 3 more after inspection) applied by hand: "
    "2024-09-30, 2031-09-30, 2034-09-30.",
)
def storage_life(*, polymer: Polymer, cure: Cure, standard: Standard) -> StorageLife:
    """Storage life of an elastomer seal from its cure quarter.

    Parameters
    ----------
    polymer : str
        ISO 1629 or ISO 1043 symbol, such as ``NBR`` [-].
    cure : str
        Cure quarter and year as printed: ``3Q24``, ``3Q2024`` or ``3/94`` [-].
    standard : str
        ``ISO2230`` or ``AS5316`` [-].

    Returns
    -------
    StorageLife
        ``counted_from``, ``use_by`` and ``use_by_after_inspection`` [date]; ``rule``: limit,
        unlimited, not given or not listed [-]; ``basis`` in words [-].

    Raises
    ------
    InputError
        For an unknown polymer or standard, or a cure date in another spelling.

    Notes
    -----
    use_by = last day of the cure quarter + the life of the polymer's group; after a passed
    inspection ISO 2230 adds its extension once. Two-digit years: 69 to 99 are 1969 to 1999,
    00 to 68 are 2000 to 2068 (the rule of POSIX strptime, ``%y``). A polymer that the tables read
    do not list gets no date and a warning. A new edition of ISO 2230 was in final draft in
    January 2026.

    Validity: parts before assembly, stored as the standard asks; years of cure 1900 to 2100.
    Left out: life after assembly, how the part was stored, a limit of its maker.

    References
    ----------
    ISO 2230:2002, groups A to C, clause 5.3 (labelling), as extracted in studylib.net 25379531
    and prepol.com "rubber shelf life storage"; SAE AS5316 (ARP5316), as given by globaloring.com,
    o-rings.com and daemar.com. The rows with their sources stand in ``data/storage_life.csv``.

    Examples
    --------
    >>> life = storage_life(polymer="NBR", cure="3Q24", standard="ISO2230")
    >>> str(life.counted_from), str(life.use_by), str(life.use_by_after_inspection)
    ('2024-09-30', '2031-09-30', '2034-09-30')
    """
    counted_from = cure_quarter_end(cure=cure)
    row = _table().get((standard, polymer))
    if row is None:
        return _not_listed(polymer, standard, counted_from)
    warnings = (row["warning"],) if row["warning"] else ()
    years, extension = (int(row[key] or 0) for key in ("years", "extension_years"))
    return StorageLife(
        counted_from=counted_from,
        use_by=_plus(counted_from, years) if years else None,
        use_by_after_inspection=_plus(counted_from, years + extension) if extension else None,
        rule=row["rule"],
        basis=_basis(row, warnings),
        warnings=warnings,
        sources=(row["source"], _COUNTED, _LABEL),
    )


def cure_quarter_end(*, cure: str) -> date:
    """Last day of a cure quarter.

    Parameters
    ----------
    cure : str
        ``3Q24``, ``3Q2024`` or ``3/94``; blanks around it and the case of Q do not matter [-].

    Returns
    -------
    date
        The last day of the quarter [date].

    Raises
    ------
    InputError
        For any other spelling, or a year outside 1900 to 2100.

    References
    ----------
    ISO 2230, clause 5.3, prints July to September 1994 as ``3/94``.

    Examples
    --------
    >>> str(cure_quarter_end(cure="3/94"))
    '1994-09-30'
    """
    found = _CURE.fullmatch(cure.strip())
    if not found:
        raise InputError("cure", f"cure must be a quarter and a year spelled {CURE_SPELLINGS}; got {cure!r}")
    quarter, year = int(found["q1"] or found["q2"]), int(found["y1"] or found["y2"])
    if year < 100:
        year += 1900 if year >= 69 else 2000
    if not 1900 <= year <= 2100:
        raise InputError("cure", f"cure must have a year from 1900 to 2100; got {year}")
    return date(year, *_QUARTER_ENDS[quarter])


@cache
def _table() -> dict[tuple[str, str], dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {(row["standard"], row["polymer"]): row for row in csv.DictReader(file)}


def _plus(day: date, years: int) -> date:
    return day.replace(year=day.year + years)  # quarter ends exist in every year


def _basis(row: dict[str, str], warnings: tuple[str, ...]) -> str:
    standard = STANDARDS[row["standard"]]
    group = f", group {row['group']}" if row["group"] else ""
    words = {
        "limit": f"{row['years']} years after {standard}{group}",
        "unlimited": f"no limit after {standard}",
        "not given": f"no life given by {standard}",
    }[row["rule"]]
    return "; ".join([words, *warnings])


def _not_listed(polymer: str, standard: str, counted_from: date) -> StorageLife:
    words = f"{polymer} is not in the tables of {STANDARDS[standard]} that were read: no use-by date is known"
    return StorageLife(
        counted_from=counted_from,
        use_by=None,
        use_by_after_inspection=None,
        rule="not listed",
        basis=words,
        warnings=(words,),
        sources=(_COUNTED, _LABEL),
    )
