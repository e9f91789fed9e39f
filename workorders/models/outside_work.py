"""Outside work: a part, or the whole unit, sent to somebody else to be re-chromed, ground or rewound."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from inventory.models import Supplier
from shop.models import Component, StoredFile, Tracked

from .rebuild import Rebuild

PLATING = ("rechroming", "coating")  # what may charge the steel with hydrogen


class OutsideWorkQuerySet(models.QuerySet["OutsideWork"]):
    """Ways to narrow outside work down."""

    def out(self) -> "OutsideWorkQuerySet":
        """Sent, and neither back nor cancelled."""
        return self.filter(returned_at__isnull=True, cancelled_at__isnull=True)

    def overdue(self, *, on: date) -> "OutsideWorkQuerySet":
        """Still out after the day it was due."""
        return self.out().filter(due__lt=on)

    def to_inspect(self) -> "OutsideWorkQuerySet":
        """Back, and not inspected yet."""
        return self.filter(returned_at__isnull=False, inspected_at__isnull=True)


def both_or_none(*names: str) -> Q:
    """Return the condition that fields are all set or all empty."""
    return Q(**{f"{name}__isnull": False for name in names}) | Q(
        **{f"{name}__isnull": True for name in names}
    )


def rule(name: str, condition: Q, message: str) -> models.CheckConstraint:
    """Return one named check of the table."""
    return models.CheckConstraint(
        name=f"workorders_outsidework_{name}", condition=condition, violation_error_message=message
    )


class OutsideWork(Tracked):
    """One sending of a component, or of the whole unit, to a supplier who works on it."""

    class Kind(models.TextChoices):
        RECHROMING = "rechroming", "re-chroming"
        GRINDING = "grinding", "grinding"
        COATING = "coating", "coating"
        MOTOR_REWINDING = "motor_rewinding", "motor rewinding"
        OTHER = "other", "other outside work"

    class Bake(models.TextChoices):
        NOT_ASKED = "not_asked", "not asked yet"
        NOT_PLATING = "not_plating", "not plating"
        NOT_NEEDED = "not_needed", "the steel does not need it"
        BAKED = "baked", "baked"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="outside_works")
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="+")
    kind = models.CharField(max_length=16, choices=Kind)
    supplier = models.ForeignKey(Supplier, models.PROTECT, related_name="+")
    asked = models.TextField("what is asked")
    due = models.DateField("due back on")
    sent_at = models.DateTimeField()
    sent_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    returned_at = models.DateTimeField(null=True, blank=True)
    returned_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    inspected_at = models.DateTimeField(null=True, blank=True)
    inspected_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    accepted = models.BooleanField(null=True, blank=True)
    reject_reason = models.CharField("why it is rejected", max_length=300, blank=True)
    bake = models.CharField("bake after plating", max_length=12, choices=Bake, default=Bake.NOT_ASKED)
    bake_h = models.FloatField("baked for", null=True, blank=True)
    bake_temperature_c = models.FloatField("baked at", null=True, blank=True)
    bake_basis = models.CharField("by whom, or on what basis", max_length=300, blank=True)
    certificate = models.ForeignKey(StoredFile, models.PROTECT, null=True, blank=True, related_name="+")
    note = models.TextField(blank=True)
    price = models.DecimalField("what it cost", max_digits=10, decimal_places=2, null=True, blank=True)
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    cancel_reason = models.CharField("why it is cancelled", max_length=300, blank=True)

    objects = OutsideWorkQuerySet.as_manager()

    class Meta:
        ordering = ["sent_at", "pk"]
        constraints = [
            *[
                models.UniqueConstraint(
                    fields=fields,
                    condition=Q(component__isnull=whole, returned_at__isnull=True, cancelled_at__isnull=True),
                    name=f"workorders_outsidework_{name}_out_once",
                    violation_error_message="This is out already; record its return or cancel that first.",
                )
                for name, fields, whole in (
                    ("component", ["rebuild", "component"], False),
                    ("unit", ["rebuild"], True),
                )
            ],
            rule("price_not_negative", Q(price__isnull=True) | Q(price__gte=0), "A price is not negative."),
            rule("asks", ~Q(asked=""), "Say what is asked of the supplier."),
            rule(
                "return_has_person",
                both_or_none("returned_at", "returned_by"),
                "A return names who took it in, and when.",
            ),
            rule(
                "returned_after_sent",
                Q(returned_at__isnull=True) | Q(returned_at__gte=F("sent_at")),
                "It cannot be back before it was sent.",
            ),
            rule(
                "inspection_is_whole",
                both_or_none("inspected_at", "inspected_by", "accepted"),
                "An inspection names who did it, when, and whether the work is accepted.",
            ),
            rule(
                "inspected_after_return",
                Q(inspected_at__isnull=True)
                | Q(returned_at__isnull=False, inspected_at__gte=F("returned_at")),
                "Only what is back can be inspected.",
            ),
            rule(
                "rejection_has_reason",
                ~Q(accepted=False) | ~Q(reject_reason=""),
                "Say why the work is rejected.",
            ),
            rule(
                "chrome_is_plating",
                ~Q(kind="rechroming", bake="not_plating"),
                "Re-chroming is plating: say whether it was baked, or on what basis not.",
            ),
            rule(
                "plating_tells_bake",
                ~Q(accepted=True, kind__in=PLATING, bake="not_asked"),
                "Plated steel is accepted only when the question of the bake is answered.",
            ),
            rule(
                "bake_has_figures",
                # A comparison with nothing is unknown, and the database lets unknown pass: ask for both.
                Q(
                    bake="baked",
                    bake_h__isnull=False,
                    bake_temperature_c__isnull=False,
                    bake_h__gt=0,
                    bake_temperature_c__gt=0,
                )
                | (~Q(bake="baked") & Q(bake_h__isnull=True, bake_temperature_c__isnull=True)),
                "A bake has its hours and its temperature; without a bake both stay empty.",
            ),
            rule(
                "bake_has_basis",
                ~Q(bake__in=["baked", "not_needed"]) | ~Q(bake_basis=""),
                "Say who baked it, or on what basis the steel does not need it.",
            ),
            rule(
                "cancelled_is_whole",
                both_or_none("cancelled_at", "cancelled_by")
                & (Q(cancelled_at__isnull=True) | ~Q(cancel_reason="")),
                "A cancelling names who, when and why.",
            ),
            rule(
                "cancelled_is_not_back",
                Q(cancelled_at__isnull=True) | Q(returned_at__isnull=True),
                "What came back is inspected, not cancelled.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}, {self.place_name}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:outside_work", args=[self.pk])

    @property
    def place_name(self) -> str:
        """The component that is out, or the whole unit."""
        return str(self.component) if self.component else "whole unit"

    @property
    def is_out(self) -> bool:
        """Whether it is still at the supplier's."""
        return self.returned_at is None and self.cancelled_at is None

    @property
    def is_plating(self) -> bool:
        """Whether the work may be plating, so that the bake is asked about."""
        return self.kind in PLATING

    @property
    def bake_sentence(self) -> str:
        """What is known of the bake, in words."""
        words: Any = self.get_bake_display()
        if self.bake == self.Bake.BAKED:
            words = f"baked {self.bake_h:g} h at {self.bake_temperature_c:g} °C"
        return f"{words}: {self.bake_basis}" if self.bake_basis else str(words)

    def overdue_on(self, on: date) -> bool:
        """Whether it is out after the day it was due."""
        return self.is_out and self.due < on
