"""What to order: every part with its cover, its reorder point and the quantity that follows."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_GET, require_POST

from inventory.models import Supplier
from inventory.services.order_plan import OrderPlan, order_plans
from inventory.services.stores_settings import stores_settings
from inventory.services.suggested_orders import draft_suggested, suggestions
from inventory.views import columns
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_post, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list

SHOWN = (("", "to order"), ("used", "all that are used"), ("expiring", "expiring before use"), ("all", "all"))


@require_GET
@needs("see")
def what_to_order(request: HttpRequest) -> HttpResponse:
    """List what is short by supplier, and every part with how that was reckoned."""
    text, show = searched(request), request.GET.get("show", "")
    plans = order_plans(on=timezone.localdate())
    rows = [plan for plan in plans if _is_shown(plan, show) and _matches(plan, text)]
    rows = in_order(request, columns.WHAT_TO_ORDER, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "suggestions": suggestions(plans),
        "text": text,
        "show": show,
        "choices": SHOWN,
        "narrowed": bool(text or show),
        "settings": stores_settings(),
        "currency": currency_of_shop(),
        "panels": panels_for("inventory:what_to_order", request, None),
        "may_order": may(request.user, "stores"),
        "refusal": refusal(request.user, "stores"),
    }
    return answer_list(
        request, "inventory/what_to_order.html", context, table=columns.WHAT_TO_ORDER, rows=rows
    )


def _is_shown(plan: OrderPlan, show: str) -> bool:
    if show == "all":
        return True
    if show == "used":
        return plan.usage is not None
    if show == "expiring":
        return plan.expiring > 0
    return plan.is_short


def _matches(plan: OrderPlan, text: str) -> bool:
    supplier = plan.sold.supplier.name if plan.sold else ""
    found = f"{plan.part.number} {plan.part.name} {supplier}".casefold()
    return all(word in found for word in text.casefold().split())


@require_POST
@needs("stores")
def order_draft(request: HttpRequest, supplier_pk: int) -> HttpResponse:
    """Draft the order of what is short at one supplier."""
    supplier = get_object_or_404(Supplier, pk=supplier_pk)
    return answer_post(
        request, lambda: draft_suggested(act=act_of(request, "drafted from what is short"), supplier=supplier)
    )
