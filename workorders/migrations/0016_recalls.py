import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0007_counting_by_place"),
        ("shop", "0015_maker_numbers_text_gone"),
        ("workorders", "0015_upgrades_on_record"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalRecall",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, editable=False, max_length=16)),
                (
                    "advice",
                    models.CharField(
                        choices=[
                            ("stop", "stop using it"),
                            ("look", "have it looked at"),
                            ("service", "nothing until the next service"),
                        ],
                        max_length=8,
                        verbose_name="what the customer should do",
                    ),
                ),
                ("reason", models.TextField(verbose_name="what is wrong with the lot")),
                ("instructions", models.TextField(verbose_name="what the letter asks for")),
                ("opened_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "close_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is closed"),
                ),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                (
                    "withdraw_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is withdrawn"),
                ),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "closed_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "history_user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "opened_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "verbose_name": "historical recall",
                "verbose_name_plural": "historical recalls",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Recall",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(editable=False, max_length=16, unique=True)),
                (
                    "advice",
                    models.CharField(
                        choices=[
                            ("stop", "stop using it"),
                            ("look", "have it looked at"),
                            ("service", "nothing until the next service"),
                        ],
                        max_length=8,
                        verbose_name="what the customer should do",
                    ),
                ),
                ("reason", models.TextField(verbose_name="what is wrong with the lot")),
                ("instructions", models.TextField(verbose_name="what the letter asks for")),
                ("opened_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "close_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is closed"),
                ),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
                (
                    "withdraw_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is withdrawn"),
                ),
                (
                    "closed_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "withdrawn_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["-opened_at", "-pk"],
            },
        ),
        migrations.CreateModel(
            name="RecallDecision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("may_go", models.BooleanField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recall_decisions",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="decisions",
                        to="workorders.recall",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="RecallLetter",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("number", models.CharField(max_length=24, unique=True)),
                ("content", models.JSONField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recall_letters",
                        to="shop.customer",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="letters",
                        to="workorders.recall",
                    ),
                ),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="workorders.recallletter",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="RecallLot",
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
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recalls",
                        to="inventory.lot",
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="workorders.recall",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="RecallUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("where", models.CharField(max_length=300, verbose_name="where it was")),
                ("places", models.JSONField(default=list)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.customer",
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="workorders.recall",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recalls",
                        to="workorders.unit",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="RecallCall",
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
                            ("reached", "reached and told"),
                            ("left_word", "left word"),
                            ("no_answer", "no answer"),
                            ("wrong_number", "wrong number"),
                            ("scrapped", "the unit is scrapped"),
                            ("on_its_way", "the unit is on its way"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "note",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="who was spoken to, what was said"
                    ),
                ),
                ("next_on", models.DateField(blank=True, null=True, verbose_name="call again on")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recall_calls",
                        to="shop.customer",
                    ),
                ),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calls",
                        to="workorders.recall",
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calls",
                        to="workorders.recallunit",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.AddConstraint(
            model_name="recall",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("reason", ""), _negated=True), models.Q(("instructions", ""), _negated=True)
                ),
                name="workorders_recall_told",
                violation_error_message="Say what is wrong, and what the customer should do.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recall",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("close_reason", ""), ("closed_at__isnull", True), ("closed_by__isnull", True)),
                    models.Q(
                        ("closed_at__isnull", False),
                        ("closed_by__isnull", False),
                        models.Q(("close_reason", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="workorders_recall_closed_whole",
                violation_error_message="A recall is closed by somebody, at some time, for a reason.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recall",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("withdraw_reason", ""),
                        ("withdrawn_at__isnull", True),
                        ("withdrawn_by__isnull", True),
                    ),
                    models.Q(
                        ("withdrawn_at__isnull", False),
                        ("withdrawn_by__isnull", False),
                        models.Q(("withdraw_reason", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="workorders_recall_withdrawn_whole",
                violation_error_message="A recall is withdrawn by somebody, at some time, for a reason.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recalldecision",
            constraint=models.CheckConstraint(
                condition=models.Q(("why", ""), _negated=True),
                name="workorders_recalldecision_reason",
                violation_error_message="Say why the unit may go, or may not.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recallletter",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                ),
                name="workorders_recallletter_reissue_reason",
                violation_error_message="A reissue says why it replaces the earlier letter.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recalllot",
            constraint=models.UniqueConstraint(
                fields=("recall", "lot"),
                name="workorders_recalllot_once",
                violation_error_message="The recall has this lot already.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recallunit",
            constraint=models.UniqueConstraint(
                fields=("recall", "unit"),
                name="workorders_recallunit_once",
                violation_error_message="The recall has this unit already.",
            ),
        ),
        migrations.AddConstraint(
            model_name="recallcall",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("outcome__in", ["scrapped", "on_its_way"]), ("unit__isnull", False)),
                    models.Q(
                        models.Q(("outcome__in", ["scrapped", "on_its_way"]), _negated=True),
                        ("unit__isnull", True),
                    ),
                    _connector="OR",
                ),
                name="workorders_recallcall_about",
                violation_error_message="Say which unit is scrapped or on its way; other calls name none.",
            ),
        ),
    ]
