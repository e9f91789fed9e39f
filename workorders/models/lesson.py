"""Lessons: what the bench learned about a unit type, written once, and what the lead made of it."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import AppendOnly, Step, StoredFile, TypeRevision

from .finding import PLACE_FIELDS, AtPlace, exactly_one
from .rebuild import Rebuild


class LessonQuerySet(models.QuerySet["Lesson"]):
    """Ways to narrow lessons down."""

    def open(self) -> "LessonQuerySet":
        """Not reviewed yet, and not withdrawn."""
        return self.filter(review__isnull=True)


class Lesson(AtPlace, AppendOnly):
    """What somebody learned at one step of one rebuild, for everybody who does it next."""

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="lessons")
    step = models.CharField(max_length=10, choices=Step)
    text = models.TextField("lesson")
    photo = models.ForeignKey(StoredFile, models.PROTECT, null=True, blank=True, related_name="+")

    objects = LessonQuerySet.as_manager()

    class Meta:
        ordering = ["-at", "-pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_lesson_one_place",
                condition=exactly_one(PLACE_FIELDS) | Q(**{f"{name}__isnull": True for name in PLACE_FIELDS}),
                violation_error_message="A lesson is about one place, or the whole unit.",
            ),
            models.CheckConstraint(
                name="workorders_lesson_has_text",
                condition=~Q(text=""),
                violation_error_message="Write what was learned.",
            ),
        ]

    def __str__(self) -> str:
        return f"Lesson {self.pk}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:lesson", args=[self.pk])

    @property
    def place_name(self) -> str:
        """The place in words."""
        return str(self.place) if self.place else "whole unit"

    @property
    def state(self) -> str:
        """Where it stands, in words."""
        review: LessonReview | None = getattr(self, "review", None)
        return review.words if review else "not reviewed"


class LessonReview(AppendOnly):
    """What became of a lesson; ``why`` is the reason it was declined or withdrawn for."""

    class Outcome(models.TextChoices):
        TAKEN_OVER = "taken_over", "taken over"
        DECLINED = "declined", "declined"
        WITHDRAWN = "withdrawn", "withdrawn by its writer"

    lesson = models.OneToOneField(Lesson, models.PROTECT, related_name="review")
    outcome = models.CharField(max_length=10, choices=Outcome)
    revision = models.ForeignKey(TypeRevision, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_lessonreview_taken_into_revision",
                condition=Q(outcome="taken_over", revision__isnull=False)
                | (~Q(outcome="taken_over") & Q(revision__isnull=True)),
                violation_error_message="A lesson is taken over into a revision, and only then has one.",
            ),
            models.CheckConstraint(
                name="workorders_lessonreview_has_reason",
                condition=Q(outcome="taken_over") | ~Q(why=""),
                violation_error_message="Say why the lesson is declined or withdrawn.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.lesson}: {self.words}"

    @property
    def words(self) -> str:
        """The outcome in words."""
        said: str = self.get_outcome_display()
        return f"{said} in revision {self.revision.number}" if self.revision else said
