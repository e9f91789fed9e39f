"""Printed data as plain JSON values and back, so that a stored paper can be printed again."""

from dataclasses import fields, is_dataclass
from datetime import date, datetime
from types import UnionType
from typing import Any, get_args, get_origin, get_type_hints


def to_plain(value: Any) -> Any:
    """Turn a dataclass of printed data into dicts, lists, texts and numbers; TypeError for others."""
    if is_dataclass(value):
        return {field.name: to_plain(getattr(value, field.name)) for field in fields(value)}
    if isinstance(value, (tuple, list)):
        return [to_plain(item) for item in value]
    if isinstance(value, date):  # a datetime is a date too
        return value.isoformat()
    if value is None or isinstance(value, (str, int, float)):
        return value
    raise TypeError(f"{type(value).__name__} has no plain form")


def from_plain(kind: Any, plain: Any) -> Any:
    """Build a value of a type from its plain form; TypeError or ValueError where they do not fit."""
    if get_origin(kind) is UnionType:
        return None if plain is None else from_plain(get_args(kind)[0], plain)
    if get_origin(kind) is tuple:
        inner = get_args(kind)
        kinds = [inner[0]] * len(plain) if inner[-1] is ... else inner
        return tuple(from_plain(each, item) for each, item in zip(kinds, plain, strict=True))
    if is_dataclass(kind):
        hints = get_type_hints(kind)
        return kind(**{name: from_plain(hints[name], item) for name, item in plain.items()})
    if kind in (date, datetime):
        return kind.fromisoformat(plain)
    if kind is float and isinstance(plain, int):
        return float(plain)
    if not isinstance(plain, kind):
        raise TypeError(f"{kind.__name__} was expected; got {plain!r}")
    return plain
