"""What the header offers: each app registers its pages in ``AppConfig.ready``."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

from django.urls import reverse

from shop import roles


@dataclass(frozen=True, kw_only=True)
class NavItem:
    """One entry of the navigation; ``action`` None shows it to everybody who is signed in."""

    label: str
    url_name: str
    action: str | None = None
    order: int = 50
    group: str = ""


# The groups of the header in their order; entries of the first stand by themselves.
GROUPS = ("", "Desk", "Stores", "Catalogue", "The shop")

_items: dict[str, NavItem] = {}
_search: list[str] = []


def register(
    label: str, url_name: str, *, action: str | None = None, order: int = 50, group: str = ""
) -> None:
    """Add an entry to a group of `GROUPS`; the same URL name again replaces the earlier one.

    Raises ``KeyError`` at start for an action that the table of roles does not know, and for an
    unknown group.
    """
    if action is not None and action not in roles.ACTIONS:
        raise KeyError(f"no action {action!r} in shop.roles.ACTIONS")
    if group not in GROUPS:
        raise KeyError(f"no group {group!r} in the header")
    _items[url_name] = NavItem(label=label, url_name=url_name, action=action, order=order, group=group)


def register_search(url_name: str) -> None:
    """Name the page that answers the search box of the header (GET, parameter ``q``)."""
    _search[:] = [url_name]


def items_for(user: Any) -> Iterator[NavItem]:
    """Yield, group by group, the entries that this user may use; nothing for signed-out visitors."""
    if not getattr(user, "is_authenticated", False):
        return
    for item in sorted(_items.values(), key=lambda item: (GROUPS.index(item.group), item.order)):
        if item.action is None or roles.may(user, item.action):
            yield item


def search_url() -> str | None:
    """Return the address of the search page, or None while no app has registered one."""
    return reverse(_search[0]) if _search else None
