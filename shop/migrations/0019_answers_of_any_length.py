from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("shop", "0018_kinds_of_steps"),
    ]

    operations = [
        migrations.AlterField(
            model_name="formtoken",
            name="result_url",
            field=models.TextField(blank=True),
        ),
    ]
