import django.db.models.deletion
import django.db.models.functions.text
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0004_first_expired_first_out"),
        ("shop", "0005_draft_types"),
        ("shop", "__first__"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalLotCertificate",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("title", models.CharField(blank=True, max_length=120, verbose_name="what it is")),
                (
                    "withdrawn_why",
                    models.CharField(blank=True, max_length=200, verbose_name="why it is withdrawn"),
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
                    "file",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.storedfile",
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
            ],
            options={
                "verbose_name": "historical lot certificate",
                "verbose_name_plural": "historical lot certificates",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalRecipeLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("quantity", models.PositiveSmallIntegerField(default=1, verbose_name="pieces")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
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
                    "made",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.part",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.part",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical recipe line",
                "verbose_name_plural": "historical recipe lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="LotCertificate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("title", models.CharField(blank=True, max_length=120, verbose_name="what it is")),
                (
                    "withdrawn_why",
                    models.CharField(blank=True, max_length=200, verbose_name="why it is withdrawn"),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="certificates",
                        to="inventory.lot",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("lot", "file"),
                        name="inventory_lotcertificate_once",
                        violation_error_message="This file belongs to the lot already.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="LotInspection",
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
                    "purpose",
                    models.CharField(
                        choices=[
                            ("arrival", "on arrival"),
                            ("making", "after making"),
                            ("extension", "for a later use-by date"),
                        ],
                        max_length=10,
                    ),
                ),
                ("certificate_seen", models.BooleanField(default=False)),
                ("pieces", models.PositiveIntegerField(default=0, verbose_name="pieces inspected")),
                ("what", models.CharField(blank=True, max_length=300, verbose_name="what was inspected")),
                ("passed", models.BooleanField()),
                ("extended_until", models.DateField(blank=True, null=True)),
                (
                    "limit_until",
                    models.DateField(blank=True, null=True, verbose_name="latest date of the standard"),
                ),
                ("basis", models.CharField(blank=True, max_length=300, verbose_name="basis of the limit")),
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
                        related_name="inspections",
                        to="inventory.lot",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("passed", True),
                                ("purpose", "extension"),
                                ("extended_until__isnull", False),
                                ("limit_until__isnull", False),
                            ),
                            models.Q(
                                models.Q(("passed", True), ("purpose", "extension"), _negated=True),
                                ("extended_until__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="inventory_lotinspection_date_if_extended",
                        violation_error_message="A passed inspection for a later date names that date and its limit; no other one does.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("extended_until__isnull", True),
                            ("extended_until__lte", models.F("limit_until")),
                            _connector="OR",
                        ),
                        name="inventory_lotinspection_within_limit",
                        violation_error_message="The standard does not go beyond its limit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("certificate_seen", True),
                            models.Q(("pieces__gt", 0), models.Q(("what", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="inventory_lotinspection_says_what",
                        violation_error_message="Say what was inspected and on how many pieces.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("passed", True), ("purpose", "extension")),
                        fields=("lot",),
                        name="inventory_lotinspection_extended_once",
                        violation_error_message="The use-by date of this lot was extended already; that goes once.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="LotReading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("what", models.CharField(max_length=80)),
                ("value", models.FloatField()),
                (
                    "unit",
                    models.CharField(
                        choices=[("mm", "mm"), ("Shore A", "Shore A"), ("g", "g")], default="mm", max_length=8
                    ),
                ),
                ("lower", models.FloatField(blank=True, null=True)),
                ("upper", models.FloatField(blank=True, null=True)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "inspection",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="inventory.lotinspection",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lower__isnull", True),
                            ("upper__isnull", True),
                            ("lower__lte", models.F("upper")),
                            _connector="OR",
                        ),
                        name="inventory_lotreading_limits_in_order",
                        violation_error_message="The lower limit lies above the upper one.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="Making",
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
                    "hours",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=6, null=True, verbose_name="hours of work"
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="what was done")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "done_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "lot",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="making", to="inventory.lot"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("hours__isnull", True), ("hours__gte", 0), _connector="OR"),
                        name="inventory_making_hours_not_negative",
                        violation_error_message="Hours of work count from zero.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="MakingInput",
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
                    "lot_reason",
                    models.CharField(
                        blank=True,
                        max_length=300,
                        verbose_name="why this lot and not the one to expire first",
                    ),
                ),
                (
                    "lot_warning",
                    models.CharField(blank=True, max_length=200, verbose_name="which lot was passed over"),
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
                    "making",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inputs",
                        to="inventory.making",
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="making_input",
                        to="inventory.movement",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="MakingTakenBack",
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
                    "making",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="inventory.making",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.CreateModel(
            name="RecipeLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("quantity", models.PositiveSmallIntegerField(default=1, verbose_name="pieces")),
                (
                    "made",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recipe",
                        to="inventory.part",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="recipes_with_it",
                        to="inventory.part",
                    ),
                ),
            ],
            options={
                "ordering": ["made", "part__number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("made", "part"),
                        name="inventory_recipeline_part_once",
                        violation_error_message="The recipe has this part already; change its pieces.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="inventory_recipeline_quantity_positive",
                        violation_error_message="A recipe line needs at least one piece.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("made", models.F("part")), _negated=True),
                        name="inventory_recipeline_not_itself",
                        violation_error_message="A part is not made from itself.",
                    ),
                ],
            },
        ),
        migrations.RemoveConstraint(
            model_name="lot",
            name="inventory_lot_hold_has_reason",
        ),
        migrations.AddField(
            model_name="historicallot",
            name="computed_use_by",
            field=models.DateField(blank=True, null=True, verbose_name="use-by date as computed at receipt"),
        ),
        migrations.AddField(
            model_name="historicallot",
            name="made_here",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="historicallot",
            name="storage_standard",
            field=models.CharField(
                blank=True, choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")], max_length=10
            ),
        ),
        migrations.AddField(
            model_name="historicalsupplier",
            name="is_shop",
            field=models.BooleanField(default=False, verbose_name="this shop itself"),
        ),
        migrations.AddField(
            model_name="historicalsupplier",
            name="storage_standard",
            field=models.CharField(
                blank=True,
                choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                max_length=10,
                verbose_name="storage life of its seals after",
            ),
        ),
        migrations.AddField(
            model_name="lot",
            name="computed_use_by",
            field=models.DateField(blank=True, null=True, verbose_name="use-by date as computed at receipt"),
        ),
        migrations.AddField(
            model_name="lot",
            name="made_here",
            field=models.BooleanField(default=False),
        ),
        migrations.AddField(
            model_name="lot",
            name="storage_standard",
            field=models.CharField(
                blank=True, choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")], max_length=10
            ),
        ),
        migrations.AddField(
            model_name="supplier",
            name="is_shop",
            field=models.BooleanField(default=False, verbose_name="this shop itself"),
        ),
        migrations.AddField(
            model_name="supplier",
            name="storage_standard",
            field=models.CharField(
                blank=True,
                choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                max_length=10,
                verbose_name="storage life of its seals after",
            ),
        ),
        migrations.AlterField(
            model_name="historicallot",
            name="state",
            field=models.CharField(
                choices=[("accepted", "accepted"), ("on_hold", "on hold"), ("quarantined", "in quarantine")],
                default="accepted",
                max_length=12,
            ),
        ),
        migrations.AlterField(
            model_name="lot",
            name="state",
            field=models.CharField(
                choices=[("accepted", "accepted"), ("on_hold", "on hold"), ("quarantined", "in quarantine")],
                default="accepted",
                max_length=12,
            ),
        ),
        migrations.AddConstraint(
            model_name="lot",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("state", "accepted"), models.Q(("hold_reason", ""), _negated=True), _connector="OR"
                ),
                name="inventory_lot_hold_has_reason",
                violation_error_message="A lot on hold or in quarantine needs the reason.",
            ),
        ),
        migrations.AddConstraint(
            model_name="lot",
            constraint=models.UniqueConstraint(
                django.db.models.functions.text.Upper("number"),
                name="inventory_lot_number_any_case",
                violation_error_message="Another lot has this number, written in other letters.",
            ),
        ),
        migrations.AddConstraint(
            model_name="supplier",
            constraint=models.UniqueConstraint(
                condition=models.Q(("is_shop", True)),
                fields=("is_shop",),
                name="inventory_supplier_one_shop",
                violation_error_message="One supplier is the shop itself already.",
            ),
        ),
    ]
