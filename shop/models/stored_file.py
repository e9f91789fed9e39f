"""Files kept outside the database: photos, traces, issued papers."""

from django.db import models
from django.urls import reverse


class StoredFile(models.Model):
    """One file, named by the SHA-256 of its bytes; never changed."""

    class Kind(models.TextChoices):
        PHOTO = "photo", "photo"
        TRACE = "trace", "logged trace"
        PAPER = "paper", "issued paper"
        LIST = "list", "list to enter"

    sha256 = models.CharField(max_length=64, db_index=True)
    kind = models.CharField(max_length=10, choices=Kind)
    name = models.CharField(max_length=200)
    content_type = models.CharField(max_length=80)
    size_bytes = models.PositiveBigIntegerField()
    by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    at = models.DateTimeField()

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return self.name

    def get_absolute_url(self) -> str:
        return reverse("shop:file", args=[self.pk])
