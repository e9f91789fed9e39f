"""Lists of units narrowed by text, which may be a scan."""

from collections.abc import Callable
from typing import Any

from django.db.models import Q

from shop.views.narrowing import with_words
from workorders.calc.serial import SerialError, read_scan


def with_words_or_scan(rows: Any, text: str, *paths: str, more: Callable[[str], Q] | None = None) -> Any:
    """Return the rows that hold each word of the text; a scan or a serial in threes is one word."""
    try:
        serial = read_scan(text)
    except SerialError:
        serial = None
    return with_words(rows, serial or text, *paths, more=more)
