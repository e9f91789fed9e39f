"""The seal that came out of a position, measured: what it was is a question, not a reading."""

from django.db import models
from django.db.models import F, Q

from shop.models import SealPosition, Tracked

from .instrument import Instrument
from .rebuild import Rebuild


class SealFound(Tracked):
    """The dimensions of the seal that came out of one position, and how far it may have changed."""

    class Profile(models.TextChoices):
        O_RING = "o_ring", "O-ring"
        LIP_SEAL = "lip_seal", "lip seal, wiper or other profile"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="seals_found")
    position = models.ForeignKey(SealPosition, models.PROTECT, related_name="+")
    profile = models.CharField("what came out", max_length=8, choices=Profile)
    inside_mm = models.FloatField("inside diameter, mm")
    section_mm = models.FloatField("section, mm", null=True, blank=True)
    outside_mm = models.FloatField("outside diameter, mm", null=True, blank=True)
    height_mm = models.FloatField("height, mm", null=True, blank=True)
    set_most_pct = models.FloatField("compression set, at most, %", default=0)
    swell_most_pct = models.FloatField("swell in volume, at most, %", default=0)
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="+")
    note = models.CharField(max_length=200, blank=True)
    measured_at = models.DateTimeField()
    measured_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")

    class Meta:
        ordering = ["position__order", "pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rebuild", "position"],
                name="workorders_sealfound_position_once",
                violation_error_message="The seal of this position is measured already; change that entry.",
            ),
            models.CheckConstraint(
                name="workorders_sealfound_sizes_of_profile",
                condition=(
                    Q(profile="o_ring", section_mm__gt=0, section_mm__isnull=False)
                    & Q(outside_mm__isnull=True, height_mm__isnull=True)
                )
                | (
                    Q(profile="lip_seal", section_mm__isnull=True)
                    & Q(outside_mm__isnull=False, outside_mm__gt=F("inside_mm"))
                    & Q(height_mm__isnull=False, height_mm__gt=0)
                ),
                violation_error_message=(
                    "An O-ring has an inside diameter and a section; another profile has an inside "
                    "diameter, a larger outside diameter and a height."
                ),
            ),
            models.CheckConstraint(
                name="workorders_sealfound_inside_above_nothing",
                condition=Q(inside_mm__gt=0),
                violation_error_message="The inside diameter is above 0 mm.",
            ),
            models.CheckConstraint(
                name="workorders_sealfound_allowances",
                condition=Q(set_most_pct__gte=0, set_most_pct__lt=100)
                & Q(swell_most_pct__gte=0, swell_most_pct__lte=200),
                violation_error_message="A set is 0 to below 100 %%, a swell 0 to 200 %%.",
            ),
        ]

    def __str__(self) -> str:
        if self.profile == self.Profile.O_RING:
            return f"{self.inside_mm:g} x {self.section_mm:g} mm"
        return f"{self.inside_mm:g} x {self.outside_mm:g} x {self.height_mm:g} mm"
