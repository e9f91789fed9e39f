"""The people of the shop."""

from django.contrib.auth.models import AbstractUser
from django.db import models

from .base import ActHistory


class User(AbstractUser):
    """Somebody who signs in; deactivated rather than deleted, since records name people."""

    printed_name = models.CharField("name as printed beside signatures", max_length=80)
    authority_no = models.CharField("authority or certificate number", max_length=40, blank=True)
    inch_units = models.BooleanField("show inch-pound units", default=False)

    history = ActHistory(excluded_fields=["password", "last_login"])

    def __str__(self) -> str:
        return self.printed_name or self.username
