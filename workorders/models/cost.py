"""What a rebuild earned and took: the invoiced price, and minutes of work."""

from django.db import models
from django.db.models import Q

from shop.models import AppendOnly

from .rebuild import Rebuild


class InvoicedPrice(AppendOnly):
    """What was invoiced for a rebuild, in the shop's currency; a correction names the row it replaces."""

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="invoiced_prices")
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    invoice = models.CharField("number of the invoice", max_length=40, blank=True)
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_invoicedprice_not_negative",
                condition=Q(amount__gte=0),
                violation_error_message="A price is not negative.",
            ),
            models.CheckConstraint(
                name="workorders_invoicedprice_correction_reason",
                condition=Q(replaces__isnull=True) | ~Q(why=""),
                violation_error_message="A correction of a price says why.",
            ),
            models.UniqueConstraint(
                fields=["rebuild"],
                condition=Q(replaces__isnull=True),
                name="workorders_invoicedprice_first_once",
                violation_error_message="This rebuild has an invoiced price already; correct that one.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.amount} for {self.rebuild}"


class WorkTime(AppendOnly):
    """Minutes that one person worked on a rebuild; a correction names the row it replaces.

    A correction to no minutes takes an entry back.
    """

    class Kind(models.TextChoices):
        TEARDOWN = "teardown", "teardown and cleaning"
        REWORK = "rework", "rework"
        BUILD = "build", "building"
        TEST = "test", "testing"
        OTHER = "other", "other work"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="work_times")
    kind = models.CharField(max_length=10, choices=Kind)
    done_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    worked_on = models.DateField()
    minutes = models.PositiveSmallIntegerField()
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        ordering = ["worked_on", "pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_worktime_fits_a_day",
                condition=Q(minutes__lte=1440) & (Q(minutes__gt=0) | Q(replaces__isnull=False)),
                violation_error_message="An entry is of 1 to 1440 minutes; only a correction may be of none.",
            ),
            models.CheckConstraint(
                name="workorders_worktime_correction_reason",
                condition=Q(replaces__isnull=True) | ~Q(why=""),
                violation_error_message="A correction of minutes says why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.minutes} min"
