"""The ledger as a list: every movement, narrowed, sorted, as a file."""

from datetime import datetime, time, timedelta
from typing import Any

from django import forms
from django.core.paginator import Paginator
from django.db.models import Q, QuerySet, Sum
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from inventory.documents.lot_label import scanned_words
from inventory.forms.stores import DateInput
from inventory.models import Movement
from inventory.views import columns
from shop.forms import ShopForm
from shop.views.answers import needs
from shop.views.sorting import in_order
from shop.views.tables import answer_list

NAMES = (
    "lot__number",
    "lot__part__number",
    "lot__part__name",
    "document",
    "place",
    "why",
    "by__printed_name",
)


class LedgerForm(ShopForm):
    """Which movements; a field that is empty or wrong narrows nothing."""

    q = forms.CharField(label="Lot, part, place, document, person", required=False)
    kind = forms.ChoiceField(label="What", required=False, choices=[("", "all"), *Movement.Kind.choices])
    start = forms.DateField(label="From", required=False, widget=DateInput(attrs={"type": "date"}))
    end = forms.DateField(label="Until", required=False, widget=DateInput(attrs={"type": "date"}))
    lot = forms.CharField(required=False, widget=forms.HiddenInput())

    def narrow(self, rows: "QuerySet[Movement]") -> "QuerySet[Movement]":
        """Return the movements asked for; both days count."""
        asked = self.cleaned_data
        if asked.get("lot"):
            rows = rows.filter(lot__number=asked["lot"])
        if asked.get("kind"):
            rows = rows.filter(kind=asked["kind"])
        if asked.get("start"):
            rows = rows.filter(at__gte=_midnight(asked["start"]))
        if asked.get("end"):
            rows = rows.filter(at__lt=_midnight(asked["end"] + timedelta(days=1)))
        for word in scanned_words(asked.get("q", "")):
            found = Q()
            for name in NAMES:
                found |= Q(**{f"{name}__icontains": word})
            rows = rows.filter(found)
        return rows


def _midnight(day: Any) -> datetime:
    return timezone.make_aware(datetime.combine(day, time.min))


@require_GET
@needs("see")
def ledger(request: HttpRequest) -> HttpResponse:
    """List the movements of the ledger, the latest first, with the pieces they come to."""
    form = LedgerForm(request.GET)
    form.is_valid()
    rows = form.narrow(Movement.objects.order_by("-pk"))
    total = rows.aggregate(pieces=Sum("quantity"))["pieces"] or 0
    rows = in_order(request, columns.LEDGER, rows.select_related("lot__part", "by", "settlement"))
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "form": form,
        "lot": form.cleaned_data.get("lot", ""),
        "narrowed": any(form.cleaned_data.values()),
        "total": total,
    }
    return answer_list(request, "inventory/ledger.html", context, table=columns.LEDGER, rows=rows)
