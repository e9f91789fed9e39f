"""Counting by place: what somebody counted, blind, against the ledger of that moment."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Tracked

from .lot import Lot
from .movement import Movement

COUNTED = Q(counted__isnull=False, ledger__isnull=False, counted_by__isnull=False)
NOT_COUNTED = Q(counted__isnull=True, ledger__isnull=True, counted_by__isnull=True)


class PlaceCount(Tracked):
    """One counting of one place of the stores."""

    class State(models.TextChoices):
        OPEN = "open", "being counted"
        BOOKED = "booked", "booked"
        DROPPED = "dropped", "dropped"

    place = models.CharField(max_length=40)
    state = models.CharField(max_length=8, choices=State, default=State.OPEN)
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField(max_length=300, blank=True)
    same_person = models.BooleanField("booked by a person who counted, above the limit", default=False)

    class Meta:
        ordering = ["-begun_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["place"],
                condition=Q(state="open"),
                name="inventory_placecount_one_open",
                violation_error_message="This place is being counted already.",
            ),
            models.CheckConstraint(
                name="inventory_placecount_closed_by_somebody",
                condition=Q(state="open", closed_at__isnull=True, closed_by__isnull=True)
                | (~Q(state="open") & Q(closed_at__isnull=False, closed_by__isnull=False) & ~Q(reason="")),
                violation_error_message="A count that is over says who closed it, when and why.",
            ),
        ]

    def __str__(self) -> str:
        return f"count of {self.place}, {self.begun_at:%d %b %Y}"

    def get_absolute_url(self) -> str:
        return reverse("inventory:count", args=[self.pk])


class CountLine(Tracked):
    """Pieces of one lot counted at the place, and what the ledger held there at that moment."""

    count = models.ForeignKey(PlaceCount, models.PROTECT, related_name="lines")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="count_lines")
    counted = models.PositiveIntegerField(null=True, blank=True)
    ledger = models.IntegerField("the ledger at that moment", null=True, blank=True)
    counted_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    movement = models.OneToOneField(
        Movement, models.PROTECT, null=True, blank=True, related_name="count_line"
    )

    class Meta:
        ordering = ["count", "lot__part__number", "lot__number"]
        constraints = [
            models.UniqueConstraint(
                fields=["count", "lot"],
                name="inventory_countline_lot_once",
                violation_error_message="The count has this lot already.",
            ),
            models.CheckConstraint(
                name="inventory_countline_with_its_ledger",
                condition=COUNTED | NOT_COUNTED,
                violation_error_message="What was counted stands with who counted and the ledger then.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} in the {self.count}"

    @property
    def difference(self) -> int:
        """Pieces found above the ledger of the moment; below zero where some were missing."""
        return 0 if self.counted is None or self.ledger is None else self.counted - self.ledger
