"""Which fluid suits which sealing material, and how far that can be trusted."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Annotated

from shop.calc.materials import FLUIDS, POLYMERS
from shop.calc.parameters import Choice
from shop.calc.registry import calculation
from shop.calc.result import Figure, Result

TABLE = Path(__file__).parent / "data" / "compatibility.csv"
READ, MEMORY, CONFLICT, NOT_LISTED = "READ", "MEMORY", "CONFLICT", "NOT LISTED"
GOOD, LIMITED, NOT_SUITABLE, ASK = "good", "limited", "not suitable", "ask the maker"
BASIS_WORDS = {
    READ: "read in the named source",
    MEMORY: "from memory, not verified",
    CONFLICT: "sources disagree",
    NOT_LISTED: "not listed in any source read",
}
Polymer = Annotated[str, Choice(title="Sealing material", options=POLYMERS)]
FluidClass = Annotated[str, Choice(title="Class of the fluid", options=FLUIDS)]

_NO_GUARANTEE = (
    "A rating is no guarantee: compound, temperature and time decide. Of pairs that passed 28 days, "
    "more than 25 % failed by 60 to 90 days (systemseals.com)."
)
_TABLE_CELL = "the cell of the table of published ratings"


@dataclass(frozen=True, kw_only=True)
class Compatibility(Result):
    """A rating of one material in one fluid, with where it comes from."""

    polymer: Annotated[str, Figure(title="Sealing material", how="as asked")]
    fluid: Annotated[str, Figure(title="Class of the fluid", how="as asked")]
    rating: Annotated[
        str,
        Figure(title="Rating", how=f"{_TABLE_CELL}; ask the maker where sources disagree or none was read"),
    ]
    basis: Annotated[
        str, Figure(title="Basis", how="READ in a source, MEMORY, CONFLICT of sources, or NOT LISTED")
    ]
    note: Annotated[str, Figure(title="Condition", how=_TABLE_CELL)]
    source: Annotated[str, Figure(title="Source", how=_TABLE_CELL)]

    @property
    def basis_words(self) -> str:
        """How the rating is known, in words."""
        return BASIS_WORDS[self.basis]

    @property
    def known_unsuitable(self) -> bool:
        """A source was read that says not suitable; nobody may override that."""
        return self.rating == NOT_SUITABLE and self.basis == READ

    @property
    def known_suitable(self) -> bool:
        """A source was read that allows the pair, if with a condition."""
        return self.rating in (GOOD, LIMITED) and self.basis == READ


@calculation(
    family="sealing",
    title="Material and fluid",
    example={"polymer": "EPDM", "fluid": "mineral"},
    example_source="oringsupplyco.com, nbr-vs-epdm-o-rings: not suitable, swells by 30 to 80 %.",
)
def fluid_compatibility(*, polymer: Polymer, fluid: FluidClass) -> Compatibility:
    """Rating of a sealing material in a class of hydraulic fluid.

    Parameters
    ----------
    polymer : str
        ISO 1629 or ISO 1043 symbol of ``materials.POLYMERS``, such as ``NBR`` [-].
    fluid : str
        Fluid class: mineral, mineral HV, HEES, HFC, HFDR, ATF or DOT 3/4 [-].

    Returns
    -------
    Compatibility
        ``rating``: good, limited, not suitable or ask the maker [-]; ``basis``: READ, MEMORY,
        CONFLICT or NOT LISTED [-]; ``note`` with the condition [-]; ``source`` [-].

    Raises
    ------
    InputError
        For a polymer or a fluid class that the program does not know.

    Notes
    -----
    A table of published ratings. Of pairs that passed 28 days in a fluid more than 25 % failed
    by 60 to 90 days (READ: systemseals.com), so that a rating is never a guarantee: temperature
    and compound decide. A MEMORY cell is a default to be checked, never a reason on its own.

    Validity: the classes named; where sources disagree the answer is to ask the maker.
    Left out: temperature, pressure, additives, the compound and its hardness.

    References
    ----------
    Each row of ``data/compatibility.csv`` names its source. Fluid classes after ISO 6743-4;
    the proper collection, BFPA/P81:1998, could not be read.

    Examples
    --------
    >>> found = fluid_compatibility(polymer="EPDM", fluid="mineral")
    >>> found.rating, found.basis
    ('not suitable', 'READ')
    """
    row = _table().get((polymer, fluid), {"rating": ASK, "basis": NOT_LISTED, "note": "", "source": ""})
    basis = row["basis"]
    doubt = () if basis == READ else (f"{polymer} in {fluid}: {BASIS_WORDS[basis]}.",)
    return Compatibility(
        polymer=polymer,
        fluid=fluid,
        rating=row["rating"],
        basis=basis,
        note=row["note"],
        source=row["source"] or BASIS_WORDS[basis],
        warnings=(*doubt, _NO_GUARANTEE),
        sources=(row["source"] or BASIS_WORDS[basis],),
    )


@cache
def _table() -> dict[tuple[str, str], dict[str, str]]:
    with TABLE.open(encoding="utf-8", newline="") as file:
        return {(row["polymer"], row["fluid"]): row for row in csv.DictReader(file)}
