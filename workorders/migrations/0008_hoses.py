import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0011_ports_without_hose_numbers"),
        ("workorders", "0007_operation_values"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="HoseCheck",
            fields=[
                (
                    "id",
                    models.BigAutoField(
                        auto_created=True, primary_key=True, serialize=False, verbose_name="ID"
                    ),
                ),
                ("at", models.DateTimeField()),
                ("why", models.CharField(blank=True, max_length=300)),
                ("number_read", models.CharField(max_length=12, verbose_name="number read")),
                (
                    "way",
                    models.CharField(
                        choices=[("on_port", "on its port"), ("loose", "loose in the parcel")],
                        default="on_port",
                        max_length=8,
                    ),
                ),
            ],
            options={
                "ordering": ["pk"],
            },
        ),
        migrations.AlterModelOptions(
            name="finding",
            options={
                "ordering": [
                    models.OrderBy(models.F("position__order"), nulls_last=True),
                    models.OrderBy(models.F("component__order"), nulls_last=True),
                    models.OrderBy(models.F("port__order"), nulls_last=True),
                    models.OrderBy(models.F("hose__order"), nulls_last=True),
                    "pk",
                ]
            },
        ),
        migrations.RemoveConstraint(
            model_name="finding",
            name="workorders_finding_one_place",
        ),
        migrations.AddField(
            model_name="finding",
            name="hose",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.hose",
            ),
        ),
        migrations.AddField(
            model_name="finding",
            name="kept_reason",
            field=models.CharField(blank=True, default="", max_length=200, verbose_name="why it is kept"),
        ),
        migrations.AddField(
            model_name="finding",
            name="length_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="length as found, mm"),
        ),
        migrations.AddField(
            model_name="finding",
            name="no_photo_reason",
            field=models.CharField(
                blank=True, default="", max_length=200, verbose_name="why its port has no photo"
            ),
        ),
        migrations.AddField(
            model_name="historicalfinding",
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
            model_name="historicalfinding",
            name="kept_reason",
            field=models.CharField(blank=True, default="", max_length=200, verbose_name="why it is kept"),
        ),
        migrations.AddField(
            model_name="historicalfinding",
            name="length_mm",
            field=models.FloatField(blank=True, null=True, verbose_name="length as found, mm"),
        ),
        migrations.AddField(
            model_name="historicalfinding",
            name="no_photo_reason",
            field=models.CharField(
                blank=True, default="", max_length=200, verbose_name="why its port has no photo"
            ),
        ),
        migrations.AddField(
            model_name="historicaloperation",
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
            model_name="operation",
            name="hose",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.hose",
            ),
        ),
        migrations.AddField(
            model_name="partused",
            name="hose",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.hose",
            ),
        ),
        migrations.AddField(
            model_name="photo",
            name="port",
            field=models.ForeignKey(
                blank=True,
                null=True,
                on_delete=django.db.models.deletion.PROTECT,
                related_name="+",
                to="shop.port",
            ),
        ),
        migrations.AlterField(
            model_name="finding",
            name="action",
            field=models.CharField(
                choices=[
                    ("renewed", "renewed"),
                    ("kept", "kept"),
                    ("reworked", "reworked"),
                    ("rejected", "rejected, unit not worth rebuilding"),
                    ("none", "nothing, not here"),
                ],
                max_length=10,
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
                    ("not_examined", "not examined"),
                    ("not_here", "not here, stayed with the machine"),
                ],
                max_length=16,
            ),
        ),
        migrations.AlterField(
            model_name="historicalfinding",
            name="action",
            field=models.CharField(
                choices=[
                    ("renewed", "renewed"),
                    ("kept", "kept"),
                    ("reworked", "reworked"),
                    ("rejected", "rejected, unit not worth rebuilding"),
                    ("none", "nothing, not here"),
                ],
                max_length=10,
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
                    ("not_examined", "not examined"),
                    ("not_here", "not here, stayed with the machine"),
                ],
                max_length=16,
            ),
        ),
        migrations.AlterField(
            model_name="photo",
            name="moment",
            field=models.CharField(
                choices=[
                    ("receiving", "before anything is loosened"),
                    ("port", "port, before its hose comes off"),
                    ("teardown", "teardown"),
                    ("build", "building"),
                    ("test", "on test"),
                    ("mark", "permanent mark"),
                    ("packing", "packing"),
                ],
                max_length=10,
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
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
                name="workorders_finding_one_place",
                violation_error_message="A finding is about one position, component, port or hose.",
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
            constraint=models.UniqueConstraint(
                condition=models.Q(("hose__isnull", False)),
                fields=("rebuild", "hose"),
                name="workorders_finding_hose_once",
                violation_error_message="This place has its finding already; change that one.",
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(
                        models.Q(("condition", "not_here"), _negated=True),
                        models.Q(("action", "none"), _negated=True),
                    ),
                    models.Q(
                        ("action", "none"),
                        ("cause", "not_determined"),
                        ("condition", "not_here"),
                        ("hose__isnull", False),
                    ),
                    _connector="OR",
                ),
                name="workorders_finding_hose_not_here",
                violation_error_message="Only a hose can be not here; nothing is done to it, and no cause is known.",
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("hose__isnull", True),
                    models.Q(
                        ("action", "kept"),
                        (
                            "condition__in",
                            ("chafed_through", "swollen", "blistered", "cracked", "leaking_crimp"),
                        ),
                        _negated=True,
                    ),
                    models.Q(("kept_reason", ""), _negated=True),
                    _connector="OR",
                ),
                name="workorders_finding_unsafe_hose_kept",
                violation_error_message="A hose in this state is replaced. The lead alone may keep it, with a reason.",
            ),
        ),
        migrations.AddConstraint(
            model_name="finding",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    ("length_mm__isnull", True),
                    models.Q(("hose__isnull", False), ("length_mm__gt", 0)),
                    _connector="OR",
                ),
                name="workorders_finding_length_of_hose",
                violation_error_message="Only a hose has its length taken, above 0 mm.",
            ),
        ),
        migrations.AddConstraint(
            model_name="photo",
            constraint=models.CheckConstraint(
                condition=models.Q(
                    models.Q(("moment", "port"), ("port__isnull", False)),
                    models.Q(models.Q(("moment", "port"), _negated=True), ("port__isnull", True)),
                    _connector="OR",
                ),
                name="workorders_photo_port_named",
                violation_error_message="A photo from before a hose comes off names its port; no other does.",
            ),
        ),
        migrations.AddField(
            model_name="hosecheck",
            name="by",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to=settings.AUTH_USER_MODEL
            ),
        ),
        migrations.AddField(
            model_name="hosecheck",
            name="hose",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT, related_name="+", to="shop.hose"
            ),
        ),
        migrations.AddField(
            model_name="hosecheck",
            name="rebuild",
            field=models.ForeignKey(
                on_delete=django.db.models.deletion.PROTECT,
                related_name="hose_checks",
                to="workorders.rebuild",
            ),
        ),
        migrations.AddConstraint(
            model_name="hosecheck",
            constraint=models.CheckConstraint(
                condition=models.Q(("number_read", ""), _negated=True),
                name="workorders_hosecheck_number_read",
                violation_error_message="Read the number of the hose from its tag.",
            ),
        ),
    ]
