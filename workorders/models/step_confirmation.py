"""What a person confirmed before a test step began: conditions, medium, rod port and relief path."""

from typing import Any

from django.db import models
from django.db.models import Q

from shop.models import AppendOnly, TestStep

from .pressure_test import PressureTest


class StepConfirmation(AppendOnly):
    """The start of one step of a running test; the latest before its result is the one it rests on."""

    class RodPort(models.TextChoices):
        NOT_ASKED = "", "not asked"
        OPEN = "open", "open: to the tank or a measuring glass"
        RELIEVED = "relieved", "relieved through a valve"
        PLUGGED = "plugged", "plugged"
        NONE = "none", "the unit has none: its rod side is vented"

    pressure_test = models.ForeignKey(PressureTest, models.PROTECT, related_name="confirmations")
    step = models.ForeignKey(TestStep, models.PROTECT, related_name="+")
    conditions: Any = models.JSONField(default=list, blank=True)
    medium = models.CharField(max_length=6, choices=TestStep.Medium, blank=True)
    rod_port = models.CharField(max_length=8, choices=RodPort, blank=True)
    raised_bar = models.FloatField("a plugged rod port would see, bar", null=True, blank=True)
    relief_bar = models.FloatField("relief opens at, bar", null=True, blank=True)
    relief_by = models.CharField("what relieves", max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_stepconfirmation_no_gas",
                condition=~Q(medium="gas"),
                violation_error_message="No compressed air or gas: a unit is tested with liquid.",
            ),
            models.CheckConstraint(
                name="workorders_stepconfirmation_plugged_relieved",
                condition=~Q(rod_port__in=["plugged", "relieved"]) | Q(relief_bar__isnull=False),
                violation_error_message="A rod port that is not open needs its relief path.",
            ),
            models.CheckConstraint(
                name="workorders_stepconfirmation_relief_whole",
                condition=Q(relief_bar__isnull=True, relief_by="")
                | (Q(relief_bar__isnull=False, relief_bar__gt=0) & ~Q(relief_by="")),
                violation_error_message="A relief path is a pressure above 0 bar, and what relieves it.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.step} started by {self.by}"

    @property
    def lines(self) -> list[str]:
        """What was confirmed, each a sentence."""
        found = [each["sentence"] for each in self.conditions]
        if self.rod_port == self.RodPort.NONE:
            found.append("The unit has no rod port: its rod side is vented.")
        elif self.rod_port:
            raised = f" (plugged it would see {self.raised_bar:.0f} bar)" if self.raised_bar else ""
            found.append(f"Rod port {self.get_rod_port_display()}{raised}.")
        if self.relief_bar is not None:
            found.append(f"Relief opens at {self.relief_bar:g} bar: {self.relief_by}.")
        if self.medium:
            found.append(f"Test medium: {self.get_medium_display()}.")
        return found
