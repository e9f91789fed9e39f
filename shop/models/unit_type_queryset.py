"""Ways to find unit types."""

from typing import TYPE_CHECKING

from django.db import models
from django.db.models import Q

from shop.calc.maker_number import bare_number

if TYPE_CHECKING:
    from .unit_type import UnitType  # noqa: F401 - the base below names it


class UnitTypeQuerySet(models.QuerySet["UnitType"]):
    """Ways to narrow unit types down."""

    def in_use(self) -> "UnitTypeQuerySet":
        """Not turned out to be another type."""
        return self.filter(merged_into__isnull=True)

    def bench_drafts(self) -> "UnitTypeQuerySet":
        """Opened at the bench for a unit that nobody knew, and not approved yet."""
        return self.in_use().filter(provisional=True)

    def matching(self, text: str) -> "UnitTypeQuerySet":
        """With every word of the text in code, name, maker or a maker's number, however that is spaced."""
        numbers = self.model._meta.get_field("maker_numbers").related_model._default_manager
        rows = self
        for word in text.split():
            bare = bare_number(word)
            numbered = Q(number__icontains=word) | (Q(bare__contains=bare) if bare else Q(pk__in=[]))
            rows = rows.filter(
                Q(code__icontains=word)
                | Q(name__icontains=word)
                | Q(maker__icontains=word)
                | Q(pk__in=numbers.filter(numbered).values("unit_type"))
            )
        return rows


def years_in_words(first: int | None, last: int | None) -> str:
    """Return years such as "2004 to 2009", "from 2004", "until 2009"; empty without any."""
    if first and last:
        return str(first) if first == last else f"{first} to {last}"
    return f"from {first}" if first else f"until {last}" if last else ""
