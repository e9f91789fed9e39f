"""Everything up to 0017 in one step, for a new database; an older one takes the steps themselves.

The name sorts after 0001_initial, which must stay the first step that a swappable dependency finds.
"""

import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from shop.migrations._at_once import AtOnce


class Migration(AtOnce):
    replaces = [
        ("workorders", "0001_initial"),
        ("workorders", "0002_fit_reasons_and_sums"),
        ("workorders", "0003_boxes"),
        ("workorders", "0004_unit_compared_at_claim"),
        ("workorders", "0005_outside_work"),
        ("workorders", "0006_torque_instruments"),
        ("workorders", "0007_operation_values"),
        ("workorders", "0008_hoses"),
        ("workorders", "0009_packing_and_exchange"),
        ("workorders", "0010_first_expired_first_out"),
        ("workorders", "0011_seals_found"),
        ("workorders", "0012_rush_addresses_and_warranty_holder"),
        ("workorders", "0013_lessons"),
        ("workorders", "0014_costs_and_prices"),
        ("workorders", "0015_upgrades_on_record"),
        ("workorders", "0016_recalls"),
        ("workorders", "0017_instruments_found_out"),
    ]

    initial = True

    dependencies = [
        ("inventory", "0001_up_to_0012"),
        ("shop", "0001_up_to_0016"),
    ]

    operations = [
        migrations.CreateModel(
            name="Unit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "serial",
                    models.CharField(editable=False, max_length=9, unique=True, verbose_name="shop serial"),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="units", to="shop.unittype"
                    ),
                ),
                (
                    "maker_serial",
                    models.CharField(blank=True, db_index=True, max_length=60, verbose_name="maker's serial"),
                ),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("serial__regex", "^[0-9A-HJKMNP-TV-Z]{9}$")),
                        name="workorders_unit_serial_form",
                        violation_error_message="A shop serial has nine characters and is drawn by the program.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("maker_serial", ""), _negated=True),
                        fields=("unit_type", "maker_serial"),
                        name="workorders_unit_maker_serial_once",
                        violation_error_message="A unit of this type with this maker's serial is in the records already; scan or type its shop serial instead.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="WorkOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(editable=False, max_length=16, unique=True)),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_orders",
                        to="shop.customer",
                    ),
                ),
                (
                    "customer_order",
                    models.CharField(blank=True, max_length=60, verbose_name="customer's order number"),
                ),
                ("opened_at", models.DateTimeField(db_index=True)),
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("bill_to", models.TextField(blank=True, max_length=600, verbose_name="bill to")),
                ("ship_to", models.TextField(blank=True, max_length=600, verbose_name="ship to")),
                (
                    "end_owner",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="owned_orders",
                        to="shop.customer",
                        verbose_name="owner of the machine",
                    ),
                ),
                (
                    "warranty_holder",
                    models.CharField(
                        choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                        default="customer",
                        max_length=8,
                        verbose_name="who holds the warranty",
                    ),
                ),
                (
                    "rush_wanted_by",
                    models.DateField(blank=True, db_index=True, null=True, verbose_name="rush, wanted by"),
                ),
                (
                    "rush_agreed_by",
                    models.CharField(blank=True, max_length=120, verbose_name="who agreed to the rush"),
                ),
                ("rush_why", models.CharField(blank=True, max_length=300, verbose_name="why it is a rush")),
            ],
            options={
                "ordering": ["-opened_at", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("rush_agreed_by", ""), ("rush_wanted_by__isnull", True), ("rush_why", "")
                            ),
                            models.Q(
                                ("rush_wanted_by__isnull", False),
                                models.Q(("rush_agreed_by", ""), _negated=True),
                                models.Q(("rush_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_workorder_rush_whole",
                        violation_error_message="A rush needs the day it is wanted by, who agreed to it, and why.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Rebuild",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rebuilds",
                        to="workorders.unit",
                    ),
                ),
                (
                    "work_order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rebuilds",
                        to="workorders.workorder",
                    ),
                ),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="rebuilds",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "number",
                    models.PositiveSmallIntegerField(default=1, verbose_name="rebuild of this unit, no."),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("received", "received"),
                            ("torn_down", "torn down"),
                            ("quoted", "quoted"),
                            ("go_ahead", "go-ahead"),
                            ("building", "building"),
                            ("on_test", "on test"),
                            ("released", "released"),
                            ("shipped", "shipped"),
                            ("returned_as_found", "returned as found"),
                            ("scrapped", "scrapped"),
                            ("exchange_core", "kept as exchange core"),
                        ],
                        db_index=True,
                        default="received",
                        max_length=20,
                    ),
                ),
                ("received_at", models.DateTimeField()),
                (
                    "received_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "mounting_place",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.mountingplace",
                    ),
                ),
                (
                    "opened_before",
                    models.CharField(
                        choices=[
                            ("not_before", "not opened before"),
                            ("by_others", "opened by others"),
                            ("by_us", "opened by us"),
                            ("not_clear", "cannot be told"),
                        ],
                        max_length=10,
                        verbose_name="opened before?",
                    ),
                ),
                ("arrival_condition", models.TextField(verbose_name="condition on arrival")),
                ("reported", models.TextField(blank=True, verbose_name="what the customer reports")),
                (
                    "destination",
                    models.CharField(
                        choices=[
                            ("customer", "goes back to the customer"),
                            ("exchange", "exchange core, stays with us"),
                        ],
                        default="customer",
                        max_length=10,
                    ),
                ),
                ("shelf", models.CharField(blank=True, max_length=40, verbose_name="where it is now")),
                ("debris_found", models.BooleanField(default=False)),
                (
                    "debris_origin",
                    models.CharField(blank=True, max_length=300, verbose_name="where the debris came from"),
                ),
                (
                    "circuit_flagged",
                    models.BooleanField(
                        default=False, verbose_name="debris found elsewhere in this work order"
                    ),
                ),
                (
                    "exit_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="reason for the side exit"),
                ),
            ],
            options={
                "ordering": ["-received_at", "-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("unit", "number"),
                        name="workorders_rebuild_number_once",
                        violation_error_message="This unit has a rebuild of that number already.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            (
                                "stage__in",
                                [
                                    "received",
                                    "torn_down",
                                    "quoted",
                                    "go_ahead",
                                    "building",
                                    "on_test",
                                    "released",
                                ],
                            )
                        ),
                        fields=("unit",),
                        name="workorders_rebuild_one_open",
                        violation_error_message="This unit is in the shop already, in an open rebuild.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("stage__in", ["returned_as_found", "scrapped", "exchange_core"]),
                                _negated=True,
                            ),
                            models.Q(("exit_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_rebuild_exit_has_reason",
                        violation_error_message="A side exit needs its reason.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ArrivalItem",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="arrival_items",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hose", "hose attached"),
                            ("extra", "extra part"),
                            ("missing", "missing part"),
                        ],
                        max_length=8,
                    ),
                ),
                ("label", models.CharField(max_length=60, verbose_name="number or name")),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["kind", "label", "pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Box",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(editable=False, max_length=16, unique=True)),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="boxes",
                        to="shop.customer",
                    ),
                ),
                (
                    "work_order",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="boxes",
                        to="workorders.workorder",
                    ),
                ),
                (
                    "sender_as_written",
                    models.CharField(blank=True, max_length=200, verbose_name="sender as written on the box"),
                ),
                ("contact", models.CharField(blank=True, max_length=120, verbose_name="whom to ask")),
                (
                    "return_address",
                    models.TextField(blank=True, max_length=400, verbose_name="address that it goes back to"),
                ),
                (
                    "customer_order",
                    models.CharField(blank=True, max_length=60, verbose_name="customer's order number"),
                ),
                ("carrier", models.CharField(blank=True, max_length=60)),
                ("tracking", models.CharField(blank=True, max_length=60, verbose_name="tracking number")),
                (
                    "announced_how",
                    models.CharField(
                        choices=[
                            ("link", "by the customer's link"),
                            ("telephone", "by telephone"),
                            ("email", "by e-mail"),
                            ("not_announced", "not announced"),
                        ],
                        default="not_announced",
                        max_length=14,
                    ),
                ),
                ("announced_at", models.DateTimeField(blank=True, null=True)),
                (
                    "announced_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("received_at", models.DateTimeField(blank=True, null=True)),
                (
                    "received_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("shelf", models.CharField(blank=True, max_length=40, verbose_name="where it is now")),
                (
                    "packing",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("sound", "sound"),
                            ("damaged", "damaged"),
                            ("opened", "opened or taped again"),
                            ("wet", "wet or oily outside"),
                        ],
                        max_length=8,
                        verbose_name="state of the packing",
                    ),
                ),
                (
                    "damage_note",
                    models.TextField(
                        blank=True, max_length=600, verbose_name="what is wrong with the packing"
                    ),
                ),
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
            ],
            options={
                "verbose_name_plural": "boxes",
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("customer__isnull", True), ("work_order__isnull", True), _connector="OR"
                        ),
                        name="workorders_box_sender_once",
                        violation_error_message="The sender of a box with a work order is that order's customer.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("announced_at__isnull", True), ("announced_how", "not_announced")),
                            models.Q(
                                models.Q(("announced_how", "not_announced"), _negated=True),
                                ("announced_at__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_box_announced_or_here",
                        violation_error_message="Say when the box was announced, or that nobody announced it.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("announced_at__isnull", False), ("received_at__isnull", False), _connector="OR"
                        ),
                        name="workorders_box_known_of",
                        violation_error_message="A box was announced, or it is here.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("packing", ""), ("received_at__isnull", True), ("received_by__isnull", True)
                            ),
                            models.Q(
                                ("received_at__isnull", False),
                                ("received_by__isnull", False),
                                models.Q(("packing", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_box_received_whole",
                        violation_error_message="Say how the packing looks; a box that is not here has no packing.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("packing__in", ["", "sound"]),
                            models.Q(("damage_note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_box_damage_told",
                        violation_error_message="Say what is wrong with the packing.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("closed_at__isnull", True), ("closed_by__isnull", True)),
                            models.Q(("closed_at__isnull", False), ("closed_by__isnull", False)),
                            _connector="OR",
                        ),
                        name="workorders_box_closed_whole",
                        violation_error_message="Say who closed the box.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="BoxLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "box",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="workorders.box"
                    ),
                ),
                ("order", models.PositiveSmallIntegerField(verbose_name="line")),
                ("what", models.CharField(max_length=120, verbose_name="what it is")),
                (
                    "unit_type",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.unittype",
                    ),
                ),
                (
                    "symptoms",
                    models.CharField(blank=True, max_length=400, verbose_name="what is wrong with it"),
                ),
                ("expected", models.BooleanField(verbose_name="announced")),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("open", "not sorted yet"),
                            ("found", "found as announced"),
                            ("missing", "missing"),
                            ("wrong", "other than announced"),
                            ("extra", "not announced"),
                            ("unidentified", "not identified"),
                        ],
                        default="open",
                        max_length=12,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="box_line",
                        to="workorders.rebuild",
                        verbose_name="received as",
                    ),
                ),
            ],
            options={
                "ordering": ["box", "order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("box", "order"),
                        name="workorders_boxline_order_once",
                        violation_error_message="This box has a line of that number already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("what", ""), _negated=True),
                        name="workorders_boxline_told",
                        violation_error_message="Say what it is, or how it looks.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("expected", True),
                                ("outcome__in", ["open", "found", "missing", "wrong", "unidentified"]),
                            ),
                            models.Q(("expected", False), ("outcome__in", ["open", "extra", "unidentified"])),
                            _connector="OR",
                        ),
                        name="workorders_boxline_outcome_fits",
                        violation_error_message="What was announced is found, missing, another or not identified; what was not announced is extra or not identified.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("outcome", "wrong"), _negated=True),
                            models.Q(("note", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_boxline_wrong_told",
                        violation_error_message="Say in the note what lies in the box instead.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("rebuild__isnull", True),
                            ("outcome__in", ["found", "wrong", "extra"]),
                            _connector="OR",
                        ),
                        name="workorders_boxline_rebuild_fits",
                        violation_error_message="A unit was received from this line, so it is here and identified.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="BoxLink",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("token", models.CharField(editable=False, max_length=43, unique=True)),
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
                ("for_whom", models.CharField(max_length=120, verbose_name="whom it is for")),
                ("made_at", models.DateTimeField()),
                (
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("expires_at", models.DateTimeField(verbose_name="good until")),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "box",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="link",
                        to="workorders.box",
                    ),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("token__regex", "^[A-Za-z0-9_-]{43}$")),
                        name="workorders_boxlink_token_form",
                        violation_error_message="The address of a link is drawn by the program.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("expires_at__gt", models.F("made_at"))),
                        name="workorders_boxlink_expires_later",
                        violation_error_message="A link must be good for a while.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="BoxPhoto",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "box",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="workorders.box",
                    ),
                ),
                ("caption", models.CharField(blank=True, max_length=160)),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Instrument",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=20, unique=True)),
                ("name", models.CharField(max_length=120)),
                ("serial", models.CharField(blank=True, max_length=60)),
                (
                    "quantity",
                    models.CharField(
                        choices=[
                            ("pressure", "pressure"),
                            ("flow", "flow"),
                            ("length", "length"),
                            ("temperature", "temperature"),
                            ("current", "electric current"),
                            ("voltage", "voltage"),
                            ("time", "time"),
                            ("roughness", "surface roughness"),
                            ("torque", "torque"),
                            ("count", "count"),
                        ],
                        max_length=12,
                    ),
                ),
                ("unit", models.CharField(max_length=10)),
                ("range_low", models.FloatField(default=0)),
                ("range_high", models.FloatField()),
                ("accuracy", models.FloatField(verbose_name="accuracy, ± in its unit, whole range")),
                ("resolution", models.FloatField(default=0, verbose_name="smallest step shown")),
                ("trace_mapping", models.JSONField(blank=True, null=True)),
                ("retired", models.BooleanField(default=False)),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("range_high__gt", models.F("range_low"))),
                        name="workorders_instrument_range",
                        violation_error_message="The end of the range must lie above its start.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("accuracy__gt", 0), ("resolution__gte", 0)),
                        name="workorders_instrument_accuracy",
                        violation_error_message="Give the accuracy as a number above zero, the step as zero or more.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Calibration",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calibrations",
                        to="workorders.instrument",
                    ),
                ),
                ("calibrated_on", models.DateField()),
                ("due_on", models.DateField()),
                ("certificate_no", models.CharField(max_length=60)),
                ("done_by", models.CharField(max_length=120, verbose_name="calibrated by")),
                ("in_tolerance", models.BooleanField(default=True, verbose_name="in tolerance as found")),
                (
                    "adjusted",
                    models.BooleanField(default=False, verbose_name="adjusted, in tolerance as left"),
                ),
                ("error_found", models.FloatField(blank=True, null=True, verbose_name="error as found")),
                ("error_at", models.FloatField(blank=True, null=True, verbose_name="at the reading")),
                (
                    "file",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.storedfile",
                    ),
                ),
            ],
            options={
                "ordering": ["-calibrated_on", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("due_on__gt", models.F("calibrated_on"))),
                        name="workorders_calibration_due_after",
                        violation_error_message="The due date lies after the calibration.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("adjusted", False), ("in_tolerance", False), _connector="OR"),
                        name="workorders_calibration_adjusted_if_out",
                        violation_error_message="Only what was found out of tolerance is adjusted.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("error_at__isnull", True), ("error_found__isnull", True)),
                            models.Q(("error_at__isnull", False), ("error_found__isnull", False)),
                            _connector="OR",
                        ),
                        name="workorders_calibration_error_whole",
                        violation_error_message="Give the error together with the reading at which it was found.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="CalibrationReview",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "calibration",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reviews",
                        to="workorders.calibration",
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calibration_reviews",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "decision",
                    models.CharField(
                        choices=[
                            ("stands", "the readings stay valid"),
                            ("again", "to be tested again"),
                            ("tell", "the customer is to be told"),
                        ],
                        max_length=8,
                    ),
                ),
                ("error_found", models.FloatField(blank=True, null=True, verbose_name="error as found")),
                ("error_at", models.FloatField(blank=True, null=True, verbose_name="at the reading")),
                ("seen", models.JSONField()),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="workorders_calibrationreview_reason",
                        violation_error_message="Say why.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Shipment",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("number", models.CharField(max_length=16, unique=True)),
                (
                    "work_order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="shipments",
                        to="workorders.workorder",
                    ),
                ),
                (
                    "recipient",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="shipments",
                        to="shop.customer",
                    ),
                ),
                ("address", models.TextField()),
                ("carrier", models.CharField(blank=True, max_length=60)),
                (
                    "packing_list",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Warranty",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="warranty",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "shipment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="warranties",
                        to="workorders.shipment",
                    ),
                ),
                (
                    "holder",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="warranties",
                        to="shop.customer",
                    ),
                ),
                ("starts_on", models.DateField()),
                ("months", models.PositiveSmallIntegerField()),
                ("ends_on", models.DateField(db_index=True)),
                (
                    "policy",
                    models.CharField(
                        choices=[
                            ("remaining", "free repair or replacement for the remaining term"),
                            ("new_term", "free repair or replacement, starting a new term"),
                        ],
                        default="remaining",
                        max_length=10,
                    ),
                ),
                ("terms", models.TextField()),
            ],
            options={
                "ordering": ["-starts_on", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("ends_on__gt", models.F("starts_on"))),
                        name="workorders_warranty_ends_after_start",
                        violation_error_message="A warranty ends after it starts.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Claim",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(editable=False, max_length=16, unique=True)),
                (
                    "warranty",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="claims",
                        to="workorders.warranty",
                    ),
                ),
                (
                    "claimant",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="claims", to="shop.customer"
                    ),
                ),
                ("reported", models.TextField(verbose_name="what the customer reports")),
                ("opened_at", models.DateTimeField()),
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "judgement",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "open"),
                            ("accepted", "accepted"),
                            ("declined", "declined"),
                            ("goodwill", "goodwill"),
                        ],
                        max_length=10,
                    ),
                ),
                ("judged_at", models.DateTimeField(blank=True, null=True)),
                (
                    "judged_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("reason", models.TextField(blank=True, verbose_name="reason for the judgement")),
                (
                    "rebuild",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="from_claim",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "identity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not compared yet"),
                            ("same", "the same unit: mark and photo agree"),
                            ("no_mark", "no mark can be read"),
                            ("other", "another unit came back"),
                        ],
                        max_length=8,
                        verbose_name="the unit that came back",
                    ),
                ),
                ("identity_note", models.TextField(blank=True, verbose_name="what was compared and seen")),
                ("identity_at", models.DateTimeField(blank=True, null=True)),
                (
                    "identity_by",
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
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("judgement", ""),
                            models.Q(
                                ("judged_at__isnull", False),
                                ("judged_by__isnull", False),
                                models.Q(("reason", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_claim_judged_whole",
                        violation_error_message="A judgement needs who, when and a reason.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("identity", ""),
                            models.Q(
                                ("identity_at__isnull", False),
                                ("identity_by__isnull", False),
                                models.Q(("identity_note", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_claim_compared_whole",
                        violation_error_message="A comparison needs who, when, and what was seen.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("identity", "other"), ("judgement", "accepted"), _negated=True),
                        name="workorders_claim_other_unit_not_accepted",
                        violation_error_message="Another unit came back, which this warranty does not cover: decline, or show goodwill.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Parcel",
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
                (
                    "shipment",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parcels",
                        to="workorders.shipment",
                    ),
                ),
                ("number", models.PositiveSmallIntegerField()),
                ("tracking", models.CharField(blank=True, max_length=60, verbose_name="tracking number")),
                ("carrier", models.CharField(blank=True, max_length=60)),
            ],
            options={
                "ordering": ["shipment", "number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("weight_kg__isnull", True), ("weight_kg__gt", 0), _connector="OR"
                        ),
                        name="workorders_parcel_weight",
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
                        name="workorders_parcel_size",
                        violation_error_message="Give length, width and height, each above 0 cm, or none of them.",
                    ),
                    models.UniqueConstraint(
                        fields=("shipment", "number"),
                        name="workorders_parcel_number_once",
                        violation_error_message="This shipment has a parcel of that number already.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PackedUnit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "parcel",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="workorders.parcel",
                    ),
                ),
                (
                    "rebuild",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packed",
                        to="workorders.rebuild",
                    ),
                ),
                ("checked", models.JSONField(default=list)),
                ("caps_on", models.BooleanField(verbose_name="caps on every open port")),
                ("as_found", models.BooleanField(default=False, verbose_name="returned as found")),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Exchange",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("due", models.DateField(blank=True, db_index=True, null=True, verbose_name="core due on")),
                ("came_at", models.DateTimeField(blank=True, null=True, verbose_name="core here since")),
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
                ("waived_at", models.DateTimeField(blank=True, null=True)),
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
                (
                    "waive_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why no core comes"),
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Finding",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="findings",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "condition",
                    models.CharField(
                        choices=[
                            ("sound", "sound"),
                            ("hardened", "hardened"),
                            ("swollen", "swollen"),
                            ("worn", "worn"),
                            ("cut", "cut or nicked"),
                            ("extruded", "extruded"),
                            ("rolled", "rolled or spiralled"),
                            ("compression_set", "compression set"),
                            ("cracked", "cracked"),
                            ("blistered", "blistered"),
                            ("broken_up", "broken up, fragments lost"),
                            ("scored", "scored"),
                            ("corroded", "corroded or pitted"),
                            ("bent", "bent"),
                            ("oil_wet", "oil-wet"),
                            ("loose", "loose"),
                            ("blocked", "blocked"),
                            ("missing", "missing"),
                            ("chafed_cover", "chafed, cover only"),
                            ("chafed_through", "chafed to the reinforcement"),
                            ("kinked", "kinked"),
                            ("leaking_crimp", "leaking at the crimp"),
                            ("end_corroded", "end fitting corroded"),
                            ("not_examined", "not examined"),
                            ("not_here", "not here, stayed with the machine"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("none", "no fault found"),
                            ("age", "age"),
                            ("wear", "normal wear"),
                            ("contamination", "contamination"),
                            ("heat", "heat"),
                            ("fluid", "unsuitable fluid"),
                            ("water", "water"),
                            ("wrong_part", "wrong seal or size"),
                            ("assembly", "damaged at assembly"),
                            ("pressure", "over-pressure or wide gap"),
                            ("side_load", "side load or misalignment"),
                            ("corrosion", "corrosion"),
                            ("not_determined", "cause not determined"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "action",
                    models.CharField(
                        choices=[
                            ("renewed", "renewed"),
                            ("kept", "kept"),
                            ("reworked", "reworked"),
                            ("rejected", "rejected, unit not worth rebuilding"),
                            ("none", "nothing, not here"),
                        ],
                        max_length=10,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("length_mm", models.FloatField(blank=True, null=True, verbose_name="length as found, mm")),
                (
                    "kept_reason",
                    models.CharField(blank=True, default="", max_length=200, verbose_name="why it is kept"),
                ),
                (
                    "no_photo_reason",
                    models.CharField(
                        blank=True, default="", max_length=200, verbose_name="why its port has no photo"
                    ),
                ),
                ("found_at", models.DateTimeField()),
                (
                    "found_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": [
                    models.OrderBy(models.F("position__order"), nulls_last=True),
                    models.OrderBy(models.F("component__order"), nulls_last=True),
                    models.OrderBy(models.F("port__order"), nulls_last=True),
                    models.OrderBy(models.F("hose__order"), nulls_last=True),
                    "pk",
                ],
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
                            _connector="OR",
                        ),
                        name="workorders_finding_one_place",
                        violation_error_message="A finding is about one position, component, port or hose.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("position__isnull", False)),
                        fields=("rebuild", "position"),
                        name="workorders_finding_position_once",
                        violation_error_message="This place has its finding already; change that one.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("component__isnull", False)),
                        fields=("rebuild", "component"),
                        name="workorders_finding_component_once",
                        violation_error_message="This place has its finding already; change that one.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("port__isnull", False)),
                        fields=("rebuild", "port"),
                        name="workorders_finding_port_once",
                        violation_error_message="This place has its finding already; change that one.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("hose__isnull", False)),
                        fields=("rebuild", "hose"),
                        name="workorders_finding_hose_once",
                        violation_error_message="This place has its finding already; change that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("condition", "not_examined"), _negated=True),
                            ("cause", "not_determined"),
                            _connector="OR",
                        ),
                        name="workorders_finding_unseen_has_no_cause",
                        violation_error_message="What was not examined has no known cause: choose 'cause not determined'.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                models.Q(("condition", "not_here"), _negated=True),
                                models.Q(("action", "none"), _negated=True),
                            ),
                            models.Q(
                                ("action", "none"),
                                ("cause", "not_determined"),
                                ("condition", "not_here"),
                                ("hose__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_finding_hose_not_here",
                        violation_error_message="Only a hose can be not here; nothing is done to it, and no cause is known.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("hose__isnull", True),
                            models.Q(
                                ("action", "kept"),
                                (
                                    "condition__in",
                                    ("chafed_through", "swollen", "blistered", "cracked", "leaking_crimp"),
                                ),
                                _negated=True,
                            ),
                            models.Q(("kept_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_finding_unsafe_hose_kept",
                        violation_error_message="A hose in this state is replaced. The lead alone may keep it, with a reason.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("length_mm__isnull", True),
                            models.Q(("hose__isnull", False), ("length_mm__gt", 0)),
                            _connector="OR",
                        ),
                        name="workorders_finding_length_of_hose",
                        violation_error_message="Only a hose has its length taken, above 0 mm.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="FluidDecision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fluid_decisions",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "rig_fluid",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.fluid"
                    ),
                ),
                ("concerns", models.TextField()),
                ("flushing", models.CharField(max_length=300, verbose_name="flushing afterwards")),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("why", ""), _negated=True), models.Q(("flushing", ""), _negated=True)
                        ),
                        name="workorders_fluiddecision_reasoned",
                        violation_error_message="Give the reason and the flushing.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="FluidFound",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fluid_found",
                        to="workorders.rebuild",
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
                    "kind_note",
                    models.CharField(blank=True, max_length=120, verbose_name="kind, as far as can be told"),
                ),
                ("colour", models.CharField(blank=True, max_length=60)),
                ("smell", models.CharField(blank=True, max_length=60)),
                (
                    "water",
                    models.CharField(
                        choices=[
                            ("none", "no water seen"),
                            ("cloudy", "cloudy"),
                            ("free", "free water"),
                            ("not_examined", "not examined"),
                        ],
                        max_length=12,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="GoAhead",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="go_aheads",
                        to="workorders.rebuild",
                    ),
                ),
                ("given_by", models.CharField(max_length=120, verbose_name="given by")),
                ("given_at", models.DateTimeField(verbose_name="given on")),
                (
                    "how",
                    models.CharField(
                        choices=[
                            ("telephone", "by telephone"),
                            ("written", "in writing"),
                            ("counter", "at the counter"),
                            ("lead", "the lead's own word (exchange stock)"),
                        ],
                        max_length=10,
                    ),
                ),
                ("scope", models.CharField(max_length=300)),
                (
                    "price_ceiling",
                    models.DecimalField(blank=True, decimal_places=2, max_digits=10, null=True),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("how", "lead"), ("price_ceiling__isnull", False), _connector="OR"
                        ),
                        name="workorders_goahead_ceiling",
                        violation_error_message="A customer's go-ahead needs a price ceiling.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalArrivalItem",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("hose", "hose attached"),
                            ("extra", "extra part"),
                            ("missing", "missing part"),
                        ],
                        max_length=8,
                    ),
                ),
                ("label", models.CharField(max_length=60, verbose_name="number or name")),
                ("note", models.CharField(blank=True, max_length=200)),
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
            ],
            options={
                "verbose_name": "historical arrival item",
                "verbose_name_plural": "historical arrival items",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalBox",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, editable=False, max_length=16)),
                (
                    "sender_as_written",
                    models.CharField(blank=True, max_length=200, verbose_name="sender as written on the box"),
                ),
                ("contact", models.CharField(blank=True, max_length=120, verbose_name="whom to ask")),
                (
                    "return_address",
                    models.TextField(blank=True, max_length=400, verbose_name="address that it goes back to"),
                ),
                (
                    "customer_order",
                    models.CharField(blank=True, max_length=60, verbose_name="customer's order number"),
                ),
                ("carrier", models.CharField(blank=True, max_length=60)),
                ("tracking", models.CharField(blank=True, max_length=60, verbose_name="tracking number")),
                (
                    "announced_how",
                    models.CharField(
                        choices=[
                            ("link", "by the customer's link"),
                            ("telephone", "by telephone"),
                            ("email", "by e-mail"),
                            ("not_announced", "not announced"),
                        ],
                        default="not_announced",
                        max_length=14,
                    ),
                ),
                ("announced_at", models.DateTimeField(blank=True, null=True)),
                ("received_at", models.DateTimeField(blank=True, null=True)),
                ("shelf", models.CharField(blank=True, max_length=40, verbose_name="where it is now")),
                (
                    "packing",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("sound", "sound"),
                            ("damaged", "damaged"),
                            ("opened", "opened or taped again"),
                            ("wet", "wet or oily outside"),
                        ],
                        max_length=8,
                        verbose_name="state of the packing",
                    ),
                ),
                (
                    "damage_note",
                    models.TextField(
                        blank=True, max_length=600, verbose_name="what is wrong with the packing"
                    ),
                ),
                ("closed_at", models.DateTimeField(blank=True, null=True)),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
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
                (
                    "announced_by",
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
                    "received_by",
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
            ],
            options={
                "verbose_name": "historical box",
                "verbose_name_plural": "historical boxes",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalBoxLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(verbose_name="line")),
                ("what", models.CharField(max_length=120, verbose_name="what it is")),
                (
                    "symptoms",
                    models.CharField(blank=True, max_length=400, verbose_name="what is wrong with it"),
                ),
                ("expected", models.BooleanField(verbose_name="announced")),
                (
                    "outcome",
                    models.CharField(
                        choices=[
                            ("open", "not sorted yet"),
                            ("found", "found as announced"),
                            ("missing", "missing"),
                            ("wrong", "other than announced"),
                            ("extra", "not announced"),
                            ("unidentified", "not identified"),
                        ],
                        default="open",
                        max_length=12,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300)),
                (
                    "box",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.box",
                    ),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.unittype",
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
                        verbose_name="received as",
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
                "verbose_name": "historical box line",
                "verbose_name_plural": "historical box lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalBoxLink",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("token", models.CharField(db_index=True, editable=False, max_length=43)),
                ("for_whom", models.CharField(max_length=120, verbose_name="whom it is for")),
                ("made_at", models.DateTimeField()),
                ("expires_at", models.DateTimeField(verbose_name="good until")),
                ("revoked_at", models.DateTimeField(blank=True, null=True)),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
                    ),
                ),
                (
                    "made_by",
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
                    "box",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.box",
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
                "verbose_name": "historical box link",
                "verbose_name_plural": "historical box links",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCalibration",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("calibrated_on", models.DateField()),
                ("due_on", models.DateField()),
                ("certificate_no", models.CharField(max_length=60)),
                ("done_by", models.CharField(max_length=120, verbose_name="calibrated by")),
                ("in_tolerance", models.BooleanField(default=True, verbose_name="in tolerance as found")),
                (
                    "adjusted",
                    models.BooleanField(default=False, verbose_name="adjusted, in tolerance as left"),
                ),
                ("error_found", models.FloatField(blank=True, null=True, verbose_name="error as found")),
                ("error_at", models.FloatField(blank=True, null=True, verbose_name="at the reading")),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.instrument",
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
            ],
            options={
                "verbose_name": "historical calibration",
                "verbose_name_plural": "historical calibrations",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalClaim",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, editable=False, max_length=16)),
                ("reported", models.TextField(verbose_name="what the customer reports")),
                ("opened_at", models.DateTimeField()),
                (
                    "judgement",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "open"),
                            ("accepted", "accepted"),
                            ("declined", "declined"),
                            ("goodwill", "goodwill"),
                        ],
                        max_length=10,
                    ),
                ),
                ("judged_at", models.DateTimeField(blank=True, null=True)),
                ("reason", models.TextField(blank=True, verbose_name="reason for the judgement")),
                (
                    "identity",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not compared yet"),
                            ("same", "the same unit: mark and photo agree"),
                            ("no_mark", "no mark can be read"),
                            ("other", "another unit came back"),
                        ],
                        max_length=8,
                        verbose_name="the unit that came back",
                    ),
                ),
                ("identity_note", models.TextField(blank=True, verbose_name="what was compared and seen")),
                ("identity_at", models.DateTimeField(blank=True, null=True)),
                (
                    "warranty",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.warranty",
                    ),
                ),
                (
                    "claimant",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
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
                    "judged_by",
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
                    "identity_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "verbose_name": "historical claim",
                "verbose_name_plural": "historical claims",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
            ],
            options={
                "verbose_name": "historical exchange",
                "verbose_name_plural": "historical exchanges",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFinding",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "condition",
                    models.CharField(
                        choices=[
                            ("sound", "sound"),
                            ("hardened", "hardened"),
                            ("swollen", "swollen"),
                            ("worn", "worn"),
                            ("cut", "cut or nicked"),
                            ("extruded", "extruded"),
                            ("rolled", "rolled or spiralled"),
                            ("compression_set", "compression set"),
                            ("cracked", "cracked"),
                            ("blistered", "blistered"),
                            ("broken_up", "broken up, fragments lost"),
                            ("scored", "scored"),
                            ("corroded", "corroded or pitted"),
                            ("bent", "bent"),
                            ("oil_wet", "oil-wet"),
                            ("loose", "loose"),
                            ("blocked", "blocked"),
                            ("missing", "missing"),
                            ("chafed_cover", "chafed, cover only"),
                            ("chafed_through", "chafed to the reinforcement"),
                            ("kinked", "kinked"),
                            ("leaking_crimp", "leaking at the crimp"),
                            ("end_corroded", "end fitting corroded"),
                            ("not_examined", "not examined"),
                            ("not_here", "not here, stayed with the machine"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "cause",
                    models.CharField(
                        choices=[
                            ("none", "no fault found"),
                            ("age", "age"),
                            ("wear", "normal wear"),
                            ("contamination", "contamination"),
                            ("heat", "heat"),
                            ("fluid", "unsuitable fluid"),
                            ("water", "water"),
                            ("wrong_part", "wrong seal or size"),
                            ("assembly", "damaged at assembly"),
                            ("pressure", "over-pressure or wide gap"),
                            ("side_load", "side load or misalignment"),
                            ("corrosion", "corrosion"),
                            ("not_determined", "cause not determined"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "action",
                    models.CharField(
                        choices=[
                            ("renewed", "renewed"),
                            ("kept", "kept"),
                            ("reworked", "reworked"),
                            ("rejected", "rejected, unit not worth rebuilding"),
                            ("none", "nothing, not here"),
                        ],
                        max_length=10,
                    ),
                ),
                ("note", models.TextField(blank=True)),
                ("length_mm", models.FloatField(blank=True, null=True, verbose_name="length as found, mm")),
                (
                    "kept_reason",
                    models.CharField(blank=True, default="", max_length=200, verbose_name="why it is kept"),
                ),
                (
                    "no_photo_reason",
                    models.CharField(
                        blank=True, default="", max_length=200, verbose_name="why its port has no photo"
                    ),
                ),
                ("found_at", models.DateTimeField()),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.sealposition",
                    ),
                ),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.component",
                    ),
                ),
                (
                    "port",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.port",
                    ),
                ),
                (
                    "hose",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.hose",
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
                    "found_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "verbose_name": "historical finding",
                "verbose_name_plural": "historical findings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFluidFound",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "kind_note",
                    models.CharField(blank=True, max_length=120, verbose_name="kind, as far as can be told"),
                ),
                ("colour", models.CharField(blank=True, max_length=60)),
                ("smell", models.CharField(blank=True, max_length=60)),
                (
                    "water",
                    models.CharField(
                        choices=[
                            ("none", "no water seen"),
                            ("cloudy", "cloudy"),
                            ("free", "free water"),
                            ("not_examined", "not examined"),
                        ],
                        max_length=12,
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
            ],
            options={
                "verbose_name": "historical fluid found",
                "verbose_name_plural": "historical fluid founds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalInstrument",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(db_index=True, max_length=20)),
                ("name", models.CharField(max_length=120)),
                ("serial", models.CharField(blank=True, max_length=60)),
                (
                    "quantity",
                    models.CharField(
                        choices=[
                            ("pressure", "pressure"),
                            ("flow", "flow"),
                            ("length", "length"),
                            ("temperature", "temperature"),
                            ("current", "electric current"),
                            ("voltage", "voltage"),
                            ("time", "time"),
                            ("roughness", "surface roughness"),
                            ("torque", "torque"),
                            ("count", "count"),
                        ],
                        max_length=12,
                    ),
                ),
                ("unit", models.CharField(max_length=10)),
                ("range_low", models.FloatField(default=0)),
                ("range_high", models.FloatField()),
                ("accuracy", models.FloatField(verbose_name="accuracy, ± in its unit, whole range")),
                ("resolution", models.FloatField(default=0, verbose_name="smallest step shown")),
                ("trace_mapping", models.JSONField(blank=True, null=True)),
                ("retired", models.BooleanField(default=False)),
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
            ],
            options={
                "verbose_name": "historical instrument",
                "verbose_name_plural": "historical instruments",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalMeasurement",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("station", models.PositiveSmallIntegerField(default=1)),
                (
                    "moment",
                    models.CharField(
                        choices=[("as_found", "as found"), ("after", "after the work")],
                        default="as_found",
                        max_length=8,
                    ),
                ),
                ("value", models.FloatField()),
                ("measured_at", models.DateTimeField()),
                ("sum_within", models.BooleanField(blank=True, null=True, verbose_name="verdict of the sum")),
                (
                    "sum_sentence",
                    models.TextField(blank=True, default="", verbose_name="arithmetic of the sum"),
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
                    "limit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.dimensionlimit",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.instrument",
                    ),
                ),
                (
                    "measured_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "verbose_name": "historical measurement",
                "verbose_name_plural": "historical measurements",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalOperation",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "kind",
                    models.CharField(
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
                ("tool", models.CharField(max_length=120)),
                ("note", models.TextField(blank=True)),
                ("done_at", models.DateTimeField()),
                (
                    "figure_text",
                    models.CharField(blank=True, max_length=300, verbose_name="figure as it stood"),
                ),
                ("within", models.BooleanField(blank=True, null=True, verbose_name="within the figure")),
                (
                    "reason",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="why it stands outside the figure"
                    ),
                ),
                ("fastened_at", models.DateTimeField(blank=True, null=True, verbose_name="fastened at")),
                ("unmasked_at", models.DateTimeField(blank=True, null=True, verbose_name="masking off at")),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.sealposition",
                    ),
                ),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.component",
                    ),
                ),
                (
                    "port",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.port",
                    ),
                ),
                (
                    "hose",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.hose",
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
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.instrument",
                        verbose_name="measured with",
                    ),
                ),
                (
                    "figure",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.fasteningfigure",
                        verbose_name="figure",
                    ),
                ),
                (
                    "locker_lot",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.lot",
                        verbose_name="lot of the thread locker",
                    ),
                ),
                (
                    "unmasked_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="masking off by",
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
                "verbose_name": "historical operation",
                "verbose_name_plural": "historical operations",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Operation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="operations",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
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
                ("tool", models.CharField(max_length=120)),
                ("note", models.TextField(blank=True)),
                ("done_at", models.DateTimeField()),
                (
                    "done_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="workorders.instrument",
                        verbose_name="measured with",
                    ),
                ),
                (
                    "figure",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.fasteningfigure",
                        verbose_name="figure",
                    ),
                ),
                (
                    "figure_text",
                    models.CharField(blank=True, max_length=300, verbose_name="figure as it stood"),
                ),
                ("within", models.BooleanField(blank=True, null=True, verbose_name="within the figure")),
                (
                    "reason",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="why it stands outside the figure"
                    ),
                ),
                (
                    "locker_lot",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="inventory.lot",
                        verbose_name="lot of the thread locker",
                    ),
                ),
                ("fastened_at", models.DateTimeField(blank=True, null=True, verbose_name="fastened at")),
                ("unmasked_at", models.DateTimeField(blank=True, null=True, verbose_name="masking off at")),
                (
                    "unmasked_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                        verbose_name="masking off by",
                    ),
                ),
            ],
            options={
                "ordering": ["done_at", "pk"],
                "constraints": [
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("figure__isnull", True), ("figure_text", ""), ("within__isnull", True)),
                            models.Q(("figure__isnull", False), models.Q(("figure_text", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="workorders_operation_judged_by_figure",
                        violation_error_message="A verdict on a fastening keeps the figure that it was judged by.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("within__isnull", True),
                            ("within", True),
                            models.Q(("reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_operation_outside_has_reason",
                        violation_error_message="Say why it stands although it is outside the figure.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("unmasked_at__isnull", False), ("unmasked_by__isnull", False)),
                            models.Q(("unmasked_at__isnull", True), ("unmasked_by__isnull", True)),
                            _connector="OR",
                        ),
                        name="workorders_operation_unmasking_whole",
                        violation_error_message="Taking masking off names who did it, and when.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("unmasked_at__isnull", True), ("kind", "masked"), _connector="OR"
                        ),
                        name="workorders_operation_unmasking_of_masking",
                        violation_error_message="Only what was masked is unmasked.",
                    ),
                ],
                "indexes": [],
            },
        ),
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
            ],
            options={
                "verbose_name": "historical operation value",
                "verbose_name_plural": "historical operation values",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalOutsideWork",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("rechroming", "re-chroming"),
                            ("grinding", "grinding"),
                            ("coating", "coating"),
                            ("motor_rewinding", "motor rewinding"),
                            ("other", "other outside work"),
                        ],
                        max_length=16,
                    ),
                ),
                ("asked", models.TextField(verbose_name="what is asked")),
                ("due", models.DateField(verbose_name="due back on")),
                ("sent_at", models.DateTimeField()),
                ("returned_at", models.DateTimeField(blank=True, null=True)),
                ("inspected_at", models.DateTimeField(blank=True, null=True)),
                ("accepted", models.BooleanField(blank=True, null=True)),
                (
                    "reject_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is rejected"),
                ),
                (
                    "bake",
                    models.CharField(
                        choices=[
                            ("not_asked", "not asked yet"),
                            ("not_plating", "not plating"),
                            ("not_needed", "the steel does not need it"),
                            ("baked", "baked"),
                        ],
                        default="not_asked",
                        max_length=12,
                        verbose_name="bake after plating",
                    ),
                ),
                ("bake_h", models.FloatField(blank=True, null=True, verbose_name="baked for")),
                ("bake_temperature_c", models.FloatField(blank=True, null=True, verbose_name="baked at")),
                (
                    "bake_basis",
                    models.CharField(blank=True, max_length=300, verbose_name="by whom, or on what basis"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "price",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=10, null=True, verbose_name="what it cost"
                    ),
                ),
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
                (
                    "cancel_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is cancelled"),
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
                    "component",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.component",
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.supplier",
                    ),
                ),
                (
                    "sent_by",
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
                    "returned_by",
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
                    "inspected_by",
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
                    "certificate",
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
            ],
            options={
                "verbose_name": "historical outside work",
                "verbose_name_plural": "historical outside works",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
            ],
            options={
                "verbose_name": "historical packing",
                "verbose_name_plural": "historical packings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
                (
                    "work_order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packings",
                        to="workorders.workorder",
                    ),
                ),
                ("begun_at", models.DateTimeField()),
                (
                    "begun_by",
                    models.ForeignKey(
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
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
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
                    "cancel_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is given up"),
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
                "indexes": [],
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
                (
                    "packing",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parcels",
                        to="workorders.packing",
                    ),
                ),
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
                "indexes": [],
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
                (
                    "parcel",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="units",
                        to="workorders.packingparcel",
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
                ("put_in_at", models.DateTimeField()),
                (
                    "put_in_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                ("core_due", models.DateField(blank=True, null=True, verbose_name="core due on")),
                ("taken_out_at", models.DateTimeField(blank=True, null=True)),
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
                "indexes": [],
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
            ],
            options={
                "verbose_name": "historical packing line",
                "verbose_name_plural": "historical packing lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
            ],
            options={
                "verbose_name": "historical packing parcel",
                "verbose_name_plural": "historical packing parcels",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
            ],
            options={
                "verbose_name": "historical packing unit",
                "verbose_name_plural": "historical packing units",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalParcel",
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
                ("tracking", models.CharField(blank=True, max_length=60, verbose_name="tracking number")),
                ("carrier", models.CharField(blank=True, max_length=60)),
                (
                    "shipment",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.shipment",
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
                "verbose_name": "historical parcel",
                "verbose_name_plural": "historical parcels",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Signature",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="signatures",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "meaning",
                    models.CharField(
                        choices=[
                            ("received", "received and inspected on arrival"),
                            ("torn_down", "disassembled, cleaned and inspected"),
                            ("built", "repaired as necessary and reassembled"),
                            ("tested", "tested to the named plan"),
                            ("released", "released"),
                            ("returned", "returned as found, findings signed"),
                        ],
                        max_length=10,
                    ),
                ),
                ("printed_name", models.CharField(max_length=80)),
                ("authority_no", models.CharField(blank=True, max_length=40)),
                ("done_at", models.DateTimeField(verbose_name="work completed")),
                ("content_sha256", models.CharField(max_length=64)),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPressureTest",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.PositiveSmallIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[("running", "running"), ("signed", "signed"), ("superseded", "superseded")],
                        default="running",
                        max_length=12,
                    ),
                ),
                ("started_at", models.DateTimeField()),
                (
                    "verdict",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                ("superseded_reason", models.CharField(blank=True, max_length=300)),
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
                    "plan",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.testplan",
                    ),
                ),
                (
                    "rig_fluid",
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
                    "fluid_left",
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
                    "started_by",
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
                    "signature",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.signature",
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
                "verbose_name": "historical pressure test",
                "verbose_name_plural": "historical pressure tests",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="PressureTest",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pressure_tests",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="pressure_tests",
                        to="shop.testplan",
                    ),
                ),
                ("number", models.PositiveSmallIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[("running", "running"), ("signed", "signed"), ("superseded", "superseded")],
                        default="running",
                        max_length=12,
                    ),
                ),
                (
                    "rig_fluid",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.fluid"
                    ),
                ),
                (
                    "fluid_left",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.fluid",
                    ),
                ),
                ("started_at", models.DateTimeField()),
                (
                    "started_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "verdict",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "signature",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="test",
                        to="workorders.signature",
                    ),
                ),
                ("superseded_reason", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["rebuild", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("rebuild", "number"),
                        name="workorders_pressuretest_number_once",
                        violation_error_message="This rebuild has a test of that number already.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "superseded"), _negated=True),
                        fields=("rebuild",),
                        name="workorders_pressuretest_one_current",
                        violation_error_message="Another test of this rebuild runs or stands; supersede it first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "signed"), _negated=True),
                            models.Q(
                                ("fluid_left__isnull", False),
                                ("signature__isnull", False),
                                models.Q(("verdict", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_pressuretest_signed_whole",
                        violation_error_message="A signed test has a signature, a verdict and the fluid left inside.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "superseded"), _negated=True),
                            models.Q(("superseded_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_pressuretest_superseded_reason",
                        violation_error_message="Say why the test is superseded.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="StepResult",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "pressure_test",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="results",
                        to="workorders.pressuretest",
                    ),
                ),
                (
                    "step",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.teststep"
                    ),
                ),
                (
                    "verdict",
                    models.CharField(
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                ("arithmetic", models.TextField()),
                ("done_at", models.DateTimeField()),
                (
                    "done_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("note", models.TextField(blank=True)),
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
            ],
            options={
                "ordering": ["step__order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("pressure_test", "step"),
                        name="workorders_stepresult_once",
                        violation_error_message="This step has its result already; change that one.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalReading",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("value", models.FloatField(blank=True, null=True)),
                (
                    "uncertainty",
                    models.FloatField(blank=True, null=True, verbose_name="expanded uncertainty, k = 2"),
                ),
                ("unit", models.CharField(blank=True, max_length=12)),
                (
                    "verdict",
                    models.CharField(
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                ("arithmetic", models.CharField(max_length=400)),
                ("observed", models.JSONField(default=dict)),
                (
                    "result",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.stepresult",
                    ),
                ),
                (
                    "limit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.steplimit",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.instrument",
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
                "verbose_name": "historical reading",
                "verbose_name_plural": "historical readings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalRebuild",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "number",
                    models.PositiveSmallIntegerField(default=1, verbose_name="rebuild of this unit, no."),
                ),
                (
                    "stage",
                    models.CharField(
                        choices=[
                            ("received", "received"),
                            ("torn_down", "torn down"),
                            ("quoted", "quoted"),
                            ("go_ahead", "go-ahead"),
                            ("building", "building"),
                            ("on_test", "on test"),
                            ("released", "released"),
                            ("shipped", "shipped"),
                            ("returned_as_found", "returned as found"),
                            ("scrapped", "scrapped"),
                            ("exchange_core", "kept as exchange core"),
                        ],
                        db_index=True,
                        default="received",
                        max_length=20,
                    ),
                ),
                ("received_at", models.DateTimeField()),
                (
                    "opened_before",
                    models.CharField(
                        choices=[
                            ("not_before", "not opened before"),
                            ("by_others", "opened by others"),
                            ("by_us", "opened by us"),
                            ("not_clear", "cannot be told"),
                        ],
                        max_length=10,
                        verbose_name="opened before?",
                    ),
                ),
                ("arrival_condition", models.TextField(verbose_name="condition on arrival")),
                ("reported", models.TextField(blank=True, verbose_name="what the customer reports")),
                (
                    "destination",
                    models.CharField(
                        choices=[
                            ("customer", "goes back to the customer"),
                            ("exchange", "exchange core, stays with us"),
                        ],
                        default="customer",
                        max_length=10,
                    ),
                ),
                ("shelf", models.CharField(blank=True, max_length=40, verbose_name="where it is now")),
                ("debris_found", models.BooleanField(default=False)),
                (
                    "debris_origin",
                    models.CharField(blank=True, max_length=300, verbose_name="where the debris came from"),
                ),
                (
                    "circuit_flagged",
                    models.BooleanField(
                        default=False, verbose_name="debris found elsewhere in this work order"
                    ),
                ),
                (
                    "exit_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="reason for the side exit"),
                ),
                (
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.unit",
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
                (
                    "revision",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "received_by",
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
                    "mounting_place",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.mountingplace",
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
                "verbose_name": "historical rebuild",
                "verbose_name_plural": "historical rebuilds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
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
            ],
            options={
                "verbose_name": "historical recall",
                "verbose_name_plural": "historical recalls",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSealFound",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "profile",
                    models.CharField(
                        choices=[("o_ring", "O-ring"), ("lip_seal", "lip seal, wiper or other profile")],
                        max_length=8,
                        verbose_name="what came out",
                    ),
                ),
                ("inside_mm", models.FloatField(verbose_name="inside diameter, mm")),
                ("section_mm", models.FloatField(blank=True, null=True, verbose_name="section, mm")),
                ("outside_mm", models.FloatField(blank=True, null=True, verbose_name="outside diameter, mm")),
                ("height_mm", models.FloatField(blank=True, null=True, verbose_name="height, mm")),
                ("set_most_pct", models.FloatField(default=0, verbose_name="compression set, at most, %")),
                ("swell_most_pct", models.FloatField(default=0, verbose_name="swell in volume, at most, %")),
                ("note", models.CharField(blank=True, max_length=200)),
                ("measured_at", models.DateTimeField()),
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
                    "position",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.sealposition",
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.instrument",
                    ),
                ),
                (
                    "measured_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
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
                "verbose_name": "historical seal found",
                "verbose_name_plural": "historical seal founds",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalStepResult",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "verdict",
                    models.CharField(
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                ("arithmetic", models.TextField()),
                ("done_at", models.DateTimeField()),
                ("note", models.TextField(blank=True)),
                (
                    "pressure_test",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.pressuretest",
                    ),
                ),
                (
                    "step",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.teststep",
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
                    "photo",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.storedfile",
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
                "verbose_name": "historical step result",
                "verbose_name_plural": "historical step results",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Reading",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "result",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="workorders.stepresult",
                    ),
                ),
                (
                    "limit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.steplimit"
                    ),
                ),
                ("value", models.FloatField(blank=True, null=True)),
                (
                    "uncertainty",
                    models.FloatField(blank=True, null=True, verbose_name="expanded uncertainty, k = 2"),
                ),
                ("unit", models.CharField(blank=True, max_length=12)),
                (
                    "verdict",
                    models.CharField(
                        choices=[
                            ("passes", "passes"),
                            ("fails", "fails"),
                            ("not_decided", "not decided"),
                            ("invalid", "invalid"),
                        ],
                        max_length=12,
                    ),
                ),
                ("arithmetic", models.CharField(max_length=400)),
                ("observed", models.JSONField(default=dict)),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="workorders.instrument",
                    ),
                ),
            ],
            options={
                "ordering": ["limit__order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("result", "limit"),
                        name="workorders_reading_once",
                        violation_error_message="This reading is there already; change that one.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalTrace",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("mapping", models.JSONField()),
                ("warnings", models.JSONField(blank=True, default=list)),
                ("rows", models.PositiveIntegerField()),
                ("window_start_s", models.FloatField()),
                ("window_end_s", models.FloatField()),
                ("decay_bar_per_min", models.FloatField()),
                ("standard_error_bar_per_min", models.FloatField()),
                ("straight", models.BooleanField()),
                (
                    "reading",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.reading",
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
            ],
            options={
                "verbose_name": "historical trace",
                "verbose_name_plural": "historical traces",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalUnit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "serial",
                    models.CharField(db_index=True, editable=False, max_length=9, verbose_name="shop serial"),
                ),
                (
                    "maker_serial",
                    models.CharField(blank=True, db_index=True, max_length=60, verbose_name="maker's serial"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "unit_type",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.unittype",
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
                "verbose_name": "historical unit",
                "verbose_name_plural": "historical units",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalWarranty",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("starts_on", models.DateField()),
                ("months", models.PositiveSmallIntegerField()),
                ("ends_on", models.DateField(db_index=True)),
                (
                    "policy",
                    models.CharField(
                        choices=[
                            ("remaining", "free repair or replacement for the remaining term"),
                            ("new_term", "free repair or replacement, starting a new term"),
                        ],
                        default="remaining",
                        max_length=10,
                    ),
                ),
                ("terms", models.TextField()),
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
                    "shipment",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="workorders.shipment",
                    ),
                ),
                (
                    "holder",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
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
                "verbose_name": "historical warranty",
                "verbose_name_plural": "historical warrantys",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalWorkOrder",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, editable=False, max_length=16)),
                (
                    "customer_order",
                    models.CharField(blank=True, max_length=60, verbose_name="customer's order number"),
                ),
                ("opened_at", models.DateTimeField(db_index=True)),
                ("note", models.TextField(blank=True)),
                ("bill_to", models.TextField(blank=True, max_length=600, verbose_name="bill to")),
                ("ship_to", models.TextField(blank=True, max_length=600, verbose_name="ship to")),
                (
                    "warranty_holder",
                    models.CharField(
                        choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                        default="customer",
                        max_length=8,
                        verbose_name="who holds the warranty",
                    ),
                ),
                (
                    "rush_wanted_by",
                    models.DateField(blank=True, db_index=True, null=True, verbose_name="rush, wanted by"),
                ),
                (
                    "rush_agreed_by",
                    models.CharField(blank=True, max_length=120, verbose_name="who agreed to the rush"),
                ),
                ("rush_why", models.CharField(blank=True, max_length=300, verbose_name="why it is a rush")),
                (
                    "customer",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
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
                    "end_owner",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.customer",
                        verbose_name="owner of the machine",
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
                "verbose_name": "historical work order",
                "verbose_name_plural": "historical work orders",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HoseCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hose_checks",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "hose",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.hose"
                    ),
                ),
                ("number_read", models.CharField(max_length=12, verbose_name="number read")),
                (
                    "way",
                    models.CharField(
                        choices=[("on_port", "on its port"), ("loose", "loose in the parcel")],
                        default="on_port",
                        max_length=8,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("number_read", ""), _negated=True),
                        name="workorders_hosecheck_number_read",
                        violation_error_message="Read the number of the hose from its tag.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="InvoicedPrice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="invoiced_prices",
                        to="workorders.rebuild",
                    ),
                ),
                ("amount", models.DecimalField(decimal_places=2, max_digits=10)),
                (
                    "invoice",
                    models.CharField(blank=True, max_length=40, verbose_name="number of the invoice"),
                ),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="workorders.invoicedprice",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("amount__gte", 0)),
                        name="workorders_invoicedprice_not_negative",
                        violation_error_message="A price is not negative.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="workorders_invoicedprice_correction_reason",
                        violation_error_message="A correction of a price says why.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("replaces__isnull", True)),
                        fields=("rebuild",),
                        name="workorders_invoicedprice_first_once",
                        violation_error_message="This rebuild has an invoiced price already; correct that one.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Lesson",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
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
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lessons",
                        to="workorders.rebuild",
                    ),
                ),
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
                    "photo",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.storedfile",
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
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "lesson",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="review",
                        to="workorders.lesson",
                    ),
                ),
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="LoggerFile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "pressure_test",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="logger_files",
                        to="workorders.pressuretest",
                    ),
                ),
                (
                    "limit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.steplimit"
                    ),
                ),
                (
                    "instrument",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="workorders.instrument",
                    ),
                ),
                (
                    "file",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Measurement",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="measurements",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "limit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.dimensionlimit",
                    ),
                ),
                ("station", models.PositiveSmallIntegerField(default=1)),
                (
                    "moment",
                    models.CharField(
                        choices=[("as_found", "as found"), ("after", "after the work")],
                        default="as_found",
                        max_length=8,
                    ),
                ),
                ("value", models.FloatField()),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="workorders.instrument",
                    ),
                ),
                ("measured_at", models.DateTimeField()),
                (
                    "measured_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("sum_within", models.BooleanField(blank=True, null=True, verbose_name="verdict of the sum")),
                (
                    "sum_sentence",
                    models.TextField(blank=True, default="", verbose_name="arithmetic of the sum"),
                ),
            ],
            options={
                "ordering": ["limit__order", "moment", "station"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("rebuild", "limit", "station", "moment"),
                        name="workorders_measurement_station_once",
                        violation_error_message="This station has its reading already; change that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("station__gte", 1)),
                        name="workorders_measurement_station_from_one",
                        violation_error_message="Stations count from 1.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("sum_within__isnull", True),
                            models.Q(("sum_sentence", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_measurement_sum_has_sentence",
                        violation_error_message="The verdict of a sum needs its arithmetic.",
                    ),
                ],
                "indexes": [],
            },
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
                    "operation",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="values",
                        to="workorders.operation",
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="OutsideWork",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="outside_works",
                        to="workorders.rebuild",
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
                    "kind",
                    models.CharField(
                        choices=[
                            ("rechroming", "re-chroming"),
                            ("grinding", "grinding"),
                            ("coating", "coating"),
                            ("motor_rewinding", "motor rewinding"),
                            ("other", "other outside work"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.supplier"
                    ),
                ),
                ("asked", models.TextField(verbose_name="what is asked")),
                ("due", models.DateField(verbose_name="due back on")),
                ("sent_at", models.DateTimeField()),
                (
                    "sent_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("returned_at", models.DateTimeField(blank=True, null=True)),
                (
                    "returned_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("inspected_at", models.DateTimeField(blank=True, null=True)),
                (
                    "inspected_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("accepted", models.BooleanField(blank=True, null=True)),
                (
                    "reject_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is rejected"),
                ),
                (
                    "bake",
                    models.CharField(
                        choices=[
                            ("not_asked", "not asked yet"),
                            ("not_plating", "not plating"),
                            ("not_needed", "the steel does not need it"),
                            ("baked", "baked"),
                        ],
                        default="not_asked",
                        max_length=12,
                        verbose_name="bake after plating",
                    ),
                ),
                ("bake_h", models.FloatField(blank=True, null=True, verbose_name="baked for")),
                ("bake_temperature_c", models.FloatField(blank=True, null=True, verbose_name="baked at")),
                (
                    "bake_basis",
                    models.CharField(blank=True, max_length=300, verbose_name="by whom, or on what basis"),
                ),
                (
                    "certificate",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.storedfile",
                    ),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "price",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=10, null=True, verbose_name="what it cost"
                    ),
                ),
                ("cancelled_at", models.DateTimeField(blank=True, null=True)),
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
                    "cancel_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is cancelled"),
                ),
            ],
            options={
                "ordering": ["sent_at", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("cancelled_at__isnull", True),
                            ("component__isnull", False),
                            ("returned_at__isnull", True),
                        ),
                        fields=("rebuild", "component"),
                        name="workorders_outsidework_component_out_once",
                        violation_error_message="This is out already; record its return or cancel that first.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(
                            ("cancelled_at__isnull", True),
                            ("component__isnull", True),
                            ("returned_at__isnull", True),
                        ),
                        fields=("rebuild",),
                        name="workorders_outsidework_unit_out_once",
                        violation_error_message="This is out already; record its return or cancel that first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("price__isnull", True), ("price__gte", 0), _connector="OR"),
                        name="workorders_outsidework_price_not_negative",
                        violation_error_message="A price is not negative.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("asked", ""), _negated=True),
                        name="workorders_outsidework_asks",
                        violation_error_message="Say what is asked of the supplier.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("returned_at__isnull", False), ("returned_by__isnull", False)),
                            models.Q(("returned_at__isnull", True), ("returned_by__isnull", True)),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_return_has_person",
                        violation_error_message="A return names who took it in, and when.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("returned_at__isnull", True),
                            ("returned_at__gte", models.F("sent_at")),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_returned_after_sent",
                        violation_error_message="It cannot be back before it was sent.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("accepted__isnull", False),
                                ("inspected_at__isnull", False),
                                ("inspected_by__isnull", False),
                            ),
                            models.Q(
                                ("accepted__isnull", True),
                                ("inspected_at__isnull", True),
                                ("inspected_by__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_inspection_is_whole",
                        violation_error_message="An inspection names who did it, when, and whether the work is accepted.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("inspected_at__isnull", True),
                            models.Q(
                                ("inspected_at__gte", models.F("returned_at")), ("returned_at__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_inspected_after_return",
                        violation_error_message="Only what is back can be inspected.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("accepted", False), _negated=True),
                            models.Q(("reject_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_rejection_has_reason",
                        violation_error_message="Say why the work is rejected.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("bake", "not_plating"), ("kind", "rechroming"), _negated=True),
                        name="workorders_outsidework_chrome_is_plating",
                        violation_error_message="Re-chroming is plating: say whether it was baked, or on what basis not.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("accepted", True),
                            ("bake", "not_asked"),
                            ("kind__in", ("rechroming", "coating")),
                            _negated=True,
                        ),
                        name="workorders_outsidework_plating_tells_bake",
                        violation_error_message="Plated steel is accepted only when the question of the bake is answered.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("bake", "baked"),
                                ("bake_h__gt", 0),
                                ("bake_h__isnull", False),
                                ("bake_temperature_c__gt", 0),
                                ("bake_temperature_c__isnull", False),
                            ),
                            models.Q(
                                models.Q(("bake", "baked"), _negated=True),
                                ("bake_h__isnull", True),
                                ("bake_temperature_c__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_bake_has_figures",
                        violation_error_message="A bake has its hours and its temperature; without a bake both stay empty.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("bake__in", ["baked", "not_needed"]), _negated=True),
                            models.Q(("bake_basis", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="workorders_outsidework_bake_has_basis",
                        violation_error_message="Say who baked it, or on what basis the steel does not need it.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                models.Q(("cancelled_at__isnull", False), ("cancelled_by__isnull", False)),
                                models.Q(("cancelled_at__isnull", True), ("cancelled_by__isnull", True)),
                                _connector="OR",
                            ),
                            models.Q(
                                ("cancelled_at__isnull", True),
                                models.Q(("cancel_reason", ""), _negated=True),
                                _connector="OR",
                            ),
                        ),
                        name="workorders_outsidework_cancelled_is_whole",
                        violation_error_message="A cancelling names who, when and why.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cancelled_at__isnull", True), ("returned_at__isnull", True), _connector="OR"
                        ),
                        name="workorders_outsidework_cancelled_is_not_back",
                        violation_error_message="What came back is inspected, not cancelled.",
                    ),
                ],
                "indexes": [],
            },
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
                (
                    "packing_unit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="workorders.packingunit",
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
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why it is kept back")),
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
                ("volume_ml", models.FloatField(blank=True, null=True, verbose_name="how much, mL")),
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PartUsed",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
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
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parts_used",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "operation",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parts_used",
                        to="workorders.operation",
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="parts_used",
                        to="inventory.lot",
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="part_used",
                        to="inventory.movement",
                    ),
                ),
                ("quantity", models.PositiveSmallIntegerField()),
                (
                    "use",
                    models.CharField(
                        choices=[("fitted", "fitted"), ("spoiled", "spoiled in fitting")],
                        default="fitted",
                        max_length=8,
                    ),
                ),
                ("found_in_bin", models.BooleanField(default=False)),
                (
                    "fit_reason",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="why it goes in although it does not fit"
                    ),
                ),
                (
                    "fit_warning",
                    models.TextField(blank=True, verbose_name="what does not fit or is uncertain"),
                ),
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
                    "upgrade",
                    models.CharField(
                        blank=True, max_length=400, verbose_name="upgraded material, as the kit stated it"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="workorders_partused_positive",
                        violation_error_message="Record at least one piece.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PartTakenBack",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "part_used",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="workorders.partused",
                    ),
                ),
                (
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="part_taken_back",
                        to="inventory.movement",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Photo",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "finding",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="photos",
                        to="workorders.finding",
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
                    "moment",
                    models.CharField(
                        choices=[
                            ("receiving", "before anything is loosened"),
                            ("port", "port, before its hose comes off"),
                            ("teardown", "teardown"),
                            ("build", "building"),
                            ("test", "on test"),
                            ("mark", "permanent mark"),
                            ("packing", "packing"),
                        ],
                        max_length=10,
                    ),
                ),
                ("caption", models.CharField(blank=True, max_length=160)),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("moment", "port"), ("port__isnull", False)),
                            models.Q(models.Q(("moment", "port"), _negated=True), ("port__isnull", True)),
                            _connector="OR",
                        ),
                        name="workorders_photo_port_named",
                        violation_error_message="A photo from before a hose comes off names its port; no other does.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Quote",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="quotes",
                        to="workorders.rebuild",
                    ),
                ),
                ("amount", models.DecimalField(decimal_places=2, max_digits=10)),
                ("scope", models.CharField(max_length=300)),
                ("told_to", models.CharField(blank=True, max_length=120)),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
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
                (
                    "opened_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
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
                    "close_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is closed"),
                ),
                ("withdrawn_at", models.DateTimeField(blank=True, null=True)),
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
                (
                    "withdraw_reason",
                    models.CharField(blank=True, max_length=300, verbose_name="why it is withdrawn"),
                ),
            ],
            options={
                "ordering": ["-opened_at", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("reason", ""), _negated=True),
                            models.Q(("instructions", ""), _negated=True),
                        ),
                        name="workorders_recall_told",
                        violation_error_message="Say what is wrong, and what the customer should do.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("close_reason", ""), ("closed_at__isnull", True), ("closed_by__isnull", True)
                            ),
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
                    models.CheckConstraint(
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
                ],
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
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
                ("where", models.CharField(max_length=300, verbose_name="where it was")),
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
                ("places", models.JSONField(default=list)),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("recall", "unit"),
                        name="workorders_recallunit_once",
                        violation_error_message="The recall has this unit already.",
                    )
                ],
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calls",
                        to="workorders.recall",
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
                    "unit",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="calls",
                        to="workorders.recallunit",
                    ),
                ),
                (
                    "note",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="who was spoken to, what was said"
                    ),
                ),
                ("next_on", models.DateField(blank=True, null=True, verbose_name="call again on")),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
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
                    )
                ],
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="decisions",
                        to="workorders.recall",
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
                ("may_go", models.BooleanField()),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="workorders_recalldecision_reason",
                        violation_error_message="Say why the unit may go, or may not.",
                    )
                ],
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="letters",
                        to="workorders.recall",
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
                ("number", models.CharField(max_length=24, unique=True)),
                ("content", models.JSONField()),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
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
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="workorders_recallletter_reissue_reason",
                        violation_error_message="A reissue says why it replaces the earlier letter.",
                    )
                ],
                "indexes": [],
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
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "recall",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="workorders.recall",
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
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("recall", "lot"),
                        name="workorders_recalllot_once",
                        violation_error_message="The recall has this lot already.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Release",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="releases",
                        to="workorders.rebuild",
                    ),
                ),
                ("number", models.CharField(max_length=16, unique=True)),
                (
                    "status",
                    models.CharField(
                        choices=[
                            ("overhauled", "overhauled"),
                            ("repaired", "repaired"),
                            ("tested_only", "tested only"),
                        ],
                        max_length=12,
                    ),
                ),
                ("remarks", models.TextField(blank=True)),
                (
                    "signature",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="release",
                        to="workorders.signature",
                    ),
                ),
                ("content", models.JSONField()),
                (
                    "certificate",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                (
                    "fitter_page",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="workorders.release",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="workorders_release_reissue_reason",
                        violation_error_message="A reissue says why it replaces the earlier release.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("replaces__isnull", True)),
                        fields=("rebuild",),
                        name="workorders_release_first_once",
                        violation_error_message="This rebuild is released already; reissue with a reason instead.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="SealFound",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="seals_found",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.sealposition"
                    ),
                ),
                (
                    "profile",
                    models.CharField(
                        choices=[("o_ring", "O-ring"), ("lip_seal", "lip seal, wiper or other profile")],
                        max_length=8,
                        verbose_name="what came out",
                    ),
                ),
                ("inside_mm", models.FloatField(verbose_name="inside diameter, mm")),
                ("section_mm", models.FloatField(blank=True, null=True, verbose_name="section, mm")),
                ("outside_mm", models.FloatField(blank=True, null=True, verbose_name="outside diameter, mm")),
                ("height_mm", models.FloatField(blank=True, null=True, verbose_name="height, mm")),
                ("set_most_pct", models.FloatField(default=0, verbose_name="compression set, at most, %")),
                ("swell_most_pct", models.FloatField(default=0, verbose_name="swell in volume, at most, %")),
                (
                    "instrument",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="workorders.instrument",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
                ("measured_at", models.DateTimeField()),
                (
                    "measured_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["position__order", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("rebuild", "position"),
                        name="workorders_sealfound_position_once",
                        violation_error_message="The seal of this position is measured already; change that entry.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("profile", "o_ring"),
                                ("section_mm__gt", 0),
                                ("section_mm__isnull", False),
                                ("height_mm__isnull", True),
                                ("outside_mm__isnull", True),
                            ),
                            models.Q(
                                ("profile", "lip_seal"),
                                ("section_mm__isnull", True),
                                ("outside_mm__gt", models.F("inside_mm")),
                                ("outside_mm__isnull", False),
                                ("height_mm__gt", 0),
                                ("height_mm__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="workorders_sealfound_sizes_of_profile",
                        violation_error_message="An O-ring has an inside diameter and a section; another profile has an inside diameter, a larger outside diameter and a height.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("inside_mm__gt", 0)),
                        name="workorders_sealfound_inside_above_nothing",
                        violation_error_message="The inside diameter is above 0 mm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("set_most_pct__gte", 0),
                            ("set_most_pct__lt", 100),
                            ("swell_most_pct__gte", 0),
                            ("swell_most_pct__lte", 200),
                        ),
                        name="workorders_sealfound_allowances",
                        violation_error_message="A set is 0 to below 100 %%, a swell 0 to 200 %%.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Trace",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "reading",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="trace",
                        to="workorders.reading",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                ("mapping", models.JSONField()),
                ("warnings", models.JSONField(blank=True, default=list)),
                ("rows", models.PositiveIntegerField()),
                ("window_start_s", models.FloatField()),
                ("window_end_s", models.FloatField()),
                ("decay_bar_per_min", models.FloatField()),
                ("standard_error_bar_per_min", models.FloatField()),
                ("straight", models.BooleanField()),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("window_end_s__gt", models.F("window_start_s"))),
                        name="workorders_trace_window",
                        violation_error_message="The window must end after it starts.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="WorkTime",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                (
                    "rebuild",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="work_times",
                        to="workorders.rebuild",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("teardown", "teardown and cleaning"),
                            ("rework", "rework"),
                            ("build", "building"),
                            ("test", "testing"),
                            ("other", "other work"),
                        ],
                        max_length=10,
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
                ("worked_on", models.DateField()),
                ("minutes", models.PositiveSmallIntegerField()),
                (
                    "replaces",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="workorders.worktime",
                    ),
                ),
            ],
            options={
                "ordering": ["worked_on", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("minutes__lte", 1440),
                            models.Q(("minutes__gt", 0), ("replaces__isnull", False), _connector="OR"),
                        ),
                        name="workorders_worktime_fits_a_day",
                        violation_error_message="An entry is of 1 to 1440 minutes; only a correction may be of none.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                        ),
                        name="workorders_worktime_correction_reason",
                        violation_error_message="A correction of minutes says why.",
                    ),
                ],
                "indexes": [],
            },
        ),
    ]
