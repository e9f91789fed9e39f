"""The stock ledger: movements that are only ever added, and the balance they sum to."""

from django.db import models
from django.db.models import Q

from shop.models import AppendOnly

from .lot import Lot


class Balance(models.Model):
    """Pieces of a lot at a place: the sum of its movements, changed in the same transaction."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="balances")
    place = models.CharField(max_length=40)
    quantity = models.IntegerField(default=0)

    class Meta:
        ordering = ["lot", "place"]
        constraints = [
            models.UniqueConstraint(
                fields=["lot", "place"],
                name="inventory_balance_place_once",
                violation_error_message="This lot has a balance at that place already.",
            ),
            models.CheckConstraint(
                name="inventory_balance_not_negative",
                condition=Q(quantity__gte=0),
                violation_error_message="The ledger does not hold that many pieces at that place.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} at {self.place}: {self.quantity}"


class Movement(AppendOnly):
    """Pieces of a lot that came or went; never changed, never deleted."""

    class Kind(models.TextChoices):
        RECEIVED = "received", "received"
        USED = "used", "used"
        RETURNED = "returned", "returned"
        FOUND = "found", "found in bin"
        SCRAPPED = "scrapped", "scrapped"
        ADJUSTED = "adjusted", "adjusted"
        MOVED = "moved", "moved"

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="movements")
    kind = models.CharField(max_length=10, choices=Kind)
    place = models.CharField(max_length=40)
    quantity = models.IntegerField()
    document = models.CharField(max_length=60, blank=True)
    returns = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="returned_by")

    class Meta:
        ordering = ["pk"]
        indexes = [
            models.Index(fields=["lot", "place"], name="inventory_movement_lot_place"),
            # With what the sums of usage read, so that they never look into the table itself.
            models.Index(fields=["kind", "at", "lot", "quantity"], name="inventory_movement_usage"),
        ]
        constraints = [
            models.CheckConstraint(
                name="inventory_movement_not_zero",
                condition=~Q(quantity=0),
                violation_error_message="A movement moves at least one piece.",
            ),
            models.CheckConstraint(
                name="inventory_movement_sign",
                condition=(
                    Q(kind__in=["received", "returned", "found"], quantity__gt=0)
                    | Q(kind__in=["used", "scrapped"], quantity__lt=0)
                    | Q(kind__in=["adjusted", "moved"])
                ),
                violation_error_message="Pieces that come in count up; pieces that go out count down.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()} {self.quantity:+d} of {self.lot}"


class Settlement(AppendOnly):
    """What stores found out about a 'found in bin' movement."""

    movement = models.OneToOneField(Movement, models.PROTECT, related_name="settlement")
    finding = models.CharField(max_length=300)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.movement}: {self.finding}"
