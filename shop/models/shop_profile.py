"""The shop's own name, address and terms, and the limits that a shop may set."""

from django.db import models
from django.db.models import Q

from .base import Tracked

STORAGE_STANDARDS = [("ISO2230", "ISO 2230"), ("AS5316", "AS5316")]


class ShopProfile(Tracked):
    """One row: what papers print about the shop, and its warranty terms."""

    name = models.CharField(max_length=120)
    street = models.CharField(max_length=160, blank=True)
    postcode = models.CharField(max_length=20, blank=True)
    town = models.CharField(max_length=80, blank=True)
    country = models.CharField(max_length=60, blank=True)
    phone = models.CharField("telephone", max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    currency = models.CharField(max_length=3, default="EUR")
    warranty_months = models.PositiveSmallIntegerField(default=36)
    warranty_terms = models.TextField(blank=True)
    storage_standard = models.CharField(
        max_length=10,
        choices=STORAGE_STANDARDS,
        default="ISO2230",
    )
    paper_size = models.CharField(max_length=6, choices=[("A4", "A4"), ("Letter", "Letter")], default="A4")

    class Meta:
        constraints = [
            models.CheckConstraint(
                name="shop_shopprofile_one_row",
                condition=Q(pk=1),
                violation_error_message="There is one shop profile only; change the existing one.",
            ),
        ]

    def __str__(self) -> str:
        return self.name

    @property
    def address_lines(self) -> list[str]:
        """The postal address as printed, without empty lines."""
        lines = [self.street, f"{self.postcode} {self.town}".strip(), self.country]
        return [line for line in lines if line]


class LimitSetting(Tracked):
    """A default that the shop lead may change, with how far it can be trusted."""

    class Source(models.TextChoices):
        READ = "read", "read in the named source"
        SHOP = "shop", "set by this shop"
        MEMORY = "memory", "from memory, not verified"

    key = models.SlugField(max_length=60, unique=True)
    title = models.CharField(max_length=120)
    value = models.FloatField()
    unit = models.CharField(max_length=20, blank=True)
    source = models.CharField(max_length=10, choices=Source)
    basis = models.CharField(max_length=300)

    class Meta:
        ordering = ["key"]

    def __str__(self) -> str:
        return f"{self.title}: {self.value:g} {self.unit}"
