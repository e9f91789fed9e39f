"""Work orders: the rush that was promised, the owner of the machine, who holds the warranty."""

from datetime import date

from shop.errors import RuleBroken
from shop.models import Customer
from shop.services.customers import standing
from shop.services.writing import Act, keep, locked, service
from workorders.models import Rebuild, WorkOrder
from workorders.services.claims import carried_warranty


@service("promise")
def set_rush(*, act: Act, work_order: WorkOrder, wanted_by: date, agreed_by: str, why: str) -> WorkOrder:
    """Record that an order is a rush: wanted by a day, agreed to by somebody, for a reason."""
    row = locked(work_order)
    row.rush_wanted_by, row.rush_agreed_by, row.rush_why = wanted_by, agreed_by.strip(), why.strip()
    return keep(row)


@service("promise")
def end_rush(*, act: Act, work_order: WorkOrder) -> WorkOrder:
    """Record that an order is no rush any more, for the reason in ``act.why``."""
    _need_reason(act)
    row = locked(work_order)
    if row.rush_wanted_by is None:
        raise RuleBroken(f"{row} is no rush.")
    row.rush_wanted_by, row.rush_agreed_by, row.rush_why = None, "", ""
    return keep(row)


@service("promise")
def settle_holder(*, act: Act, work_order: WorkOrder, holder: str, end_owner: Customer | None) -> WorkOrder:
    """Say who owns the machine and who holds the warranty; a change needs the reason in ``act.why``.

    ``holder`` is a value of `Customer.Holder`. Raises RuleBroken for an owner who is the customer
    already, and for another holder once a certificate or a packing list names the one there is.
    """
    if holder not in Customer.Holder.values:
        raise RuleBroken(fields={"holder": "Choose who holds the warranty."})
    owner = standing(end_owner) if end_owner else None
    row = locked(work_order)
    if owner and owner.pk == row.customer_id:
        raise RuleBroken(f"{owner} is the customer of {row} already; the owner of the machine is another.")
    before, had_owner = row.holder, row.end_owner_id
    if had_owner not in (None, owner.pk if owner else None) or row.warranty_holder != holder:
        _need_reason(act)
    row.end_owner, row.warranty_holder = owner, holder
    if before and row.holder != before and _is_named(row):
        raise RuleBroken(
            f"A certificate or packing list of {row} names {before} as the holder of the warranty; "
            "it cannot go to somebody else any more."
        )
    return keep(row)


def _is_named(row: WorkOrder) -> bool:
    return row.shipments.exists() or row.rebuilds.filter(releases__isnull=False).exists()


def _need_reason(act: Act) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is changed; the reason stays in the history."})


def warranty_holder(work_order: WorkOrder, rebuild: Rebuild, core: Rebuild | None = None) -> Customer:
    """Return who holds the warranty of a unit that leaves with a work order.

    A warranty that goes on after a claim stays with its holder, also where an exchange unit stands
    in for the ``core`` that came under the claim. Raises RuleBroken where the owner
    of the machine holds it and is not named.
    """
    carried = carried_warranty(rebuild) or (carried_warranty(core) if core else None)
    holder = carried.holder if carried else work_order.holder
    if holder is None:
        raise RuleBroken(
            f"The warranty of {work_order} goes to the owner of the machine, who is not named yet. "
            "Name the owner on the page of the work order, or say there that the customer holds it."
        )
    return holder
