import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0006_what_old_lots_keep"),
        ("shop", "__first__"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalPlaceCount",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("place", models.CharField(max_length=40)),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "being counted"), ("booked", "booked"), ("dropped", "dropped")],
                        default="open",
                        max_length=8,
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=300)),
                (
                    "same_person",
                    models.BooleanField(
                        default=False, verbose_name="booked by a person who counted, above the limit"
                    ),
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
                    "begun_by",
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
            ],
            options={
                "verbose_name": "historical place count",
                "verbose_name_plural": "historical place counts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="PlaceCount",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("place", models.CharField(max_length=40)),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "being counted"), ("booked", "booked"), ("dropped", "dropped")],
                        default="open",
                        max_length=8,
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=300)),
                (
                    "same_person",
                    models.BooleanField(
                        default=False, verbose_name="booked by a person who counted, above the limit"
                    ),
                ),
                (
                    "begun_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
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
            ],
            options={
                "ordering": ["-begun_at", "-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("state", "open")),
                        fields=("place",),
                        name="inventory_placecount_one_open",
                        violation_error_message="This place is being counted already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("closed_at__isnull", True), ("closed_by__isnull", True), ("state", "open")
                            ),
                            models.Q(
                                models.Q(("state", "open"), _negated=True),
                                ("closed_at__isnull", False),
                                ("closed_by__isnull", False),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="inventory_placecount_closed_by_somebody",
                        violation_error_message="A count that is over says who closed it, when and why.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalCountLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("counted", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "ledger",
                    models.IntegerField(blank=True, null=True, verbose_name="the ledger at that moment"),
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
                    "counted_by",
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
                    "lot",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.lot",
                    ),
                ),
                (
                    "movement",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.movement",
                    ),
                ),
                (
                    "count",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.placecount",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical count line",
                "verbose_name_plural": "historical count lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="CountLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("counted", models.PositiveIntegerField(blank=True, null=True)),
                (
                    "ledger",
                    models.IntegerField(blank=True, null=True, verbose_name="the ledger at that moment"),
                ),
                (
                    "counted_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="count_lines",
                        to="inventory.lot",
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="count_line",
                        to="inventory.movement",
                    ),
                ),
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="inventory.placecount",
                    ),
                ),
            ],
            options={
                "ordering": ["count", "lot__part__number", "lot__number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("count", "lot"),
                        name="inventory_countline_lot_once",
                        violation_error_message="The count has this lot already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("counted__isnull", False),
                                ("counted_by__isnull", False),
                                ("ledger__isnull", False),
                            ),
                            models.Q(
                                ("counted__isnull", True),
                                ("counted_by__isnull", True),
                                ("ledger__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="inventory_countline_with_its_ledger",
                        violation_error_message="What was counted stands with who counted and the ledger then.",
                    ),
                ],
            },
        ),
    ]
