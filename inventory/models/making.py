"""What the shop makes itself: recipes, and lots made from pieces of older lots."""

from django.db import models
from django.db.models import F, Q

from shop.models import AppendOnly, Tracked

from .lot import Lot
from .movement import Movement
from .part import Part


class RecipeLine(Tracked):
    """So many pieces of a part go into one piece of a part that the shop makes."""

    made = models.ForeignKey(Part, models.PROTECT, related_name="recipe")
    part = models.ForeignKey(Part, models.PROTECT, related_name="recipes_with_it")
    quantity = models.PositiveSmallIntegerField("pieces", default=1)

    class Meta:
        ordering = ["made", "part__number"]
        constraints = [
            models.UniqueConstraint(
                fields=["made", "part"],
                name="inventory_recipeline_part_once",
                violation_error_message="The recipe has this part already; change its pieces.",
            ),
            models.CheckConstraint(
                name="inventory_recipeline_quantity_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="A recipe line needs at least one piece.",
            ),
            models.CheckConstraint(
                name="inventory_recipeline_not_itself",
                condition=~Q(made=F("part")),
                violation_error_message="A part is not made from itself.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} x {self.part} for {self.made.number}"


class Making(AppendOnly):
    """How a lot was made here; its pieces came from older lots, if from any."""

    lot = models.OneToOneField(Lot, models.PROTECT, related_name="making")
    done_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    hours = models.DecimalField("hours of work", max_digits=6, decimal_places=2, null=True, blank=True)
    note = models.CharField("what was done", max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_making_hours_not_negative",
                condition=Q(hours__isnull=True) | Q(hours__gte=0),
                violation_error_message="Hours of work count from zero.",
            ),
        ]

    def __str__(self) -> str:
        return f"making of lot {self.lot}"


class MakingInput(AppendOnly):
    """Pieces of an older lot that went into a made one, tied to their movement in the ledger.

    A trigger refuses pieces of a lot that is not older, so that no lot can come to hold itself.
    """

    making = models.ForeignKey(Making, models.PROTECT, related_name="inputs")
    movement = models.OneToOneField(Movement, models.PROTECT, related_name="making_input")
    lot_reason = models.CharField("why this lot and not the one to expire first", max_length=300, blank=True)
    lot_warning = models.CharField("which lot was passed over", max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{-self.movement.quantity} of {self.movement.lot} in {self.making.lot}"


class MakingTakenBack(AppendOnly):
    """A making that was undone before anything of it was used: the pieces went back."""

    making = models.OneToOneField(Making, models.PROTECT, related_name="taken_back")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"taken back: {self.making}"
