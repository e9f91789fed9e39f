import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0001_initial"),
        ("shop", "__first__"),
    ]

    operations = [
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
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
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
            ],
            options={
                "verbose_name": "historical purchase order",
                "verbose_name_plural": "historical purchase orders",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
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
            ],
            options={
                "verbose_name": "historical supplier part",
                "verbose_name_plural": "historical supplier parts",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
                    "drafted_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
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
                (
                    "supplier",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="purchase_orders",
                        to="inventory.supplier",
                    ),
                ),
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
            },
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
                ("number", models.CharField(blank=True, max_length=60, verbose_name="supplier's number")),
                ("lead_days", models.PositiveSmallIntegerField(verbose_name="lead time in days")),
                ("pack_size", models.PositiveIntegerField(default=1, verbose_name="pieces in a pack")),
                ("minimum", models.PositiveIntegerField(default=1, verbose_name="fewest pieces sold")),
                ("preferred", models.BooleanField(default=False, verbose_name="this part is ordered here")),
                ("note", models.CharField(blank=True, max_length=200)),
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
            },
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
            ],
            options={
                "verbose_name": "historical order line",
                "verbose_name_plural": "historical order lines",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
            ],
            options={
                "verbose_name": "historical price break",
                "verbose_name_plural": "historical price breaks",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
                    "part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="order_lines",
                        to="inventory.part",
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
                ("valid_from", models.DateField()),
                ("quantity", models.PositiveIntegerField(verbose_name="from pieces")),
                (
                    "price",
                    models.DecimalField(decimal_places=4, max_digits=12, verbose_name="price of a piece"),
                ),
                (
                    "supplier_part",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="price_breaks",
                        to="inventory.supplierpart",
                    ),
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
            },
        ),
        migrations.AddIndex(
            model_name="movement",
            index=models.Index(fields=["kind", "at"], name="inventory_movement_kind_at"),
        ),
        migrations.AddField(
            model_name="historicallot",
            name="order_line",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="inventory.orderline",
                verbose_name="for the order",
            ),
        ),
        migrations.AddField(
            model_name="lot",
            name="order_line",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="lots",
                to="inventory.orderline",
                verbose_name="for the order",
            ),
        ),
    ]
