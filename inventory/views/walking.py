"""The walking order of the stores: shown, set, and put back."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.views.decorators.http import require_http_methods, require_POST

from inventory.forms.walking import WalkingOrderForm
from inventory.models import WalkingOrder
from inventory.services.walking import (
    places_in_use,
    set_walking_order,
    undo_walking_order,
    walking_lines,
)
from shop.changes import changes
from shop.views.answers import act_of, answer_form, answer_post, needs


@require_http_methods(["GET", "POST"])
@needs("stores")
def walking_order(request: HttpRequest) -> HttpResponse:
    """Set the order in which pick lists name the places."""
    lines = walking_lines()
    url = reverse("inventory:walking_order")

    def write(data: dict[str, Any]) -> str:
        set_walking_order(act=act_of(request, data["why"]), lines=data["lines"].splitlines())
        messages.success(request, "The walking order is set; pick lists follow it from now on.")
        return url

    return answer_form(
        request,
        form=WalkingOrderForm(request.POST or None, initial={"lines": "\n".join(lines)}),
        template="inventory/walking_order.html",
        write=write,
        context={
            "trail": [("Lots", reverse("inventory:lots"))],
            "places": places_in_use(),
            "is_set": bool(lines),
            "changes": changes(WalkingOrder.history.all()),
            "cancel_url": reverse("inventory:lots"),
        },
    )


@require_POST
@needs("stores")
def walking_order_undo(request: HttpRequest) -> HttpResponse:
    """Put the order back as it stood before the last change."""

    def write() -> str:
        undo_walking_order(act=act_of(request, "took the last change back"))
        messages.success(request, "The walking order is as it was before the last change.")
        return reverse("inventory:walking_order")

    return answer_post(request, write)
