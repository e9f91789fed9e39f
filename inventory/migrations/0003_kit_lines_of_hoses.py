import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0002_purchasing"),
        ("shop", "0011_ports_without_hose_numbers"),
    ]

    operations = [
        migrations.AlterModelOptions(
            name="kitline",
            options={
                "ordering": [
                    "kit",
                    "position__order",
                    "component__order",
                    "port__order",
                    "hose__order",
                    "preference",
                ]
            },
        ),
        migrations.RemoveConstraint(
            model_name="kitline",
            name="inventory_kitline_one_place",
        ),
        migrations.AddField(
            model_name="historicalkitline",
            name="hose",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="shop.hose",
            ),
        ),
        migrations.AddField(
            model_name="kitline",
            name="hose",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="kit_lines",
                to="shop.hose",
            ),
        ),
        migrations.AddConstraint(
            model_name="kitline",
            constraint=models.CheckConstraint(
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
        ),
    ]
