"""Releases, shipments, warranties and claims: what happens after the test."""

from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from shop.models import AppendOnly, Customer, StoredFile, Tracked

from .rebuild import Rebuild, Signature
from .work_order import WorkOrder


class Release(AppendOnly):
    """The signed statement that a rebuild met its plan; a reissue names the one it replaces."""

    class Status(models.TextChoices):
        OVERHAULED = "overhauled", "overhauled"
        REPAIRED = "repaired", "repaired"
        TESTED_ONLY = "tested_only", "tested only"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="releases")
    number = models.CharField(max_length=16, unique=True)
    status = models.CharField(max_length=12, choices=Status)
    remarks = models.TextField(blank=True)
    signature = models.OneToOneField(Signature, models.PROTECT, related_name="release")
    content: Any = models.JSONField()
    certificate = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    fitter_page = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_release_reissue_reason",
                condition=Q(replaces__isnull=True) | ~Q(why=""),
                violation_error_message="A reissue says why it replaces the earlier release.",
            ),
            models.UniqueConstraint(
                fields=["rebuild"],
                condition=Q(replaces__isnull=True),
                name="workorders_release_first_once",
                violation_error_message="This rebuild is released already; reissue with a reason instead.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:release", args=[self.number])


class Shipment(AppendOnly):
    """What left, in which parcels, to whom."""

    number = models.CharField(max_length=16, unique=True)
    work_order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="shipments")
    recipient = models.ForeignKey(Customer, models.PROTECT, related_name="shipments")
    address = models.TextField()
    carrier = models.CharField(max_length=60, blank=True)
    packing_list = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:shipment", args=[self.number])


class Measured(models.Model):
    """What the scale and the tape say of a parcel, as far as anybody asked them."""

    weight_kg = models.FloatField("weight, kg", null=True, blank=True)
    length_cm = models.FloatField("length, cm", null=True, blank=True)
    width_cm = models.FloatField("width, cm", null=True, blank=True)
    height_cm = models.FloatField("height, cm", null=True, blank=True)

    class Meta:
        abstract = True

    @property
    def measures(self) -> str:
        """Weight and size as printed."""
        return self.measures_of(self.weight_kg, self.size_cm)

    @staticmethod
    def measures_of(weight_kg: float | None, size_cm: tuple[float, float, float] | None) -> str:
        """Write a weight and a size, such as ``4.2 kg, 60 × 20 × 15 cm``; empty without any."""
        weight = [f"{weight_kg:g} kg"] if weight_kg is not None else []
        size = [" × ".join(f"{side:g}" for side in size_cm) + " cm"] if size_cm else []
        return ", ".join([*weight, *size])

    @property
    def size_cm(self) -> tuple[float, float, float] | None:
        """Length, width and height, or None where nobody measured."""
        if self.length_cm is None or self.width_cm is None or self.height_cm is None:
            return None
        return self.length_cm, self.width_cm, self.height_cm


def measured_rules(table: str) -> list[models.CheckConstraint]:
    """Return the checks of a table with a weight and a size."""
    sides = ("length_cm", "width_cm", "height_cm")
    no_size = Q(**{f"{side}__isnull": True for side in sides})
    # A comparison with nothing is unknown, which passes: ask that each side is there.
    size = Q(**{f"{side}__isnull": False for side in sides}, **{f"{side}__gt": 0 for side in sides})
    return [
        models.CheckConstraint(
            name=f"workorders_{table}_weight",
            condition=Q(weight_kg__isnull=True) | Q(weight_kg__gt=0),
            violation_error_message="A parcel weighs more than 0 kg.",
        ),
        models.CheckConstraint(
            name=f"workorders_{table}_size",
            condition=no_size | size,
            violation_error_message="Give length, width and height, each above 0 cm, or none of them.",
        ),
    ]


class Parcel(Measured, Tracked):
    """One parcel of a shipment; the tracking number may come later.

    ``carrier`` is empty where the carrier of the shipment takes it.
    """

    shipment = models.ForeignKey(Shipment, models.PROTECT, related_name="parcels")
    number = models.PositiveSmallIntegerField()
    tracking = models.CharField("tracking number", max_length=60, blank=True)
    carrier = models.CharField(max_length=60, blank=True)

    class Meta:
        ordering = ["shipment", "number"]
        constraints = [
            *measured_rules("parcel"),
            models.UniqueConstraint(
                fields=["shipment", "number"],
                name="workorders_parcel_number_once",
                violation_error_message="This shipment has a parcel of that number already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.shipment} parcel {self.number}"

    @property
    def taken_by(self) -> str:
        """Who carries it."""
        return self.carrier or self.shipment.carrier


class PackedUnit(AppendOnly):
    """One unit in a parcel, with the packing check against the intake list."""

    parcel = models.ForeignKey(Parcel, models.PROTECT, related_name="units")
    rebuild = models.OneToOneField(Rebuild, models.PROTECT, related_name="packed")
    checked: Any = models.JSONField(default=list)
    caps_on = models.BooleanField("caps on every open port")
    as_found = models.BooleanField("returned as found", default=False)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.rebuild} in {self.parcel}"


class Warranty(Tracked):
    """The terms that start for one unit when it ships, for the one who holds them."""

    class Policy(models.TextChoices):
        REMAINING_TERM = "remaining", "free repair or replacement for the remaining term"
        NEW_TERM = "new_term", "free repair or replacement, starting a new term"

    rebuild = models.OneToOneField(Rebuild, models.PROTECT, related_name="warranty")
    shipment = models.ForeignKey(Shipment, models.PROTECT, related_name="warranties")
    holder = models.ForeignKey(Customer, models.PROTECT, related_name="warranties")
    starts_on = models.DateField()
    months = models.PositiveSmallIntegerField()
    ends_on = models.DateField(db_index=True)
    policy = models.CharField(max_length=10, choices=Policy, default=Policy.REMAINING_TERM)
    terms = models.TextField()

    class Meta:
        ordering = ["-starts_on", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_warranty_ends_after_start",
                condition=Q(ends_on__gt=F("starts_on")),
                violation_error_message="A warranty ends after it starts.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rebuild} until {self.ends_on}"

    def get_absolute_url(self) -> str:
        """The page of the unit says who holds it and until when."""
        return self.rebuild.unit.get_absolute_url()


class Claim(Tracked):
    """What a customer reports against a warranty, and how it was judged."""

    class Judgement(models.TextChoices):
        OPEN = "", "open"
        ACCEPTED = "accepted", "accepted"
        DECLINED = "declined", "declined"
        GOODWILL = "goodwill", "goodwill"

    class Identity(models.TextChoices):
        NOT_COMPARED = "", "not compared yet"
        SAME = "same", "the same unit: mark and photo agree"
        NO_MARK = "no_mark", "no mark can be read"
        OTHER = "other", "another unit came back"

    number = models.CharField(max_length=16, unique=True, editable=False)
    warranty = models.ForeignKey(Warranty, models.PROTECT, related_name="claims")
    claimant = models.ForeignKey(Customer, models.PROTECT, related_name="claims")
    reported = models.TextField("what the customer reports")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    judgement = models.CharField(max_length=10, choices=Judgement, blank=True)
    judged_at = models.DateTimeField(null=True, blank=True)
    judged_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.TextField("reason for the judgement", blank=True)
    rebuild = models.OneToOneField(Rebuild, models.PROTECT, null=True, blank=True, related_name="from_claim")
    identity = models.CharField("the unit that came back", max_length=8, choices=Identity, blank=True)
    identity_note = models.TextField("what was compared and seen", blank=True)
    identity_at = models.DateTimeField(null=True, blank=True)
    identity_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["-opened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_claim_judged_whole",
                condition=Q(judgement="")
                | (Q(judged_at__isnull=False, judged_by__isnull=False) & ~Q(reason="")),
                violation_error_message="A judgement needs who, when and a reason.",
            ),
            models.CheckConstraint(
                name="workorders_claim_compared_whole",
                condition=Q(identity="")
                | (Q(identity_at__isnull=False, identity_by__isnull=False) & ~Q(identity_note="")),
                violation_error_message="A comparison needs who, when, and what was seen.",
            ),
            models.CheckConstraint(
                name="workorders_claim_other_unit_not_accepted",
                condition=~Q(identity="other", judgement="accepted"),
                violation_error_message=(
                    "Another unit came back, which this warranty does not cover: decline, or show goodwill."
                ),
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:claim", args=[self.number])
