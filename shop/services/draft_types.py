"""Draft types: a unit type that is opened because a unit came that nobody knew."""

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any

from shop.errors import RuleBroken
from shop.models import TypeRevision, UnitType
from shop.services.catalogue import PLACES, Place, draft_of, drop_place, keep_place
from shop.services.maker_numbers import enter_numbers
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, service

State = TypeRevision.State
LETTER = "D"  # of provisional catalogue codes such as D26-0003
# The first letter of the codes that the bench is offered (common practice, no source).
CODE_LETTERS: Mapping[str, str] = {
    "position": "S",
    "component": "K",
    "port": "P",
    "hose": "H",
    "dimension": "D",
}


@dataclass(frozen=True, kw_only=True)
class SeenOutside:
    """What the outside of an unknown unit tells; dimensions in mm, None where not measured.

    ``name`` is a working name until the lead gives the proper one; ``ports`` is how many were counted.
    """

    family: str
    name: str
    maker_numbers: str = ""
    bore_mm: float | None = None
    rod_mm: float | None = None
    stroke_mm: float | None = None
    ports: int | None = None


@service("receive")
def open_draft_type(*, act: Act, seen: SeenOutside) -> TypeRevision:
    """Open a provisional unit type with the draft of its first revision; return the draft.

    Its catalogue code comes from a counter of its own; the lead renames it at approval. Raises
    RuleBroken without a family or a name, and for a rod that does not go into its bore.
    """
    if not seen.name.strip():
        raise RuleBroken(fields={"name": "Give it a working name, such as what it looks like."})
    unit_type = keep(
        UnitType(
            code=_free_code(act),
            name=seen.name.strip(),
            family=seen.family,
            note=f"Ports counted at receiving: {seen.ports}." if seen.ports else "",
            provisional=True,
        )
    )
    enter_numbers(unit_type=unit_type, text=seen.maker_numbers)
    return keep(
        TypeRevision(unit_type=unit_type, bore_mm=seen.bore_mm, rod_mm=seen.rod_mm, stroke_mm=seen.stroke_mm)
    )


@service("draft_type")
def save_found_place(
    *, act: Act, revision: TypeRevision, place: str, row: Place | None = None, **fields: Any
) -> Place:
    """Add or change a place of a draft opened at the bench, as it is found in the unit.

    ``place`` is a key of `PLACES`. Raises RuleBroken for every other revision, and as the
    constraints of the place say.
    """
    kept: Place = keep_place(open_bench_draft(revision), place, row, fields)
    return kept


@service("draft_type")
def remove_found_place(*, act: Act, row: Place) -> TypeRevision:
    """Take out a place that was entered by mistake; refused while anything points to it."""
    draft = open_bench_draft(row.revision)
    drop_place(row)
    return draft


def open_bench_draft(revision: TypeRevision) -> TypeRevision:
    """Return a draft that the bench may add to, held for this write; RuleBroken for any other."""
    row = draft_of(revision)
    unit_type = row.unit_type
    if not unit_type.provisional or unit_type.merged_into_id:
        raise RuleBroken(f"{row} was not opened at the bench: the lead changes it under Unit types.")
    return row


def next_code(revision: TypeRevision, place: str) -> str:
    """Return the next free code of a kind of place: S4 after S1 to S3."""
    letter = CODE_LETTERS[place]
    codes = PLACES[place]._default_manager.filter(revision=revision, code__startswith=letter)
    taken = [int(rest) for code in codes.values_list("code", flat=True) if (rest := code[1:]).isdecimal()]
    return f"{letter}{max(taken, default=0) + 1}"


def bench_draft(unit_type: UnitType) -> TypeRevision | None:
    """Return the draft of a type that was opened at the bench and is not approved yet; else None."""
    if not unit_type.provisional or unit_type.merged_into_id:
        return None
    return unit_type.revisions.filter(state=State.DRAFT).order_by("number").first()


def _free_code(act: Act) -> str:
    """Draw the next provisional code; one that somebody entered by hand is passed over."""
    while UnitType.objects.filter(code=(code := next_number(LETTER, act.at))).exists():
        pass
    return code
