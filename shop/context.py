"""Context processor: what the header of every page needs."""

from typing import Any

from django.conf import settings
from django.http import HttpRequest
from django.shortcuts import resolve_url
from django.urls import reverse

from shop import navigation, roles
from shop.models import ShopProfile


def page(request: HttpRequest) -> dict[str, Any]:
    """Give shop name, home, navigation, search address and the roles of the signed-in user."""
    user = getattr(request, "user", None)
    signed_in = bool(user and user.is_authenticated)
    return {
        "shop_name": shop_name(),
        "home_url": resolve_url(settings.LOGIN_REDIRECT_URL),
        "search_url": navigation.search_url() if signed_in else None,
        "nav": _links(request, user),
        "user_roles": [role for role in roles.ROLES if role in roles.roles_of(user)] if signed_in else [],
    }


def shop_name() -> str:
    """Return the name in the shop's profile, else the name of the program."""
    return ShopProfile.objects.values_list("name", flat=True).first() or "Sealwright"


def _links(request: HttpRequest, user: Any) -> list[dict[str, Any]]:
    """Turn the registered entries into links and mark the one this page belongs to."""
    links: list[dict[str, Any]] = [
        {"label": item.label, "url": reverse(item.url_name), "group": item.group}
        for item in navigation.items_for(user)
    ]
    under = [link for link in links if _is_below(request.path, link["url"])]
    if under:
        max(under, key=lambda link: len(link["url"]))["current"] = True
    return links


def _is_below(path: str, url: str) -> bool:
    """Tell whether a path is a page itself or lies below it; the root owns only itself."""
    return path == url or (url != "/" and path.startswith(url.rstrip("/") + "/"))
