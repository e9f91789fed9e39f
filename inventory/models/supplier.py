"""Suppliers of seals and parts."""

from django.db import models
from django.db.models import Q

from shop.models import Tracked
from shop.models.shop_profile import STORAGE_STANDARDS


class Supplier(Tracked):
    """Whoever delivers lots; the shop itself is the supplier of what it makes."""

    name = models.CharField(max_length=120, unique=True)
    phone = models.CharField("telephone", max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    note = models.TextField(blank=True)
    storage_standard = models.CharField(
        "storage life of its seals after", max_length=10, choices=STORAGE_STANDARDS, blank=True
    )
    is_shop = models.BooleanField("this shop itself", default=False)

    class Meta:
        ordering = ["name"]
        constraints = [
            models.UniqueConstraint(
                fields=["is_shop"],
                condition=Q(is_shop=True),
                name="inventory_supplier_one_shop",
                violation_error_message="One supplier is the shop itself already.",
            ),
        ]

    def __str__(self) -> str:
        return self.name
