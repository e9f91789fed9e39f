"""What suppliers sell of a part: entering, changing, price lists."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from inventory.forms.purchasing import PricesForm, SupplierPartChangeForm, SupplierPartForm, prices_text
from inventory.models import Part, SupplierPart
from inventory.models.supplier_part import prices_on
from inventory.services.supplier_parts import save_prices, save_supplier_part
from shop.changes import changes
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs


def _back_to(part: Part) -> str:
    return f"{part.get_absolute_url()}#suppliers"


def _page(title: str, submit: str, part: Part) -> dict[str, Any]:
    trail = [("Parts", reverse("inventory:parts")), (part.number, part.get_absolute_url())]
    return {"title": title, "submit": submit, "trail": trail, "cancel_url": _back_to(part)}


@require_http_methods(["GET", "POST"])
@needs("stores")
def supplier_part_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a supplier of a part."""
    part = get_object_or_404(Part, pk=pk)

    def write(data: dict[str, Any]) -> str:
        save_supplier_part(act=act_of(request), part=part, **data)
        return _back_to(part)

    return answer_form(
        request,
        form=SupplierPartForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            **_page(f"A supplier of {part}", "Enter this supplier", part),
            "links": [("The supplier is not in the list: enter it", reverse("inventory:supplier_new"))],
        },
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def supplier_part_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change what a supplier sells of a part, with the reason."""
    row = get_object_or_404(SupplierPart.objects.select_related("part", "supplier"), pk=pk)

    def write(data: dict[str, Any]) -> str:
        save_supplier_part(act=act_of(request, data.pop("why")), supplier_part=row, **data)
        return _back_to(row.part)

    return answer_form(
        request,
        form=SupplierPartChangeForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={
            **_page(f"Change {row}", "Save the change", row.part),
            "changes": changes(row.history.all()),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def supplier_part_prices(request: HttpRequest, pk: int) -> HttpResponse:
    """Enter a price list; the one that is valid today stands in the form."""
    row = get_object_or_404(SupplierPart.objects.select_related("part", "supplier"), pk=pk)
    today = timezone.localdate()
    breaks = list(row.price_breaks.all())

    def write(data: dict[str, Any]) -> str:
        save_prices(act=act_of(request, data.pop("why")), supplier_part=row, **data)
        return _back_to(row.part)

    form = PricesForm(
        request.POST or None,
        currency=currency_of_shop(),
        today=today,
        initial={"prices": prices_text(prices_on(breaks, today))},
    )
    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=write,
        context={
            **_page(f"Prices of {row}", "Save this list", row.part),
            "note": "The whole list counts from its day on, in place of every earlier one.",
            "changes": changes(several=[row.price_breaks.model.history.filter(supplier_part=row)]),
        },
    )
