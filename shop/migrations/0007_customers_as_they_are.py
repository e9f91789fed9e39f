import django.db.models.deletion
import simple_history.models
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0006_technique"),
    ]

    operations = [
        migrations.CreateModel(
            name="CustomerKey",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("name", "name"),
                            ("phone", "telephone"),
                            ("email", "e-mail"),
                            ("address", "address"),
                        ],
                        max_length=8,
                    ),
                ),
                ("value", models.CharField(max_length=300)),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="keys", to="shop.customer"
                    ),
                ),
            ],
            options={
                "ordering": ["customer", "kind"],
                "indexes": [models.Index(fields=["kind", "value", "customer"], name="shop_customerkey_same")],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("customer", "kind"),
                        name="shop_customerkey_once",
                        violation_error_message="A customer has one key of a kind; the program writes it.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("value", ""), _negated=True),
                        name="shop_customerkey_told",
                        violation_error_message="A key that tells nothing is not kept.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="CustomerMerge",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("values", models.JSONField(blank=True, default=dict)),
                ("moved", models.JSONField(blank=True, default=list)),
                ("defaults", models.JSONField(blank=True, default=list)),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                (
                    "gone",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merges_away",
                        to="shop.customer",
                    ),
                ),
                (
                    "stays",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="merges", to="shop.customer"
                    ),
                ),
            ],
            options={
                "ordering": ["-at", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("gone", models.F("stays")), _negated=True),
                        name="shop_customermerge_two",
                        violation_error_message="A customer cannot be merged into itself.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="shop_customermerge_reason",
                        violation_error_message="Say how you know that the two are one customer.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="DifferentCustomers",
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
                    "first",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.customer"
                    ),
                ),
                (
                    "second",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.customer"
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "different customers",
                "ordering": ["-at", "-pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("first", "second"),
                        name="shop_differentcustomers_once",
                        violation_error_message="These two are recorded as not the same already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("first__lt", models.F("second"))),
                        name="shop_differentcustomers_ordered",
                        violation_error_message="A customer is the same as itself.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="shop_differentcustomers_reason",
                        violation_error_message="Say how you know that they are not the same.",
                    ),
                ],
            },
        ),
        migrations.CreateModel(
            name="HistoricalShipTo",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("label", models.CharField(max_length=60, verbose_name="what it is called here")),
                ("name", models.CharField(max_length=120, verbose_name="name on the parcel")),
                ("address", models.TextField(max_length=400, verbose_name="address lines")),
                ("note", models.CharField(blank=True, max_length=200, verbose_name="note for this place")),
                (
                    "is_default",
                    models.BooleanField(default=False, verbose_name="goes here unless told otherwise"),
                ),
                ("retired", models.BooleanField(default=False, verbose_name="no longer used")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                (
                    "history_type",
                    models.CharField(
                        choices=[("+", "Created"), ("~", "Changed"), ("-", "Deleted")], max_length=1
                    ),
                ),
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
                "verbose_name": "historical ship-to address",
                "verbose_name_plural": "historical ship-to addresses",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="MergeTakenBack",
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
                    "merge",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="taken_back",
                        to="shop.customermerge",
                    ),
                ),
            ],
            options={
                "verbose_name_plural": "merges taken back",
                "ordering": ["pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("why", ""), _negated=True),
                        name="shop_mergetakenback_reason",
                        violation_error_message="Say why the merge is taken back.",
                    )
                ],
            },
        ),
        migrations.CreateModel(
            name="ShipTo",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("label", models.CharField(max_length=60, verbose_name="what it is called here")),
                ("name", models.CharField(max_length=120, verbose_name="name on the parcel")),
                ("address", models.TextField(max_length=400, verbose_name="address lines")),
                ("note", models.CharField(blank=True, max_length=200, verbose_name="note for this place")),
                (
                    "is_default",
                    models.BooleanField(default=False, verbose_name="goes here unless told otherwise"),
                ),
                ("retired", models.BooleanField(default=False, verbose_name="no longer used")),
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ship_tos",
                        to="shop.customer",
                    ),
                ),
            ],
            options={
                "verbose_name": "ship-to address",
                "verbose_name_plural": "ship-to addresses",
                "ordering": ["customer", "retired", "label", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        condition=models.Q(("is_default", True)),
                        fields=("customer",),
                        name="shop_shipto_one_default",
                        violation_error_message="Another ship-to address of this customer is the default already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("retired", False), ("is_default", False), _connector="OR"),
                        name="shop_shipto_default_in_use",
                        violation_error_message="An address that is no longer used cannot be the default.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("label", ""), _negated=True),
                            models.Q(("name", ""), _negated=True),
                            models.Q(("address", ""), _negated=True),
                        ),
                        name="shop_shipto_whole",
                        violation_error_message="A ship-to address needs what it is called, a name, and its lines.",
                    ),
                ],
            },
        ),
        migrations.AddField(
            model_name="customer",
            name="bill_address",
            field=models.TextField(blank=True, max_length=400, verbose_name="address for bills"),
        ),
        migrations.AddField(
            model_name="customer",
            name="bill_name",
            field=models.CharField(blank=True, max_length=120, verbose_name="bill to"),
        ),
        migrations.AddField(
            model_name="customer",
            name="merged_into",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="merged_from",
                to="shop.customer",
            ),
        ),
        migrations.AddField(
            model_name="customer",
            name="needs_order_number",
            field=models.BooleanField(default=False, verbose_name="requires an order number of theirs"),
        ),
        migrations.AddField(
            model_name="customer",
            name="payment_days",
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="days to pay"),
        ),
        migrations.AddField(
            model_name="customer",
            name="payment_terms",
            field=models.CharField(blank=True, max_length=200, verbose_name="terms of payment"),
        ),
        migrations.AddField(
            model_name="customer",
            name="shipping_note",
            field=models.CharField(blank=True, max_length=300, verbose_name="note for shipping"),
        ),
        migrations.AddField(
            model_name="customer",
            name="warranty_holder",
            field=models.CharField(
                choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                default="customer",
                max_length=8,
                verbose_name="who holds the warranty",
            ),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="bill_address",
            field=models.TextField(blank=True, max_length=400, verbose_name="address for bills"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="bill_name",
            field=models.CharField(blank=True, max_length=120, verbose_name="bill to"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="merged_into",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="shop.customer",
            ),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="needs_order_number",
            field=models.BooleanField(default=False, verbose_name="requires an order number of theirs"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="payment_days",
            field=models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="days to pay"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="payment_terms",
            field=models.CharField(blank=True, max_length=200, verbose_name="terms of payment"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="shipping_note",
            field=models.CharField(blank=True, max_length=300, verbose_name="note for shipping"),
        ),
        migrations.AddField(
            model_name="historicalcustomer",
            name="warranty_holder",
            field=models.CharField(
                choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                default="customer",
                max_length=8,
                verbose_name="who holds the warranty",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("kind", "trade"),
                    models.Q(("payment_days__isnull", True), ("payment_terms", "")),
                    _connector="OR",
                ),
                name="shop_customer_terms_for_trade",
                violation_error_message="Only a trade account has terms of payment: choose trade account.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "trade"), ("needs_order_number", False), _connector="OR"),
                name="shop_customer_order_number_for_trade",
                violation_error_message="Only a trade account can require an order number of theirs.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(("kind", "trade"), ("warranty_holder", "customer"), _connector="OR"),
                name="shop_customer_holder_for_trade",
                violation_error_message="An owner holds the warranty; only a trade account passes it on.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("payment_days__isnull", True), ("payment_days__lte", 365), _connector="OR"
                ),
                name="shop_customer_days_within_a_year",
                violation_error_message="Nobody has more than 365 days to pay.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("bill_address", ""), ("bill_name", "")),
                    models.Q(
                        models.Q(("bill_name", ""), _negated=True),
                        models.Q(("bill_address", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="shop_customer_bill_whole",
                violation_error_message="An address for bills needs a name and the address lines.",
            ),
        ),
        migrations.AddConstraint(
            model_name="customer",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("merged_into__isnull", True),
                    models.Q(("merged_into", models.F("pk")), _negated=True),
                    _connector="OR",
                ),
                name="shop_customer_not_into_itself",
                violation_error_message="A customer cannot be merged into itself.",
            ),
        ),
    ]
