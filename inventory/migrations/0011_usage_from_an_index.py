from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("inventory", "0010_upgraded_materials"),
    ]

    operations = [
        migrations.RemoveIndex(
            model_name="movement",
            name="inventory_movement_kind_at",
        ),
        migrations.AddIndex(
            model_name="movement",
            index=models.Index(fields=["kind", "at", "lot", "quantity"], name="inventory_movement_usage"),
        ),
    ]
