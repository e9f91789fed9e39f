"""Makers' numbers of unit types, and the variants of a design by year."""

from typing import Any

from django.db.models import ProtectedError

from shop.calc.maker_number import bare_number, split_numbers
from shop.errors import RuleBroken
from shop.models import MakerNumber, UnitType
from shop.services.writing import Act, keep, locked, service

NUMBER_FIELDS = ("number", "year_from", "year_to", "superseded_by", "note")


@service("catalogue")
def save_maker_number(
    *, act: Act, unit_type: UnitType, row: MakerNumber | None = None, **fields: Any
) -> MakerNumber:
    """Add a maker's number to a unit type, or correct one for the reason in ``act.why``.

    ``fields`` are those of `NUMBER_FIELDS`. Raises RuleBroken for a correction without a reason, a
    number that the type has already, and where numbers would supersede each other in a circle.
    """
    if row:
        need_reason(act, "Say why the number is corrected; the reason stays in the history.")
    number = locked(row) if row else MakerNumber(unit_type=unit_type)
    if number.unit_type_id != unit_type.pk:
        raise RuleBroken("This number belongs to another unit type.")
    for name in NUMBER_FIELDS:
        if name in fields:
            setattr(number, name, fields[name])
    number.number = " ".join(number.number.split())
    number.bare = bare_number(number.number)
    if not number.bare:
        raise RuleBroken(fields={"number": "A maker's number has at least one letter or digit."})
    _refuse_circle(number)
    return keep(number)


def enter_numbers(*, unit_type: UnitType, text: str) -> None:
    """Add the numbers of a text, commas, semicolons or line ends between them; call inside a service.

    Raises RuleBroken for a number that is too long or that the type has already.
    """
    for number in split_numbers(text):
        try:
            keep(MakerNumber(unit_type=unit_type, number=number, bare=bare_number(number)))
        except RuleBroken as error:
            raise RuleBroken(fields={"maker_numbers": f"{number}: {error}"}) from error


def settle_numbers(*, unit_type: UnitType, text: str) -> None:
    """Make the numbers of a type those of a text, touching only those that differ.

    Call inside a service: its reason stays with what is taken off. Raises RuleBroken as
    `enter_numbers` does, and for a number to take off that superseded another one.
    """
    wanted = {bare_number(number) for number in split_numbers(text)}
    for row in unit_type.maker_numbers.all():
        if row.bare in wanted:
            wanted.discard(row.bare)
        elif row.supersedes.exists():
            raise RuleBroken(fields={"maker_numbers": f"{row} is what superseded another number: it stays."})
        else:
            row.delete()
    left = [number for number in split_numbers(text) if bare_number(number) in wanted]
    enter_numbers(unit_type=unit_type, text=", ".join(left))


def _refuse_circle(number: MakerNumber) -> None:
    at, seen = number.superseded_by, set()
    while at and at.pk not in seen:
        if at.pk == number.pk:
            message = f"{number.superseded_by} was itself superseded by {number}, or by one after it."
            raise RuleBroken(fields={"superseded_by": message})
        seen.add(at.pk)
        at = at.superseded_by


@service("catalogue")
def remove_maker_number(*, act: Act, row: MakerNumber) -> UnitType:
    """Take a number off a unit type for the reason in ``act.why``; its history stays.

    Raises RuleBroken without a reason, and while another number is superseded by this one.
    """
    need_reason(act, "Say why the number is taken off; the reason stays in the history.")
    unit_type: UnitType = row.unit_type
    try:
        locked(row).delete()
    except ProtectedError as error:
        names = ", ".join(f"{each} ({each.unit_type.code})" for each in row.supersedes.all())
        raise RuleBroken(f"{row} is what superseded {names}: correct that first.") from error
    return unit_type


def numbers_named(text: str) -> list[MakerNumber]:
    """Return the numbers that a text names: ``NUMBER``, or ``NUMBER of CODE`` for one type's."""
    number, _of, code = text.rpartition(" of ")
    rows = MakerNumber.objects.select_related("unit_type")
    if number:
        found = list(rows.filter(bare=bare_number(number), unit_type__code__iexact=code.strip()))
        if found:
            return found
    return list(rows.filter(bare=bare_number(text)))


@service("catalogue")
def save_variant(
    *,
    act: Act,
    unit_type: UnitType,
    variant_of: UnitType | None = None,
    built_from: int | None = None,
    built_to: int | None = None,
    differs: str = "",
) -> UnitType:
    """Say when a type was built, and which type it is a variant of, for the reason in ``act.why``.

    Raises RuleBroken without a reason, for a type of another family, and for a variant of a variant:
    all variants of a design name the same type.
    """
    need_reason(act, "Say how this is known; the reason stays in the history.")
    row = locked(unit_type)
    if variant_of:
        variant_of = locked(variant_of)
        _check_variant(row, variant_of)
    row.variant_of, row.differs = variant_of, differs.strip()
    row.built_from, row.built_to = built_from, built_to
    return keep(row)


def _check_variant(row: UnitType, of: UnitType) -> None:
    if of.family != row.family:
        told = f"{of} is a {of.get_family_display()}, {row} a {row.get_family_display()}."
    elif of.variant_of:
        told = f"{of} is itself a variant of {of.variant_of}: name that one."
    elif of.pk != row.pk and (own := row.variants.first()):
        told = f"{own} is a variant of {row}: give that another type first."
    else:
        return
    raise RuleBroken(fields={"variant_of": told})


def need_reason(act: Act, sentence: str) -> None:
    """Raise RuleBroken, beside the reason, where none was given."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": sentence})
