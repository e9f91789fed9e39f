"""What forbids that a merge of customers is taken back: papers that were issued since then."""

from shop.models import CustomerMerge
from shop.services import merging
from workorders.models import Release, Shipment, WorkOrder


def papers_since(merge: CustomerMerge) -> list[str]:
    """Name each certificate and packing list of a moved work order, which name the one that stays."""
    moved = [pk for each in merge.moved if each["model"] == WorkOrder._meta.label for pk in each["pks"]]
    released = Release.objects.filter(rebuild__work_order__in=moved, at__gt=merge.at)
    sent = Shipment.objects.filter(work_order__in=moved, at__gt=merge.at).select_related("work_order")
    return [
        *[
            f"Certificate {row} of {row.rebuild.work_order} was issued since."
            for row in released.select_related("rebuild__work_order")
        ],
        *[f"Shipment {row} of {row.work_order} left since." for row in sent],
    ]


def register() -> None:
    """Ask this before a merge is taken back."""
    merging.register_hindrance(papers_since)
