"""Everything up to 0012 in one step, for a new database; an older one takes the steps themselves.

The name sorts after 0001_initial, which must stay the first step that a swappable dependency finds.
"""

import django.db.models.deletion
import django.db.models.functions.text
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from shop.migrations._at_once import AtOnce


class Migration(AtOnce):
    replaces = [
        ("inventory", "0001_initial"),
        ("inventory", "0002_purchasing"),
        ("inventory", "0003_kit_lines_of_hoses"),
        ("inventory", "0004_first_expired_first_out"),
        ("inventory", "0005_lots_that_cannot_lie"),
        ("inventory", "0006_what_old_lots_keep"),
        ("inventory", "0007_counting_by_place"),
        ("inventory", "0008_costs_of_a_piece"),
        ("inventory", "0009_walking_order"),
        ("inventory", "0010_upgraded_materials"),
        ("inventory", "0011_usage_from_an_index"),
        ("inventory", "0012_materials_by_their_symbols"),
    ]

    initial = True

    dependencies = [
        ("shop", "0001_up_to_0016"),
    ]

    operations = [
        migrations.CreateModel(
            name="Part",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(max_length=40, unique=True, verbose_name="part number")),
                ("name", models.CharField(max_length=120)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("o_ring", "O-ring"),
                            ("lip_seal", "lip seal"),
                            ("wiper", "wiper"),
                            ("energised", "energised profile"),
                            ("backup_ring", "back-up ring"),
                            ("shaft_seal", "radial shaft seal"),
                            ("clip", "clip or plate"),
                            ("hardware", "hardware"),
                            ("component", "component"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "polymer",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("NBR", "NBR"),
                            ("HNBR", "HNBR"),
                            ("FKM", "FKM"),
                            ("FFKM", "FFKM"),
                            ("EPDM", "EPDM"),
                            ("VMQ", "VMQ"),
                            ("FVMQ", "FVMQ"),
                            ("CR", "CR"),
                            ("IIR", "IIR"),
                            ("ACM", "ACM"),
                            ("AEM", "AEM"),
                            ("AU", "AU"),
                            ("EU", "EU"),
                            ("NR", "NR"),
                            ("SBR", "SBR"),
                            ("ECO", "ECO"),
                            ("CSM", "CSM"),
                            ("PTFE", "PTFE"),
                            ("POM", "POM"),
                            ("PA", "PA"),
                        ],
                        max_length=6,
                    ),
                ),
                ("hardness_shore_a", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("size_designation", models.CharField(blank=True, max_length=60)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind__in", ["clip", "hardware", "component"]),
                            models.Q(("polymer", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="inventory_part_seal_has_polymer",
                        violation_error_message="A seal needs its polymer.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Supplier",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120, unique=True)),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("note", models.TextField(blank=True)),
                (
                    "storage_standard",
                    models.CharField(
                        blank=True,
                        choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                        max_length=10,
                        verbose_name="storage life of its seals after",
                    ),
                ),
                ("is_shop", models.BooleanField(default=False, verbose_name="this shop itself")),
            ],
            options={
                "ordering": ["name"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("is_shop", True)),
                        fields=("is_shop",),
                        name="inventory_supplier_one_shop",
                        violation_error_message="One supplier is the shop itself already.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PurchaseOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(max_length=20, unique=True, verbose_name="order number")),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="purchase_orders",
                        to="inventory.supplier",
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("drafted", "drafted"),
                            ("sent", "sent"),
                            ("partly", "partly delivered"),
                            ("closed", "closed"),
                            ("cancelled", "cancelled"),
                        ],
                        db_index=True,
                        default="drafted",
                        max_length=10,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note to the supplier")),
                ("drafted_at", models.DateTimeField()),
                (
                    "drafted_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                (
                    "sent_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                (
                    "ended_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("end_reason", models.CharField(blank=True, max_length=300, verbose_name="why it ended so")),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("sent_at__isnull", False), ("sent_by__isnull", False)),
                            models.Q(
                                ("sent_at__isnull", True),
                                ("sent_by__isnull", True),
                                ("state__in", ["drafted", "cancelled"]),
                            ),
                            _connector="OR",
                        ),
                        name="inventory_purchaseorder_sent_names_who",
                        violation_error_message="An order that was sent names who sent it and when.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "drafted"), _negated=True),
                            ("sent_at__isnull", True),
                            _connector="OR",
                        ),
                        name="inventory_purchaseorder_draft_not_sent",
                        violation_error_message="An order that was sent is no draft any more.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("ended_at__isnull", False),
                                ("ended_by__isnull", False),
                                ("state__in", ("closed", "cancelled")),
                            ),
                            models.Q(
                                models.Q(("state__in", ("closed", "cancelled")), _negated=True),
                                ("ended_at__isnull", True),
                                ("ended_by__isnull", True),
                            ),
                            _connector="OR",
                        ),
                        name="inventory_purchaseorder_end_names_who",
                        violation_error_message="An order that ended names who ended it and when.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("state", "cancelled"), _negated=True),
                            models.Q(("end_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="inventory_purchaseorder_cancel_has_reason",
                        violation_error_message="A cancelled order needs the reason.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="OrderLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "order",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="inventory.purchaseorder",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="order_lines",
                        to="inventory.part",
                    ),
                ),
                (
                    "supplier_number",
                    models.CharField(blank=True, max_length=60, verbose_name="supplier's number"),
                ),
                ("quantity", models.PositiveIntegerField(verbose_name="pieces")),
                (
                    "unit_price",
                    models.DecimalField(
                        blank=True,
                        decimal_places=4,
                        max_digits=12,
                        null=True,
                        verbose_name="price of a piece",
                    ),
                ),
                (
                    "over_reason",
                    models.CharField(blank=True, max_length=200, verbose_name="why more came than ordered"),
                ),
            ],
            options={
                "ordering": ["order", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("order", "part"),
                        name="inventory_orderline_part_once",
                        violation_error_message="This part is on the order already: change the pieces there.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("quantity__gt", 0),
                            models.Q(("unit_price__isnull", True), ("unit_price__gte", 0), _connector="OR"),
                        ),
                        name="inventory_orderline_positive",
                        violation_error_message="A line orders at least one piece, at no price below nothing.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Lot",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(max_length=40, unique=True, verbose_name="lot number")),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lots", to="inventory.part"
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="inventory.supplier",
                    ),
                ),
                (
                    "supplier_batch",
                    models.CharField(blank=True, max_length=60, verbose_name="supplier's batch"),
                ),
                (
                    "cure_date",
                    models.CharField(blank=True, max_length=20, verbose_name="cure date as printed"),
                ),
                ("counted_from", models.DateField(blank=True, null=True, verbose_name="age counted from")),
                ("use_by", models.DateField(blank=True, db_index=True, null=True)),
                (
                    "computed_use_by",
                    models.DateField(
                        blank=True, null=True, verbose_name="use-by date as computed at receipt"
                    ),
                ),
                (
                    "storage_standard",
                    models.CharField(
                        blank=True, choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")], max_length=10
                    ),
                ),
                (
                    "age_basis",
                    models.CharField(blank=True, max_length=300, verbose_name="basis of the use-by date"),
                ),
                ("received_on", models.DateField()),
                ("quantity_received", models.PositiveIntegerField()),
                (
                    "unit_cost",
                    models.DecimalField(
                        blank=True, decimal_places=4, max_digits=12, null=True, verbose_name="cost of a piece"
                    ),
                ),
                (
                    "order_line",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lots",
                        to="inventory.orderline",
                        verbose_name="for the order",
                    ),
                ),
                ("made_here", models.BooleanField(default=False)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("accepted", "accepted"),
                            ("on_hold", "on hold"),
                            ("quarantined", "in quarantine"),
                        ],
                        default="accepted",
                        max_length=12,
                    ),
                ),
                ("hold_reason", models.CharField(blank=True, max_length=300)),
            ],
            options={
                "ordering": ["-received_on", "number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state", "accepted"),
                            models.Q(("hold_reason", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="inventory_lot_hold_has_reason",
                        violation_error_message="A lot on hold or in quarantine needs the reason.",
                    ),
                    models.UniqueConstraint(
                        django.db.models.functions.text.Upper("number"),
                        name="inventory_lot_number_any_case",
                        violation_error_message="Another lot has this number, written in other letters.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity_received__gt", 0)),
                        name="inventory_lot_quantity_positive",
                        violation_error_message="A lot holds at least one piece.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("unit_cost__isnull", True), ("unit_cost__gte", 0), _connector="OR"
                        ),
                        name="inventory_lot_cost_not_negative",
                        violation_error_message="A cost is not negative; leave it empty where nobody knows it.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Balance",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="balances",
                        to="inventory.lot",
                    ),
                ),
                ("place", models.CharField(max_length=40)),
                ("quantity", models.IntegerField(default=0)),
            ],
            options={
                "ordering": ["lot", "place"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("lot", "place"),
                        name="inventory_balance_place_once",
                        violation_error_message="This lot has a balance at that place already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gte", 0)),
                        name="inventory_balance_not_negative",
                        violation_error_message="The ledger does not hold that many pieces at that place.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Movement",
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
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="movements",
                        to="inventory.lot",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("received", "received"),
                            ("used", "used"),
                            ("returned", "returned"),
                            ("found", "found in bin"),
                            ("scrapped", "scrapped"),
                            ("adjusted", "adjusted"),
                            ("moved", "moved"),
                        ],
                        max_length=10,
                    ),
                ),
                ("place", models.CharField(max_length=40)),
                ("quantity", models.IntegerField()),
                ("document", models.CharField(blank=True, max_length=60)),
                (
                    "returns",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="returned_by",
                        to="inventory.movement",
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [
                    models.Index(fields=["lot", "place"], name="inventory_movement_lot_place"),
                    models.Index(fields=["kind", "at", "lot", "quantity"], name="inventory_movement_usage"),
                ],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("quantity", 0), _negated=True),
                        name="inventory_movement_not_zero",
                        violation_error_message="A movement moves at least one piece.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("kind__in", ["received", "returned", "found"]), ("quantity__gt", 0)),
                            models.Q(("kind__in", ["used", "scrapped"]), ("quantity__lt", 0)),
                            ("kind__in", ["adjusted", "moved"]),
                            _connector="OR",
                        ),
                        name="inventory_movement_sign",
                        violation_error_message="Pieces that come in count up; pieces that go out count down.",
                    ),
                ],
            },
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
                (
                    "begun_by",
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
                ("reason", models.CharField(blank=True, max_length=300)),
                (
                    "same_person",
                    models.BooleanField(
                        default=False, verbose_name="booked by a person who counted, above the limit"
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
                "indexes": [],
            },
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
                (
                    "count",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="inventory.placecount",
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
                    "movement",
                    models.OneToOneField(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="count_line",
                        to="inventory.movement",
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
                "indexes": [],
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
                "verbose_name": "historical count line",
                "verbose_name_plural": "historical count lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalKit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(max_length=120)),
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
                "verbose_name": "historical kit",
                "verbose_name_plural": "historical kits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Kit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "revision",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit",
                        to="shop.typerevision",
                    ),
                ),
                ("name", models.CharField(max_length=120)),
            ],
            options={
                "ordering": ["name"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalKitLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("quantity", models.PositiveSmallIntegerField(default=1)),
                ("preference", models.PositiveSmallIntegerField(default=1)),
                ("required", models.BooleanField(default=True)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why this part")),
                (
                    "original_polymer",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("NBR", "NBR"),
                            ("HNBR", "HNBR"),
                            ("FKM", "FKM"),
                            ("FFKM", "FFKM"),
                            ("EPDM", "EPDM"),
                            ("VMQ", "VMQ"),
                            ("FVMQ", "FVMQ"),
                            ("CR", "CR"),
                            ("IIR", "IIR"),
                            ("ACM", "ACM"),
                            ("AEM", "AEM"),
                            ("AU", "AU"),
                            ("EU", "EU"),
                            ("NR", "NR"),
                            ("SBR", "SBR"),
                            ("ECO", "ECO"),
                            ("CSM", "CSM"),
                            ("PTFE", "PTFE"),
                            ("POM", "POM"),
                            ("PA", "PA"),
                        ],
                        max_length=6,
                        verbose_name="material before",
                    ),
                ),
                (
                    "upgrade_hydrolysis",
                    models.BooleanField(default=False, verbose_name="upgrade against hydrolysis"),
                ),
                (
                    "upgrade_oxidation",
                    models.BooleanField(default=False, verbose_name="upgrade against oxidation"),
                ),
                ("upgrade_heat", models.BooleanField(default=False, verbose_name="upgrade against heat")),
                (
                    "upgrade_swelling",
                    models.BooleanField(default=False, verbose_name="upgrade against swelling"),
                ),
                ("upgrade_wear", models.BooleanField(default=False, verbose_name="upgrade against wear")),
                (
                    "upgrade_other",
                    models.BooleanField(default=False, verbose_name="upgrade for another reason"),
                ),
                (
                    "upgrade_words",
                    models.CharField(blank=True, max_length=200, verbose_name="upgrade, in words"),
                ),
                (
                    "kit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.kit",
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
                "verbose_name": "historical kit line",
                "verbose_name_plural": "historical kit lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalLot",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, max_length=40, verbose_name="lot number")),
                (
                    "supplier_batch",
                    models.CharField(blank=True, max_length=60, verbose_name="supplier's batch"),
                ),
                (
                    "cure_date",
                    models.CharField(blank=True, max_length=20, verbose_name="cure date as printed"),
                ),
                ("counted_from", models.DateField(blank=True, null=True, verbose_name="age counted from")),
                ("use_by", models.DateField(blank=True, db_index=True, null=True)),
                (
                    "computed_use_by",
                    models.DateField(
                        blank=True, null=True, verbose_name="use-by date as computed at receipt"
                    ),
                ),
                (
                    "storage_standard",
                    models.CharField(
                        blank=True, choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")], max_length=10
                    ),
                ),
                (
                    "age_basis",
                    models.CharField(blank=True, max_length=300, verbose_name="basis of the use-by date"),
                ),
                ("received_on", models.DateField()),
                ("quantity_received", models.PositiveIntegerField()),
                (
                    "unit_cost",
                    models.DecimalField(
                        blank=True, decimal_places=4, max_digits=12, null=True, verbose_name="cost of a piece"
                    ),
                ),
                ("made_here", models.BooleanField(default=False)),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("accepted", "accepted"),
                            ("on_hold", "on hold"),
                            ("quarantined", "in quarantine"),
                        ],
                        default="accepted",
                        max_length=12,
                    ),
                ),
                ("hold_reason", models.CharField(blank=True, max_length=300)),
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
                    "order_line",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.orderline",
                        verbose_name="for the order",
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
                "verbose_name": "historical lot",
                "verbose_name_plural": "historical lots",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
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
                "verbose_name": "historical lot certificate",
                "verbose_name_plural": "historical lot certificates",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalOrderLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "supplier_number",
                    models.CharField(blank=True, max_length=60, verbose_name="supplier's number"),
                ),
                ("quantity", models.PositiveIntegerField(verbose_name="pieces")),
                (
                    "unit_price",
                    models.DecimalField(
                        blank=True,
                        decimal_places=4,
                        max_digits=12,
                        null=True,
                        verbose_name="price of a piece",
                    ),
                ),
                (
                    "over_reason",
                    models.CharField(blank=True, max_length=200, verbose_name="why more came than ordered"),
                ),
                (
                    "order",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.purchaseorder",
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
                "verbose_name": "historical order line",
                "verbose_name_plural": "historical order lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPackedKit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(db_index=True, max_length=20)),
                (
                    "state",
                    models.CharField(
                        choices=[("packed", "packed"), ("used", "used"), ("unpacked", "unpacked")],
                        default="packed",
                        max_length=10,
                    ),
                ),
                ("packed_at", models.DateTimeField()),
                ("document", models.CharField(blank=True, max_length=60, verbose_name="used in")),
                (
                    "kit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.kit",
                    ),
                ),
                (
                    "packed_by",
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
                "verbose_name": "historical packed kit",
                "verbose_name_plural": "historical packed kits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="KitLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="lines", to="inventory.kit"
                    ),
                ),
                (
                    "position",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_lines",
                        to="shop.sealposition",
                    ),
                ),
                (
                    "component",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_lines",
                        to="shop.component",
                    ),
                ),
                (
                    "port",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_lines",
                        to="shop.port",
                    ),
                ),
                (
                    "hose",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_lines",
                        to="shop.hose",
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="kit_lines",
                        to="inventory.part",
                    ),
                ),
                ("quantity", models.PositiveSmallIntegerField(default=1)),
                ("preference", models.PositiveSmallIntegerField(default=1)),
                ("required", models.BooleanField(default=True)),
                ("reason", models.CharField(blank=True, max_length=200, verbose_name="why this part")),
                (
                    "original_polymer",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("NBR", "NBR"),
                            ("HNBR", "HNBR"),
                            ("FKM", "FKM"),
                            ("FFKM", "FFKM"),
                            ("EPDM", "EPDM"),
                            ("VMQ", "VMQ"),
                            ("FVMQ", "FVMQ"),
                            ("CR", "CR"),
                            ("IIR", "IIR"),
                            ("ACM", "ACM"),
                            ("AEM", "AEM"),
                            ("AU", "AU"),
                            ("EU", "EU"),
                            ("NR", "NR"),
                            ("SBR", "SBR"),
                            ("ECO", "ECO"),
                            ("CSM", "CSM"),
                            ("PTFE", "PTFE"),
                            ("POM", "POM"),
                            ("PA", "PA"),
                        ],
                        max_length=6,
                        verbose_name="material before",
                    ),
                ),
                (
                    "upgrade_hydrolysis",
                    models.BooleanField(default=False, verbose_name="upgrade against hydrolysis"),
                ),
                (
                    "upgrade_oxidation",
                    models.BooleanField(default=False, verbose_name="upgrade against oxidation"),
                ),
                ("upgrade_heat", models.BooleanField(default=False, verbose_name="upgrade against heat")),
                (
                    "upgrade_swelling",
                    models.BooleanField(default=False, verbose_name="upgrade against swelling"),
                ),
                ("upgrade_wear", models.BooleanField(default=False, verbose_name="upgrade against wear")),
                (
                    "upgrade_other",
                    models.BooleanField(default=False, verbose_name="upgrade for another reason"),
                ),
                (
                    "upgrade_words",
                    models.CharField(blank=True, max_length=200, verbose_name="upgrade, in words"),
                ),
            ],
            options={
                "ordering": [
                    "kit",
                    "position__order",
                    "component__order",
                    "port__order",
                    "hose__order",
                    "preference",
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
                        name="inventory_kitline_one_place",
                        violation_error_message="A kit line names one position, component, port or hose.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="inventory_kitline_quantity_positive",
                        violation_error_message="A kit line needs at least one piece.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("original_polymer", ""), ("upgrade_words", "")),
                            ("upgrade_hydrolysis", True),
                            ("upgrade_oxidation", True),
                            ("upgrade_heat", True),
                            ("upgrade_swelling", True),
                            ("upgrade_wear", True),
                            ("upgrade_other", True),
                            _connector="OR",
                        ),
                        name="inventory_kitline_upgrade_has_reason",
                        violation_error_message="An upgraded material needs at least one reason of the list.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("upgrade_other", False),
                            models.Q(("upgrade_words", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="inventory_kitline_other_in_words",
                        violation_error_message="Another reason for the upgrade is said in words.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PackedKit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=20, unique=True)),
                (
                    "kit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="packed", to="inventory.kit"
                    ),
                ),
                (
                    "state",
                    models.CharField(
                        choices=[("packed", "packed"), ("used", "used"), ("unpacked", "unpacked")],
                        default="packed",
                        max_length=10,
                    ),
                ),
                ("packed_at", models.DateTimeField()),
                (
                    "packed_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("document", models.CharField(blank=True, max_length=60, verbose_name="used in")),
            ],
            options={
                "ordering": ["-packed_at"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPackedKitLine",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("quantity", models.PositiveSmallIntegerField()),
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
                    "packed_kit",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.packedkit",
                    ),
                ),
                (
                    "kit_line",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.kitline",
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
                "verbose_name": "historical packed kit line",
                "verbose_name_plural": "historical packed kit lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPart",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, max_length=40, verbose_name="part number")),
                ("name", models.CharField(max_length=120)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("o_ring", "O-ring"),
                            ("lip_seal", "lip seal"),
                            ("wiper", "wiper"),
                            ("energised", "energised profile"),
                            ("backup_ring", "back-up ring"),
                            ("shaft_seal", "radial shaft seal"),
                            ("clip", "clip or plate"),
                            ("hardware", "hardware"),
                            ("component", "component"),
                        ],
                        max_length=12,
                    ),
                ),
                (
                    "polymer",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("NBR", "NBR"),
                            ("HNBR", "HNBR"),
                            ("FKM", "FKM"),
                            ("FFKM", "FFKM"),
                            ("EPDM", "EPDM"),
                            ("VMQ", "VMQ"),
                            ("FVMQ", "FVMQ"),
                            ("CR", "CR"),
                            ("IIR", "IIR"),
                            ("ACM", "ACM"),
                            ("AEM", "AEM"),
                            ("AU", "AU"),
                            ("EU", "EU"),
                            ("NR", "NR"),
                            ("SBR", "SBR"),
                            ("ECO", "ECO"),
                            ("CSM", "CSM"),
                            ("PTFE", "PTFE"),
                            ("POM", "POM"),
                            ("PA", "PA"),
                        ],
                        max_length=6,
                    ),
                ),
                ("hardness_shore_a", models.PositiveSmallIntegerField(blank=True, null=True)),
                ("size_designation", models.CharField(blank=True, max_length=60)),
                ("note", models.TextField(blank=True)),
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
                "verbose_name": "historical part",
                "verbose_name_plural": "historical parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
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
                "verbose_name": "historical place count",
                "verbose_name_plural": "historical place counts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="SupplierPart",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supplier_parts",
                        to="inventory.part",
                    ),
                ),
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supplier_parts",
                        to="inventory.supplier",
                    ),
                ),
                ("number", models.CharField(blank=True, max_length=60, verbose_name="supplier's number")),
                ("lead_days", models.PositiveSmallIntegerField(verbose_name="lead time in days")),
                ("pack_size", models.PositiveIntegerField(default=1, verbose_name="pieces in a pack")),
                ("minimum", models.PositiveIntegerField(default=1, verbose_name="fewest pieces sold")),
                ("preferred", models.BooleanField(default=False, verbose_name="this part is ordered here")),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["part", "-preferred", "supplier"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("part", "supplier"),
                        name="inventory_supplierpart_once",
                        violation_error_message="This part is entered for that supplier already: change it there.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("preferred", True)),
                        fields=("part",),
                        name="inventory_supplierpart_one_preferred",
                        violation_error_message="A part is ordered at one supplier: take the mark off the other.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("minimum__gt", 0), ("pack_size__gt", 0)),
                        name="inventory_supplierpart_pack_positive",
                        violation_error_message="A pack, and the least that is sold, hold at least one piece.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalPriceBreak",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("valid_from", models.DateField()),
                ("quantity", models.PositiveIntegerField(verbose_name="from pieces")),
                (
                    "price",
                    models.DecimalField(decimal_places=4, max_digits=12, verbose_name="price of a piece"),
                ),
                (
                    "supplier_part",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="inventory.supplierpart",
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
                "verbose_name": "historical price break",
                "verbose_name_plural": "historical price breaks",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPurchaseOrder",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, max_length=20, verbose_name="order number")),
                (
                    "state",
                    models.CharField(
                        choices=[
                            ("drafted", "drafted"),
                            ("sent", "sent"),
                            ("partly", "partly delivered"),
                            ("closed", "closed"),
                            ("cancelled", "cancelled"),
                        ],
                        db_index=True,
                        default="drafted",
                        max_length=10,
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="note to the supplier")),
                ("drafted_at", models.DateTimeField()),
                ("sent_at", models.DateTimeField(blank=True, null=True)),
                ("ended_at", models.DateTimeField(blank=True, null=True)),
                ("end_reason", models.CharField(blank=True, max_length=300, verbose_name="why it ended so")),
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
                    "drafted_by",
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
                    "ended_by",
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
                "verbose_name": "historical purchase order",
                "verbose_name_plural": "historical purchase orders",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
                "verbose_name": "historical recipe line",
                "verbose_name_plural": "historical recipe lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSupplier",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(db_index=True, max_length=120)),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("note", models.TextField(blank=True)),
                (
                    "storage_standard",
                    models.CharField(
                        blank=True,
                        choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                        max_length=10,
                        verbose_name="storage life of its seals after",
                    ),
                ),
                ("is_shop", models.BooleanField(default=False, verbose_name="this shop itself")),
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
                "verbose_name": "historical supplier",
                "verbose_name_plural": "historical suppliers",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSupplierPart",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(blank=True, max_length=60, verbose_name="supplier's number")),
                ("lead_days", models.PositiveSmallIntegerField(verbose_name="lead time in days")),
                ("pack_size", models.PositiveIntegerField(default=1, verbose_name="pieces in a pack")),
                ("minimum", models.PositiveIntegerField(default=1, verbose_name="fewest pieces sold")),
                ("preferred", models.BooleanField(default=False, verbose_name="this part is ordered here")),
                ("note", models.CharField(blank=True, max_length=200)),
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
                "verbose_name": "historical supplier part",
                "verbose_name_plural": "historical supplier parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalWalkingOrder",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "lines",
                    models.TextField(blank=True, max_length=8000, verbose_name="places in walking order"),
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
                "verbose_name": "historical walking order",
                "verbose_name_plural": "historical walking orders",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
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
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="certificates",
                        to="inventory.lot",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                ("title", models.CharField(blank=True, max_length=120, verbose_name="what it is")),
                (
                    "withdrawn_why",
                    models.CharField(blank=True, max_length=200, verbose_name="why it is withdrawn"),
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
                "indexes": [],
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
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="inspections",
                        to="inventory.lot",
                    ),
                ),
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
                "indexes": [],
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
                    "inspection",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="readings",
                        to="inventory.lotinspection",
                    ),
                ),
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
                "indexes": [],
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
                    "lot",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT, related_name="making", to="inventory.lot"
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
                    "hours",
                    models.DecimalField(
                        blank=True, decimal_places=2, max_digits=6, null=True, verbose_name="hours of work"
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=300, verbose_name="what was done")),
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
                "indexes": [],
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
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
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
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="PackedKitLine",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "packed_kit",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="lines",
                        to="inventory.packedkit",
                    ),
                ),
                (
                    "kit_line",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="inventory.kitline"
                    ),
                ),
                (
                    "lot",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="packed_lines",
                        to="inventory.lot",
                    ),
                ),
                ("quantity", models.PositiveSmallIntegerField()),
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
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("quantity__gt", 0)),
                        name="inventory_packedkitline_positive",
                        violation_error_message="A packed line holds at least one piece.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="PriceBreak",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "supplier_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="price_breaks",
                        to="inventory.supplierpart",
                    ),
                ),
                ("valid_from", models.DateField()),
                ("quantity", models.PositiveIntegerField(verbose_name="from pieces")),
                (
                    "price",
                    models.DecimalField(decimal_places=4, max_digits=12, verbose_name="price of a piece"),
                ),
            ],
            options={
                "ordering": ["supplier_part", "-valid_from", "quantity"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("supplier_part", "valid_from", "quantity"),
                        name="inventory_pricebreak_once",
                        violation_error_message="This list has a price from that quantity on already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("price__gt", 0), ("quantity__gt", 0)),
                        name="inventory_pricebreak_positive",
                        violation_error_message="A price break has a quantity and a price above nothing.",
                    ),
                ],
                "indexes": [],
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
                ("quantity", models.PositiveSmallIntegerField(default=1, verbose_name="pieces")),
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Settlement",
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
                    "movement",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="settlement",
                        to="inventory.movement",
                    ),
                ),
                ("finding", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="WalkingOrder",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "lines",
                    models.TextField(blank=True, max_length=8000, verbose_name="places in walking order"),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("pk", 1)),
                        name="inventory_walkingorder_one_row",
                        violation_error_message="There is one walking order only; change the existing one.",
                    )
                ],
                "indexes": [],
            },
        ),
    ]
