"""The paper of a purchase order, as a download."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_GET

from inventory.models import PurchaseOrder
from shop.views.answers import needs
from workorders.services.purchase_papers import purchase_order_paper


@require_GET
@needs("see")
def purchase_order_pdf(request: HttpRequest, number: str) -> HttpResponse:
    """Print an order."""
    order = get_object_or_404(PurchaseOrder.objects.select_related("supplier"), number=number)
    response = HttpResponse(purchase_order_paper(order), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="order-{order.number}.pdf"'
    return response
