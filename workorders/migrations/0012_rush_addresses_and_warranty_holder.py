import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0008_keys_of_customers"),
        ("workorders", "0011_seals_found"),
    ]

    operations = [
        migrations.RenameField(model_name="warranty", old_name="recipient", new_name="holder"),
        migrations.RenameField(model_name="historicalwarranty", old_name="recipient", new_name="holder"),
        migrations.AddField(
            model_name="historicalworkorder",
            name="bill_to",
            field=models.TextField(blank=True, max_length=600, verbose_name="bill to"),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="end_owner",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="shop.customer",
                verbose_name="owner of the machine",
            ),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="rush_agreed_by",
            field=models.CharField(blank=True, max_length=120, verbose_name="who agreed to the rush"),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="rush_wanted_by",
            field=models.DateField(blank=True, db_index=True, null=True, verbose_name="rush, wanted by"),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="rush_why",
            field=models.CharField(blank=True, max_length=300, verbose_name="why it is a rush"),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="ship_to",
            field=models.TextField(blank=True, max_length=600, verbose_name="ship to"),
        ),
        migrations.AddField(
            model_name="historicalworkorder",
            name="warranty_holder",
            field=models.CharField(
                choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                default="customer",
                max_length=8,
                verbose_name="who holds the warranty",
            ),
        ),
        migrations.AddField(
            model_name="workorder",
            name="bill_to",
            field=models.TextField(blank=True, max_length=600, verbose_name="bill to"),
        ),
        migrations.AddField(
            model_name="workorder",
            name="end_owner",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="owned_orders",
                to="shop.customer",
                verbose_name="owner of the machine",
            ),
        ),
        migrations.AddField(
            model_name="workorder",
            name="rush_agreed_by",
            field=models.CharField(blank=True, max_length=120, verbose_name="who agreed to the rush"),
        ),
        migrations.AddField(
            model_name="workorder",
            name="rush_wanted_by",
            field=models.DateField(blank=True, db_index=True, null=True, verbose_name="rush, wanted by"),
        ),
        migrations.AddField(
            model_name="workorder",
            name="rush_why",
            field=models.CharField(blank=True, max_length=300, verbose_name="why it is a rush"),
        ),
        migrations.AddField(
            model_name="workorder",
            name="ship_to",
            field=models.TextField(blank=True, max_length=600, verbose_name="ship to"),
        ),
        migrations.AddField(
            model_name="workorder",
            name="warranty_holder",
            field=models.CharField(
                choices=[("customer", "the customer"), ("owner", "the owner of the machine")],
                default="customer",
                max_length=8,
                verbose_name="who holds the warranty",
            ),
        ),
        migrations.AddConstraint(
            model_name="workorder",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("rush_agreed_by", ""), ("rush_wanted_by__isnull", True), ("rush_why", "")),
                    models.Q(
                        ("rush_wanted_by__isnull", False),
                        models.Q(("rush_agreed_by", ""), _negated=True),
                        models.Q(("rush_why", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="workorders_workorder_rush_whole",
                violation_error_message="A rush needs the day it is wanted by, who agreed to it, and why.",
            ),
        ),
    ]
