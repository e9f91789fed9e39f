"""In which order a person walks past the places of the stores."""

from django.db import models
from django.db.models import Q

from shop.models import Tracked


class WalkingOrder(Tracked):
    """One row: places, or the beginnings of their names, one a line, in the order of walking."""

    lines = models.TextField("places in walking order", blank=True, max_length=8000)

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="inventory_walkingorder_one_row",
                condition=Q(pk=1),
                violation_error_message="There is one walking order only; change the existing one.",
            ),
        ]

    def __str__(self) -> str:
        return "walking order"
