"""Everything up to 0016 in one step, for a new database; an older one takes the steps themselves.

The name sorts after 0001_initial, which must stay the first step that a swappable dependency finds.
"""

import django.contrib.auth.models
import django.contrib.auth.validators
import django.db.models.deletion
import django.db.models.functions.comparison
import django.utils.timezone
import simple_history.models
from django.conf import settings
from django.db import migrations, models

from ._at_once import AtOnce


class Migration(AtOnce):
    replaces = [
        ("shop", "0001_initial"),
        ("shop", "0002_glands_that_can_be_checked"),
        ("shop", "0003_permanent_mark"),
        ("shop", "0004_lists_from_files"),
        ("shop", "0005_draft_types"),
        ("shop", "0006_technique"),
        ("shop", "0007_customers_as_they_are"),
        ("shop", "0008_keys_of_customers"),
        ("shop", "0009_hoses"),
        ("shop", "0010_hoses_from_port_numbers"),
        ("shop", "0011_ports_without_hose_numbers"),
        ("shop", "0012_spare_fluid_that_goes_along"),
        ("shop", "0013_limits_left_open"),
        ("shop", "0014_maker_numbers_and_relations"),
        ("shop", "0015_maker_numbers_text_gone"),
        ("shop", "0016_rates_of_labour"),
    ]

    initial = True

    dependencies = [
        ("auth", "0012_alter_user_first_name_max_length"),
    ]

    operations = [
        migrations.CreateModel(
            name="Application",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120, unique=True)),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["name"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Fluid",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=80, unique=True)),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("mineral", "mineral oil HH/HL/HM"),
                            ("mineral HV", "mineral oil HV"),
                            ("HEES", "synthetic ester HEES"),
                            ("HFC", "water glycol HFC"),
                            ("HFDR", "phosphate ester HFDR"),
                            ("ATF", "automatic transmission fluid"),
                            ("DOT 3/4", "brake fluid DOT 3/4"),
                        ],
                        max_length=12,
                    ),
                ),
                ("viscosity_grade", models.CharField(blank=True, max_length=20)),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["name"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="UnitType",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=30, unique=True, verbose_name="catalogue code")),
                ("name", models.CharField(max_length=120)),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("cylinder", "cylinder"),
                            ("power_unit", "power unit"),
                            ("valve_block", "valve block"),
                        ],
                        max_length=12,
                    ),
                ),
                ("maker", models.CharField(blank=True, max_length=80)),
                (
                    "variant_of",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="variants",
                        to="shop.unittype",
                    ),
                ),
                (
                    "built_from",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="built from the year"
                    ),
                ),
                (
                    "built_to",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="built until the year"
                    ),
                ),
                (
                    "differs",
                    models.CharField(blank=True, max_length=300, verbose_name="what differs from it"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "provisional",
                    models.BooleanField(default=False, verbose_name="opened at the bench, not approved yet"),
                ),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged_types",
                        to="shop.unittype",
                    ),
                ),
            ],
            options={
                "ordering": ["code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            ("merged_into__isnull", True),
                            models.Q(
                                ("provisional", True),
                                models.Q(("merged_into", models.F("pk")), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="shop_unittype_merged_elsewhere",
                        violation_error_message="Only a type opened at the bench turns out to be another one, and never itself.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("variant_of__isnull", True),
                            models.Q(("variant_of", models.F("id")), _negated=True),
                            _connector="OR",
                        ),
                        name="shop_unittype_variant_of_another",
                        violation_error_message="A unit type is a variant of another one, not of itself.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("differs", ""), ("variant_of__isnull", True)),
                            models.Q(("variant_of__isnull", False), models.Q(("differs", ""), _negated=True)),
                            _connector="OR",
                        ),
                        name="shop_unittype_variant_told",
                        violation_error_message="A variant needs the type it is a variant of, and what differs.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("built_from__isnull", True),
                            ("built_to__isnull", True),
                            ("built_from__lte", models.F("built_to")),
                            _connector="OR",
                        ),
                        name="shop_unittype_years_in_order",
                        violation_error_message="It was built until a year before its first one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("built_from__isnull", True),
                                ("built_from__range", (1900, 2200)),
                                _connector="OR",
                            ),
                            models.Q(
                                ("built_to__isnull", True), ("built_to__range", (1900, 2200)), _connector="OR"
                            ),
                        ),
                        name="shop_unittype_years_plausible",
                        violation_error_message="Write the year with four digits, such as 1998.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="TypeRevision",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="revisions",
                        to="shop.unittype",
                    ),
                ),
                ("number", models.PositiveSmallIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[("draft", "draft"), ("approved", "approved"), ("superseded", "superseded")],
                        default="draft",
                        max_length=12,
                    ),
                ),
                ("bore_mm", models.FloatField(blank=True, null=True, verbose_name="bore, mm")),
                ("rod_mm", models.FloatField(blank=True, null=True, verbose_name="rod, mm")),
                ("stroke_mm", models.FloatField(blank=True, null=True, verbose_name="stroke, mm")),
                (
                    "closed_length_mm",
                    models.FloatField(blank=True, null=True, verbose_name="closed length, mm"),
                ),
                ("volume_ml", models.FloatField(blank=True, null=True, verbose_name="oil volume, mL")),
                (
                    "displacement_cm3",
                    models.FloatField(blank=True, null=True, verbose_name="displacement, cm³/rev"),
                ),
                ("supply_v", models.FloatField(blank=True, null=True, verbose_name="motor supply, V")),
                (
                    "rated_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="rated pressure, bar"),
                ),
                (
                    "proof_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="proof pressure, bar"),
                ),
                ("proof_hold_s", models.FloatField(blank=True, null=True, verbose_name="proof hold, s")),
                (
                    "proof_basis",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="basis of proof pressure and hold"
                    ),
                ),
                (
                    "service_fluid",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.fluid",
                    ),
                ),
                ("teardown_procedure", models.CharField(blank=True, max_length=120)),
                ("filling_note", models.TextField(blank=True, verbose_name="filling and bleeding")),
                (
                    "spare_fluid_ml",
                    models.FloatField(blank=True, null=True, verbose_name="spare fluid that goes along, mL"),
                ),
                (
                    "mark_place",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lug", "mounting lug or eye"),
                            ("bracket", "bracket"),
                            ("foot", "foot of the housing"),
                            ("flange", "edge of a flange, outside the seal"),
                            ("cover", "cover that holds no pressure"),
                            ("plate", "plate under a screw of the bracket"),
                        ],
                        max_length=8,
                        verbose_name="permanent mark on",
                    ),
                ),
                (
                    "mark_note",
                    models.CharField(blank=True, max_length=200, verbose_name="how the mark is made"),
                ),
            ],
            options={
                "ordering": ["unit_type", "number"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("unit_type", "number"),
                        name="shop_typerevision_number_once",
                        violation_error_message="This revision number exists already.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "approved")),
                        fields=("unit_type",),
                        name="shop_typerevision_one_approved",
                        violation_error_message="Another revision is approved; supersede it first.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("state", "draft"), ("service_fluid__isnull", False), _connector="OR"
                        ),
                        name="shop_typerevision_fluid_known",
                        violation_error_message="Name the service fluid: only a draft may leave it open.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("proof_pressure_bar__isnull", True),
                            models.Q(
                                ("proof_hold_s__gt", 0),
                                ("proof_hold_s__isnull", False),
                                ("proof_pressure_bar__gt", 0),
                                models.Q(("proof_basis", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="shop_typerevision_proof_has_basis",
                        violation_error_message="A proof pressure needs a hold time and a written basis; there is no general default.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("spare_fluid_ml__isnull", True), ("spare_fluid_ml__gt", 0), _connector="OR"
                        ),
                        name="shop_typerevision_spare_fluid",
                        violation_error_message="Spare fluid is more than 0 mL; leave it empty for none.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("mark_place__in", ["", "lug", "bracket", "foot", "flange", "cover", "plate"])
                        ),
                        name="shop_typerevision_mark_off_pressure",
                        violation_error_message="A permanent mark goes on none of these: a rod, or a wall that holds pressure.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("rod_mm__isnull", True),
                            ("bore_mm__isnull", True),
                            ("rod_mm__lt", models.F("bore_mm")),
                            _connector="OR",
                        ),
                        name="shop_typerevision_rod_in_bore",
                        violation_error_message="The rod must be thinner than the bore.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Component",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="components",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("body", "body"),
                            ("rod", "rod"),
                            ("barrel", "barrel"),
                            ("piston", "piston"),
                            ("brushes", "brushes"),
                            ("commutator", "commutator"),
                            ("pumping_element", "pumping element"),
                            ("ball", "ball"),
                            ("spring", "spring"),
                            ("screen", "screen"),
                            ("coil", "coil"),
                            ("connector", "connector"),
                            ("snap_ring", "snap ring"),
                            ("other", "other"),
                        ],
                        max_length=16,
                    ),
                ),
            ],
            options={
                "ordering": ["order", "code"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "code"),
                        name="shop_component_code_once",
                        violation_error_message="This revision has a component of that code already.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Counter",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("series", models.CharField(max_length=20, unique=True)),
                ("last", models.PositiveIntegerField(default=0)),
            ],
            options={
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="Customer",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                (
                    "kind",
                    models.CharField(
                        choices=[("owner", "owner"), ("trade", "trade account")],
                        default="owner",
                        max_length=10,
                    ),
                ),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("phone_digits", models.CharField(blank=True, db_index=True, editable=False, max_length=40)),
                ("street", models.CharField(blank=True, max_length=160)),
                ("postcode", models.CharField(blank=True, max_length=20)),
                ("town", models.CharField(blank=True, max_length=80)),
                ("country", models.CharField(blank=True, max_length=60)),
                ("note", models.TextField(blank=True)),
                ("bill_name", models.CharField(blank=True, max_length=120, verbose_name="bill to")),
                (
                    "bill_address",
                    models.TextField(blank=True, max_length=400, verbose_name="address for bills"),
                ),
                (
                    "payment_days",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="days to pay"),
                ),
                (
                    "payment_terms",
                    models.CharField(blank=True, max_length=200, verbose_name="terms of payment"),
                ),
                (
                    "needs_order_number",
                    models.BooleanField(default=False, verbose_name="requires an order number of theirs"),
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
                    "shipping_note",
                    models.CharField(blank=True, max_length=300, verbose_name="note for shipping"),
                ),
                (
                    "merged_into",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="merged_from",
                        to="shop.customer",
                    ),
                ),
            ],
            options={
                "ordering": ["name", "pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("name", ""), _negated=True),
                        name="shop_customer_named",
                        violation_error_message="A customer needs a name.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind", "trade"),
                            models.Q(("payment_days__isnull", True), ("payment_terms", "")),
                            _connector="OR",
                        ),
                        name="shop_customer_terms_for_trade",
                        violation_error_message="Only a trade account has terms of payment: choose trade account.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("kind", "trade"), ("needs_order_number", False), _connector="OR"),
                        name="shop_customer_order_number_for_trade",
                        violation_error_message="Only a trade account can require an order number of theirs.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("kind", "trade"), ("warranty_holder", "customer"), _connector="OR"
                        ),
                        name="shop_customer_holder_for_trade",
                        violation_error_message="An owner holds the warranty; only a trade account passes it on.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("payment_days__isnull", True), ("payment_days__lte", 365), _connector="OR"
                        ),
                        name="shop_customer_days_within_a_year",
                        violation_error_message="Nobody has more than 365 days to pay.",
                    ),
                    models.CheckConstraint(
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
                    models.CheckConstraint(
                        condition=models.Q(
                            ("merged_into__isnull", True),
                            models.Q(("merged_into", models.F("pk")), _negated=True),
                            _connector="OR",
                        ),
                        name="shop_customer_not_into_itself",
                        violation_error_message="A customer cannot be merged into itself.",
                    ),
                ],
                "indexes": [],
            },
        ),
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
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE, related_name="keys", to="shop.customer"
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
            name="User",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("password", models.CharField(max_length=128, verbose_name="password")),
                ("last_login", models.DateTimeField(blank=True, null=True, verbose_name="last login")),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        unique=True,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined"),
                ),
                (
                    "printed_name",
                    models.CharField(max_length=80, verbose_name="name as printed beside signatures"),
                ),
                (
                    "authority_no",
                    models.CharField(
                        blank=True, max_length=40, verbose_name="authority or certificate number"
                    ),
                ),
                ("inch_units", models.BooleanField(default=False, verbose_name="show inch-pound units")),
                (
                    "groups",
                    models.ManyToManyField(
                        blank=True,
                        help_text="The groups this user belongs to. A user will get all permissions granted to each of their groups.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.group",
                        verbose_name="groups",
                    ),
                ),
                (
                    "user_permissions",
                    models.ManyToManyField(
                        blank=True,
                        help_text="Specific permissions for this user.",
                        related_name="user_set",
                        related_query_name="user",
                        to="auth.permission",
                        verbose_name="user permissions",
                    ),
                ),
            ],
            options={
                "verbose_name": "user",
                "verbose_name_plural": "users",
                "abstract": False,
                "indexes": [],
                "constraints": [],
            },
            managers=[
                ("objects", django.contrib.auth.models.UserManager()),
            ],
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
                ("values", models.JSONField(blank=True, default=dict)),
                ("moved", models.JSONField(blank=True, default=list)),
                ("defaults", models.JSONField(blank=True, default=list)),
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
                "indexes": [],
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="SealPosition",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="positions",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("rod_seal", "rod seal"),
                            ("wiper", "wiper"),
                            ("piston_seal", "piston seal"),
                            ("port_seal", "port seal"),
                            ("static_seal", "static seal"),
                            ("shaft_seal", "shaft seal"),
                            ("valve_seat_seal", "valve seat seal"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "motion",
                    models.CharField(
                        choices=[
                            ("static", "static"),
                            ("reciprocating", "reciprocating"),
                            ("rotary", "rotary"),
                        ],
                        max_length=14,
                    ),
                ),
                ("size_designation", models.CharField(blank=True, max_length=60)),
                (
                    "arrangement",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("piston", "groove in the inner part"),
                            ("rod", "groove in the outer part"),
                            ("face", "groove in a face"),
                        ],
                        max_length=6,
                    ),
                ),
                (
                    "gland_diameter_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove diameter, mm"),
                ),
                (
                    "gland_diameter_tol_mm",
                    models.FloatField(blank=True, null=True, verbose_name="± on the groove diameter, mm"),
                ),
                (
                    "gland_depth_min_mm",
                    models.FloatField(blank=True, null=True, verbose_name="gland depth, least, mm"),
                ),
                (
                    "gland_depth_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="gland depth, most, mm"),
                ),
                (
                    "gland_width_min_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove width, least, mm"),
                ),
                (
                    "gland_width_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove width, most, mm"),
                ),
                (
                    "clearance_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="diametral clearance, most, mm"),
                ),
            ],
            options={
                "ordering": ["order", "code"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "code"),
                        name="shop_sealposition_code_once",
                        violation_error_message="This revision has a position of that code already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("gland_depth_min_mm__isnull", True),
                            ("gland_depth_max_mm__isnull", True),
                            ("gland_depth_min_mm__lte", models.F("gland_depth_max_mm")),
                            _connector="OR",
                        ),
                        name="shop_sealposition_depth_order",
                        violation_error_message="The least gland depth is larger than the most.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("gland_width_min_mm__isnull", True),
                            ("gland_width_max_mm__isnull", True),
                            ("gland_width_min_mm__lte", models.F("gland_width_max_mm")),
                            _connector="OR",
                        ),
                        name="shop_sealposition_width_order",
                        violation_error_message="The least groove width is larger than the most.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("clearance_max_mm__isnull", True), ("clearance_max_mm__gte", 0), _connector="OR"
                        ),
                        name="shop_sealposition_clearance_not_negative",
                        violation_error_message="A clearance is 0 mm or more.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="DimensionLimit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="dimension_limits",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "quantity",
                    models.CharField(
                        choices=[
                            ("rod_diameter", "rod diameter"),
                            ("bore", "bore"),
                            ("run_out", "run-out"),
                            ("groove", "groove"),
                            ("surface", "surface roughness"),
                            ("length", "length"),
                            ("clearance", "clearance"),
                            ("other", "other"),
                        ],
                        max_length=14,
                    ),
                ),
                ("unit", models.CharField(choices=[("mm", "mm"), ("µm", "µm")], default="mm", max_length=10)),
                ("stations", models.PositiveSmallIntegerField(default=1, verbose_name="readings to take")),
                ("lower", models.FloatField(blank=True, null=True)),
                ("upper", models.FloatField(blank=True, null=True)),
                ("basis", models.CharField(max_length=300)),
                ("required", models.BooleanField(default=True)),
                ("limits_open", models.BooleanField(default=False, verbose_name="limits left to the lead")),
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
                    "gland_figure",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("depth", "gland depth"),
                            ("width", "groove width"),
                            ("diameter", "groove diameter"),
                            ("clearance", "diametral clearance"),
                        ],
                        max_length=9,
                        verbose_name="figure of its gland",
                    ),
                ),
                (
                    "length_mm",
                    models.FloatField(blank=True, null=True, verbose_name="length between the rests, mm"),
                ),
            ],
            options={
                "ordering": ["order", "code"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "code"),
                        name="shop_dimensionlimit_code_once",
                        violation_error_message="This revision has a dimension of that code already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lower__isnull", False),
                            ("upper__isnull", False),
                            models.Q(("gland_figure", ""), _negated=True),
                            ("length_mm__isnull", False),
                            ("limits_open", True),
                            _connector="OR",
                        ),
                        name="shop_dimensionlimit_has_limit",
                        violation_error_message="Give a lower or an upper limit, the figure of a gland, or the length of a rod: something must judge the reading.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("gland_figure", ""), ("position__isnull", True)),
                            models.Q(
                                models.Q(("gland_figure", ""), _negated=True), ("position__isnull", False)
                            ),
                            _connector="OR",
                        ),
                        name="shop_dimensionlimit_figure_with_position",
                        violation_error_message="A figure of a gland and its seal position go together.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("length_mm__isnull", True),
                            models.Q(("gland_figure", ""), ("length_mm__gt", 0), ("quantity", "run_out")),
                            _connector="OR",
                        ),
                        name="shop_dimensionlimit_length_of_run_out",
                        violation_error_message="Only a run-out has a length, above 0 mm, and it is no figure of a gland.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("gland_figure", ""), ("length_mm__isnull", True)),
                            ("unit", "mm"),
                            _connector="OR",
                        ),
                        name="shop_dimensionlimit_sum_in_mm",
                        violation_error_message="What a sum judges is read in mm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lower__isnull", True),
                            ("upper__isnull", True),
                            ("lower__lte", models.F("upper")),
                            _connector="OR",
                        ),
                        name="shop_dimensionlimit_order",
                        violation_error_message="The lower limit is above the upper limit.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Port",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ports",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "fitting",
                    models.CharField(
                        choices=[
                            ("crimped", "crimped in by the maker"),
                            ("clipped", "screwed clip or plate"),
                            ("screwed", "screwed"),
                            ("plugged", "plugged"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "thread",
                    models.CharField(blank=True, max_length=40, verbose_name="thread or fitting size"),
                ),
                (
                    "along",
                    models.FloatField(blank=True, null=True, verbose_name="place along the body, 0 to 1"),
                ),
            ],
            options={
                "ordering": ["order", "code"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "code"),
                        name="shop_port_code_once",
                        violation_error_message="This revision has a port of that number already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("along__isnull", True),
                            models.Q(("along__gte", 0), ("along__lte", 1)),
                            _connector="OR",
                        ),
                        name="shop_port_along_the_body",
                        violation_error_message="The place along the body is from 0 (end cap) to 1 (rod end).",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="FasteningFigure",
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
                ("order", models.PositiveSmallIntegerField(default=0)),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="fastening_figures",
                        to="shop.typerevision",
                    ),
                ),
                ("what", models.CharField(max_length=120, verbose_name="what is fastened")),
                ("pieces", models.PositiveSmallIntegerField(default=1, verbose_name="how many of them")),
                ("torque_nm", models.FloatField(blank=True, null=True, verbose_name="torque, N·m")),
                (
                    "tolerance_nm",
                    models.FloatField(blank=True, null=True, verbose_name="± on the torque, N·m"),
                ),
                ("least_nm", models.FloatField(blank=True, null=True, verbose_name="torque, least, N·m")),
                ("most_nm", models.FloatField(blank=True, null=True, verbose_name="torque, most, N·m")),
                (
                    "threads",
                    models.CharField(
                        choices=[
                            ("dry", "dry"),
                            ("oiled", "oiled"),
                            ("locker", "wetted by the thread locker"),
                        ],
                        default="dry",
                        max_length=8,
                        verbose_name="threads are",
                    ),
                ),
                ("sequence", models.CharField(blank=True, max_length=200, verbose_name="order and stages")),
                (
                    "locker",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("low", "low strength"),
                            ("medium", "medium strength"),
                            ("high", "high strength"),
                        ],
                        max_length=8,
                        verbose_name="thread locker",
                    ),
                ),
                (
                    "locker_note",
                    models.CharField(blank=True, max_length=120, verbose_name="which one the shop uses"),
                ),
                ("cure_h", models.FloatField(blank=True, null=True, verbose_name="cure before pressure, h")),
                ("basis", models.CharField(max_length=300, verbose_name="basis of the figure")),
                (
                    "required",
                    models.BooleanField(
                        default=False, verbose_name="must be recorded before the build is signed"
                    ),
                ),
            ],
            options={
                "ordering": ["order", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("component__isnull", True), ("port__isnull", True)),
                            models.Q(("port__isnull", True), ("position__isnull", True)),
                            models.Q(("component__isnull", True), ("position__isnull", True)),
                            _connector="OR",
                        ),
                        name="shop_fasteningfigure_one_place",
                        violation_error_message="Name one position, component or port, or the whole unit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("basis", ""), _negated=True),
                        name="shop_fasteningfigure_has_basis",
                        violation_error_message="A fastening figure needs its written basis: a drawing, a calculation, a named source.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("tolerance_nm__isnull", True), ("torque_nm__isnull", True)),
                            models.Q(
                                ("least_nm__isnull", True),
                                ("most_nm__isnull", True),
                                ("tolerance_nm__gte", 0),
                                ("tolerance_nm__isnull", False),
                                ("torque_nm__gt", models.F("tolerance_nm")),
                                ("torque_nm__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="shop_fasteningfigure_torque_whole",
                        violation_error_message="Give the torque with its ±, smaller than the torque; or least and most, not both ways.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("least_nm__isnull", True), ("most_nm__isnull", True)),
                            models.Q(
                                ("least_nm__gt", 0),
                                ("least_nm__isnull", False),
                                ("least_nm__lte", models.F("most_nm")),
                                ("most_nm__isnull", False),
                            ),
                            _connector="OR",
                        ),
                        name="shop_fasteningfigure_span_whole",
                        violation_error_message="Least and most torque go together: above zero, and in that order.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("torque_nm__isnull", False),
                            ("least_nm__isnull", False),
                            models.Q(("locker", ""), _negated=True),
                            _connector="OR",
                        ),
                        name="shop_fasteningfigure_says_something",
                        violation_error_message="Give a torque, or a thread locker.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("cure_h__isnull", True),
                            models.Q(
                                ("cure_h__gt", 0),
                                ("cure_h__isnull", False),
                                models.Q(("locker", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="shop_fasteningfigure_cure_of_locker",
                        violation_error_message="A time to cure, above zero, belongs to a thread locker.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("pieces__gte", 1)),
                        name="shop_fasteningfigure_pieces",
                        violation_error_message="At least one is fastened.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="FormToken",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("token", models.UUIDField(unique=True)),
                (
                    "user",
                    models.ForeignKey(
                        null=True,
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("path", models.CharField(max_length=300)),
                ("result_url", models.CharField(blank=True, max_length=300)),
                ("at", models.DateTimeField(auto_now_add=True, db_index=True)),
            ],
            options={
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalApplication",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(db_index=True, max_length=120)),
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
                "verbose_name": "historical application",
                "verbose_name_plural": "historical applications",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalComponent",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("body", "body"),
                            ("rod", "rod"),
                            ("barrel", "barrel"),
                            ("piston", "piston"),
                            ("brushes", "brushes"),
                            ("commutator", "commutator"),
                            ("pumping_element", "pumping element"),
                            ("ball", "ball"),
                            ("spring", "spring"),
                            ("screen", "screen"),
                            ("coil", "coil"),
                            ("connector", "connector"),
                            ("snap_ring", "snap ring"),
                            ("other", "other"),
                        ],
                        max_length=16,
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
                "verbose_name": "historical component",
                "verbose_name_plural": "historical components",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalCustomer",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(max_length=120)),
                (
                    "kind",
                    models.CharField(
                        choices=[("owner", "owner"), ("trade", "trade account")],
                        default="owner",
                        max_length=10,
                    ),
                ),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("phone_digits", models.CharField(blank=True, db_index=True, editable=False, max_length=40)),
                ("street", models.CharField(blank=True, max_length=160)),
                ("postcode", models.CharField(blank=True, max_length=20)),
                ("town", models.CharField(blank=True, max_length=80)),
                ("country", models.CharField(blank=True, max_length=60)),
                ("note", models.TextField(blank=True)),
                ("bill_name", models.CharField(blank=True, max_length=120, verbose_name="bill to")),
                (
                    "bill_address",
                    models.TextField(blank=True, max_length=400, verbose_name="address for bills"),
                ),
                (
                    "payment_days",
                    models.PositiveSmallIntegerField(blank=True, null=True, verbose_name="days to pay"),
                ),
                (
                    "payment_terms",
                    models.CharField(blank=True, max_length=200, verbose_name="terms of payment"),
                ),
                (
                    "needs_order_number",
                    models.BooleanField(default=False, verbose_name="requires an order number of theirs"),
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
                    "shipping_note",
                    models.CharField(blank=True, max_length=300, verbose_name="note for shipping"),
                ),
                (
                    "merged_into",
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
                "verbose_name": "historical customer",
                "verbose_name_plural": "historical customers",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalDimensionLimit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "quantity",
                    models.CharField(
                        choices=[
                            ("rod_diameter", "rod diameter"),
                            ("bore", "bore"),
                            ("run_out", "run-out"),
                            ("groove", "groove"),
                            ("surface", "surface roughness"),
                            ("length", "length"),
                            ("clearance", "clearance"),
                            ("other", "other"),
                        ],
                        max_length=14,
                    ),
                ),
                ("unit", models.CharField(choices=[("mm", "mm"), ("µm", "µm")], default="mm", max_length=10)),
                ("stations", models.PositiveSmallIntegerField(default=1, verbose_name="readings to take")),
                ("lower", models.FloatField(blank=True, null=True)),
                ("upper", models.FloatField(blank=True, null=True)),
                ("basis", models.CharField(max_length=300)),
                ("required", models.BooleanField(default=True)),
                ("limits_open", models.BooleanField(default=False, verbose_name="limits left to the lead")),
                (
                    "gland_figure",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("depth", "gland depth"),
                            ("width", "groove width"),
                            ("diameter", "groove diameter"),
                            ("clearance", "diametral clearance"),
                        ],
                        max_length=9,
                        verbose_name="figure of its gland",
                    ),
                ),
                (
                    "length_mm",
                    models.FloatField(blank=True, null=True, verbose_name="length between the rests, mm"),
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
                "verbose_name": "historical dimension limit",
                "verbose_name_plural": "historical dimension limits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFasteningFigure",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("what", models.CharField(max_length=120, verbose_name="what is fastened")),
                ("pieces", models.PositiveSmallIntegerField(default=1, verbose_name="how many of them")),
                ("torque_nm", models.FloatField(blank=True, null=True, verbose_name="torque, N·m")),
                (
                    "tolerance_nm",
                    models.FloatField(blank=True, null=True, verbose_name="± on the torque, N·m"),
                ),
                ("least_nm", models.FloatField(blank=True, null=True, verbose_name="torque, least, N·m")),
                ("most_nm", models.FloatField(blank=True, null=True, verbose_name="torque, most, N·m")),
                (
                    "threads",
                    models.CharField(
                        choices=[
                            ("dry", "dry"),
                            ("oiled", "oiled"),
                            ("locker", "wetted by the thread locker"),
                        ],
                        default="dry",
                        max_length=8,
                        verbose_name="threads are",
                    ),
                ),
                ("sequence", models.CharField(blank=True, max_length=200, verbose_name="order and stages")),
                (
                    "locker",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("low", "low strength"),
                            ("medium", "medium strength"),
                            ("high", "high strength"),
                        ],
                        max_length=8,
                        verbose_name="thread locker",
                    ),
                ),
                (
                    "locker_note",
                    models.CharField(blank=True, max_length=120, verbose_name="which one the shop uses"),
                ),
                ("cure_h", models.FloatField(blank=True, null=True, verbose_name="cure before pressure, h")),
                ("basis", models.CharField(max_length=300, verbose_name="basis of the figure")),
                (
                    "required",
                    models.BooleanField(
                        default=False, verbose_name="must be recorded before the build is signed"
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
                "verbose_name": "historical fastening figure",
                "verbose_name_plural": "historical fastening figures",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalFluid",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(db_index=True, max_length=80)),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("mineral", "mineral oil HH/HL/HM"),
                            ("mineral HV", "mineral oil HV"),
                            ("HEES", "synthetic ester HEES"),
                            ("HFC", "water glycol HFC"),
                            ("HFDR", "phosphate ester HFDR"),
                            ("ATF", "automatic transmission fluid"),
                            ("DOT 3/4", "brake fluid DOT 3/4"),
                        ],
                        max_length=12,
                    ),
                ),
                ("viscosity_grade", models.CharField(blank=True, max_length=20)),
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
            ],
            options={
                "verbose_name": "historical fluid",
                "verbose_name_plural": "historical fluids",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalHose",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "attachment",
                    models.CharField(
                        choices=[
                            ("fixed", "fixed to the unit"),
                            ("removable", "removable"),
                            ("not_known", "not known"),
                        ],
                        max_length=10,
                        verbose_name="fixed or removable",
                    ),
                ),
                ("length_mm", models.FloatField(blank=True, null=True, verbose_name="length, mm")),
                (
                    "inside_diameter_mm",
                    models.FloatField(blank=True, null=True, verbose_name="inside diameter, mm"),
                ),
                (
                    "size_designation",
                    models.CharField(blank=True, max_length=60, verbose_name="size and kind of hose"),
                ),
                (
                    "end_fitting",
                    models.CharField(blank=True, max_length=80, verbose_name="fitting at the far end"),
                ),
                (
                    "end_thread",
                    models.CharField(blank=True, max_length=40, verbose_name="thread at the far end"),
                ),
                (
                    "connects_to",
                    models.CharField(blank=True, max_length=80, verbose_name="goes to, at the far end"),
                ),
                (
                    "rated_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="rated pressure, bar"),
                ),
                (
                    "rating_reason",
                    models.CharField(blank=True, max_length=200, verbose_name="why a lower rating is right"),
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
                    "port",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        error_messages={"unique": "This port has its hose already; change that one."},
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.port",
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
                "verbose_name": "historical hose",
                "verbose_name_plural": "historical hoses",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="StoredFile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("sha256", models.CharField(db_index=True, max_length=64)),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("photo", "photo"),
                            ("trace", "logged trace"),
                            ("paper", "issued paper"),
                            ("list", "list to enter"),
                        ],
                        max_length=10,
                    ),
                ),
                ("name", models.CharField(max_length=200)),
                ("content_type", models.CharField(max_length=80)),
                ("size_bytes", models.PositiveBigIntegerField()),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
            ],
            options={
                "ordering": ["pk"],
                "indexes": [],
                "constraints": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalImport",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("kind", models.CharField(max_length=20)),
                ("rows_entered", models.PositiveIntegerField()),
                ("rows_there", models.PositiveIntegerField(verbose_name="rows that were there already")),
                ("at", models.DateTimeField()),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                (
                    "undone_why",
                    models.CharField(blank=True, max_length=200, verbose_name="why it was undone"),
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
                    "by",
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
                    "undone_by",
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
                "verbose_name": "historical import",
                "verbose_name_plural": "historical imports",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalInterchange",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("both_ways", models.BooleanField(default=False)),
                ("basis", models.CharField(max_length=300, verbose_name="who says so, or what was compared")),
                (
                    "condition",
                    models.CharField(blank=True, max_length=300, verbose_name="under which condition"),
                ),
                (
                    "stand_in",
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
                    "replaced",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.unittype",
                        verbose_name="stands in for",
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
                "verbose_name": "historical interchange",
                "verbose_name_plural": "historical interchanges",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalLimitSetting",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("key", models.SlugField(max_length=60)),
                ("title", models.CharField(max_length=120)),
                ("value", models.FloatField()),
                ("unit", models.CharField(blank=True, max_length=20)),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("read", "read in the named source"),
                            ("shop", "set by this shop"),
                            ("memory", "from memory, not verified"),
                        ],
                        max_length=10,
                    ),
                ),
                ("basis", models.CharField(max_length=300)),
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
                "verbose_name": "historical limit setting",
                "verbose_name_plural": "historical limit settings",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="MakerNumber",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="maker_numbers",
                        to="shop.unittype",
                    ),
                ),
                ("number", models.CharField(max_length=60, verbose_name="maker's number")),
                (
                    "bare",
                    models.CharField(
                        db_index=True, editable=False, max_length=60, verbose_name="number as it is compared"
                    ),
                ),
                (
                    "year_from",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="used from the year"
                    ),
                ),
                (
                    "year_to",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="used until the year"
                    ),
                ),
                (
                    "superseded_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="supersedes",
                        to="shop.makernumber",
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
            ],
            options={
                "ordering": ["unit_type", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("unit_type", "bare"),
                        name="shop_makernumber_once",
                        violation_error_message="This unit type has this number already; blanks, dashes, dots and slashes do not count.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("bare__regex", "^[^ ./a-z-]+$")),
                        name="shop_makernumber_bare_form",
                        violation_error_message="A maker's number has at least one letter or digit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("year_from__isnull", True),
                            ("year_to__isnull", True),
                            ("year_from__lte", models.F("year_to")),
                            _connector="OR",
                        ),
                        name="shop_makernumber_years_in_order",
                        violation_error_message="The number is used until a year before its first one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("year_from__isnull", True),
                                ("year_from__range", (1900, 2200)),
                                _connector="OR",
                            ),
                            models.Q(
                                ("year_to__isnull", True), ("year_to__range", (1900, 2200)), _connector="OR"
                            ),
                        ),
                        name="shop_makernumber_years_plausible",
                        violation_error_message="Write the year with four digits, such as 1998.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("superseded_by__isnull", True),
                            models.Q(("superseded_by", models.F("id")), _negated=True),
                            _connector="OR",
                        ),
                        name="shop_makernumber_not_by_itself",
                        violation_error_message="A number is superseded by another one, not by itself.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalMakerNumber",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(max_length=60, verbose_name="maker's number")),
                (
                    "bare",
                    models.CharField(
                        db_index=True, editable=False, max_length=60, verbose_name="number as it is compared"
                    ),
                ),
                (
                    "year_from",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="used from the year"
                    ),
                ),
                (
                    "year_to",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="used until the year"
                    ),
                ),
                ("note", models.CharField(blank=True, max_length=200)),
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
                    "superseded_by",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.makernumber",
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
                "verbose_name": "historical maker number",
                "verbose_name_plural": "historical maker numbers",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="MountingPlace",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "application",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="places",
                        to="shop.application",
                    ),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="mounting_places",
                        to="shop.unittype",
                    ),
                ),
                ("name", models.CharField(max_length=80)),
                ("access_labour_h", models.FloatField(default=0, verbose_name="labour to reach, h")),
                (
                    "twin_of",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to="shop.mountingplace",
                    ),
                ),
            ],
            options={
                "ordering": ["application", "name"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("application", "name"),
                        name="shop_mountingplace_name_once",
                        violation_error_message="This application has a place of that name already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("access_labour_h__gte", 0)),
                        name="shop_mountingplace_labour_positive",
                        violation_error_message="Access labour cannot be negative.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalMountingPlace",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(max_length=80)),
                ("access_labour_h", models.FloatField(default=0, verbose_name="labour to reach, h")),
                (
                    "application",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.application",
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
                    "twin_of",
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
                "verbose_name": "historical mounting place",
                "verbose_name_plural": "historical mounting places",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalPort",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "fitting",
                    models.CharField(
                        choices=[
                            ("crimped", "crimped in by the maker"),
                            ("clipped", "screwed clip or plate"),
                            ("screwed", "screwed"),
                            ("plugged", "plugged"),
                        ],
                        max_length=10,
                    ),
                ),
                (
                    "thread",
                    models.CharField(blank=True, max_length=40, verbose_name="thread or fitting size"),
                ),
                (
                    "along",
                    models.FloatField(blank=True, null=True, verbose_name="place along the body, 0 to 1"),
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
                "verbose_name": "historical port",
                "verbose_name_plural": "historical ports",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalReferencePhoto",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                (
                    "shows",
                    models.CharField(
                        choices=[
                            ("whole_unit", "whole unit"),
                            ("number_plate", "number plate or stamp"),
                            ("ports", "ports"),
                            ("detail", "another detail"),
                        ],
                        max_length=12,
                        verbose_name="what it shows",
                    ),
                ),
                ("caption", models.CharField(blank=True, max_length=160)),
                ("source", models.CharField(blank=True, max_length=120, verbose_name="where it comes from")),
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
                "verbose_name": "historical reference photo",
                "verbose_name_plural": "historical reference photos",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSealPosition",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("rod_seal", "rod seal"),
                            ("wiper", "wiper"),
                            ("piston_seal", "piston seal"),
                            ("port_seal", "port seal"),
                            ("static_seal", "static seal"),
                            ("shaft_seal", "shaft seal"),
                            ("valve_seat_seal", "valve seat seal"),
                        ],
                        max_length=16,
                    ),
                ),
                (
                    "motion",
                    models.CharField(
                        choices=[
                            ("static", "static"),
                            ("reciprocating", "reciprocating"),
                            ("rotary", "rotary"),
                        ],
                        max_length=14,
                    ),
                ),
                ("size_designation", models.CharField(blank=True, max_length=60)),
                (
                    "arrangement",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("piston", "groove in the inner part"),
                            ("rod", "groove in the outer part"),
                            ("face", "groove in a face"),
                        ],
                        max_length=6,
                    ),
                ),
                (
                    "gland_diameter_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove diameter, mm"),
                ),
                (
                    "gland_diameter_tol_mm",
                    models.FloatField(blank=True, null=True, verbose_name="± on the groove diameter, mm"),
                ),
                (
                    "gland_depth_min_mm",
                    models.FloatField(blank=True, null=True, verbose_name="gland depth, least, mm"),
                ),
                (
                    "gland_depth_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="gland depth, most, mm"),
                ),
                (
                    "gland_width_min_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove width, least, mm"),
                ),
                (
                    "gland_width_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="groove width, most, mm"),
                ),
                (
                    "clearance_max_mm",
                    models.FloatField(blank=True, null=True, verbose_name="diametral clearance, most, mm"),
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
                "verbose_name": "historical seal position",
                "verbose_name_plural": "historical seal positions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
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
                "verbose_name": "historical ship-to address",
                "verbose_name_plural": "historical ship-to addresses",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalShopProfile",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("name", models.CharField(max_length=120)),
                ("street", models.CharField(blank=True, max_length=160)),
                ("postcode", models.CharField(blank=True, max_length=20)),
                ("town", models.CharField(blank=True, max_length=80)),
                ("country", models.CharField(blank=True, max_length=60)),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("currency", models.CharField(default="EUR", max_length=3)),
                ("warranty_months", models.PositiveSmallIntegerField(default=36)),
                ("warranty_terms", models.TextField(blank=True)),
                (
                    "storage_standard",
                    models.CharField(
                        choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                        default="ISO2230",
                        max_length=10,
                    ),
                ),
                (
                    "paper_size",
                    models.CharField(
                        choices=[("A4", "A4"), ("Letter", "Letter")], default="A4", max_length=6
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
                "verbose_name": "historical shop profile",
                "verbose_name_plural": "historical shop profiles",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalSpecialTool",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("number", models.CharField(db_index=True, max_length=20, verbose_name="own number")),
                ("name", models.CharField(max_length=120)),
                ("kept_at", models.CharField(max_length=80, verbose_name="where it is kept")),
                ("note", models.TextField(blank=True)),
                ("gone", models.BooleanField(default=False, verbose_name="no longer there")),
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
                "verbose_name": "historical special tool",
                "verbose_name_plural": "historical special tools",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="TestPlan",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="test_plans",
                        to="shop.typerevision",
                    ),
                ),
                ("version", models.PositiveSmallIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[("draft", "draft"), ("approved", "approved"), ("superseded", "superseded")],
                        default="draft",
                        max_length=12,
                    ),
                ),
                ("title", models.CharField(max_length=120)),
                (
                    "conditioning",
                    models.CharField(blank=True, max_length=200, verbose_name="test fluid conditioning"),
                ),
                ("note", models.TextField(blank=True)),
            ],
            options={
                "ordering": ["revision", "version"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "version"),
                        name="shop_testplan_version_once",
                        violation_error_message="This plan version exists already.",
                    ),
                    models.UniqueConstraint(
                        condition=models.Q(("state", "approved")),
                        fields=("revision",),
                        name="shop_testplan_one_approved",
                        violation_error_message="Another version is approved; supersede it first.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="TestStep",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "plan",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="steps", to="shop.testplan"
                    ),
                ),
                ("order", models.PositiveSmallIntegerField()),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("low_pressure_leak", "low-pressure leak"),
                            ("proof", "proof"),
                            ("hold", "pressure hold"),
                            ("bypass", "piston bypass at end of stroke"),
                            ("strokes", "full strokes"),
                            ("flow", "flow at pressure"),
                            ("dead_head", "dead-head pressure"),
                            ("relief", "relief opening"),
                            ("shaft_seal", "shaft-seal back pressure"),
                            ("current", "motor current"),
                            ("manual_release", "manual release"),
                            ("dryness", "external dryness"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not applicable"),
                            ("bore", "bore side"),
                            ("rod", "rod side"),
                            ("both", "both sides"),
                            ("forward", "pump turning forward"),
                            ("reverse", "pump turning in reverse"),
                        ],
                        max_length=8,
                    ),
                ),
                ("title", models.CharField(max_length=120)),
                ("instruction", models.TextField(blank=True)),
                ("pressure_bar", models.FloatField(blank=True, null=True, verbose_name="apply, bar")),
                ("hold_s", models.FloatField(blank=True, null=True, verbose_name="hold at least, s")),
            ],
            options={
                "ordering": ["plan", "order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("plan", "order"),
                        name="shop_teststep_order_once",
                        violation_error_message="Two steps of a plan cannot have the same place in the order.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalStepLimit",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(default=1)),
                ("reading", models.CharField(max_length=60)),
                (
                    "judged",
                    models.CharField(
                        choices=[
                            ("value", "a reading against its limit"),
                            ("decay", "decay rate of a hold (trace or two readings)"),
                            ("count", "a counted observation, such as drips or strokes"),
                            ("witness", "a witnessed observation: as required, or not"),
                        ],
                        max_length=8,
                    ),
                ),
                ("quantity", models.CharField(blank=True, max_length=20)),
                ("unit", models.CharField(blank=True, max_length=12)),
                ("lower", models.FloatField(blank=True, null=True, verbose_name="at least")),
                ("upper", models.FloatField(blank=True, null=True, verbose_name="at most")),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("type", "belongs to the unit type, with its basis"),
                            ("read", "read in the named source"),
                            ("shop", "set by this shop"),
                            ("memory", "from memory, not verified"),
                        ],
                        default="shop",
                        max_length=8,
                    ),
                ),
                ("basis", models.CharField(max_length=300)),
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
                "verbose_name": "historical step limit",
                "verbose_name_plural": "historical step limits",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalTechniqueNote",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(default=0)),
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
                ("text", models.TextField(verbose_name="what to do")),
                (
                    "basis",
                    models.CharField(
                        default="common practice, no source",
                        max_length=300,
                        verbose_name="where it comes from",
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
                "verbose_name": "historical technique note",
                "verbose_name_plural": "historical technique notes",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalTestPlan",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("version", models.PositiveSmallIntegerField(default=1)),
                (
                    "state",
                    models.CharField(
                        choices=[("draft", "draft"), ("approved", "approved"), ("superseded", "superseded")],
                        default="draft",
                        max_length=12,
                    ),
                ),
                ("title", models.CharField(max_length=120)),
                (
                    "conditioning",
                    models.CharField(blank=True, max_length=200, verbose_name="test fluid conditioning"),
                ),
                ("note", models.TextField(blank=True)),
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
                "verbose_name": "historical test plan",
                "verbose_name_plural": "historical test plans",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalTestStep",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField()),
                (
                    "kind",
                    models.CharField(
                        choices=[
                            ("low_pressure_leak", "low-pressure leak"),
                            ("proof", "proof"),
                            ("hold", "pressure hold"),
                            ("bypass", "piston bypass at end of stroke"),
                            ("strokes", "full strokes"),
                            ("flow", "flow at pressure"),
                            ("dead_head", "dead-head pressure"),
                            ("relief", "relief opening"),
                            ("shaft_seal", "shaft-seal back pressure"),
                            ("current", "motor current"),
                            ("manual_release", "manual release"),
                            ("dryness", "external dryness"),
                        ],
                        max_length=20,
                    ),
                ),
                (
                    "side",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not applicable"),
                            ("bore", "bore side"),
                            ("rod", "rod side"),
                            ("both", "both sides"),
                            ("forward", "pump turning forward"),
                            ("reverse", "pump turning in reverse"),
                        ],
                        max_length=8,
                    ),
                ),
                ("title", models.CharField(max_length=120)),
                ("instruction", models.TextField(blank=True)),
                ("pressure_bar", models.FloatField(blank=True, null=True, verbose_name="apply, bar")),
                ("hold_s", models.FloatField(blank=True, null=True, verbose_name="hold at least, s")),
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
                "verbose_name": "historical test step",
                "verbose_name_plural": "historical test steps",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="SpecialTool",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("number", models.CharField(max_length=20, unique=True, verbose_name="own number")),
                ("name", models.CharField(max_length=120)),
                ("kept_at", models.CharField(max_length=80, verbose_name="where it is kept")),
                ("note", models.TextField(blank=True)),
                ("gone", models.BooleanField(default=False, verbose_name="no longer there")),
            ],
            options={
                "ordering": ["number"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("number", ""), _negated=True),
                            models.Q(("name", ""), _negated=True),
                            models.Q(("kept_at", ""), _negated=True),
                        ),
                        name="shop_specialtool_is_named",
                        violation_error_message="A tool has its number, its name and the place where it is kept.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="HistoricalToolNeed",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                (
                    "step",
                    models.CharField(
                        blank=True,
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
                ("note", models.CharField(blank=True, max_length=200, verbose_name="what it is for")),
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
                    "tool",
                    models.ForeignKey(
                        blank=True,
                        db_constraint=False,
                        null=True,
                        on_delete=django.db.models.deletion.DO_NOTHING,
                        related_name="+",
                        to="shop.specialtool",
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
                "verbose_name": "historical tool need",
                "verbose_name_plural": "historical tool needs",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalTypeRevision",
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
                        choices=[("draft", "draft"), ("approved", "approved"), ("superseded", "superseded")],
                        default="draft",
                        max_length=12,
                    ),
                ),
                ("bore_mm", models.FloatField(blank=True, null=True, verbose_name="bore, mm")),
                ("rod_mm", models.FloatField(blank=True, null=True, verbose_name="rod, mm")),
                ("stroke_mm", models.FloatField(blank=True, null=True, verbose_name="stroke, mm")),
                (
                    "closed_length_mm",
                    models.FloatField(blank=True, null=True, verbose_name="closed length, mm"),
                ),
                ("volume_ml", models.FloatField(blank=True, null=True, verbose_name="oil volume, mL")),
                (
                    "displacement_cm3",
                    models.FloatField(blank=True, null=True, verbose_name="displacement, cm³/rev"),
                ),
                ("supply_v", models.FloatField(blank=True, null=True, verbose_name="motor supply, V")),
                (
                    "rated_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="rated pressure, bar"),
                ),
                (
                    "proof_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="proof pressure, bar"),
                ),
                ("proof_hold_s", models.FloatField(blank=True, null=True, verbose_name="proof hold, s")),
                (
                    "proof_basis",
                    models.CharField(
                        blank=True, max_length=300, verbose_name="basis of proof pressure and hold"
                    ),
                ),
                ("teardown_procedure", models.CharField(blank=True, max_length=120)),
                ("filling_note", models.TextField(blank=True, verbose_name="filling and bleeding")),
                (
                    "spare_fluid_ml",
                    models.FloatField(blank=True, null=True, verbose_name="spare fluid that goes along, mL"),
                ),
                (
                    "mark_place",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("lug", "mounting lug or eye"),
                            ("bracket", "bracket"),
                            ("foot", "foot of the housing"),
                            ("flange", "edge of a flange, outside the seal"),
                            ("cover", "cover that holds no pressure"),
                            ("plate", "plate under a screw of the bracket"),
                        ],
                        max_length=8,
                        verbose_name="permanent mark on",
                    ),
                ),
                (
                    "mark_note",
                    models.CharField(blank=True, max_length=200, verbose_name="how the mark is made"),
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
                    "service_fluid",
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
                "verbose_name": "historical type revision",
                "verbose_name_plural": "historical type revisions",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalUnitType",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                ("history_change_reason", models.CharField(max_length=200, null=True)),
                ("code", models.CharField(db_index=True, max_length=30, verbose_name="catalogue code")),
                ("name", models.CharField(max_length=120)),
                (
                    "family",
                    models.CharField(
                        choices=[
                            ("cylinder", "cylinder"),
                            ("power_unit", "power unit"),
                            ("valve_block", "valve block"),
                        ],
                        max_length=12,
                    ),
                ),
                ("maker", models.CharField(blank=True, max_length=80)),
                (
                    "built_from",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="built from the year"
                    ),
                ),
                (
                    "built_to",
                    models.PositiveSmallIntegerField(
                        blank=True, null=True, verbose_name="built until the year"
                    ),
                ),
                (
                    "differs",
                    models.CharField(blank=True, max_length=300, verbose_name="what differs from it"),
                ),
                ("note", models.TextField(blank=True)),
                (
                    "provisional",
                    models.BooleanField(default=False, verbose_name="opened at the bench, not approved yet"),
                ),
                (
                    "variant_of",
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
                    "merged_into",
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
                "verbose_name": "historical unit type",
                "verbose_name_plural": "historical unit types",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="HistoricalUser",
            fields=[
                (
                    "id",
                    models.BigIntegerField(auto_created=True, blank=True, db_index=True, verbose_name="ID"),
                ),
                (
                    "is_superuser",
                    models.BooleanField(
                        default=False,
                        help_text="Designates that this user has all permissions without explicitly assigning them.",
                        verbose_name="superuser status",
                    ),
                ),
                (
                    "username",
                    models.CharField(
                        db_index=True,
                        error_messages={"unique": "A user with that username already exists."},
                        help_text="Required. 150 characters or fewer. Letters, digits and @/./+/-/_ only.",
                        max_length=150,
                        validators=[django.contrib.auth.validators.UnicodeUsernameValidator()],
                        verbose_name="username",
                    ),
                ),
                ("first_name", models.CharField(blank=True, max_length=150, verbose_name="first name")),
                ("last_name", models.CharField(blank=True, max_length=150, verbose_name="last name")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="email address")),
                (
                    "is_staff",
                    models.BooleanField(
                        default=False,
                        help_text="Designates whether the user can log into this admin site.",
                        verbose_name="staff status",
                    ),
                ),
                (
                    "is_active",
                    models.BooleanField(
                        default=True,
                        help_text="Designates whether this user should be treated as active. Unselect this instead of deleting accounts.",
                        verbose_name="active",
                    ),
                ),
                (
                    "date_joined",
                    models.DateTimeField(default=django.utils.timezone.now, verbose_name="date joined"),
                ),
                (
                    "printed_name",
                    models.CharField(max_length=80, verbose_name="name as printed beside signatures"),
                ),
                (
                    "authority_no",
                    models.CharField(
                        blank=True, max_length=40, verbose_name="authority or certificate number"
                    ),
                ),
                ("inch_units", models.BooleanField(default=False, verbose_name="show inch-pound units")),
                ("history_id", models.AutoField(primary_key=True, serialize=False)),
                ("history_date", models.DateTimeField(db_index=True)),
                ("history_change_reason", models.CharField(max_length=100, null=True)),
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
                "verbose_name": "historical user",
                "verbose_name_plural": "historical users",
                "ordering": ("-history_date", "-history_id"),
                "get_latest_by": ("history_date", "history_id"),
                "indexes": [],
                "constraints": [],
            },
            bases=(simple_history.models.HistoricalChanges, models.Model),
        ),
        migrations.CreateModel(
            name="Hose",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("code", models.CharField(max_length=12)),
                ("name", models.CharField(max_length=80)),
                ("order", models.PositiveSmallIntegerField(default=0)),
                ("hint", models.TextField(blank=True, verbose_name="short hint")),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hoses",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "port",
                    models.OneToOneField(
                        error_messages={"unique": "This port has its hose already; change that one."},
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="hose",
                        to="shop.port",
                    ),
                ),
                (
                    "attachment",
                    models.CharField(
                        choices=[
                            ("fixed", "fixed to the unit"),
                            ("removable", "removable"),
                            ("not_known", "not known"),
                        ],
                        max_length=10,
                        verbose_name="fixed or removable",
                    ),
                ),
                ("length_mm", models.FloatField(blank=True, null=True, verbose_name="length, mm")),
                (
                    "inside_diameter_mm",
                    models.FloatField(blank=True, null=True, verbose_name="inside diameter, mm"),
                ),
                (
                    "size_designation",
                    models.CharField(blank=True, max_length=60, verbose_name="size and kind of hose"),
                ),
                (
                    "end_fitting",
                    models.CharField(blank=True, max_length=80, verbose_name="fitting at the far end"),
                ),
                (
                    "end_thread",
                    models.CharField(blank=True, max_length=40, verbose_name="thread at the far end"),
                ),
                (
                    "connects_to",
                    models.CharField(blank=True, max_length=80, verbose_name="goes to, at the far end"),
                ),
                (
                    "rated_pressure_bar",
                    models.FloatField(blank=True, null=True, verbose_name="rated pressure, bar"),
                ),
                (
                    "rating_reason",
                    models.CharField(blank=True, max_length=200, verbose_name="why a lower rating is right"),
                ),
            ],
            options={
                "ordering": ["order", "code"],
                "abstract": False,
                "constraints": [
                    models.UniqueConstraint(
                        fields=("revision", "code"),
                        name="shop_hose_code_once",
                        violation_error_message="This revision has a hose of that number already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("length_mm__isnull", True), ("length_mm__gt", 0), _connector="OR"
                        ),
                        name="shop_hose_length_positive",
                        violation_error_message="The length of a hose is above 0 mm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("inside_diameter_mm__isnull", True),
                            ("inside_diameter_mm__gt", 0),
                            _connector="OR",
                        ),
                        name="shop_hose_inside_positive",
                        violation_error_message="The inside diameter of a hose is above 0 mm.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("rated_pressure_bar__isnull", True),
                            ("rated_pressure_bar__gt", 0),
                            _connector="OR",
                        ),
                        name="shop_hose_rating_positive",
                        violation_error_message="The rated pressure of a hose is above 0 bar.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Import",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("kind", models.CharField(max_length=20)),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="imports",
                        to="shop.storedfile",
                    ),
                ),
                ("rows_entered", models.PositiveIntegerField()),
                ("rows_there", models.PositiveIntegerField(verbose_name="rows that were there already")),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("at", models.DateTimeField()),
                (
                    "undone_by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
                ("undone_at", models.DateTimeField(blank=True, null=True)),
                (
                    "undone_why",
                    models.CharField(blank=True, max_length=200, verbose_name="why it was undone"),
                ),
            ],
            options={
                "ordering": ["-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(
                                ("undone_at__isnull", True), ("undone_by__isnull", True), ("undone_why", "")
                            ),
                            models.Q(
                                ("undone_at__isnull", False),
                                ("undone_by__isnull", False),
                                models.Q(("undone_why", ""), _negated=True),
                            ),
                            _connector="OR",
                        ),
                        name="shop_import_undone_whole",
                        violation_error_message="An import is undone by somebody, at some time, for a reason.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ImportedRow",
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
                    "made_by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="rows", to="shop.import"
                    ),
                ),
                ("row_number", models.PositiveIntegerField(verbose_name="row of the file")),
                ("model", models.CharField(max_length=60)),
                ("row_pk", models.BigIntegerField()),
                ("name", models.CharField(max_length=200)),
            ],
            options={
                "ordering": ["pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("model", "row_pk"),
                        name="shop_importedrow_made_once",
                        violation_error_message="This row was made by an import already.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="Interchange",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "stand_in",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="stands_in",
                        to="shop.unittype",
                    ),
                ),
                (
                    "replaced",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="replaced_by",
                        to="shop.unittype",
                        verbose_name="stands in for",
                    ),
                ),
                ("both_ways", models.BooleanField(default=False)),
                ("basis", models.CharField(max_length=300, verbose_name="who says so, or what was compared")),
                (
                    "condition",
                    models.CharField(blank=True, max_length=300, verbose_name="under which condition"),
                ),
            ],
            options={
                "ordering": ["stand_in__code", "replaced__code"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("stand_in", models.F("replaced")), _negated=True),
                        name="shop_interchange_two_types",
                        violation_error_message="A unit type needs nobody's leave to stand in for itself.",
                    ),
                    models.UniqueConstraint(
                        django.db.models.functions.comparison.Least("stand_in", "replaced"),
                        django.db.models.functions.comparison.Greatest("stand_in", "replaced"),
                        name="shop_interchange_pair_once",
                        violation_error_message="The interchange of these two types is written down already; correct that one.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("basis", ""), _negated=True),
                        name="shop_interchange_has_basis",
                        violation_error_message="Say who says so, or what was compared.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="LabourRate",
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
                ("valid_from", models.DateField(verbose_name="holds from")),
                (
                    "per_hour",
                    models.DecimalField(decimal_places=2, max_digits=8, verbose_name="cost of an hour"),
                ),
            ],
            options={
                "ordering": ["-valid_from", "-pk"],
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("per_hour__gt", 0)),
                        name="shop_labourrate_positive",
                        violation_error_message="An hour of work costs more than nothing.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="LimitSetting",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("key", models.SlugField(max_length=60, unique=True)),
                ("title", models.CharField(max_length=120)),
                ("value", models.FloatField()),
                ("unit", models.CharField(blank=True, max_length=20)),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("read", "read in the named source"),
                            ("shop", "set by this shop"),
                            ("memory", "from memory, not verified"),
                        ],
                        max_length=10,
                    ),
                ),
                ("basis", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["key"],
                "indexes": [],
                "constraints": [],
            },
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ReferencePhoto",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "unit_type",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="reference_photos",
                        to="shop.unittype",
                    ),
                ),
                (
                    "file",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.storedfile"
                    ),
                ),
                (
                    "shows",
                    models.CharField(
                        choices=[
                            ("whole_unit", "whole unit"),
                            ("number_plate", "number plate or stamp"),
                            ("ports", "ports"),
                            ("detail", "another detail"),
                        ],
                        max_length=12,
                        verbose_name="what it shows",
                    ),
                ),
                ("caption", models.CharField(blank=True, max_length=160)),
                ("source", models.CharField(blank=True, max_length=120, verbose_name="where it comes from")),
            ],
            options={
                "ordering": ["unit_type", "pk"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("unit_type", "file"),
                        name="shop_referencephoto_once",
                        violation_error_message="This photo is a reference photo of this unit type already.",
                    )
                ],
                "indexes": [],
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
                (
                    "customer",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="ship_tos",
                        to="shop.customer",
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
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ShopProfile",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("name", models.CharField(max_length=120)),
                ("street", models.CharField(blank=True, max_length=160)),
                ("postcode", models.CharField(blank=True, max_length=20)),
                ("town", models.CharField(blank=True, max_length=80)),
                ("country", models.CharField(blank=True, max_length=60)),
                ("phone", models.CharField(blank=True, max_length=40, verbose_name="telephone")),
                ("email", models.EmailField(blank=True, max_length=254, verbose_name="e-mail")),
                ("currency", models.CharField(default="EUR", max_length=3)),
                ("warranty_months", models.PositiveSmallIntegerField(default=36)),
                ("warranty_terms", models.TextField(blank=True)),
                (
                    "storage_standard",
                    models.CharField(
                        choices=[("ISO2230", "ISO 2230"), ("AS5316", "AS5316")],
                        default="ISO2230",
                        max_length=10,
                    ),
                ),
                (
                    "paper_size",
                    models.CharField(
                        choices=[("A4", "A4"), ("Letter", "Letter")], default="A4", max_length=6
                    ),
                ),
            ],
            options={
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(("pk", 1)),
                        name="shop_shopprofile_one_row",
                        violation_error_message="There is one shop profile only; change the existing one.",
                    )
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="StepLimit",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                (
                    "step",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT, related_name="limits", to="shop.teststep"
                    ),
                ),
                ("order", models.PositiveSmallIntegerField(default=1)),
                ("reading", models.CharField(max_length=60)),
                (
                    "judged",
                    models.CharField(
                        choices=[
                            ("value", "a reading against its limit"),
                            ("decay", "decay rate of a hold (trace or two readings)"),
                            ("count", "a counted observation, such as drips or strokes"),
                            ("witness", "a witnessed observation: as required, or not"),
                        ],
                        max_length=8,
                    ),
                ),
                ("quantity", models.CharField(blank=True, max_length=20)),
                ("unit", models.CharField(blank=True, max_length=12)),
                ("lower", models.FloatField(blank=True, null=True, verbose_name="at least")),
                ("upper", models.FloatField(blank=True, null=True, verbose_name="at most")),
                (
                    "source",
                    models.CharField(
                        choices=[
                            ("type", "belongs to the unit type, with its basis"),
                            ("read", "read in the named source"),
                            ("shop", "set by this shop"),
                            ("memory", "from memory, not verified"),
                        ],
                        default="shop",
                        max_length=8,
                    ),
                ),
                ("basis", models.CharField(max_length=300)),
            ],
            options={
                "ordering": ["step", "order"],
                "constraints": [
                    models.UniqueConstraint(
                        fields=("step", "reading"),
                        name="shop_steplimit_reading_once",
                        violation_error_message="This step has a reading of that name already.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("judged", "witness"),
                            ("lower__isnull", False),
                            ("upper__isnull", False),
                            _connector="OR",
                        ),
                        name="shop_steplimit_has_limit",
                        violation_error_message="Give a lower or an upper limit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(
                            ("lower__isnull", True),
                            ("upper__isnull", True),
                            ("lower__lte", models.F("upper")),
                            _connector="OR",
                        ),
                        name="shop_steplimit_order",
                        violation_error_message="The lower limit is above the upper limit.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="TechniqueNote",
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
                ("order", models.PositiveSmallIntegerField(default=0)),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="technique_notes",
                        to="shop.typerevision",
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
                ("text", models.TextField(verbose_name="what to do")),
                (
                    "basis",
                    models.CharField(
                        default="common practice, no source",
                        max_length=300,
                        verbose_name="where it comes from",
                    ),
                ),
            ],
            options={
                "ordering": ["order", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("component__isnull", True), ("port__isnull", True)),
                            models.Q(("port__isnull", True), ("position__isnull", True)),
                            models.Q(("component__isnull", True), ("position__isnull", True)),
                            _connector="OR",
                        ),
                        name="shop_techniquenote_one_place",
                        violation_error_message="Name one position, component or port, or the whole unit.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("text", ""), _negated=True),
                        name="shop_techniquenote_has_text",
                        violation_error_message="Write what is to be done.",
                    ),
                    models.CheckConstraint(
                        condition=models.Q(("basis", ""), _negated=True),
                        name="shop_techniquenote_has_basis",
                        violation_error_message="Say where the note comes from; “common practice” is an answer.",
                    ),
                ],
                "indexes": [],
            },
        ),
        migrations.CreateModel(
            name="ToolNeed",
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
                ("order", models.PositiveSmallIntegerField(default=0)),
                (
                    "revision",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="tool_needs",
                        to="shop.typerevision",
                    ),
                ),
                (
                    "tool",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="needs",
                        to="shop.specialtool",
                    ),
                ),
                (
                    "step",
                    models.CharField(
                        blank=True,
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
                ("note", models.CharField(blank=True, max_length=200, verbose_name="what it is for")),
            ],
            options={
                "ordering": ["order", "pk"],
                "abstract": False,
                "constraints": [
                    models.CheckConstraint(
                        condition=models.Q(
                            models.Q(("component__isnull", True), ("port__isnull", True)),
                            models.Q(("port__isnull", True), ("position__isnull", True)),
                            models.Q(("component__isnull", True), ("position__isnull", True)),
                            _connector="OR",
                        ),
                        name="shop_toolneed_one_place",
                        violation_error_message="Name one position, component or port, or the whole unit.",
                    )
                ],
                "indexes": [],
            },
        ),
    ]
