"""Recalls: lots that turned out bad, the units that carry them, and what became of each."""

from typing import Any

from django.db import models
from django.db.models import Q
from django.urls import reverse

from inventory.models import Lot
from shop.models import AppendOnly, Customer, StoredFile, Tracked

from .rebuild import Rebuild
from .unit import Unit


class RecallQuerySet(models.QuerySet["Recall"]):
    """Ways to narrow recalls down."""

    def standing(self) -> "RecallQuerySet":
        """Not withdrawn: a lot stays bad when the calls are done."""
        return self.filter(withdrawn_at__isnull=True)

    def open(self) -> "RecallQuerySet":
        """Neither closed nor withdrawn."""
        return self.standing().filter(closed_at__isnull=True)


class Recall(Tracked):
    """One recall of lots: what is wrong, and what whoever has a unit should do, in the shop's own words."""

    class Advice(models.TextChoices):
        STOP = "stop", "stop using it"
        LOOK = "look", "have it looked at"
        SERVICE = "service", "nothing until the next service"

    number = models.CharField(max_length=16, unique=True, editable=False)
    advice = models.CharField("what the customer should do", max_length=8, choices=Advice)
    reason = models.TextField("what is wrong with the lot")
    instructions = models.TextField("what the letter asks for")
    opened_at = models.DateTimeField()
    opened_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    close_reason = models.CharField("why it is closed", max_length=300, blank=True)
    withdrawn_at = models.DateTimeField(null=True, blank=True)
    withdrawn_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    withdraw_reason = models.CharField("why it is withdrawn", max_length=300, blank=True)

    objects = RecallQuerySet.as_manager()

    class Meta:
        ordering = ["-opened_at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_recall_told",
                condition=~Q(reason="") & ~Q(instructions=""),
                violation_error_message="Say what is wrong, and what the customer should do.",
            ),
            *[
                models.CheckConstraint(
                    name=f"workorders_recall_{done}_whole",
                    condition=Q(**{f"{done}_at__isnull": True, f"{done}_by__isnull": True, why: ""})
                    | (Q(**{f"{done}_at__isnull": False, f"{done}_by__isnull": False}) & ~Q(**{why: ""})),
                    violation_error_message=f"A recall is {done} by somebody, at some time, for a reason.",
                )
                for done, why in (("closed", "close_reason"), ("withdrawn", "withdraw_reason"))
            ],
        ]

    def __str__(self) -> str:
        return self.number

    def get_absolute_url(self) -> str:
        return reverse("workorders:recall", args=[self.number])

    @property
    def state(self) -> str:
        """Where it stands, in a word."""
        if self.withdrawn_at:
            return "withdrawn"
        return "closed" if self.closed_at else "open"


class RecallLot(AppendOnly):
    """One lot that is recalled."""

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="lots")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="recalls")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["recall", "lot"],
                name="workorders_recalllot_once",
                violation_error_message="The recall has this lot already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lot} in {self.recall}"


class RecallUnit(AppendOnly):
    """One unit on the list of a recall, as it was found: where it was, with whom, and the places."""

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="units")
    unit = models.ForeignKey(Unit, models.PROTECT, related_name="recalls")
    where = models.CharField("where it was", max_length=300)
    customer = models.ForeignKey(Customer, models.PROTECT, null=True, blank=True, related_name="+")
    places: Any = models.JSONField(default=list)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["recall", "unit"],
                name="workorders_recallunit_once",
                violation_error_message="The recall has this unit already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit} in {self.recall}"


class RecallLetter(AppendOnly):
    """The letter to one customer as it was issued; a reissue names the one it replaces."""

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="letters")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="recall_letters")
    number = models.CharField(max_length=24, unique=True)
    content: Any = models.JSONField()
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    replaces = models.OneToOneField("self", models.PROTECT, null=True, blank=True, related_name="replaced_by")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_recallletter_reissue_reason",
                condition=Q(replaces__isnull=True) | ~Q(why=""),
                violation_error_message="A reissue says why it replaces the earlier letter.",
            ),
        ]

    def __str__(self) -> str:
        return self.number


class RecallCall(AppendOnly):
    """One attempt to reach a customer, or what was learned about one unit."""

    class Outcome(models.TextChoices):
        REACHED = "reached", "reached and told"
        LEFT_WORD = "left_word", "left word"
        NO_ANSWER = "no_answer", "no answer"
        WRONG_NUMBER = "wrong_number", "wrong number"
        SCRAPPED = "scrapped", "the unit is scrapped"
        ON_ITS_WAY = "on_its_way", "the unit is on its way"

    ABOUT_A_UNIT = (Outcome.SCRAPPED, Outcome.ON_ITS_WAY)

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="calls")
    customer = models.ForeignKey(Customer, models.PROTECT, related_name="recall_calls")
    outcome = models.CharField(max_length=12, choices=Outcome)
    unit = models.ForeignKey(RecallUnit, models.PROTECT, null=True, blank=True, related_name="calls")
    note = models.CharField("who was spoken to, what was said", max_length=300, blank=True)
    next_on = models.DateField("call again on", null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_recallcall_about",
                condition=Q(outcome__in=["scrapped", "on_its_way"], unit__isnull=False)
                | (~Q(outcome__in=["scrapped", "on_its_way"]) & Q(unit__isnull=True)),
                violation_error_message="Say which unit is scrapped or on its way; other calls name none.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.get_outcome_display()}, {self.customer}"


class RecallDecision(AppendOnly):
    """The lead's word on one rebuild: it may go with the recalled lot inside, or it may not after all."""

    recall = models.ForeignKey(Recall, models.PROTECT, related_name="decisions")
    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="recall_decisions")
    may_go = models.BooleanField()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_recalldecision_reason",
                condition=~Q(why=""),
                violation_error_message="Say why the unit may go, or may not.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rebuild} may {'' if self.may_go else 'not '}go"
