"""What later apps put on pages: panels on pages of earlier ones, and notices above what they are about.

So imports keep running one way.
"""

from collections import defaultdict
from collections.abc import Callable, Mapping
from typing import Any

from django.http import HttpRequest

# Takes the request and the page's row; gives a template and what it shows.
Panel = Callable[[HttpRequest, Any], tuple[str, dict[str, Any]]]

# Takes the request and all that the page shows; gives a template and its context, or None.
Notice = Callable[[HttpRequest, Mapping[str, Any]], tuple[str, dict[str, Any]] | None]

_panels: dict[str, list[Panel]] = defaultdict(list)
_notices: list[Notice] = []


def register(page: str, panel: Panel) -> None:
    """Add a panel to a page, named by its URL name; call from ``AppConfig.ready``."""
    if panel not in _panels[page]:
        _panels[page].append(panel)


def panels_for(page: str, request: HttpRequest, row: Any) -> list[dict[str, Any]]:
    """Return what each panel of a page shows, with its template under ``template``."""
    shown = (panel(request, row) for panel in _panels[page])
    return [{**context, "template": template} for template, context in shown]


def register_notice(notice: Notice) -> None:
    """Let an app put a notice on top of any page, by what the page is about; from ``AppConfig.ready``."""
    if notice not in _notices:
        _notices.append(notice)


def notices_for(request: HttpRequest, context: Mapping[str, Any]) -> list[dict[str, Any]]:
    """Return what the notices of a page show, each with its template under ``template``."""
    shown = (notice(request, context) for notice in _notices)
    return [{**told[1], "template": told[0]} for told in shown if told]
