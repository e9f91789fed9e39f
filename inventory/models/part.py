"""Parts: seals and everything else that goes into a unit."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Polymer, Tracked


class Part(Tracked):
    """A catalogue part; pieces of it come in lots."""

    class Kind(models.TextChoices):
        O_RING = "o_ring", "O-ring"
        LIP_SEAL = "lip_seal", "lip seal"
        WIPER = "wiper", "wiper"
        ENERGISED = "energised", "energised profile"
        BACKUP_RING = "backup_ring", "back-up ring"
        SHAFT_SEAL = "shaft_seal", "radial shaft seal"
        CLIP = "clip", "clip or plate"
        HARDWARE = "hardware", "hardware"
        COMPONENT = "component", "component"

    SEALS = (Kind.O_RING, Kind.LIP_SEAL, Kind.WIPER, Kind.ENERGISED, Kind.BACKUP_RING, Kind.SHAFT_SEAL)

    number = models.CharField("part number", max_length=40, unique=True)
    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=12, choices=Kind)
    polymer = models.CharField(max_length=6, choices=Polymer, blank=True)
    hardness_shore_a = models.PositiveSmallIntegerField(null=True, blank=True)
    size_designation = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["number"]
        constraints = [
            models.CheckConstraint(
                name="inventory_part_seal_has_polymer",
                condition=Q(kind__in=["clip", "hardware", "component"]) | ~Q(polymer=""),
                violation_error_message="A seal needs its polymer.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.number} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("inventory:part", args=[self.pk])

    @property
    def is_static_profile(self) -> bool:
        """A plain O-ring rolls and wears under stroking (common practice, no source)."""
        return self.kind == self.Kind.O_RING
