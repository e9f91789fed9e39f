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


class Parcel(Tracked):
    """One parcel of a shipment; the tracking number may come later."""

    shipment = models.ForeignKey(Shipment, models.PROTECT, related_name="parcels")
    number = models.PositiveSmallIntegerField()
    tracking = models.CharField("tracking number", max_length=60, blank=True)

    class Meta:
        ordering = ["shipment", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["shipment", "number"],
                name="workorders_parcel_number_once",
                violation_error_message="This shipment has a parcel of that number already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.shipment} parcel {self.number}"


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
    """The terms that start for one unit when it ships, for its recipient."""

    class Policy(models.TextChoices):
        REMAINING_TERM = "remaining", "free repair or replacement for the remaining term"
        NEW_TERM = "new_term", "free repair or replacement, starting a new term"

    rebuild = models.OneToOneField(Rebuild, models.PROTECT, related_name="warranty")
    shipment = models.ForeignKey(Shipment, models.PROTECT, related_name="warranties")
    recipient = models.ForeignKey(Customer, models.PROTECT, related_name="warranties")
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
