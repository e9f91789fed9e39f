"""Addresses that a parcel of a work order may go to."""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from shop.models import Customer
from workorders.models import Box, WorkOrder


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
        *box_addresses(work_order.boxes.order_by("pk"), work_order.customer),
        *account_addresses(work_order.customer),
    ]
    if work_order.end_owner:
        found.append(Address("owner", "The owner of the machine", work_order.end_owner.own_address))
    return each_once(found)


def each_once(addresses: Iterable[Address]) -> list[Address]:
    """Return addresses without those that have no lines, or the lines of one before."""
    first: dict[str, Address] = {}
    for each in addresses:
        if each.lines:
            first.setdefault(each.lines, each)
    return list(first.values())


def box_addresses(boxes: Iterable[Box], sender: Customer) -> list[Address]:
    """Return where boxes go back to as it was announced; without the sender's name that comes first."""
    return [
        Address(f"b{box.pk}", f"As announced with box {box.number}", _named(box.return_address, sender))
        for box in boxes
        if box.return_address.strip()
    ]


def _named(text: str, sender: Customer) -> str:
    lines = [line.strip() for line in text.splitlines() if line.strip()]
    names = sender.name.casefold() in text.casefold()
    return "\n".join(lines if names else [sender.name, *lines])


def account_addresses(customer: Customer) -> list[Address]:
    """Return the ship-to addresses of a customer, the default first, and its own address last."""
    return list(_account_addresses(customer))


def _account_addresses(customer: Customer) -> Iterator[Address]:
    for row in customer.ship_tos.in_use():
        title = f"{row.label} ({row.note})" if row.note else row.label
        yield Address(f"s{row.pk}", title[:1].upper() + title[1:], row.lines)
    if customer.own_address:
        yield Address("own", "The customer’s own address", customer.own_address)
