"""Suppliers of seals and parts."""

from django.db import models

from shop.models import Tracked


class Supplier(Tracked):
    """Whoever delivers lots; the shop itself is the supplier of what it makes."""

    name = models.CharField(max_length=120, unique=True)
    phone = models.CharField("telephone", max_length=40, blank=True)
    email = models.EmailField("e-mail", blank=True)
    note = models.TextField(blank=True)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name
