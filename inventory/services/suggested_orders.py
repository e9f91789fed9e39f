"""Orders drafted from what is short, one supplier at a time."""

from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import date
from decimal import Decimal

from inventory.models import PurchaseOrder, Supplier
from inventory.services.order_plan import OrderPlan, order_plans
from inventory.services.purchasing import Wanted, draft_order
from inventory.services.stock import day_of
from shop.errors import RuleBroken
from shop.services.writing import Act, service


@dataclass(kw_only=True)
class Suggestion:
    """What one supplier is to deliver; ``supplier`` None gathers the parts that have none entered."""

    supplier: Supplier | None
    plans: list[OrderPlan] = field(default_factory=list)

    @property
    def value(self) -> Decimal:
        """What the parts with a price cost."""
        return sum((plan.value for plan in self.plans if plan.value is not None), Decimal())

    @property
    def unpriced(self) -> int:
        """Parts without a price."""
        return sum(plan.value is None for plan in self.plans)


def suggestions(plans: Iterable[OrderPlan]) -> list[Suggestion]:
    """Gather the short parts by supplier, in the order of their names; those without one come last."""
    found: dict[int, Suggestion] = {}
    for plan in plans:
        if plan.quantity:
            supplier = plan.sold.supplier if plan.sold else None
            key = supplier.pk if supplier else 0
            found.setdefault(key, Suggestion(supplier=supplier)).plans.append(plan)
    return sorted(
        found.values(), key=lambda one: (one.supplier is None, one.supplier.name if one.supplier else "")
    )


@service("stores")
def draft_suggested(*, act: Act, supplier: Supplier, on: date | None = None) -> PurchaseOrder:
    """Draft an order of everything that is short and ordered at this supplier.

    What is on a draft counts as covered, so a second draft holds nothing twice. Raises RuleBroken
    where nothing is short.
    """
    plans = [
        plan
        for plan in order_plans(on=on or day_of(act))
        if plan.quantity and plan.sold and plan.sold.supplier_id == supplier.pk
    ]
    if not plans:
        raise RuleBroken(f"Nothing that is ordered at {supplier} is short now.")
    wanted = [Wanted(part=plan.part, quantity=plan.quantity) for plan in plans]
    return draft_order(act=act, supplier=supplier, wanted=wanted)
