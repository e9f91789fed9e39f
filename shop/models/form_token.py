"""One-use tokens that make a repeated form submit harmless."""

from django.db import models


class FormToken(models.Model):
    """A form that was accepted once, with where its answer led."""

    token = models.UUIDField(unique=True)
    user = models.ForeignKey("shop.User", models.CASCADE, null=True, related_name="+")
    path = models.CharField(max_length=300)
    # Of any length: the page of a step is led back to with all that was chosen on it.
    result_url = models.TextField(blank=True)
    at = models.DateTimeField(auto_now_add=True, db_index=True)

    def __str__(self) -> str:
        return f"{self.path} {self.token}"


class Counter(models.Model):
    """The last number given out in one running series, such as work orders of a year."""

    series = models.CharField(max_length=20, unique=True)
    last = models.PositiveIntegerField(default=0)

    def __str__(self) -> str:
        return f"{self.series}: {self.last}"
