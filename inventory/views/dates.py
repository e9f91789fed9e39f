"""What time does to the stores: expiring within some days, dead stock."""

from decimal import Decimal

from django.core.paginator import Paginator
from django.db.models import Q, Sum
from django.http import HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_GET

from inventory.documents.lot_label import scanned_words
from inventory.services.dates import dead_stock, expiring_lots
from inventory.services.stores_settings import stores_settings
from inventory.views import columns
from shop.services.profile import currency_of_shop
from shop.views.answers import needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list

MOST_DAYS, MOST_MONTHS = 3650, 240


def asked_number(request: HttpRequest, name: str, usual: int, most: int) -> int:
    """Read a whole number of the address, from 1 to ``most``; anything else is the usual one."""
    text = request.GET.get(name, "")
    number = int(text) if text.isascii() and text.isdigit() and len(text) < 6 else 0
    return number if 1 <= number <= most else usual


@require_GET
@needs("see")
def expiring(request: HttpRequest) -> HttpResponse:
    """List the lots that expire within so many days, and what of them will be left."""
    usual = stores_settings().expiring_days
    days, text = asked_number(request, "days", usual, MOST_DAYS), searched(request)
    words = [word.casefold() for word in scanned_words(text)]
    rows = [
        row
        for row in expiring_lots(on=timezone.localdate(), days=days)
        if all(word in f"{row.lot} {row.lot.part} {row.lot.supplier}".casefold() for word in words)
    ]
    context = {
        "value": sum((row.value for row in rows if row.value is not None), Decimal()),
        "unused": sum(row.unused for row in rows),
        "days": days,
        "text": text,
        "currency": currency_of_shop(),
    }
    rows = in_order(request, columns.EXPIRING, rows)
    context["page"] = Paginator(rows, 50).get_page(request.GET.get("page"))
    return answer_list(request, "inventory/expiring.html", context, table=columns.EXPIRING, rows=rows)


@require_GET
@needs("see")
def dead(request: HttpRequest) -> HttpResponse:
    """List the parts that lie there and that nobody used for so many months, the dearest first."""
    usual = stores_settings().dead_months
    months, text = asked_number(request, "months", usual, MOST_MONTHS), searched(request)
    rows = dead_stock(on=timezone.localdate(), months=months)
    for word in text.split():
        rows = rows.filter(Q(number__icontains=word) | Q(name__icontains=word))
    rows = in_order(request, columns.DEAD_STOCK, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        # Names of their own: a sum named like the column it adds up would stand in for it in the filter.
        "total": rows.aggregate(worth=Sum("value"), pieces=Sum("held")),
        "months": months,
        "text": text,
        "currency": currency_of_shop(),
    }
    return answer_list(request, "inventory/dead_stock.html", context, table=columns.DEAD_STOCK, rows=rows)
