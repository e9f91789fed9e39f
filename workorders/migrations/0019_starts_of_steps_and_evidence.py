import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0018_kinds_of_steps"),
        ("workorders", "0018_ways_of_judging"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="StepConfirmation",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("conditions", models.JSONField(blank=True, default=list)),
                (
                    "medium",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "nothing: no pressure goes on"),
                            ("liquid", "liquid"),
                            ("gas", "compressed air or gas"),
                        ],
                        max_length=6,
                    ),
                ),
                (
                    "rod_port",
                    models.CharField(
                        blank=True,
                        choices=[
                            ("", "not asked"),
                            ("open", "open: to the tank or a measuring glass"),
                            ("relieved", "relieved through a valve"),
                            ("plugged", "plugged"),
                            ("none", "the unit has none: its rod side is vented"),
                        ],
                        max_length=8,
                    ),
                ),
                (
                    "raised_bar",
                    models.FloatField(
                        blank=True, null=True, verbose_name="a plugged rod port would see, bar"
                    ),
                ),
                ("relief_bar", models.FloatField(blank=True, null=True, verbose_name="relief opens at, bar")),
                ("relief_by", models.CharField(blank=True, max_length=120, verbose_name="what relieves")),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.AddField(
            model_name="finding",
            name="evidence",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "not asked"),
                    ("bypass", "a bypass step that failed"),
                    ("seen", "damage seen at the seal, its groove or the bore"),
                ],
                default="",
                max_length=6,
                verbose_name="shown by",
            ),
        ),
        migrations.AddField(
            model_name="finding",
            name="evidence_result",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="workorders.stepresult",
            ),
        ),
        migrations.AddField(
            model_name="historicalfinding",
            name="evidence",
            field=models.CharField(
                blank=True,
                choices=[
                    ("", "not asked"),
                    ("bypass", "a bypass step that failed"),
                    ("seen", "damage seen at the seal, its groove or the bore"),
                ],
                default="",
                max_length=6,
                verbose_name="shown by",
            ),
        ),
        migrations.AddField(
            model_name="historicalfinding",
            name="evidence_result",
            field=models.ForeignKey(
                blank=True,
                db_constraint=False,
                null=True,
                on_delete=django.db.models.deletion.DO_NOTHING,
                related_name="+",
                to="workorders.stepresult",
            ),
        ),
        migrations.AlterField(
            model_name="finding",
            name="condition",
            field=models.CharField(
                choices=[
                    ("sound", "sound"),
                    ("hardened", "hardened"),
                    ("swollen", "swollen"),
                    ("worn", "worn"),
                    ("cut", "cut or nicked"),
                    ("extruded", "extruded"),
                    ("rolled", "rolled or spiralled"),
                    ("compression_set", "compression set"),
                    ("cracked", "cracked"),
                    ("blistered", "blistered"),
                    ("broken_up", "broken up, fragments lost"),
                    ("scored", "scored"),
                    ("corroded", "corroded or pitted"),
                    ("bent", "bent"),
                    ("oil_wet", "oil-wet"),
                    ("loose", "loose"),
                    ("blocked", "blocked"),
                    ("missing", "missing"),
                    ("chafed_cover", "chafed, cover only"),
                    ("chafed_through", "chafed to the reinforcement"),
                    ("kinked", "kinked"),
                    ("leaking_crimp", "leaking at the crimp"),
                    ("end_corroded", "end fitting corroded"),
                    ("leaks_inside", "leaks inside, past the piston"),
                    ("not_examined", "not examined"),
                    ("not_here", "not here, stayed with the machine"),
                ],
                max_length=16,
            ),
        ),
        migrations.AlterField(
            model_name="historicalfinding",
            name="condition",
            field=models.CharField(
                choices=[
                    ("sound", "sound"),
                    ("hardened", "hardened"),
                    ("swollen", "swollen"),
                    ("worn", "worn"),
                    ("cut", "cut or nicked"),
                    ("extruded", "extruded"),
                    ("rolled", "rolled or spiralled"),
                    ("compression_set", "compression set"),
                    ("cracked", "cracked"),
                    ("blistered", "blistered"),
                    ("broken_up", "broken up, fragments lost"),
                    ("scored", "scored"),
                    ("corroded", "corroded or pitted"),
                    ("bent", "bent"),
                    ("oil_wet", "oil-wet"),
                    ("loose", "loose"),
                    ("blocked", "blocked"),
                    ("missing", "missing"),
                    ("chafed_cover", "chafed, cover only"),
                    ("chafed_through", "chafed to the reinforcement"),
                    ("kinked", "kinked"),
                    ("leaking_crimp", "leaking at the crimp"),
                    ("end_corroded", "end fitting corroded"),
                    ("leaks_inside", "leaks inside, past the piston"),
                    ("not_examined", "not examined"),
                    ("not_here", "not here, stayed with the machine"),
                ],
                max_length=16,
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("condition", "leaks_inside"), _negated=True),
                    models.Q(("evidence", "bypass"), ("evidence_result__isnull", False)),
                    models.Q(("evidence", "seen"), models.Q(("note", ""), _negated=True)),
                    _connector="OR",
                ),
                name="workorders_finding_leak_inside_shown",
                violation_error_message="A piston seal that leaks inside is shown by a bypass step that failed, or by damage that was seen and noted. Drift does not show it.",
            ),
        ),
        migrations.AddField(
            model_name="stepconfirmation",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="stepconfirmation",
            name="pressure_test",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="confirmations",
                to="workorders.pressuretest",
            ),
        ),
        migrations.AddField(
            model_name="stepconfirmation",
            name="step",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.teststep"
            ),
        ),
        migrations.AddConstraint(
            model_name="stepconfirmation",
            constraint=models.CheckConstraint(
                condition=models.Q(("medium", "gas"), _negated=True),
                name="workorders_stepconfirmation_no_gas",
                violation_error_message="No compressed air or gas: a unit is tested with liquid.",
            ),
        ),
        migrations.AddConstraint(
            model_name="stepconfirmation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("rod_port__in", ["plugged", "relieved"]), _negated=True),
                    ("relief_bar__isnull", False),
                    _connector="OR",
                ),
                name="workorders_stepconfirmation_plugged_relieved",
                violation_error_message="A rod port that is not open needs its relief path.",
            ),
        ),
        migrations.AddConstraint(
            model_name="stepconfirmation",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("relief_bar__isnull", True), ("relief_by", "")),
                    models.Q(
                        ("relief_bar__gt", 0),
                        ("relief_bar__isnull", False),
                        models.Q(("relief_by", ""), _negated=True),
                    ),
                    _connector="OR",
                ),
                name="workorders_stepconfirmation_relief_whole",
                violation_error_message="A relief path is a pressure above 0 bar, and what relieves it.",
            ),
        ),
    ]
