"""Links by which a customer announces one box without signing in."""

import secrets
from collections.abc import Sequence
from datetime import timedelta
from typing import Any

from shop.errors import NotAllowed, RuleBroken
from shop.models import Customer
from shop.services.customers import standing
from shop.services.writing import Act, keep, locked, service
from workorders.models import Box, BoxLink
from workorders.services.boxes import Expected, announce_box

GOOD_FOR_DAYS = (7, 14, 30, 60)
TOKEN_BYTES = 32  # 256 bits: nobody guesses one
NO_LONGER_GOOD = "This address is no longer good. Ask the shop for a new one."


@service("announce")
def make_link(*, act: Act, for_whom: str, days: int, customer: Customer | None = None) -> BoxLink:
    """Draw a link that is good for so many days and for one box; ``for_whom`` is the shop's own note."""
    if days not in GOOD_FOR_DAYS:
        raise RuleBroken(fields={"days": "Choose one of the times offered."})
    return keep(
        BoxLink(
            token=secrets.token_urlsafe(TOKEN_BYTES),
            customer=standing(customer) if customer else None,
            for_whom=for_whom.strip(),
            made_at=act.at,
            made_by=act.by,
            expires_at=act.at + timedelta(days=days),
        )
    )


@service("announce")
def revoke_link(*, act: Act, link: BoxLink) -> BoxLink:
    """Make a link useless; a box that was announced by it stays."""
    row = locked(link)
    if row.revoked_at:
        raise RuleBroken("This link was revoked already.")
    row.revoked_at = act.at
    return keep(row)


def announce_by_link(*, act: Act, link: BoxLink, expected: Sequence[Expected], **told: Any) -> Box:
    """Announce a box for whoever holds the link, once.

    ``act.by`` is the person who made the link and answers for it; the history says that the
    customer filled in the form. Raises RuleBroken for a link that is used, expired or revoked, or
    whose maker may no longer announce boxes.
    """
    by_customer = Act(by=act.by, at=act.at, why="filled in by the customer, by link")
    try:
        return _announce_by_link(act=by_customer, link=link, expected=expected, **told)
    except NotAllowed as error:
        raise RuleBroken(NO_LONGER_GOOD) from error


@service("announce")
def _announce_by_link(*, act: Act, link: BoxLink, expected: Sequence[Expected], **told: Any) -> Box:
    row = locked(link)
    if not row.is_good(act.at):
        raise RuleBroken(NO_LONGER_GOOD)
    if row.box_id:
        raise RuleBroken("A box was announced by this address already. Ask the shop for another one.")
    row.box = announce_box(act=act, how=Box.How.LINK, expected=expected, customer=row.customer, **told)
    keep(row)
    return row.box
