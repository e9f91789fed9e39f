import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0002_purchasing"),
        ("shop", "0012_spare_fluid_that_goes_along"),
        ("shop", "__first__"),
        ("workorders", "0008_hoses"),
    ]

    operations = [
        migrations.CreateModel(
            name="Exchange",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("due", models.DateField(blank=True, db_index=True, null=True, verbose_name="core due on")),
                ("came_at", models.DateTimeField(blank=True, null=True, verbose_name="core here since")),
                ("waived_at", models.DateTimeField(blank=True, null=True)),
                (
                    "waive_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why no core comes"),
                ),
                (
                    "came_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "core",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="exchange",
                        to="workorders.rebuild",
                        verbose_name="the core",
                    ),
                ),
                (
                    "packed",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="exchange",
                        to="workorders.packedunit",
                    ),
                ),
                (
                    "waived_by",
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
                "ordering": ["due", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("core__isnull", False), ("due__isnull", False), _connector="OR"),
                        name="workorders_exchange_core_or_due",
                        violation_error_message="Name the core, or the day on which it is due.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("came_at__isnull", False),
                                ("came_by__isnull", False),
                                ("core__isnull", False),
                            ),
                            models.Q(
                                ("came_at__isnull", True), ("came_by__isnull", True), ("core__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="workorders_exchange_came_whole",
                        violation_error_message="A core that came says when, and who took it in.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("waived_at__isnull", True), ("waived_by__isnull", True)),
                            models.Q(
                                ("waived_at__isnull", False),
                                ("waived_by__isnull", False),
                                models.Q(("waive_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_exchange_waived_whole",
                        violation_error_message="Say why no core comes.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("core__isnull", True), ("waived_at__isnull", True), _connector="OR"
                        ),
                        name="workorders_exchange_came_or_waived",
                        violation_error_message="The core is here; there is nothing to waive.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalExchange",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("due", models.DateField(blank=True, db_index=True, null=True, verbose_name="core due on")),
                ("came_at", models.DateTimeField(blank=True, null=True, verbose_name="core here since")),
                ("waived_at", models.DateTimeField(blank=True, null=True)),
                (
                    "waive_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why no core comes"),
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
                    "came_by",
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
                    "core",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.rebuild",
                        verbose_name="the core",
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
                    "packed",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.packedunit",
                    ),
                ),
                (
                    "waived_by",
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
                "verbose_name": "historical exchange",
                "verbose_name_plural": "historical exchanges",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPacking",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("begun_at", models.DateTimeField()),
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
                (
                    "cancel_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is given up"),
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
                    "cancelled_by",
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
                    "shipment",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.shipment",
                        verbose_name="sent off as",
                    ),
                ),
                (
                    "work_order",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.workorder",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical packing",
                "verbose_name_plural": "historical packings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Packing",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
                (
                    "cancel_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is given up"),
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
                    "cancelled_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "shipment",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packing",
                        to="workorders.shipment",
                        verbose_name="sent off as",
                    ),
                ),
                (
                    "work_order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packings",
                        to="workorders.workorder",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("cancelled_at__isnull", True), ("shipment__isnull", True)),
                        fields=("work_order",),
                        name="workorders_packing_one_open",
                        violation_error_message="A packing of this work order is open already; go on with that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("cancelled_at__isnull", True), ("cancelled_by__isnull", True)),
                            models.Q(
                                ("cancelled_at__isnull", False),
                                ("cancelled_by__isnull", False),
                                models.Q(("cancel_reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_packing_cancelled_whole",
                        violation_error_message="Say why the packing is given up.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("shipment__isnull", True), ("cancelled_at__isnull", True), _connector="OR"
                        ),
                        name="workorders_packing_sent_or_cancelled",
                        violation_error_message="What was sent off cannot be given up.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PackingParcel",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("weight_kg", models.FloatField(blank=True, null=True, verbose_name="weight, kg")),
                ("length_cm", models.FloatField(blank=True, null=True, verbose_name="length, cm")),
                ("width_cm", models.FloatField(blank=True, null=True, verbose_name="width, cm")),
                ("height_cm", models.FloatField(blank=True, null=True, verbose_name="height, cm")),
                ("number", models.PositiveSmallIntegerField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
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
                    "packing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parcels",
                        to="workorders.packing",
                    ),
                ),
            ],
            options={
                "ordering": ["packing", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("packing", "number"),
                        name="workorders_packingparcel_number_once",
                        violation_error_message="This packing has a parcel of that number already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at__isnull", False), ("closed_by__isnull", False)),
                            models.Q(("closed_at__isnull", True), ("closed_by__isnull", True)),
                            _connector="OR",
                        ),
                        name="workorders_packingparcel_closed_whole",
                        violation_error_message="Say who closed the parcel.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("weight_kg__isnull", True), ("weight_kg__gt", 0), _connector="OR"
                        ),
                        name="workorders_packingparcel_weight",
                        violation_error_message="A parcel weighs more than 0 kg.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("height_cm__isnull", True),
                                ("length_cm__isnull", True),
                                ("width_cm__isnull", True),
                            ),
                            models.Q(
                                ("height_cm__gt", 0),
                                ("height_cm__isnull", False),
                                ("length_cm__gt", 0),
                                ("length_cm__isnull", False),
                                ("width_cm__gt", 0),
                                ("width_cm__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_packingparcel_size",
                        violation_error_message="Give length, width and height, each above 0 cm, or none of them.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="PackingUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("put_in_at", models.DateTimeField()),
                ("core_due", models.DateField(blank=True, null=True, verbose_name="core due on")),
                ("taken_out_at", models.DateTimeField(blank=True, null=True)),
                (
                    "parcel",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="workorders.packingparcel",
                    ),
                ),
                (
                    "put_in_by",
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
                        related_name="packing_units",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "replaces",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="workorders.rebuild",
                        verbose_name="given for the core",
                    ),
                ),
                (
                    "taken_out_by",
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
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("taken_out_at__isnull", True)),
                        fields=("rebuild",),
                        name="workorders_packingunit_packed_once",
                        violation_error_message="This unit lies in a parcel already; take it out there first.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("taken_out_at__isnull", True)),
                        fields=("replaces",),
                        name="workorders_packingunit_core_once",
                        violation_error_message="Another exchange unit goes out for this core already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("taken_out_at__isnull", False), ("taken_out_by__isnull", False)),
                            models.Q(("taken_out_at__isnull", True), ("taken_out_by__isnull", True)),
                            _connector="OR",
                        ),
                        name="workorders_packingunit_taken_out_whole",
                        violation_error_message="Say who took the unit out.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), ("core_due__isnull", True), _connector="OR"
                        ),
                        name="workorders_packingunit_core_here_or_due",
                        violation_error_message="A core is here, or it is still to come: not both.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPackingLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(verbose_name="line")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hose", "hose"),
                            ("extra", "accessory"),
                            ("cap", "cap"),
                            ("inside", "fluid left inside"),
                            ("spare", "spare fluid"),
                            ("paper", "papers"),
                            ("other", "something else"),
                        ],
                        max_length=6,
                    ),
                ),
                ("code", models.CharField(blank=True, max_length=60, verbose_name="what a scan of it says")),
                ("text", models.CharField(max_length=160, verbose_name="what it is")),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "to be packed"), ("packed", "packed"), ("kept", "kept back")],
                        default="open",
                        max_length=6,
                    ),
                ),
                ("done_at", models.DateTimeField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is kept back")),
                ("volume_ml", models.FloatField(blank=True, null=True, verbose_name="how much, mL")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
                (
                    "done_by",
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
                    "fluid",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.fluid",
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
                    "packing_unit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.packingunit",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical packing line",
                "verbose_name_plural": "historical packing lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPackingParcel",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("weight_kg", models.FloatField(blank=True, null=True, verbose_name="weight, kg")),
                ("length_cm", models.FloatField(blank=True, null=True, verbose_name="length, cm")),
                ("width_cm", models.FloatField(blank=True, null=True, verbose_name="width, cm")),
                ("height_cm", models.FloatField(blank=True, null=True, verbose_name="height, cm")),
                ("number", models.PositiveSmallIntegerField()),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
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
                    "packing",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.packing",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical packing parcel",
                "verbose_name_plural": "historical packing parcels",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPackingUnit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("put_in_at", models.DateTimeField()),
                ("core_due", models.DateField(blank=True, null=True, verbose_name="core due on")),
                ("taken_out_at", models.DateTimeField(blank=True, null=True)),
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
                    "put_in_by",
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
                    "rebuild",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "replaces",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.rebuild",
                        verbose_name="given for the core",
                    ),
                ),
                (
                    "taken_out_by",
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
                    "parcel",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.packingparcel",
                    ),
                ),
            ],
            options={
                "verbose_name": "historical packing unit",
                "verbose_name_plural": "historical packing units",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="PackingLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("order", models.PositiveSmallIntegerField(verbose_name="line")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hose", "hose"),
                            ("extra", "accessory"),
                            ("cap", "cap"),
                            ("inside", "fluid left inside"),
                            ("spare", "spare fluid"),
                            ("paper", "papers"),
                            ("other", "something else"),
                        ],
                        max_length=6,
                    ),
                ),
                ("code", models.CharField(blank=True, max_length=60, verbose_name="what a scan of it says")),
                ("text", models.CharField(max_length=160, verbose_name="what it is")),
                (
                    "state",
                    models.CharField(
                        choices=[("open", "to be packed"), ("packed", "packed"), ("kept", "kept back")],
                        default="open",
                        max_length=6,
                    ),
                ),
                ("done_at", models.DateTimeField(blank=True, null=True)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is kept back")),
                ("volume_ml", models.FloatField(blank=True, null=True, verbose_name="how much, mL")),
                (
                    "done_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "fluid",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.fluid",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.lot",
                    ),
                ),
                (
                    "packing_unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="workorders.packingunit",
                    ),
                ),
            ],
            options={
                "ordering": ["packing_unit", "order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("packing_unit", "order"),
                        name="workorders_packingline_order_once",
                        violation_error_message="This unit has a line of that number already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("done_at__isnull", True), ("done_by__isnull", True), ("state", "open")),
                            models.Q(
                                models.Q(("state", "open"), _negated=True),
                                ("done_at__isnull", False),
                                ("done_by__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_packingline_done_whole",
                        violation_error_message="What is packed or kept back says who did it, and when.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "kept"), models.Q(("reason", ""), _negated=True)),
                            models.Q(models.Q(("state", "kept"), _negated=True), ("reason", "")),
                            _connector="OR",
                        ),
                        name="workorders_packingline_kept_told",
                        violation_error_message="Say why it is kept back.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["inside", "spare"]),
                            models.Q(
                                ("fluid__isnull", True), ("lot__isnull", True), ("volume_ml__isnull", True)
                            ),
                            _connector="OR",
                        ),
                        name="workorders_packingline_fluid_measured",
                        violation_error_message="Only a fluid has millilitres and a lot.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("volume_ml__isnull", True), ("volume_ml__gte", 0), _connector="OR"
                        ),
                        name="workorders_packingline_volume",
                        violation_error_message="A volume is 0 mL or more.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind", "spare"), ("state", "packed"), _negated=True),
                            models.Q(
                                ("fluid__isnull", False), ("volume_ml__gt", 0), ("volume_ml__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="workorders_packingline_spare_whole",
                        violation_error_message="Say which fluid goes along, and how many millilitres of it.",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="historicalparcel",
            name="carrier",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="historicalparcel",
            name="height_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="height, cm"),
        ),
        migrations.AddField(
            model_name="historicalparcel",
            name="length_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="length, cm"),
        ),
        migrations.AddField(
            model_name="historicalparcel",
            name="weight_kg",
            field=models.FloatField(blank=True, null=True, verbose_name="weight, kg"),
        ),
        migrations.AddField(
            model_name="historicalparcel",
            name="width_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="width, cm"),
        ),
        migrations.AddField(
            model_name="parcel",
            name="carrier",
            field=models.CharField(blank=True, max_length=60),
        ),
        migrations.AddField(
            model_name="parcel",
            name="height_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="height, cm"),
        ),
        migrations.AddField(
            model_name="parcel",
            name="length_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="length, cm"),
        ),
        migrations.AddField(
            model_name="parcel",
            name="weight_kg",
            field=models.FloatField(blank=True, null=True, verbose_name="weight, kg"),
        ),
        migrations.AddField(
            model_name="parcel",
            name="width_cm",
            field=models.FloatField(blank=True, null=True, verbose_name="width, cm"),
        ),
        migrations.AddConstraint(
            model_name="parcel",
            constraint=models.CheckConstraint(
                condition=models.Q(("weight_kg__isnull", True), ("weight_kg__gt", 0), _connector="OR"),
                name="workorders_parcel_weight",
                violation_error_message="A parcel weighs more than 0 kg.",
            ),
        ),
        migrations.AddConstraint(
            model_name="parcel",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        ("height_cm__isnull", True), ("length_cm__isnull", True), ("width_cm__isnull", True)
                    ),
                    models.Q(
                        ("height_cm__gt", 0),
                        ("height_cm__isnull", False),
                        ("length_cm__gt", 0),
                        ("length_cm__isnull", False),
                        ("width_cm__gt", 0),
                        ("width_cm__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="workorders_parcel_size",
                violation_error_message="Give length, width and height, each above 0 cm, or none of them.",
            ),
        ),
    ]
