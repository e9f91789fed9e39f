import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0015_maker_numbers_text_gone"),
    ]

    operations = [
        migrations.CreateModel(
            name="LabourRate",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("valid_from", models.DateField(verbose_name="holds from")),
                (
                    "per_hour",
                    models.DecimalField(decimal_places=2, max_digits=8, verbose_name="cost of an hour"),
                ),
                (
                    "by",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.PROTECT,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
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
            },
        ),
    ]
