"""When what a count found needs a second person, as the lead has set it."""

from decimal import Decimal

from shop.models import LimitSetting

LIMIT, ALONE = "count-second-person-above", "count-alone"


def second_person_above() -> Decimal:
    """Return the value of differences above which a second person books, in the shop's currency."""
    return Decimal(str(LimitSetting.objects.get(key=LIMIT).value))


def may_book_alone() -> bool:
    """Whether a shop of one has switched the second person off."""
    return LimitSetting.objects.get(key=ALONE).value > 0
