from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0007_counting_by_place"),
    ]

    operations = [
        migrations.AlterField(
            model_name="historicallot",
            name="unit_cost",
            field=models.DecimalField(
                blank=True, decimal_places=4, max_digits=12, null=True, verbose_name="cost of a piece"
            ),
        ),
        migrations.AlterField(
            model_name="lot",
            name="unit_cost",
            field=models.DecimalField(
                blank=True, decimal_places=4, max_digits=12, null=True, verbose_name="cost of a piece"
            ),
        ),
        migrations.AddConstraint(
            model_name="lot",
            constraint=models.CheckConstraint(
                condition=models.Q(("unit_cost__isnull", True), ("unit_cost__gte", 0), _connector="OR"),
                name="inventory_lot_cost_not_negative",
                violation_error_message="A cost is not negative; leave it empty where nobody knows it.",
            ),
        ),
    ]
