"""Refusals that no form caught become pages that say what happened."""

from collections.abc import Callable

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render

from shop.errors import NotAllowed, RuleBroken


class RefusalMiddleware:
    """Answer NotAllowed with 403 and RuleBroken with 422; both say that nothing was saved."""

    def __init__(self, get_response: Callable[[HttpRequest], HttpResponse]) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponse:
        """Pass the request on."""
        return self.get_response(request)

    def process_exception(self, request: HttpRequest, exception: Exception) -> HttpResponse | None:
        """Turn the two refusals into their pages; leave every other exception alone."""
        if isinstance(exception, NotAllowed):
            return render(request, "shop/not_allowed.html", {"reason": str(exception)}, status=403)
        if isinstance(exception, RuleBroken):
            return render(request, "shop/rule_broken.html", {"reason": str(exception)}, status=422)
        return None
