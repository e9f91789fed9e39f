"""The shop's own settings: name, address, terms, and the limits that it sets."""

from datetime import date
from decimal import Decimal
from typing import Any

from shop.errors import RuleBroken
from shop.models import LabourRate, LimitSetting, ShopProfile
from shop.services.writing import Act, keep, locked, service


def currency_of_shop() -> str:
    """Return the currency that the shop reckons in."""
    return ShopProfile.objects.values_list("currency", flat=True).first() or "EUR"


@service("people")
def save_profile(*, act: Act, **fields: Any) -> ShopProfile:
    """Enter or change what papers print about the shop, and its terms.

    A change needs the reason in ``act.why``; what is printed or computed already stays as it was.
    """
    row = ShopProfile.objects.select_for_update().first()
    if row and not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is changed; the reason stays in the history."})
    row = row or ShopProfile(pk=1)
    for name, value in fields.items():
        setattr(row, name, value)
    return keep(row)


@service("catalogue")
def set_limit(*, act: Act, setting: LimitSetting, value: float, source: str, basis: str) -> LimitSetting:
    """Change a limit of the shop with its source and basis, for the reason in ``act.why``."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why the limit is changed; the reason stays in the history."})
    row = locked(setting)
    if source == LimitSetting.Source.READ and value != row.value and basis == row.basis:
        raise RuleBroken(fields={"basis": "Name the source in which the new value was read."})
    row.value, row.source, row.basis = value, source, basis
    return keep(row)


@service("prices")
def set_labour_rate(*, act: Act, valid_from: date, per_hour: Decimal) -> LabourRate:
    """Add what an hour of work costs from a day on; the rates before that day stay.

    An entry for a day that has one replaces it, for the reason in ``act.why``. Raises RuleBroken for
    a rate of nothing and a missing reason.
    """
    if per_hour <= 0:
        raise RuleBroken(fields={"per_hour": "An hour of work costs more than nothing."})
    if LabourRate.objects.filter(valid_from=valid_from).exists() and not act.why.strip():
        raise RuleBroken(fields={"why": "That day has a rate already: say why it is another."})
    return keep(LabourRate(valid_from=valid_from, per_hour=per_hour, by=act.by, at=act.at, why=act.why))
