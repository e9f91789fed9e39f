"""Which side a groove is on, and dimensions that are figures of a gland or have a length."""

import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0001_initial"),
    ]

    operations = [
        migrations.RemoveConstraint(
            model_name="dimensionlimit",
            name="shop_dimensionlimit_has_limit",
        ),
        migrations.AddField(
            model_name="dimensionlimit",
            name="gland_figure",
            field=models.CharField(
                blank=True,
                choices=[
                    ("depth", "gland depth"),
                    ("width", "groove width"),
                    ("diameter", "groove diameter"),
                ],
                max_length=8,
                verbose_name="figure of its gland",
            ),
        ),
        migrations.AddField(
            model_name="dimensionlimit",
            name="length_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="length between the rests, mm"),
        ),
        migrations.AddField(
            model_name="dimensionlimit",
            name="position",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.sealposition",
            ),
        ),
        migrations.AddField(
            model_name="historicaldimensionlimit",
            name="gland_figure",
            field=models.CharField(
                blank=True,
                choices=[
                    ("depth", "gland depth"),
                    ("width", "groove width"),
                    ("diameter", "groove diameter"),
                ],
                max_length=8,
                verbose_name="figure of its gland",
            ),
        ),
        migrations.AddField(
            model_name="historicaldimensionlimit",
            name="length_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="length between the rests, mm"),
        ),
        migrations.AddField(
            model_name="historicaldimensionlimit",
            name="position",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="shop.sealposition",
            ),
        ),
        migrations.AddField(
            model_name="historicalsealposition",
            name="arrangement",
            field=models.CharField(
                blank=True,
                choices=[
                    ("piston", "groove in the inner part"),
                    ("rod", "groove in the outer part"),
                    ("face", "groove in a face"),
                ],
                max_length=6,
            ),
        ),
        migrations.AddField(
            model_name="historicalsealposition",
            name="clearance_max_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="diametral clearance, most, mm"),
        ),
        migrations.AddField(
            model_name="sealposition",
            name="arrangement",
            field=models.CharField(
                blank=True,
                choices=[
                    ("piston", "groove in the inner part"),
                    ("rod", "groove in the outer part"),
                    ("face", "groove in a face"),
                ],
                max_length=6,
            ),
        ),
        migrations.AddField(
            model_name="sealposition",
            name="clearance_max_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="diametral clearance, most, mm"),
        ),
        migrations.AddConstraint(
            model_name="dimensionlimit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("lower__isnull", False),
                    ("upper__isnull", False),
                    models.Q(("gland_figure", ""), _negated=True),
                    ("length_mm__isnull", False),
                    _connector="OR",
                ),
                name="shop_dimensionlimit_has_limit",
                violation_error_message="Give a lower or an upper limit, the figure of a gland, or the length of a rod: something must judge the reading.",
            ),
        ),
        migrations.AddConstraint(
            model_name="dimensionlimit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("gland_figure", ""), ("position__isnull", True)),
                    models.Q(models.Q(("gland_figure", ""), _negated=True), ("position__isnull", False)),
                    _connector="OR",
                ),
                name="shop_dimensionlimit_figure_with_position",
                violation_error_message="A figure of a gland and its seal position go together.",
            ),
        ),
        migrations.AddConstraint(
            model_name="dimensionlimit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("length_mm__isnull", True),
                    models.Q(("gland_figure", ""), ("length_mm__gt", 0), ("quantity", "run_out")),
                    _connector="OR",
                ),
                name="shop_dimensionlimit_length_of_run_out",
                violation_error_message="Only a run-out has a length, above 0 mm, and it is no figure of a gland.",
            ),
        ),
        migrations.AddConstraint(
            model_name="dimensionlimit",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("gland_figure", ""), ("length_mm__isnull", True)),
                    ("unit", "mm"),
                    _connector="OR",
                ),
                name="shop_dimensionlimit_sum_in_mm",
                violation_error_message="What a sum judges is read in mm.",
            ),
        ),
        migrations.AddConstraint(
            model_name="sealposition",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("clearance_max_mm__isnull", True), ("clearance_max_mm__gte", 0), _connector="OR"
                ),
                name="shop_sealposition_clearance_not_negative",
                violation_error_message="A clearance is 0 mm or more.",
            ),
        ),
    ]
