"""Exchange units from the shelf, the cores they are given for, and the cores still owed."""

from collections.abc import Iterable
from datetime import date
from typing import Any

from django.db.models import Q, QuerySet
from django.utils import timezone

from shop.errors import RuleBroken
from shop.models import Customer, UnitType
from shop.services.interchange import replaceable_by, stands_in_for
from shop.services.writing import Act, keep, locked, service
from workorders.calc.serial import grouped
from workorders.models import Exchange, PackedUnit, PackingUnit, Rebuild, WorkOrder

Stage, Destination = Rebuild.Stage, Rebuild.Destination
KEPT = Q(stage=Stage.EXCHANGE_CORE) | Q(destination=Destination.EXCHANGE)
CAN_BE_A_CORE = ~Q(stage__in=[Stage.SHIPPED, Stage.RETURNED_AS_FOUND, Stage.SCRAPPED])


def may_replace(given: UnitType, core: UnitType) -> bool:
    """Whether a unit of one type may leave in the place of one of another, by the catalogue's interchange."""
    return given.pk == core.pk or core.pk in fitting_types(given)


def fitting_types(given: UnitType) -> dict[int, str]:
    """Return the keys of the unit types whose units a unit may replace, and what must be read with each."""
    return {given.pk: ""} | {
        pair.unit_type.pk: f"stands in by the catalogue: {pair.row.condition or pair.row.basis}"
        for pair in replaceable_by(given)
    }


def types_for(cores: Iterable[UnitType]) -> set[int]:
    """Return the keys of the unit types that may leave in the place of a unit of one of these."""
    types = set(cores)
    others = {pair.unit_type.pk for core in types for pair in stands_in_for(core)}
    return {core.pk for core in types} | others


def cores_for(given: Rebuild, customer: Customer, *, taken: bool = False) -> QuerySet[Rebuild]:
    """Return the units of a customer that a unit from the shelf may be given for, latest first.

    With ``taken`` those too for which one was given already: a form that is sent twice names one.
    """
    rows = Rebuild.objects.filter(
        CAN_BE_A_CORE,
        work_order__customer=customer,
        packed__isnull=True,
        unit__unit_type__in=fitting_types(given.unit.unit_type),
    ).exclude(pk=given.pk)
    if not taken:
        lying = PackingUnit.objects.lying().filter(replaces__isnull=False)
        rows = rows.filter(exchange__isnull=True).exclude(pk__in=lying.values("replaces"))
    return rows.exclude(stage=Stage.RELEASED).select_related("unit__unit_type", "work_order").order_by("-pk")


def on_the_shelf(types: Iterable[int] | None = None) -> QuerySet[Rebuild]:
    """Return the exchange units that wait on the shelf, released and in no parcel; of some types."""
    lying = PackingUnit.objects.lying()
    rows = Rebuild.objects.filter(
        stage=Stage.RELEASED, destination=Destination.EXCHANGE, packed__isnull=True
    ).exclude(pk__in=lying.values("rebuild"))
    if types is not None:
        rows = rows.filter(unit__unit_type__in=list(types))
    return rows.select_related("unit__unit_type", "work_order").order_by("pk")


def is_kept(core: Rebuild) -> bool:
    """Whether a unit stays with the shop as exchange core."""
    return core.stage == Stage.EXCHANGE_CORE or core.destination == Destination.EXCHANGE


def refuse_core(core: Rebuild, *, given: Rebuild, customer: Customer, kept: bool = True) -> None:
    """Raise RuleBroken where a unit from the shelf cannot be given for a core.

    ``kept`` asks that the core stays with the shop already: by its side exit, or received as such.
    """
    name = grouped(core.unit.serial)
    if core.work_order.customer_id != customer.pk:
        raise RuleBroken(f"Core {name} came from another customer than {customer}.")
    if not may_replace(given.unit.unit_type, core.unit.unit_type):
        raise RuleBroken(
            f"Unit {grouped(given.unit.serial)} is a {given.unit.unit_type}; it cannot stand in for core "
            f"{name}, a {core.unit.unit_type}."
        )
    if core.pk == given.pk or hasattr(core, "packed"):
        raise RuleBroken(f"Core {name} has left, or is the unit itself.")
    if getattr(core, "exchange", None):
        raise RuleBroken(f"For core {name} an exchange unit was given already.")
    if kept and not is_kept(core):
        raise RuleBroken(
            f"Core {name} is {core.get_stage_display()} and goes back to the customer: the lead takes it out "
            "of its rebuild as exchange core before the exchange unit leaves."
        )


def record_exchange(act: Act, packed: PackedUnit, *, core: Rebuild | None, due: date | None) -> Exchange:
    """Write down for which core a unit left; call inside the service that ships it."""
    came: dict[str, Any] = {"came_at": act.at, "came_by": act.by} if core else {}
    return keep(Exchange(packed=packed, core=core, due=None if core else due, **came))


def _owed(exchange: Exchange) -> Exchange:
    row = locked(exchange, fixed=("packed",))
    if row.core_id:
        raise RuleBroken("The core of this exchange is here already.")
    if row.waived_at:
        raise RuleBroken(f"This core was waived: {row.waive_reason}")
    return row


def customer_of(exchange: Exchange) -> Customer:
    """Return who owes the core: the customer of the work order that the unit left with."""
    return exchange.packed.parcel.shipment.work_order.customer


@service("ship")
def core_came(*, act: Act, exchange: Exchange, core: Rebuild) -> Exchange:
    """Tie an owed core that came to the unit given for it.

    Raises RuleBroken for a core of another customer or type, one that is not kept, and one that
    another exchange has.
    """
    row = _owed(exchange)
    refuse_core(locked(core), given=row.packed.rebuild, customer=customer_of(row))
    row.core, row.came_at, row.came_by = core, act.at, act.by
    return keep(row)


@service("ship")
def change_core_due(*, act: Act, exchange: Exchange, due: date) -> Exchange:
    """Set another day on which an owed core is due, for the reason in ``act.why``."""
    row = _owed(exchange)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the day changes."})
    refuse_past(due, act)
    row.due = due
    return keep(row)


@service("ship")
def waive_core(*, act: Act, exchange: Exchange) -> Exchange:
    """Give up an owed core, for the reason in ``act.why``: it is paid for, or will not come."""
    row = _owed(exchange)
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why no core comes."})
    row.waived_at, row.waived_by, row.waive_reason = act.at, act.by, act.why.strip()
    return keep(row)


def refuse_past(due: date, act: Act) -> None:
    """Raise RuleBroken for a day that is past."""
    if due < timezone.localdate(act.at):
        raise RuleBroken(fields={"due": "This day is past. Enter the day on which the core is due."})


def exchanges_of(work_order: WorkOrder) -> QuerySet[Exchange]:
    """Return the exchanges that left with a work order."""
    return Exchange.objects.filter(packed__parcel__shipment__work_order=work_order).select_related(
        "packed__rebuild__unit", "core__unit"
    )
