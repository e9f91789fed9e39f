import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0001_initial"),
        ("shop", "0006_technique"),
        ("shop", "__first__"),
        ("workorders", "0006_torque_instruments"),
    ]

    operations = [
        migrations.CreateModel(
            name="HistoricalOperationValue",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("corrosion_before", "corrosion before"),
                            ("corrosion_after", "corrosion after"),
                            ("pitting_before", "pitting before"),
                            ("pitting_after", "pitting after"),
                            ("paint_before", "paint damage before"),
                            ("paint_after", "paint damage after"),
                            ("pit_depth_um", "deepest pit left"),
                            ("medium", "blast medium"),
                            ("masked", "what is masked"),
                            ("paint", "paint and colour"),
                            ("film_um", "paint thickness"),
                            ("stone", "stone and grit"),
                            ("bore_before_mm", "bore before"),
                            ("bore_after_mm", "bore after"),
                            ("crosshatch_deg", "crosshatch angle"),
                            ("grit", "grit"),
                            ("ra_um", "Ra reached"),
                            ("thread", "thread"),
                            ("thread_method", "how it was repaired"),
                            ("torque_nm", "torque reached"),
                            ("locker", "thread locker"),
                            ("locker_batch", "batch of the thread locker"),
                        ],
                        max_length=20,
                    ),
                ),
                ("number", models.FloatField(blank=True, null=True)),
                ("words", models.CharField(blank=True, max_length=120)),
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
                    "operation",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.operation",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical operation value",
                "verbose_name_plural": "historical operation values",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="OperationValue",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "what",
                    models.CharField(
                        choices=[
                            ("corrosion_before", "corrosion before"),
                            ("corrosion_after", "corrosion after"),
                            ("pitting_before", "pitting before"),
                            ("pitting_after", "pitting after"),
                            ("paint_before", "paint damage before"),
                            ("paint_after", "paint damage after"),
                            ("pit_depth_um", "deepest pit left"),
                            ("medium", "blast medium"),
                            ("masked", "what is masked"),
                            ("paint", "paint and colour"),
                            ("film_um", "paint thickness"),
                            ("stone", "stone and grit"),
                            ("bore_before_mm", "bore before"),
                            ("bore_after_mm", "bore after"),
                            ("crosshatch_deg", "crosshatch angle"),
                            ("grit", "grit"),
                            ("ra_um", "Ra reached"),
                            ("thread", "thread"),
                            ("thread_method", "how it was repaired"),
                            ("torque_nm", "torque reached"),
                            ("locker", "thread locker"),
                            ("locker_batch", "batch of the thread locker"),
                        ],
                        max_length=20,
                    ),
                ),
                ("number", models.FloatField(blank=True, null=True)),
                ("words", models.CharField(blank=True, max_length=120)),
                (
                    "operation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="values",
                        to="workorders.operation",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("operation", "what"),
                        name="workorders_operationvalue_once",
                        violation_error_message="This operation has that value already; correct it.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("number__isnull", True), models.Q(("words", ""), _negated=True)),
                            models.Q(("number__isnull", False), ("words", "")),
                            _connector="OR",
                        ),
                        name="workorders_operationvalue_one_of_both",
                        violation_error_message="A value is a number or a word, one of both.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("number__isnull", True), ("number__gte", 0), _connector="OR"),
                        name="workorders_operationvalue_not_negative",
                        violation_error_message="A value is 0 or more.",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="fastened_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="fastened at"),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="figure",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="shop.fasteningfigure",
                verbose_name="figure",
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="figure_text",
            field=models.CharField(blank=True, max_length=300, verbose_name="figure as it stood"),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="instrument",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="workorders.instrument",
                verbose_name="measured with",
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="locker_lot",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="inventory.lot",
                verbose_name="lot of the thread locker",
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="reason",
            field=models.CharField(
                blank=True, max_length=300, verbose_name="why it stands outside the figure"
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="unmasked_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="masking off at"),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="unmasked_by",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
                verbose_name="masking off by",
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
            name="within",
            field=models.BooleanField(blank=True, null=True, verbose_name="within the figure"),
        ),
        migrations.AddField(
            model_name="operation",
            name="fastened_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="fastened at"),
        ),
        migrations.AddField(
            model_name="operation",
            name="figure",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.fasteningfigure",
                verbose_name="figure",
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="figure_text",
            field=models.CharField(blank=True, max_length=300, verbose_name="figure as it stood"),
        ),
        migrations.AddField(
            model_name="operation",
            name="instrument",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="workorders.instrument",
                verbose_name="measured with",
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="locker_lot",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="inventory.lot",
                verbose_name="lot of the thread locker",
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="reason",
            field=models.CharField(
                blank=True, max_length=300, verbose_name="why it stands outside the figure"
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="unmasked_at",
            field=models.DateTimeField(blank=True, null=True, verbose_name="masking off at"),
        ),
        migrations.AddField(
            model_name="operation",
            name="unmasked_by",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to=settings.AUTH_USER_MODEL,
                verbose_name="masking off by",
            ),
        ),
        migrations.AddField(
            model_name="operation",
            name="within",
            field=models.BooleanField(blank=True, null=True, verbose_name="within the figure"),
        ),
        migrations.AlterField(
            model_name="historicaloperation",
            name="kind",
            field=models.CharField(
                choices=[
                    ("cleaned", "cleaned"),
                    ("blasted", "blasted"),
                    ("corrosion_removed", "corrosion removed"),
                    ("masked", "masked"),
                    ("painted", "painted"),
                    ("honed", "honed"),
                    ("polished", "polished"),
                    ("sleeved", "sleeved"),
                    ("thread_repaired", "thread repaired"),
                    ("fastened", "torque and thread locker"),
                    ("crimp_removed", "crimp machined out"),
                    ("port_seal_renewed", "port seal renewed"),
                    ("hose_clipped", "hose held by screwed clip"),
                    ("other", "other rework"),
                ],
                max_length=20,
            ),
        ),
        migrations.AlterField(
            model_name="operation",
            name="kind",
            field=models.CharField(
                choices=[
                    ("cleaned", "cleaned"),
                    ("blasted", "blasted"),
                    ("corrosion_removed", "corrosion removed"),
                    ("masked", "masked"),
                    ("painted", "painted"),
                    ("honed", "honed"),
                    ("polished", "polished"),
                    ("sleeved", "sleeved"),
                    ("thread_repaired", "thread repaired"),
                    ("fastened", "torque and thread locker"),
                    ("crimp_removed", "crimp machined out"),
                    ("port_seal_renewed", "port seal renewed"),
                    ("hose_clipped", "hose held by screwed clip"),
                    ("other", "other rework"),
                ],
                max_length=20,
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("fastened_at__isnull", False), ("kind", "fastened")),
                    models.Q(
                        models.Q(("kind", "fastened"), _negated=True),
                        ("fastened_at__isnull", True),
                        ("figure__isnull", True),
                        ("locker_lot__isnull", True),
                    ),
                    _connector="OR",
                ),
                name="workorders_operation_fastening_alone",
                violation_error_message="Only a fastening has a figure, a thread locker and its own time.",
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("figure__isnull", True), ("figure_text", ""), ("within__isnull", True)),
                    models.Q(("figure__isnull", False), models.Q(("figure_text", ""), _negated=True)),
                    _connector="OR",
                ),
                name="workorders_operation_judged_by_figure",
                violation_error_message="A verdict on a fastening keeps the figure that it was judged by.",
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("within__isnull", True),
                    ("within", True),
                    models.Q(("reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="workorders_operation_outside_has_reason",
                violation_error_message="Say why it stands although it is outside the figure.",
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("unmasked_at__isnull", False), ("unmasked_by__isnull", False)),
                    models.Q(("unmasked_at__isnull", True), ("unmasked_by__isnull", True)),
                    _connector="OR",
                ),
                name="workorders_operation_unmasking_whole",
                violation_error_message="Taking masking off names who did it, and when.",
            ),
        ),
        migrations.AddConstraint(
            model_name="operation",
            constraint=models.CheckConstraint(
                condition=models.Q(("unmasked_at__isnull", True), ("kind", "masked"), _connector="OR"),
                name="workorders_operation_unmasking_of_masking",
                violation_error_message="Only what was masked is unmasked.",
            ),
        ),
    ]
