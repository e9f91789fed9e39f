"""Reasons for any misfit of a part, and what the sums said of a reading when it was recorded."""

from django.db import migrations, models
from django.db.models import Q


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0002_glands_that_can_be_checked"),
        ("workorders", "0001_initial"),
    ]

    operations = [
        migrations.RenameField(model_name="partused", old_name="motion_reason", new_name="fit_reason"),
        migrations.RenameField(model_name="partused", old_name="fluid_warning", new_name="fit_warning"),
        migrations.AlterField(
            model_name="partused",
            name="fit_reason",
            field=models.CharField(
                blank=True, max_length=300, verbose_name="why it goes in although it does not fit"
            ),
        ),
        migrations.AlterField(
            model_name="partused",
            name="fit_warning",
            field=models.TextField(blank=True, verbose_name="what does not fit or is uncertain"),
        ),
        *(
            migrations.AddField(model_name=name, name=field_name, field=field)
            for name in ("measurement", "historicalmeasurement")
            for field_name, field in (
                ("sum_within", models.BooleanField(blank=True, null=True, verbose_name="verdict of the sum")),
                (
                    "sum_sentence",
                    models.TextField(blank=True, verbose_name="arithmetic of the sum", default=""),
                ),
            )
        ),
        migrations.AddConstraint(
            model_name="measurement",
            constraint=models.CheckConstraint(
                condition=Q(sum_within__isnull=True) | ~Q(sum_sentence=""),
                name="workorders_measurement_sum_has_sentence",
                violation_error_message="The verdict of a sum needs its arithmetic.",
            ),
        ),
    ]
