"""Values of rows as JSON."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from django.db import models
from django.utils import timezone

Plain = dict[str, Any]


def plain(value: Any) -> Any:
    """Turn a field value into JSON: dates as ISO text (times in UTC), decimals as text."""
    if isinstance(value, datetime):
        return value.astimezone(timezone.get_fixed_timezone(0)).isoformat()
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Decimal):
        return str(value)
    if isinstance(value, models.Model):
        return str(value)
    return value


def fields(row: models.Model, *names: str) -> Plain:
    """Return the named fields of a row as plain data."""
    return {name: plain(getattr(row, name)) for name in names}
