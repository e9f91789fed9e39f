"""Parts used: pieces of one lot in one rebuild, tied one to one to the ledger."""

from django.db import models
from django.db.models import Q

from inventory.models import Lot, Movement
from shop.models import AppendOnly

from .finding import AtPlace
from .operation import Operation
from .rebuild import Rebuild


class PartUsed(AtPlace, AppendOnly):
    """So many of one lot, in one rebuild, at one position.

    A wrong entry is taken back by a row in ``PartTakenBack``; both stay.
    """

    class Use(models.TextChoices):
        FITTED = "fitted", "fitted"
        SPOILED = "spoiled", "spoiled in fitting"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="parts_used")
    operation = models.ForeignKey(Operation, models.PROTECT, null=True, blank=True, related_name="parts_used")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="parts_used")
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="part_used")
    quantity = models.PositiveSmallIntegerField()
    use = models.CharField(max_length=8, choices=Use, default=Use.FITTED)
    found_in_bin = models.BooleanField(default=False)
    fit_reason = models.CharField("why it goes in although it does not fit", max_length=300, blank=True)
    fit_warning = models.TextField("what does not fit or is uncertain", blank=True)
    lot_reason = models.CharField("why this lot and not the one to expire first", max_length=300, blank=True)
    lot_warning = models.CharField("which lot was passed over", max_length=200, blank=True)
    upgrade = models.CharField("upgraded material, as the kit stated it", max_length=400, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_partused_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="Record at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.lot} at {self.place}"


class PartTakenBack(AppendOnly):
    """A wrong or undone entry of a part: the pieces went back to the shelf."""

    part_used = models.OneToOneField(PartUsed, models.PROTECT, related_name="taken_back")
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="part_taken_back")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"taken back: {self.part_used}"
