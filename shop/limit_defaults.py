"""The limits that come with every database, each with its source; the lead may change them."""

import csv
from pathlib import Path
from typing import Any

from django.db.models.signals import post_migrate
from django.dispatch import receiver

TABLE = Path(__file__).parent / "calc" / "data" / "limit_settings.csv"


@receiver(post_migrate)
def make_limits(app_config: Any, using: str, **_kwargs: Any) -> None:
    """Add the limits that a database lacks; one that the lead changed is left alone."""
    if app_config.name != "shop":
        return
    from shop.models import LimitSetting

    present = set(LimitSetting.objects.using(using).values_list("key", flat=True))
    with TABLE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            if row["key"] not in present:
                LimitSetting(**{**row, "value": float(row["value"])}).save(using=using)
