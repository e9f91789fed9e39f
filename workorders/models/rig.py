"""Test rigs: what is mounted on them, the tokens they send with, and the logger files they sent."""

from datetime import date
from typing import Any

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import AppendOnly, Fluid, StoredFile, Tracked
from shop.models.base import ActHistory, BuiltOnce

from .instrument import Instrument
from .pressure_test import LoggerFile
from .unit import Unit


class Rig(Tracked):
    """A test rig of the shop; it sends readings and is never commanded."""

    code = models.CharField(max_length=20, unique=True)
    name = models.CharField("what it is", max_length=120)
    place = models.CharField("where it stands", max_length=80, blank=True)
    fluid = models.ForeignKey(
        Fluid, models.PROTECT, null=True, blank=True, related_name="+", verbose_name="fluid in it now"
    )
    note = models.TextField(max_length=600, blank=True)
    retired = models.BooleanField(default=False)

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                name="workorders_rig_code_form",
                condition=Q(code__regex=r"^[A-Za-z0-9][A-Za-z0-9._-]*$"),
                violation_error_message="A code has letters, digits, hyphens and dots, without spaces.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:rig", args=[self.pk])


class RigChannel(Tracked):
    """One instrument mounted on a rig, and the column of the rig's files that it writes."""

    rig = models.ForeignKey(Rig, models.PROTECT, related_name="channels")
    instrument = models.ForeignKey(Instrument, models.PROTECT, related_name="channels")
    column = models.CharField("column that it writes", max_length=80, blank=True)

    class Meta:
        ordering = ["rig", "instrument__code"]
        constraints = [
            models.UniqueConstraint(
                fields=["instrument"],
                name="workorders_rigchannel_instrument_once",
                violation_error_message="This instrument is mounted on a rig; take it off there first.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.instrument.code} on {self.rig.code}"


class RigToken(models.Model):
    """A secret that a rig sends with; only its digest is kept.

    ``begins`` are its first letters, to tell one from another. Who made it answers for what is sent.
    After ``last_day`` nothing is taken with it; None ends only when it is revoked.
    """

    rig = models.ForeignKey(Rig, models.PROTECT, related_name="tokens")
    used_for = models.CharField("where it is kept", max_length=80)
    digest = models.CharField(max_length=64, unique=True, editable=False)
    begins = models.CharField(max_length=4, editable=False)
    made_at = models.DateTimeField(editable=False)
    made_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+", editable=False)
    last_day = models.DateField("last day on which it is taken", null=True, blank=True)
    last_used_at = models.DateTimeField(null=True, blank=True, editable=False)
    revoked_at = models.DateTimeField(null=True, blank=True)
    revoked_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    revoked_reason = models.CharField("why it was revoked", max_length=200, blank=True)

    history = ActHistory(
        excluded_fields=["digest", "last_used_at"],
        history_change_reason_field=models.CharField(max_length=200, null=True),
        history_manager=BuiltOnce,
    )

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_rigtoken_digest_form",
                condition=Q(digest__regex=r"^[0-9a-f]{64}$"),
                violation_error_message="A token is drawn by the program and kept as its digest.",
            ),
            models.CheckConstraint(
                name="workorders_rigtoken_revoked_whole",
                condition=Q(revoked_at__isnull=True, revoked_by__isnull=True, revoked_reason="")
                | (Q(revoked_at__isnull=False, revoked_by__isnull=False) & ~Q(revoked_reason="")),
                violation_error_message="Say why the token is revoked.",
            ),
        ]

    def __str__(self) -> str:
        return f"token {self.begins}…, {self.used_for}"

    def has_ended(self, on: date) -> bool:
        """Whether its last day lies before a day; a token without one never ends by itself."""
        return self.last_day is not None and self.last_day < on


class RigFileQuerySet(models.QuerySet["RigFile"]):
    """Ways to narrow the files of rigs down."""

    def waiting(self) -> "RigFileQuerySet":
        """Kept aside: neither given to a step nor dismissed."""
        return self.filter(logger_file__isnull=True, dismissed_at__isnull=True)

    def kept(self) -> "RigFileQuerySet":
        """Handed in for a step."""
        return self.filter(logger_file__isnull=False)

    def dismissed(self) -> "RigFileQuerySet":
        """Kept aside, and not wanted."""
        return self.filter(dismissed_at__isnull=False)


class RigFile(Tracked):
    """A logger file that a rig sent: handed in for a step, kept aside, or dismissed.

    ``told`` is what the rig said of it, spelt in one way: with the bytes it makes a repeat known.
    ``by`` is who made the token.
    """

    rig = models.ForeignKey(Rig, models.PROTECT, related_name="files")
    token = models.ForeignKey(RigToken, models.PROTECT, related_name="files")
    sha256 = models.CharField(max_length=64, editable=False)
    told = models.CharField(max_length=300, editable=False)
    asked: Any = models.JSONField(default=dict, editable=False)
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")
    arrived_at = models.DateTimeField(db_index=True)
    by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    unit = models.ForeignKey(Unit, models.PROTECT, null=True, blank=True, related_name="rig_files")
    instrument = models.ForeignKey(Instrument, models.PROTECT, null=True, blank=True, related_name="+")
    pressure_column = models.PositiveSmallIntegerField("column of the pressure", null=True, blank=True)
    aside_because = models.CharField("why it was kept aside", max_length=300, blank=True)
    logger_file = models.OneToOneField(
        LoggerFile,
        models.PROTECT,
        null=True,
        blank=True,
        related_name="from_rig",
        verbose_name="handed in as",
    )
    dismissed_at = models.DateTimeField(null=True, blank=True)
    dismissed_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    dismissed_reason = models.CharField("why it is not wanted", max_length=200, blank=True)

    objects = RigFileQuerySet.as_manager()

    class Meta:
        ordering = ["-arrived_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rig", "sha256", "told"],
                name="workorders_rigfile_once",
                violation_error_message="This rig has sent this file for this step already.",
            ),
            models.CheckConstraint(
                name="workorders_rigfile_reasoned",
                condition=Q(logger_file__isnull=False) | ~Q(aside_because=""),
                violation_error_message="A file is kept aside for a reason.",
            ),
            models.CheckConstraint(
                name="workorders_rigfile_dismissed_whole",
                condition=Q(dismissed_at__isnull=True, dismissed_by__isnull=True, dismissed_reason="")
                | (
                    Q(dismissed_at__isnull=False, dismissed_by__isnull=False, logger_file__isnull=True)
                    & ~Q(dismissed_reason="")
                ),
                violation_error_message="Say why the file is not wanted; one that was handed in stays.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.file} from {self.rig.code}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:rig_file", args=[self.pk])

    @property
    def state(self) -> str:
        """Where it stands: ``kept``, ``aside`` or ``dismissed``."""
        return "kept" if self.logger_file_id else "dismissed" if self.dismissed_at else "aside"


class RigRefusal(AppendOnly):
    """What a rig sent and was refused; ``why`` is the sentence it was answered with."""

    rig = models.ForeignKey(Rig, models.PROTECT, related_name="refusals")
    token = models.ForeignKey(RigToken, models.PROTECT, related_name="+")
    status = models.PositiveSmallIntegerField()
    asked: Any = models.JSONField(default=dict, blank=True)
    size_bytes = models.PositiveBigIntegerField(default=0)

    class Meta:
        ordering = ["-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_rigrefusal_reasoned",
                condition=~Q(why=""),
                violation_error_message="A refusal says why.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.status}: {self.why}"
