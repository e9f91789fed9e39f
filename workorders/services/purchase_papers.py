"""The paper of a purchase order, from rows to plain data."""

from inventory.models import Part, PurchaseOrder
from shop.errors import RuleBroken
from shop.models import ShopProfile
from workorders.documents.purchase_order import OrderedPart, PurchaseOrderPaper, purchase_order_pdf
from workorders.services.papers import local, shop_data


def purchase_order_paper(order: PurchaseOrder) -> bytes:
    """Print an order on the shop's paper; a draft and a cancelled one say so."""
    profile = ShopProfile.objects.first()
    if profile is None:
        raise RuleBroken("Enter the shop's name and address on the page Shop: the order prints them.")
    lines = list(order.lines.select_related("part"))
    data = PurchaseOrderPaper(
        number=order.number,
        shop=shop_data(profile),
        supplier=order.supplier.name,
        supplier_contact=", ".join(filter(None, (order.supplier.phone, order.supplier.email))),
        currency=profile.currency,
        drafted_on=local(order.drafted_at).date(),
        ordered_on=local(order.sent_at).date() if order.sent_at else None,
        lines=tuple(
            OrderedPart(
                supplier_number=line.supplier_number,
                part=_words(line.part),
                pieces=line.quantity,
                unit_price=line.unit_price,
            )
            for line in lines
        ),
        note=order.note,
        cancelled=order.end_reason if order.state == PurchaseOrder.State.CANCELLED else "",
        has_seals=any(line.part.polymer for line in lines),
    )
    return purchase_order_pdf(data, page_size=profile.paper_size)


def _words(part: Part) -> str:
    hardness = f"{part.hardness_shore_a} Shore A" if part.hardness_shore_a else ""
    size = "" if part.size_designation in part.name else part.size_designation
    return ", ".join(filter(None, (str(part), size, part.polymer, hardness)))
