"""Two rows of one customer made one, and taken apart again; nothing is deleted."""

import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from typing import Any

from django.apps import apps
from django.db import models

from shop.errors import RuleBroken
from shop.models import (
    AppendOnly,
    Customer,
    CustomerMerge,
    DifferentCustomers,
    MergeTakenBack,
    ShipTo,
    Tracked,
)
from shop.services.customer_keys import digits_of, keep_keys
from shop.services.customers import FIELDS
from shop.services.writing import Act, acting, keep, locked, service

LONGEST_REASON = 200  # of a history row
Hindrance = Callable[[CustomerMerge], list[str]]
_hindrances: list[Hindrance] = []


@dataclass(frozen=True)
class Reference:
    """A field of some table that names a customer."""

    model: type[models.Model]
    field: str

    @property
    def title(self) -> str:
        """What the rows are called, with what the customer is to them where that is not plain."""
        # Django's own plural of a warranty is "warrantys".
        rows = re.sub(r"(?<=[^aeiou])ys$", "ies", str(self.model._meta.verbose_name_plural))
        return rows if self.field == "customer" else f"{rows}: {self._words}"

    @property
    def _words(self) -> str:
        return str(self.model._meta.get_field(self.field).verbose_name)  # type: ignore[union-attr]

    def rows(self, customer: Customer) -> "models.QuerySet[Any]":
        """Return the rows that name a customer."""
        return self.model._default_manager.filter(**{self.field: customer})


def references() -> list[Reference]:
    """Return every field of a tracked table that names a customer: these move at a merge.

    Append-only rows go on naming whom they named; history rows are history.
    """
    return [each for each in _every_reference() if issubclass(each.model, Tracked)]


def lasting_references() -> list[Reference]:
    """Return the fields of append-only tables that name a customer, apart from the merges themselves."""
    own = (CustomerMerge, DifferentCustomers)
    return [
        each for each in _every_reference() if issubclass(each.model, AppendOnly) and each.model not in own
    ]


def _every_reference() -> list[Reference]:
    relations = [
        each
        for each in Customer._meta.get_fields(include_hidden=True)
        if each.auto_created and each.is_relation
    ]
    found = [Reference(each.related_model, each.field.name) for each in relations if not each.concrete]  # type: ignore[arg-type,union-attr]
    return [each for each in found if not hasattr(each.model, "instance_type")]


def register_hindrance(hindrance: Hindrance) -> None:
    """Add a question asked before a merge is taken back; call from ``AppConfig.ready``.

    It returns a sentence for each thing that happened since and forbids it.
    """
    if hindrance not in _hindrances:
        _hindrances.append(hindrance)


@service("merge_customers")
def merge_customers(*, act: Act, gone: Customer, stays: Customer, values: Mapping[str, Any]) -> CustomerMerge:
    """Merge ``gone`` into ``stays``, for the reason in ``act.why``.

    ``values`` are fields of `FIELDS` that the one that stays takes over. Every tracked row that
    names the other one names it from now on, each with its history; what was shipped and signed
    goes on naming the other row. Raises RuleBroken without a reason, for one row, and where either
    was merged already.
    """
    _need_reason(act, "Say how you know that the two are one customer.")
    gone, stays = _hold(gone, stays)
    for row in (gone, stays):
        if row.merged_into:
            raise RuleBroken(f"{row} was merged into {row.merged_into} already.")
    words = f"{gone} merged into {stays}: {act.why}"[:LONGEST_REASON]
    with acting(replace(act, why=words)):
        moved, defaults = _move(gone, stays)
        gone.merged_into = stays
        keep(gone)
        changed = _take(stays, values)
    return keep(
        CustomerMerge(
            gone=gone,
            stays=stays,
            values=changed,
            moved=moved,
            defaults=defaults,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )


def _need_reason(act: Act, sentence: str) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": sentence})


def _hold(gone: Customer, stays: Customer) -> tuple[Customer, Customer]:
    """Read both again and hold them, in an order that two merges at once share."""
    if gone.pk == stays.pk:
        raise RuleBroken("A customer cannot be merged into itself.")
    held = {row.pk: locked(row) for row in sorted((gone, stays), key=lambda row: row.pk)}
    return held[gone.pk], held[stays.pk]


def _move(gone: Customer, stays: Customer) -> tuple[list[dict[str, Any]], list[int]]:
    """Let every tracked row name the one that stays; return what moved, and what was a default."""
    moved: list[dict[str, Any]] = []
    defaults: list[int] = []
    has_default = stays.ship_tos.filter(is_default=True).exists()
    for reference in references():
        pks = []
        for row in reference.rows(gone).select_for_update().order_by("pk"):
            setattr(row, reference.field, stays)
            if isinstance(row, ShipTo) and row.is_default and has_default:
                row.is_default = False
                defaults.append(row.pk)
            keep(row)
            pks.append(row.pk)
        if pks:
            moved.append({"model": reference.model._meta.label, "field": reference.field, "pks": pks})
    return moved, defaults


def _take(stays: Customer, values: Mapping[str, Any]) -> dict[str, dict[str, Any]]:
    """Set the chosen values; return for each that changed what it was and what it is."""
    unknown = set(values) - set(FIELDS)
    if unknown:
        raise TypeError(f"customers have no {', '.join(sorted(unknown))}")
    changed = {
        name: {"was": getattr(stays, name), "is": value}
        for name, value in values.items()
        if getattr(stays, name) != value
    }
    if changed:
        _set(stays, {name: pair["is"] for name, pair in changed.items()})
    return changed


def _set(customer: Customer, values: Mapping[str, Any]) -> None:
    for name, value in values.items():
        setattr(customer, name, value)
    customer.phone_digits = digits_of(customer.phone)
    keep(customer)
    keep_keys(customer)


@service("merge_customers")
def take_back_merge(*, act: Act, merge: CustomerMerge) -> MergeTakenBack:
    """Take a merge back, for the reason in ``act.why``: what it moved and changed is as it was.

    What came to the one that stays since then stays with it. Raises RuleBroken without a reason,
    where the merge was taken back already, and naming everything that was changed meanwhile.
    """
    _need_reason(act, "Say why the two are not one customer after all.")
    gone, stays = _hold(merge.gone, merge.stays)
    if MergeTakenBack.objects.filter(merge=merge).exists():
        raise RuleBroken("This merge was taken back already.")
    if stays.merged_into:
        raise RuleBroken(f"{stays} was merged into {stays.merged_into} since; take that back first.")
    rows = _moved_rows(merge)
    if told := [*_changed_since(merge, gone, stays, rows), *[s for ask in _hindrances for s in ask(merge)]]:
        raise RuleBroken(" ".join(told))
    words = f"merge of {gone} into {stays} taken back: {act.why}"[:LONGEST_REASON]
    with acting(replace(act, why=words)):
        if merge.values:
            _set(stays, {name: pair["was"] for name, pair in merge.values.items()})
        gone.merged_into = None
        keep(gone)
        _move_back(merge, gone, rows)
    return keep(MergeTakenBack(merge=merge, by=act.by, at=act.at, why=act.why))


Moved = list[tuple[dict[str, Any], dict[Any, Any]]]


def _moved_rows(merge: CustomerMerge) -> Moved:
    """Read what the merge moved again and hold it, by table and field."""
    return [
        (entry, apps.get_model(entry["model"])._default_manager.select_for_update().in_bulk(entry["pks"]))
        for entry in merge.moved
    ]


def _changed_since(merge: CustomerMerge, gone: Customer, stays: Customer, moved: Moved) -> list[str]:
    told = []
    if gone.merged_into_id != stays.pk:
        told.append(f"{gone} is not merged into {stays} any more.")
    for name, pair in merge.values.items():
        if getattr(stays, name) != pair["is"]:
            words = str(Customer._meta.get_field(name).verbose_name)  # type: ignore[union-attr]
            told.append(f"The {words} of {stays} was changed since.")
    for entry, rows in moved:
        for pk in entry["pks"]:
            row = rows.get(pk)
            if row is None:
                told.append(f"A row of {entry['model']} that was moved is gone.")
            elif getattr(row, f"{entry['field']}_id") != stays.pk:
                told.append(f"{row} was given to another customer since.")
    return told


def _move_back(merge: CustomerMerge, gone: Customer, moved: Moved) -> None:
    for entry, rows in moved:
        for pk in entry["pks"]:
            row = rows[pk]
            setattr(row, entry["field"], gone)
            if isinstance(row, ShipTo) and pk in merge.defaults:
                row.is_default = not row.retired
            keep(row)


@service("customers")
def record_different(*, act: Act, one: Customer, other: Customer) -> DifferentCustomers:
    """Record that two customers who look alike are not the same, for the reason in ``act.why``."""
    _need_reason(act, "Say how you know that they are not the same.")
    first, second = sorted((one, other), key=lambda row: row.pk)
    return keep(DifferentCustomers(first=first, second=second, by=act.by, at=act.at, why=act.why.strip()))
