"""Boxes: what arrives or is announced, before its sender or its contents need to be known."""

from datetime import datetime

from django.db import models
from django.db.models import Exists, OuterRef, Q
from django.urls import reverse

from shop.models import AppendOnly, Customer, StoredFile, Tracked, UnitType

from .rebuild import Rebuild
from .work_order import WorkOrder


class BoxQuerySet(models.QuerySet["Box"]):
    """Ways to narrow boxes down."""

    def open(self) -> "BoxQuerySet":
        """Announced, not sorted yet, or with a unit that nobody could identify."""
        return self.filter(Q(closed_at__isnull=True) | Exists(self._unidentified_lines()))

    def _unidentified_lines(self) -> "models.QuerySet[BoxLine]":
        return BoxLine.objects.filter(box=OuterRef("pk"), outcome=BoxLine.Outcome.UNIDENTIFIED)

    def announced(self) -> "BoxQuerySet":
        """Told of and not here yet."""
        return self.filter(received_at__isnull=True, closed_at__isnull=True)

    def to_sort(self) -> "BoxQuerySet":
        """Here, and not sorted to the end."""
        return self.filter(received_at__isnull=False, closed_at__isnull=True)

    def unidentified(self) -> "BoxQuerySet":
        """With a unit that nobody could identify, closed or not."""
        return self.filter(Exists(self._unidentified_lines()))


class Box(Tracked):
    """One box of one sender. It may be here before anybody knows whose it is or what is in it.

    While it has no work order, ``customer`` is its sender as far as known; with one, the sender is
    the customer of the work order and nobody else: the two are never stored side by side.
    """

    class How(models.TextChoices):
        LINK = "link", "by the customer's link"
        TELEPHONE = "telephone", "by telephone"
        EMAIL = "email", "by e-mail"
        NOT_ANNOUNCED = "not_announced", "not announced"

    class Packing(models.TextChoices):
        SOUND = "sound", "sound"
        DAMAGED = "damaged", "damaged"
        OPENED = "opened", "opened or taped again"
        WET = "wet", "wet or oily outside"

    number = models.CharField(max_length=16, unique=True, editable=False)
    customer = models.ForeignKey(Customer, models.PROTECT, null=True, blank=True, related_name="boxes")
    work_order = models.ForeignKey(WorkOrder, models.PROTECT, null=True, blank=True, related_name="boxes")
    sender_as_written = models.CharField("sender as written on the box", max_length=200, blank=True)
    contact = models.CharField("whom to ask", max_length=120, blank=True)
    return_address = models.TextField("address that it goes back to", max_length=400, blank=True)
    customer_order = models.CharField("customer's order number", max_length=60, blank=True)
    carrier = models.CharField(max_length=60, blank=True)
    tracking = models.CharField("tracking number", max_length=60, blank=True)
    announced_how = models.CharField(max_length=14, choices=How, default=How.NOT_ANNOUNCED)
    announced_at = models.DateTimeField(null=True, blank=True)
    announced_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    received_at = models.DateTimeField(null=True, blank=True)
    received_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    shelf = models.CharField("where it is now", max_length=40, blank=True)
    packing = models.CharField("state of the packing", max_length=8, choices=Packing, blank=True)
    damage_note = models.TextField("what is wrong with the packing", max_length=600, blank=True)
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")

    objects = BoxQuerySet.as_manager()

    class Meta:
        ordering = ["-pk"]
        verbose_name_plural = "boxes"
        constraints = [
            models.CheckConstraint(
                name="workorders_box_sender_once",
                condition=Q(customer__isnull=True) | Q(work_order__isnull=True),
                violation_error_message="The sender of a box with a work order is that order's customer.",
            ),
            models.CheckConstraint(
                name="workorders_box_announced_or_here",
                condition=Q(announced_how="not_announced", announced_at__isnull=True)
                | (~Q(announced_how="not_announced") & Q(announced_at__isnull=False)),
                violation_error_message="Say when the box was announced, or that nobody announced it.",
            ),
            models.CheckConstraint(
                name="workorders_box_known_of",
                condition=Q(announced_at__isnull=False) | Q(received_at__isnull=False),
                violation_error_message="A box was announced, or it is here.",
            ),
            models.CheckConstraint(
                name="workorders_box_received_whole",
                condition=Q(received_at__isnull=True, received_by__isnull=True, packing="")
                | (Q(received_at__isnull=False, received_by__isnull=False) & ~Q(packing="")),
                violation_error_message="Say how the packing looks; a box that is not here has no packing.",
            ),
            models.CheckConstraint(
                name="workorders_box_damage_told",
                condition=Q(packing__in=["", "sound"]) | ~Q(damage_note=""),
                violation_error_message="Say what is wrong with the packing.",
            ),
            models.CheckConstraint(
                name="workorders_box_closed_whole",
                condition=Q(closed_at__isnull=True, closed_by__isnull=True)
                | Q(closed_at__isnull=False, closed_by__isnull=False),
                violation_error_message="Say who closed the box.",
            ),
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:box", args=[self.number])

    @property
    def sender(self) -> Customer | None:
        """Whose box it is, or None while nobody knows."""
        return self.work_order.customer if self.work_order else self.customer

    @property
    def known_since(self) -> datetime:
        """When it was announced, or came unannounced."""
        since = self.announced_at or self.received_at
        assert since is not None, "workorders_box_known_of"
        return since

    @property
    def is_open(self) -> bool:
        """Whether it still waits to arrive or to be sorted."""
        return self.closed_at is None


class BoxLineQuerySet(models.QuerySet["BoxLine"]):
    """Ways to narrow the lines of boxes down."""

    def to_receive(self) -> "BoxLineQuerySet":
        """Of an open box that is here: a unit may still be received from them."""
        here = self.filter(box__received_at__isnull=False, box__closed_at__isnull=True)
        return here.filter(rebuild__isnull=True).exclude(outcome=BoxLine.Outcome.MISSING)


class BoxLine(Tracked):
    """One unit that was announced, or that lies in the box; a unit received from it is its rebuild."""

    class Outcome(models.TextChoices):
        OPEN = "open", "not sorted yet"
        FOUND = "found", "found as announced"
        MISSING = "missing", "missing"
        WRONG = "wrong", "other than announced"
        EXTRA = "extra", "not announced"
        UNIDENTIFIED = "unidentified", "not identified"

    box = models.ForeignKey(Box, models.PROTECT, related_name="lines")
    order = models.PositiveSmallIntegerField("line")
    what = models.CharField("what it is", max_length=120)
    unit_type = models.ForeignKey(UnitType, models.PROTECT, null=True, blank=True, related_name="+")
    symptoms = models.CharField("what is wrong with it", max_length=400, blank=True)
    expected = models.BooleanField("announced")
    outcome = models.CharField(max_length=12, choices=Outcome, default=Outcome.OPEN)
    note = models.CharField(max_length=300, blank=True)
    rebuild = models.OneToOneField(
        Rebuild, models.PROTECT, null=True, blank=True, related_name="box_line", verbose_name="received as"
    )

    objects = BoxLineQuerySet.as_manager()

    class Meta:
        ordering = ["box", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["box", "order"],
                name="workorders_boxline_order_once",
                violation_error_message="This box has a line of that number already.",
            ),
            models.CheckConstraint(
                name="workorders_boxline_told",
                condition=~Q(what=""),
                violation_error_message="Say what it is, or how it looks.",
            ),
            models.CheckConstraint(
                name="workorders_boxline_outcome_fits",
                condition=Q(expected=True, outcome__in=["open", "found", "missing", "wrong", "unidentified"])
                | Q(expected=False, outcome__in=["open", "extra", "unidentified"]),
                violation_error_message=(
                    "What was announced is found, missing, another or not identified; "
                    "what was not announced is extra or not identified."
                ),
            ),
            models.CheckConstraint(
                name="workorders_boxline_wrong_told",
                condition=~Q(outcome="wrong") | ~Q(note=""),
                violation_error_message="Say in the note what lies in the box instead.",
            ),
            models.CheckConstraint(
                name="workorders_boxline_rebuild_fits",
                condition=Q(rebuild__isnull=True) | Q(outcome__in=["found", "wrong", "extra"]),
                violation_error_message="A unit was received from this line, so it is here and identified.",
            ),
        ]

    def __str__(self) -> str:
        return f"line {self.order}: {self.what}"

    @property
    def can_be_received(self) -> bool:
        """Whether a unit may still be received from this line."""
        return self.rebuild_id is None and self.outcome != self.Outcome.MISSING


class BoxPhoto(AppendOnly):
    """A photo of a box: the packing, its damage, what lies in it."""

    box = models.ForeignKey(Box, models.PROTECT, related_name="photos")
    caption = models.CharField(max_length=160, blank=True)
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.caption or "photo of the box"


class BoxLink(Tracked):
    """An address that lets one customer announce one box without signing in."""

    token = models.CharField(max_length=43, unique=True, editable=False)
    customer = models.ForeignKey(Customer, models.PROTECT, null=True, blank=True, related_name="+")
    for_whom = models.CharField("whom it is for", max_length=120)
    made_at = models.DateTimeField()
    made_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    expires_at = models.DateTimeField("good until")
    revoked_at = models.DateTimeField(null=True, blank=True)
    box = models.OneToOneField(Box, models.PROTECT, null=True, blank=True, related_name="link")

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_boxlink_token_form",
                condition=Q(token__regex=r"^[A-Za-z0-9_-]{43}$"),  # noqa: S106 - the form of one
                violation_error_message="The address of a link is drawn by the program.",
            ),
            models.CheckConstraint(
                name="workorders_boxlink_expires_later",
                condition=Q(expires_at__gt=models.F("made_at")),
                violation_error_message="A link must be good for a while.",
            ),
        ]

    def __str__(self) -> str:
        return f"link for {self.for_whom}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:box_links")

    def public_path(self) -> str:
        """Return the path of the page that the customer opens."""
        return reverse("workorders:announce", args=[self.token])

    def is_good(self, at: datetime) -> bool:
        """Whether it still opens the form or shows the slip: not expired, revoked, or its box here."""
        return (
            self.revoked_at is None
            and at < self.expires_at
            and not (self.box and (self.box.received_at or self.box.closed_at))
        )
