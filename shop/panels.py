"""Panels that later apps put on pages of earlier ones, so that imports keep running one way."""

from collections import defaultdict
from collections.abc import Callable
from typing import Any

from django.http import HttpRequest

# Takes the request and the page's row; gives a template and what it shows.
Panel = Callable[[HttpRequest, Any], tuple[str, dict[str, Any]]]

_panels: dict[str, list[Panel]] = defaultdict(list)


def register(page: str, panel: Panel) -> None:
    """Add a panel to a page, named by its URL name; call from ``AppConfig.ready``."""
    if panel not in _panels[page]:
        _panels[page].append(panel)


def panels_for(page: str, request: HttpRequest, row: Any) -> list[dict[str, Any]]:
    """Return what each panel of a page shows, with its template under ``template``."""
    shown = (panel(request, row) for panel in _panels[page])
    return [{**context, "template": template} for template, context in shown]
