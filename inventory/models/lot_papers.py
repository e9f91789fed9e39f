"""What is known of a lot beside its package: certificates, and inspections with their readings."""

from django.db import models
from django.db.models import F, Q

from shop.models import AppendOnly, StoredFile, Tracked

from .lot import Lot

IS_EXTENSION = Q(purpose="extension", passed=True)


class LotCertificate(Tracked):
    """A certificate of a lot as a file; a wrong one is withdrawn with a reason and stays."""

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="certificates")
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    title = models.CharField("what it is", max_length=120, blank=True)
    withdrawn_why = models.CharField("why it is withdrawn", max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["lot", "file"],
                name="inventory_lotcertificate_once",
                violation_error_message="This file belongs to the lot already.",
            ),
        ]

    def __str__(self) -> str:
        return self.title or self.file.name


class LotInspection(AppendOnly):
    """What was looked at in a lot, on how many pieces, with which result; never changed.

    ``by``, ``at`` and ``why`` say who, when and for what reason. An inspection that extends the
    use-by date keeps the new date and the limit of the standard.
    """

    class Purpose(models.TextChoices):
        ARRIVAL = "arrival", "on arrival"
        MAKING = "making", "after making"
        EXTENSION = "extension", "for a later use-by date"

    lot = models.ForeignKey(Lot, models.PROTECT, related_name="inspections")
    purpose = models.CharField(max_length=10, choices=Purpose)
    certificate_seen = models.BooleanField(default=False)
    pieces = models.PositiveIntegerField("pieces inspected", default=0)
    what = models.CharField("what was inspected", max_length=300, blank=True)
    passed = models.BooleanField()
    extended_until = models.DateField(null=True, blank=True)
    limit_until = models.DateField("latest date of the standard", null=True, blank=True)
    basis = models.CharField("basis of the limit", max_length=300, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_lotinspection_date_if_extended",
                condition=(IS_EXTENSION & Q(extended_until__isnull=False, limit_until__isnull=False))
                | (~IS_EXTENSION & Q(extended_until__isnull=True)),
                violation_error_message="A passed inspection for a later date names that date and its limit; "
                "no other one does.",
            ),
            models.CheckConstraint(
                name="inventory_lotinspection_within_limit",
                condition=Q(extended_until__isnull=True) | Q(extended_until__lte=F("limit_until")),
                violation_error_message="The standard does not go beyond its limit.",
            ),
            models.CheckConstraint(
                name="inventory_lotinspection_says_what",
                condition=Q(certificate_seen=True) | (Q(pieces__gt=0) & ~Q(what="")),
                violation_error_message="Say what was inspected and on how many pieces.",
            ),
            models.UniqueConstraint(
                fields=["lot"],
                condition=IS_EXTENSION,
                name="inventory_lotinspection_extended_once",
                violation_error_message="The use-by date of this lot was extended already; that goes once.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} inspected {self.get_purpose_display()}"


class LotReading(AppendOnly):
    """One reading of an inspection, with the limits it was held against."""

    class Unit(models.TextChoices):
        MM = "mm", "mm"
        SHORE_A = "Shore A", "Shore A"
        GRAM = "g", "g"

    inspection = models.ForeignKey(LotInspection, models.PROTECT, related_name="readings")
    what = models.CharField(max_length=80)
    value = models.FloatField()
    unit = models.CharField(max_length=8, choices=Unit, default=Unit.MM)
    lower = models.FloatField(null=True, blank=True)
    upper = models.FloatField(null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_lotreading_limits_in_order",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit lies above the upper one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.what}: {self.value:g} {self.unit}"

    @property
    def is_within(self) -> bool:
        """Whether the reading lies within the limits given."""
        return (self.lower is None or self.value >= self.lower) and (
            self.upper is None or self.value <= self.upper
        )
