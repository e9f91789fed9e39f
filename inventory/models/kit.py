"""Kits: which part goes to which position, and sets packed ahead."""

from django.db import models
from django.db.models import Q

from shop.models import Component, Port, SealPosition, Tracked, TypeRevision

from .lot import Lot
from .part import Part

ONE_PLACE = (
    Q(position__isnull=False, component__isnull=True, port__isnull=True)
    | Q(position__isnull=True, component__isnull=False, port__isnull=True)
    | Q(position__isnull=True, component__isnull=True, port__isnull=False)
)


class Kit(Tracked):
    """The set of parts that renews one revision of a unit type."""

    revision = models.OneToOneField(TypeRevision, models.PROTECT, related_name="kit")
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class KitLine(Tracked):
    """A part for one place of the unit; alternatives in order of preference."""

    kit = models.ForeignKey(Kit, models.PROTECT, related_name="lines")
    position = models.ForeignKey(
        SealPosition, models.PROTECT, null=True, blank=True, related_name="kit_lines"
    )
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="kit_lines")
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="kit_lines")
    part = models.ForeignKey(Part, models.PROTECT, related_name="kit_lines")
    quantity = models.PositiveSmallIntegerField(default=1)
    preference = models.PositiveSmallIntegerField(default=1)
    required = models.BooleanField(default=True)
    reason = models.CharField("why this part", max_length=200, blank=True)

    class Meta:
        ordering = ["kit", "position__order", "component__order", "port__order", "preference"]
        constraints = [
            models.CheckConstraint(
                name="inventory_kitline_one_place",
                condition=ONE_PLACE,
                violation_error_message="A kit line names one position, component or port.",
            ),
            models.CheckConstraint(
                name="inventory_kitline_quantity_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="A kit line needs at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.quantity} x {self.part}"

    @property
    def place(self) -> SealPosition | Component | Port:
        """The position, component or port that the line is for."""
        found = self.position or self.component or self.port
        assert found is not None
        return found


class PackedKit(Tracked):
    """A kit packed from known lots, waiting to be used by one scan."""

    class State(models.TextChoices):
        PACKED = "packed", "packed"
        USED = "used", "used"
        UNPACKED = "unpacked", "unpacked"

    code = models.CharField(max_length=20, unique=True)
    kit = models.ForeignKey(Kit, models.PROTECT, related_name="packed")
    state = models.CharField(max_length=10, choices=State, default=State.PACKED)
    packed_at = models.DateTimeField()
    packed_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    document = models.CharField("used in", max_length=60, blank=True)

    class Meta:
        ordering = ["-packed_at"]

    def __str__(self) -> str:
        return self.code


class PackedKitLine(Tracked):
    """Pieces of one lot in a packed kit, for one line of the kit."""

    packed_kit = models.ForeignKey(PackedKit, models.PROTECT, related_name="lines")
    kit_line = models.ForeignKey(KitLine, models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="packed_lines")
    quantity = models.PositiveSmallIntegerField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_packedkitline_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="A packed line holds at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.lot}"
