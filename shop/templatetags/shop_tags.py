"""Template tags for marks, stages, serials, numbers and forms."""

import re
import uuid
from collections.abc import Mapping
from datetime import timedelta
from decimal import Decimal
from typing import Any

from django import template
from django.forms.boundfield import BoundField
from django.template import Context
from django.utils.formats import number_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

register = template.Library()

# Drawn on a 20 x 20 field; every shape differs in outline, so that it reads without colour.
SHAPES = {
    "good": '<circle cx="10" cy="10" r="9" fill="currentColor"/>'
    '<path d="M5.4 10.4l3.2 3.2 6-7" fill="none" stroke="var(--sheet)" stroke-width="2.4"/>',
    "bad": '<path d="M1.5 1.5h17v17h-17z" fill="currentColor"/>'
    '<path d="M6 6l8 8m0-8l-8 8" fill="none" stroke="var(--sheet)" stroke-width="2.4"/>',
    "ask": '<path d="M10 .8L19.2 10 10 19.2.8 10z" fill="none" stroke="currentColor" stroke-width="1.8"/>'
    '<path d="M7.6 8.2c0-3.4 5-3.2 4.9-.2 0 1.7-2.4 1.9-2.4 3.7m0 1.6v1.9" fill="none"'
    ' stroke="currentColor" stroke-width="1.9"/>',
    "todo": '<circle cx="10" cy="10" r="8" fill="none" stroke="currentColor" stroke-width="2.2"/>',
    "warn": '<path d="M10 1.6L19.2 18H.8z" fill="none" stroke="currentColor" stroke-width="2"'
    ' stroke-linejoin="round"/><path d="M10 7v5.4m0 1.4v2" stroke="currentColor" stroke-width="2.2"/>',
    "wait": '<circle cx="10" cy="10" r="8" fill="none" stroke="currentColor" stroke-width="2.2"/>'
    '<path d="M10 5v5.4l3.6 2.2" fill="none" stroke="currentColor" stroke-width="2"/>',
    "void": '<circle cx="10" cy="10" r="8" fill="none" stroke="currentColor" stroke-width="2.2"/>'
    '<path d="M4.5 15.5l11-11" stroke="currentColor" stroke-width="2.2"/>',
    "exit": '<path d="M2 18V7h12m-5-5l5 5-5 5" fill="none" stroke="currentColor" stroke-width="2.4"/>',
    "plain": '<path d="M3 10h14" stroke="currentColor" stroke-width="3"/>',
}
# verdict -> (word, colour class, shape)
VERDICTS = {
    "passes": ("passes", "good", "good"),
    "fails": ("fails", "bad", "bad"),
    "not decided": ("not decided", "ask", "ask"),
    "not tested": ("not yet tested", "todo", "todo"),
    "not yet tested": ("not yet tested", "todo", "todo"),
    "invalid": ("not valid", "warn", "void"),
}
ROUTE = ("received", "torn down", "quoted", "go-ahead", "building", "on test", "released", "shipped")


def _words(value: Any) -> str:
    """Turn a stored code (``not_decided``, ``go_ahead``) into its words; a label is kept."""
    text = str(getattr(value, "value", value) or "").replace("_", " ").strip().lower()
    return "go-ahead" if text == "go ahead" else text


@register.simple_tag
def sign(name: str) -> SafeString:
    """Draw one shape of ``SHAPES``, hidden from screen readers: put the word beside it."""
    shape = mark_safe(SHAPES.get(name, SHAPES["plain"]))  # noqa: S308 - constants of this module
    return format_html('<svg viewBox="0 0 20 20" aria-hidden="true" focusable="false">{}</svg>', shape)


@register.simple_tag
def mark(text: Any, kind: str = "plain", shape: str | None = None) -> SafeString:
    """Draw a word with its shape; ``kind``: good, bad, warn, wait, ask, todo or plain."""
    return format_html('<span class="mark {}">{}<span>{}</span></span>', kind, sign(shape or kind), text)


@register.simple_tag
def verdict(value: Any, label: str | None = None) -> SafeString:
    """Draw a verdict; a value without a drawing of its own is shown by its word alone."""
    word, kind, shape = VERDICTS.get(_words(value), (_words(value) or "not yet tested", "plain", "plain"))
    return mark(label or word, kind, shape)


@register.simple_tag
def stage(value: Any, label: str | None = None) -> SafeString:
    """Draw a stage as its place on the route and its word; side exits get the exit shape."""
    words = _words(value)
    text = label or getattr(value, "label", words)
    if words not in ROUTE:
        return mark(text, "plain", "exit")
    here = ROUTE.index(words)
    dots = format_html_join(
        "",
        '<circle cx="{}" cy="10" r="{}" class="{}" fill="{}" stroke="currentColor" stroke-width="2"/>',
        (
            (8 + 14 * i, 6 if i == here else 3.5, "here" if i == here else "", _fill(i, here))
            for i in range(len(ROUTE))
        ),
    )
    return format_html(
        '<span class="stage"><svg viewBox="0 0 114 20" aria-hidden="true" focusable="false">{}</svg>'
        "<span>{}</span></span>",
        dots,
        text,
    )


def _fill(place: int, here: int) -> str:
    return "currentColor" if place <= here else "none"


@register.inclusion_tag("shop/_route.html")
def route(
    current: Any, exit: Any = None, notes: Mapping[str, Any] | None = None, exit_label: str = ""
) -> dict[str, Any]:
    """Draw the whole route with the stage reached; ``notes`` gives a date or name per stage."""
    here = ROUTE.index(_words(current)) if _words(current) in ROUTE else -1
    noted = {_words(key): note for key, note in (notes or {}).items()}
    stops = [
        {
            "word": word,
            "state": "done" if place < here else "here" if place == here and not exit else "to-come",
            "note": noted.get(word, ""),
        }
        for place, word in enumerate(ROUTE)
    ]
    if exit:
        stops = [dict(stop, state="done") for stop in stops[: here + 1]]
        stops.append(
            {"word": exit_label or _words(exit), "state": "exit", "note": noted.get(_words(exit), "")}
        )
    return {"stops": stops}


def serial_groups(text: str) -> list[str]:
    """Split a serial for reading aloud: at its own dashes or blanks, else by three."""
    parts = [part for part in re.split(r"[\s-]+", text.strip()) if part]
    if len(parts) > 1:
        return parts
    return re.findall(".{1,3}", parts[0]) if parts else []


@register.simple_tag
def serial(text: Any, href: str | None = None) -> SafeString:
    """Draw a serial as a wired tag, in groups; copying gives it without gaps."""
    whole = str(text)
    groups = serial_groups(whole)
    shown = format_html_join("", "<i>{}</i>", ((group,) for group in groups))
    spoken = ", ".join(" ".join(group) for group in groups)
    tag = mark_safe("a") if href else mark_safe("span")
    link = format_html(' href="{}"', href) if href else ""
    return format_html(
        '<{0} class="serial" data-serial="{1}"{2}><span class="visually-hidden">{3}</span>'
        '<span aria-hidden="true">{4}</span></{0}>',
        tag,
        whole,
        link,
        spoken,
        shown,
    )


@register.simple_tag
def quantity(value: Any, unit: str = "", places: int | None = None) -> SafeString:
    """Write a number with its unit, not broken over lines; None becomes a dash that is read out."""
    if value is None or value == "":
        return mark_safe('<span aria-hidden="true">–</span><span class="visually-hidden">none</span>')
    number = isinstance(value, int | float | Decimal)
    text = number_format(value, places, use_l10n=True, force_grouping=False) if number else value
    tail = format_html('\u202f<span class="unit">{}</span>', unit) if unit else ""
    return format_html('<span class="figure">{}{}</span>', text, tail)


@register.simple_tag(takes_context=True)
def form_token(context: Context, form: Any = None) -> SafeString:
    """Hidden one-use token; a refused form keeps the token it was sent with.

    With ``form`` given, only a bound form keeps it: two forms on one page never share a token.
    """
    request = context.get("request")
    posted = request.POST.get("form_token", "") if request and request.method == "POST" else ""
    keep = re.fullmatch("[0-9a-f]{32}", posted) and (form is None or form.is_bound)
    value = posted if keep else uuid.uuid4().hex
    return format_html('<input type="hidden" name="form_token" value="{}">', value)


@register.filter
def message_kind(level: str) -> str:
    """Return the kind of mark that goes with a level of Django's messages."""
    return {"success": "good", "error": "bad", "warning": "warn"}.get(level, "plain")


@register.filter
def minutes(span: timedelta) -> int:
    """Return a time span in whole minutes, rounded up."""
    return -(-int(span.total_seconds()) // 60)


@register.filter
def field_kind(field: BoundField) -> str:
    """Name the way a field is drawn: tiles, check, file, unit or plain."""
    widget = field.field.widget
    input_type = getattr(widget, "input_type", "")
    if input_type in ("radio", "checkbox") and field.use_fieldset:
        return "tiles"
    if input_type in ("checkbox", "file"):
        return {"checkbox": "check", "file": "file"}[input_type]
    return "unit" if widget.attrs.get("data-unit") else "plain"


@register.filter
def unit_of(field: BoundField) -> str:
    """Return the unit a number field shows after its control."""
    return str(field.field.widget.attrs.get("data-unit", ""))


@register.simple_tag
def control(field: BoundField) -> SafeString:
    """Draw the control of a field; the only wrong field of a form takes the focus."""
    takes_focus = getattr(field.form, "only_error", "") == field.name
    attrs = {"data-focus": True, "autofocus": True} if takes_focus else {}
    return field.as_widget(attrs=attrs)
