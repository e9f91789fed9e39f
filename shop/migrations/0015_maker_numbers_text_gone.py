from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("shop", "0014_maker_numbers_and_relations")]

    operations = [
        migrations.RemoveField("historicalunittype", "numbers_text"),
        migrations.RemoveField("unittype", "numbers_text"),
    ]
