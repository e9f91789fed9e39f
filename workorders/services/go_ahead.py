"""Quotes and go-aheads: what the customer was told, and what was allowed up to which price."""

from datetime import datetime
from decimal import Decimal

from shop.errors import RuleBroken
from shop.roles import LEAD, roles_of
from shop.services.writing import Act, keep, service
from workorders.models import GoAhead, Quote, Rebuild
from workorders.services.stages import refresh_stage
from workorders.services.standing import open_rebuild


@service("go_ahead")
def record_quote(*, act: Act, rebuild: Rebuild, amount: Decimal, scope: str, told_to: str = "") -> Quote:
    """Add a price told to the customer, in the shop's currency; a later quote stands beside it.

    Raises RuleBroken for an amount of nothing, a missing scope, or a closed or released rebuild.
    """
    row = open_rebuild(rebuild)
    if amount <= 0:
        raise RuleBroken(fields={"amount": "A quote is an amount above zero."})
    quote = keep(
        Quote(
            rebuild=row,
            amount=amount,
            scope=scope.strip(),
            told_to=told_to.strip(),
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
    refresh_stage(row)
    return quote


@service("go_ahead")
def record_go_ahead(
    *,
    act: Act,
    rebuild: Rebuild,
    given_by: str,
    given_at: datetime,
    how: str,
    scope: str,
    price_ceiling: Decimal | None = None,
) -> GoAhead:
    """Add a go-ahead: who allowed which scope up to which price, when and how.

    It may come before the teardown. Raises RuleBroken for a time to come, for a customer's
    go-ahead without a price ceiling, and for the lead's own word unless the lead gives it for a
    unit that stays as exchange stock.
    """
    row = open_rebuild(rebuild)
    if given_at > act.at:
        raise RuleBroken(fields={"given_at": "A go-ahead cannot be given in the future."})
    if how == GoAhead.How.LEAD:
        _check_leads_word(act, row)
    elif price_ceiling is None:
        message = "A customer's go-ahead needs a price ceiling: the most that may be charged without asking."
        raise RuleBroken(fields={"price_ceiling": message})
    if price_ceiling is not None and price_ceiling < 0:
        raise RuleBroken(fields={"price_ceiling": "A price ceiling is not negative."})
    go_ahead = keep(
        GoAhead(
            rebuild=row,
            given_by=given_by.strip(),
            given_at=given_at,
            how=how,
            scope=scope.strip(),
            price_ceiling=price_ceiling,
            by=act.by,
            at=act.at,
            why=act.why,
        )
    )
    refresh_stage(row)
    return go_ahead


def _check_leads_word(act: Act, rebuild: Rebuild) -> None:
    if LEAD not in roles_of(act.by):
        raise RuleBroken(fields={"how": "Only the lead gives the lead's own word."})
    if rebuild.destination != Rebuild.Destination.EXCHANGE:
        raise RuleBroken(
            fields={
                "how": "This unit goes back to its customer, who gives the go-ahead; "
                "the lead's own word is for exchange stock."
            }
        )
