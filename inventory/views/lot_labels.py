"""Labels of a lot: the choice of stock, the files, and the short address on them."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET

from inventory.documents.lot_label import LotLabel, lot_address
from inventory.models import Lot
from inventory.services.stock import home_place
from shop.documents.label import Label
from shop.errors import RuleBroken
from shop.views.answers import needs
from shop.views.label_files import label_answer, label_choices

MOST_COPIES = 300


@require_GET
@needs("see")
def lot_scanned(request: HttpRequest, number: str) -> HttpResponse:
    """Answer the symbol of a lot's label."""
    return redirect(get_object_or_404(Lot, number__iexact=number).get_absolute_url())


@require_GET
@needs("stores")
def lot_labels(request: HttpRequest, number: str) -> HttpResponse:
    """Choose the stock for a lot's labels, with a picture of each."""
    row = get_object_or_404(Lot.objects.select_related("part"), number=number)
    trail = [("Lots", reverse("inventory:lots")), (row.number, row.get_absolute_url())]
    context = {**label_choices(request), "lot": row, "most": MOST_COPIES, "trail": trail}
    return render(request, "inventory/lot_labels.html", context)


@require_GET
@needs("stores")
def lot_label_file(request: HttpRequest, number: str, paper: str, kind: str) -> HttpResponse:
    """The label of a lot as a file, as many times as asked."""
    row = get_object_or_404(Lot.objects.select_related("part").prefetch_related("balances"), number=number)
    return label_answer(request, [_label(row)] * _copies(request), paper, kind, row.number)


def _label(lot: Lot) -> Label:
    return LotLabel(
        number=lot.number,
        address=lot_address(settings.PUBLIC_ADDRESS, lot.number),
        part=str(lot.part),
        cure_date=lot.cure_date,
        use_by=lot.use_by,
        pieces=lot.pieces_left,
        place=home_place(lot),
    ).as_label()


def _copies(request: HttpRequest) -> int:
    asked = request.GET.get("copies", "1").strip()
    if not asked.isdecimal() or not 1 <= int(asked) <= MOST_COPIES:
        raise RuleBroken(f"Ask for 1 to {MOST_COPIES} labels.")
    return int(asked)
