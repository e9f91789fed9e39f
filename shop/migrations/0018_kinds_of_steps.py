from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0017_ways_of_judging"),
    ]

    operations = [
        migrations.AddField(
            model_name="historicalteststep",
            name="fixture",
            field=models.CharField(blank=True, default="", max_length=120, verbose_name="fixture"),
        ),
        migrations.AddField(
            model_name="historicalteststep",
            name="load_n",
            field=models.FloatField(blank=True, null=True, verbose_name="load on the rod, N"),
        ),
        migrations.AddField(
            model_name="historicalteststep",
            name="medium",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "nothing: no pressure goes on"),
                    ("liquid", "liquid"),
                    ("gas", "compressed air or gas"),
                ],
                default="liquid",
                max_length=6,
            ),
        ),
        migrations.AddField(
            model_name="historicalteststep",
            name="relief_bar",
            field=models.FloatField(blank=True, null=True, verbose_name="relief opens at most at, bar"),
        ),
        migrations.AddField(
            model_name="historicalteststep",
            name="time_limit_s",
            field=models.FloatField(blank=True, null=True, verbose_name="run at most, s"),
        ),
        migrations.AddField(
            model_name="historicalteststep",
            name="voltage_v",
            field=models.FloatField(blank=True, null=True, verbose_name="test voltage, V"),
        ),
        migrations.AddField(
            model_name="teststep",
            name="fixture",
            field=models.CharField(blank=True, default="", max_length=120, verbose_name="fixture"),
        ),
        migrations.AddField(
            model_name="teststep",
            name="load_n",
            field=models.FloatField(blank=True, null=True, verbose_name="load on the rod, N"),
        ),
        migrations.AddField(
            model_name="teststep",
            name="medium",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "nothing: no pressure goes on"),
                    ("liquid", "liquid"),
                    ("gas", "compressed air or gas"),
                ],
                default="liquid",
                max_length=6,
            ),
        ),
        migrations.AddField(
            model_name="teststep",
            name="relief_bar",
            field=models.FloatField(blank=True, null=True, verbose_name="relief opens at most at, bar"),
        ),
        migrations.AddField(
            model_name="teststep",
            name="time_limit_s",
            field=models.FloatField(blank=True, null=True, verbose_name="run at most, s"),
        ),
        migrations.AddField(
            model_name="teststep",
            name="voltage_v",
            field=models.FloatField(blank=True, null=True, verbose_name="test voltage, V"),
        ),
        migrations.AlterField(
            model_name="historicalteststep",
            name="kind",
            field=models.CharField(
                choices=[
                    ("low_pressure_leak", "low-pressure leak"),
                    ("proof", "proof"),
                    ("hold", "pressure hold"),
                    ("bypass", "piston bypass at end of stroke"),
                    ("break_away", "break-away and smoothness of stroke"),
                    ("strokes", "full strokes under load"),
                    ("drift", "drift under load"),
                    ("dryness", "external dryness"),
                    ("oil_sample", "oil sample taken at test"),
                    ("rig_blank", "rig with its outlet blanked"),
                    ("shaft_seal", "shaft-seal back pressure"),
                    ("dead_head", "dead-head pressure"),
                    ("brush_length", "brush length"),
                    ("insulation", "insulation"),
                    ("flow", "flow at pressure"),
                    ("relief", "relief opening"),
                    ("manual_release", "manual release"),
                    ("solenoid", "solenoid resistance and pull-in"),
                    ("current", "motor current"),
                    ("hold_after_stop", "hold after stop (check valves)"),
                ],
                max_length=20,
            ),
        ),
        migrations.AlterField(
            model_name="teststep",
            name="kind",
            field=models.CharField(
                choices=[
                    ("low_pressure_leak", "low-pressure leak"),
                    ("proof", "proof"),
                    ("hold", "pressure hold"),
                    ("bypass", "piston bypass at end of stroke"),
                    ("break_away", "break-away and smoothness of stroke"),
                    ("strokes", "full strokes under load"),
                    ("drift", "drift under load"),
                    ("dryness", "external dryness"),
                    ("oil_sample", "oil sample taken at test"),
                    ("rig_blank", "rig with its outlet blanked"),
                    ("shaft_seal", "shaft-seal back pressure"),
                    ("dead_head", "dead-head pressure"),
                    ("brush_length", "brush length"),
                    ("insulation", "insulation"),
                    ("flow", "flow at pressure"),
                    ("relief", "relief opening"),
                    ("manual_release", "manual release"),
                    ("solenoid", "solenoid resistance and pull-in"),
                    ("current", "motor current"),
                    ("hold_after_stop", "hold after stop (check valves)"),
                ],
                max_length=20,
            ),
        ),
        migrations.AddConstraint(
            model_name="teststep",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("medium", "gas"), _negated=True),
                    models.Q(("kind__in", ["proof", "shaft_seal"]), _negated=True),
                    _connector="OR",
                ),
                name="shop_teststep_no_gas",
                violation_error_message="No compressed air or gas here: it stores about 200 times the energy of oil.",
            ),
        ),
        migrations.AddConstraint(
            model_name="teststep",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("time_limit_s__isnull", True), ("time_limit_s__gt", 0), _connector="OR"),
                    models.Q(("voltage_v__isnull", True), ("voltage_v__gt", 0), _connector="OR"),
                    models.Q(("load_n__isnull", True), ("load_n__gt", 0), _connector="OR"),
                    models.Q(("relief_bar__isnull", True), ("relief_bar__gt", 0), _connector="OR"),
                ),
                name="shop_teststep_figures_positive",
                violation_error_message="A time limit, voltage, load or relief is more than 0.",
            ),
        ),
    ]
