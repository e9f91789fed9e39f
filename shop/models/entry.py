"""Lists entered from files, and the rows that each of them made."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from .base import AppendOnly, Tracked
from .stored_file import StoredFile
from .user import User


class Import(Tracked):
    """One file that was entered as a whole, and perhaps undone as a whole."""

    kind = models.CharField(max_length=20)
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="imports")
    rows_entered = models.PositiveIntegerField()
    rows_there = models.PositiveIntegerField("rows that were there already")
    by = models.ForeignKey(User, models.PROTECT, related_name="+")
    at = models.DateTimeField()
    undone_by = models.ForeignKey(User, models.PROTECT, null=True, blank=True, related_name="+")
    undone_at = models.DateTimeField(null=True, blank=True)
    undone_why = models.CharField("why it was undone", max_length=200, blank=True)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="shop_import_undone_whole",
                condition=Q(undone_at__isnull=True, undone_by__isnull=True, undone_why="")
                | (Q(undone_at__isnull=False, undone_by__isnull=False) & ~Q(undone_why="")),
                violation_error_message="An import is undone by somebody, at some time, for a reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"Import {self.pk} of {self.file}"

    def get_absolute_url(self) -> str:
        return reverse("shop:import", args=[self.pk])


class ImportedRow(AppendOnly):
    """One row that an import made; it names model and key, for the row may be taken out again."""

    made_by = models.ForeignKey(Import, models.PROTECT, related_name="rows")
    row_number = models.PositiveIntegerField("row of the file")
    model = models.CharField(max_length=60)
    row_pk = models.BigIntegerField()
    name = models.CharField(max_length=200)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["model", "row_pk"],
                name="shop_importedrow_made_once",
                violation_error_message="This row was made by an import already.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.name} (row {self.row_number})"
