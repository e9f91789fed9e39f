"""Customers: the senders and owners of units."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from .base import Tracked


class CustomerQuerySet(models.QuerySet["Customer"]):
    """Ways to find a customer."""

    def matching(self, text: str) -> "CustomerQuerySet":
        """Name, town or e-mail containing the text, or a telephone number with its digits."""
        found = Q(name__icontains=text) | Q(town__icontains=text) | Q(email__icontains=text)
        digits = "".join(c for c in text if c.isdigit())
        if len(digits) >= 4:
            found |= Q(phone_digits__contains=digits)
        return self.filter(found)


class Customer(Tracked):
    """A person or firm that sends units, and to whom they go back."""

    class Kind(models.TextChoices):
        OWNER = "owner", "owner"
        TRADE = "trade", "trade account"

    name = models.CharField(max_length=120)
    kind = models.CharField(max_length=10, choices=Kind, default=Kind.OWNER)
    email = models.EmailField("e-mail", blank=True)
    phone = models.CharField("telephone", max_length=40, blank=True)
    phone_digits = models.CharField(max_length=40, blank=True, editable=False, db_index=True)
    street = models.CharField(max_length=160, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    town = models.CharField(max_length=80, blank=True)
    country = models.CharField(max_length=60, blank=True)
    note = models.TextField(blank=True)

    objects = CustomerQuerySet.as_manager()

    class Meta:
        ordering = ["name", "pk"]
        constraints = [
            models.CheckConstraint(
                name="shop_customer_named",
                condition=~Q(name=""),
                violation_error_message="A customer needs a name.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("shop:customer", args=[self.pk])

    @property
    def address_lines(self) -> list[str]:
        """The postal address as printed, without empty lines."""
        lines = [self.street, f"{self.postcode} {self.town}".strip(), self.country]
        return [line for line in lines if line]
