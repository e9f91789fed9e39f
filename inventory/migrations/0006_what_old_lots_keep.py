"""Lots of before keep the date they have as the computed one, and the standard that gave it."""

from django.db import migrations
from django.db.models import F


def fill(apps, _schema_editor):
    lots = apps.get_model("inventory", "Lot").objects
    lots.filter(use_by__isnull=False).update(computed_use_by=F("use_by"))
    for standard, words in (("ISO2230", "ISO 2230"), ("AS5316", "AS5316")):
        lots.filter(age_basis__contains=words).update(storage_standard=standard)


class Migration(migrations.Migration):
    dependencies = [("inventory", "0005_lots_that_cannot_lie")]
    operations = [migrations.RunPython(fill, migrations.RunPython.noop)]
