from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0010_hoses_from_port_numbers"),
    ]

    operations = [
        migrations.RemoveField(
            model_name="historicalport",
            name="hose_number",
        ),
        migrations.RemoveField(
            model_name="port",
            name="hose_number",
        ),
        migrations.AddField(
            model_name="historicalport",
            name="along",
            field=models.FloatField(blank=True, null=True, verbose_name="place along the body, 0 to 1"),
        ),
        migrations.AddField(
            model_name="port",
            name="along",
            field=models.FloatField(blank=True, null=True, verbose_name="place along the body, 0 to 1"),
        ),
        migrations.AddConstraint(
            model_name="port",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("along__isnull", True), models.Q(("along__gte", 0), ("along__lte", 1)), _connector="OR"
                ),
                name="shop_port_along_the_body",
                violation_error_message="The place along the body is from 0 (end cap) to 1 (rod end).",
            ),
        ),
    ]
