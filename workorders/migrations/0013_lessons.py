import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0013_limits_left_open"),
        ("shop", "__first__"),
        ("workorders", "0012_rush_addresses_and_warranty_holder"),
    ]

    operations = [
        migrations.CreateModel(
            name="Lesson",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "step",
                    models.CharField(
                        choices=[
                            ("teardown", "teardown"),
                            ("cleaning", "cleaning"),
                            ("rework", "rework"),
                            ("building", "building"),
                            ("test", "pressure test"),
                            ("packing", "packing"),
                        ],
                        max_length=10,
                    ),
                ),
                ("text", models.TextField(verbose_name="lesson")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.component",
                    ),
                ),
                (
                    "hose",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.hose",
                    ),
                ),
                (
                    "photo",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.storedfile",
                    ),
                ),
                (
                    "port",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.port",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.sealposition",
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lessons",
                        to="workorders.rebuild",
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("component__isnull", True),
                                ("hose__isnull", True),
                                ("port__isnull", True),
                                ("position__isnull", False),
                            ),
                            models.Q(
                                ("component__isnull", False),
                                ("hose__isnull", True),
                                ("port__isnull", True),
                                ("position__isnull", True),
                            ),
                            models.Q(
                                ("component__isnull", True),
                                ("hose__isnull", True),
                                ("port__isnull", False),
                                ("position__isnull", True),
                            ),
                            models.Q(
                                ("component__isnull", True),
                                ("hose__isnull", False),
                                ("port__isnull", True),
                                ("position__isnull", True),
                            ),
                            models.Q(
                                ("component__isnull", True),
                                ("hose__isnull", True),
                                ("port__isnull", True),
                                ("position__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_lesson_one_place",
                        violation_error_message="A lesson is about one place, or the whole unit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="workorders_lesson_has_text",
                        violation_error_message="Write what was learned.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LessonReview",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("taken_over", "taken over"),
                            ("declined", "declined"),
                            ("withdrawn", "withdrawn by its writer"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lesson",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="review",
                        to="workorders.lesson",
                    ),
                ),
                (
                    "revision",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.typerevision",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "taken_over"), ("revision__isnull", False)),
                            models.Q(
                                models.Q(("outcome", "taken_over"), _negated=True), ("revision__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="workorders_lessonreview_taken_into_revision",
                        violation_error_message="A lesson is taken over into a revision, and only then has one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("outcome", "taken_over"), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="workorders_lessonreview_has_reason",
                        violation_error_message="Say why the lesson is declined or withdrawn.",
                    ),
                ],
            },
        ),
    ]
