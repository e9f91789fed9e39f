"""Addresses that a parcel of a work order may go to."""

from collections.abc import Iterator
from dataclasses import dataclass

from shop.models import Customer
from workorders.models import WorkOrder


@dataclass(frozen=True)
class Address:
    """An address to choose: what it is called, and its lines as on a label."""

    key: str
    title: str
    lines: str


def ship_choices(work_order: WorkOrder) -> list[Address]:
    """Return what is known of where an order goes, that of the order first, the same lines once."""
    found = [
        Address("order", "As the work order says", work_order.ship_to),
        *account_addresses(work_order.customer),
    ]
    if work_order.end_owner:
        found.append(Address("owner", "The owner of the machine", work_order.end_owner.own_address))
    first: dict[str, Address] = {}
    for each in found:
        if each.lines:
            first.setdefault(each.lines, each)
    return list(first.values())


def account_addresses(customer: Customer) -> list[Address]:
    """Return the ship-to addresses of a customer, the default first, and its own address last."""
    return list(_account_addresses(customer))


def _account_addresses(customer: Customer) -> Iterator[Address]:
    for row in customer.ship_tos.in_use():
        title = f"{row.label} ({row.note})" if row.note else row.label
        yield Address(f"s{row.pk}", title[:1].upper() + title[1:], row.lines)
    if customer.own_address:
        yield Address("own", "The customer’s own address", customer.own_address)
