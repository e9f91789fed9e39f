import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0008_costs_of_a_piece"),
        ("shop", "0016_rates_of_labour"),
        ("workorders", "0013_lessons"),
    ]

    operations = [
        migrations.CreateModel(
            name="InvoicedPrice",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("amount", models.DecimalField(decimal_places=2, max_digits=10)),
                (
                    "invoice",
                    models.CharField(blank=True, max_length=40, verbose_name="number of the invoice"),
                ),
            ],
            options={
                "ordering": ["pk"],
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
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
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
                ("worked_on", models.DateField()),
                ("minutes", models.PositiveSmallIntegerField()),
            ],
            options={
                "ordering": ["worked_on", "pk"],
            },
        ),
        migrations.AddField(
            model_name="historicaloutsidework",
            name="price",
            field=models.DecimalField(
                blank=True, decimal_places=2, max_digits=10, null=True, verbose_name="what it cost"
            ),
        ),
        migrations.AddField(
            model_name="outsidework",
            name="price",
            field=models.DecimalField(
                blank=True, decimal_places=2, max_digits=10, null=True, verbose_name="what it cost"
            ),
        ),
        migrations.AddConstraint(
            model_name="outsidework",
            constraint=models.CheckConstraint(
                condition=models.Q(("price__isnull", True), ("price__gte", 0), _connector="OR"),
                name="workorders_outsidework_price_not_negative",
                violation_error_message="A price is not negative.",
            ),
        ),
        migrations.AddField(
            model_name="invoicedprice",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="invoicedprice",
            name="rebuild",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="invoiced_prices",
                to="workorders.rebuild",
            ),
        ),
        migrations.AddField(
            model_name="invoicedprice",
            name="replaces",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="replaced_by",
                to="workorders.invoicedprice",
            ),
        ),
        migrations.AddField(
            model_name="worktime",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="worktime",
            name="done_by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="worktime",
            name="rebuild",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="work_times",
                to="workorders.rebuild",
            ),
        ),
        migrations.AddField(
            model_name="worktime",
            name="replaces",
            field=models.OneToOneField(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="replaced_by",
                to="workorders.worktime",
            ),
        ),
        migrations.AddConstraint(
            model_name="invoicedprice",
            constraint=models.CheckConstraint(
                condition=models.Q(("amount__gte", 0)),
                name="workorders_invoicedprice_not_negative",
                violation_error_message="A price is not negative.",
            ),
        ),
        migrations.AddConstraint(
            model_name="invoicedprice",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                ),
                name="workorders_invoicedprice_correction_reason",
                violation_error_message="A correction of a price says why.",
            ),
        ),
        migrations.AddConstraint(
            model_name="invoicedprice",
            constraint=models.UniqueConstraint(
                condition=models.Q(("replaces__isnull", True)),
                fields=("rebuild",),
                name="workorders_invoicedprice_first_once",
                violation_error_message="This rebuild has an invoiced price already; correct that one.",
            ),
        ),
        migrations.AddConstraint(
            model_name="worktime",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("minutes__lte", 1440),
                    models.Q(("minutes__gt", 0), ("replaces__isnull", False), _connector="OR"),
                ),
                name="workorders_worktime_fits_a_day",
                violation_error_message="An entry is of 1 to 1440 minutes; only a correction may be of none.",
            ),
        ),
        migrations.AddConstraint(
            model_name="worktime",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("replaces__isnull", True), models.Q(("why", ""), _negated=True), _connector="OR"
                ),
                name="workorders_worktime_correction_reason",
                violation_error_message="A correction of minutes says why.",
            ),
        ),
    ]
