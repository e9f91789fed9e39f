"""The pick list of a work order, as a download."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.views.answers import needs
from workorders.models import WorkOrder
from workorders.services.pick_list import pick_list_paper


@require_GET
@needs("see")
def pick_list(request: HttpRequest, number: str) -> HttpResponse:
    """Print the pick list of the open units, or of those named by ``unit``; nothing is reserved."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    units = {int(pk) for pk in request.GET.getlist("unit") if pk.isdecimal()}
    data = pick_list_paper(order, on=timezone.localdate(), units=units)
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="pick-list-{order.number}.pdf"'
    return response
