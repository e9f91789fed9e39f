"""Customers entered twice: what tells them, which pairs are not the same, and merges with what they moved."""

from typing import Any

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from .base import AppendOnly
from .customer import Customer


class CustomerKey(models.Model):
    """What a customer can be told by, written so that the same thing is the same text.

    A helper row in the transaction of its customer. A pair of equal keys is a pair of customers who
    may be one.
    """

    class Kind(models.TextChoices):
        NAME = "name", "name"
        PHONE = "phone", "telephone"
        EMAIL = "email", "e-mail"
        ADDRESS = "address", "address"

    customer = models.ForeignKey(Customer, models.CASCADE, related_name="keys")
    kind = models.CharField(max_length=8, choices=Kind)
    value = models.CharField(max_length=300)

    class Meta:
        ordering = ["customer", "kind"]
        indexes = [models.Index(fields=["kind", "value", "customer"], name="shop_customerkey_same")]
        constraints = [
            models.UniqueConstraint(
                fields=["customer", "kind"],
                name="shop_customerkey_once",
                violation_error_message="A customer has one key of a kind; the program writes it.",
            ),
            models.CheckConstraint(
                name="shop_customerkey_told",
                condition=~Q(value=""),
                violation_error_message="A key that tells nothing is not kept.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.kind} {self.value}"


class DifferentCustomers(AppendOnly):
    """Two customers who look like one and are not, with the reason; ``first`` was entered first."""

    first = models.ForeignKey(Customer, models.PROTECT, related_name="+")
    second = models.ForeignKey(Customer, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["-at", "-pk"]
        verbose_name_plural = "different customers"
        constraints = [
            models.UniqueConstraint(
                fields=["first", "second"],
                name="shop_differentcustomers_once",
                violation_error_message="These two are recorded as not the same already.",
            ),
            models.CheckConstraint(
                name="shop_differentcustomers_ordered",
                condition=Q(first__lt=F("second")),
                violation_error_message="A customer is the same as itself.",
            ),
            models.CheckConstraint(
                name="shop_differentcustomers_reason",
                condition=~Q(why=""),
                violation_error_message="Say how you know that they are not the same.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.first} is not {self.second}"


class CustomerMerge(AppendOnly):
    """One customer merged into another: which values were taken, and which rows moved.

    ``values`` gives for each changed field of the one that stays what it was and what it became.
    ``moved`` lists ``model``, ``field`` and ``pks`` of the rows that named the other one, and
    ``defaults`` the ship-to addresses that were its default.
    """

    gone = models.ForeignKey(Customer, models.PROTECT, related_name="merges_away")
    stays = models.ForeignKey(Customer, models.PROTECT, related_name="merges")
    values: Any = models.JSONField(default=dict, blank=True)
    moved: Any = models.JSONField(default=list, blank=True)
    defaults: Any = models.JSONField(default=list, blank=True)

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="shop_customermerge_two",
                condition=~Q(gone=F("stays")),
                violation_error_message="A customer cannot be merged into itself.",
            ),
            models.CheckConstraint(
                name="shop_customermerge_reason",
                condition=~Q(why=""),
                violation_error_message="Say how you know that the two are one customer.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.gone} merged into {self.stays}"

    def get_absolute_url(self) -> str:
        return reverse("shop:customer", args=[self.stays_id])


class MergeTakenBack(AppendOnly):
    """A merge that was taken back, with the reason."""

    merge = models.OneToOneField(CustomerMerge, models.PROTECT, related_name="taken_back")

    class Meta:
        ordering = ["pk"]
        verbose_name_plural = "merges taken back"
        constraints = [
            models.CheckConstraint(
                name="shop_mergetakenback_reason",
                condition=~Q(why=""),
                violation_error_message="Say why the merge is taken back.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.merge}, taken back"
