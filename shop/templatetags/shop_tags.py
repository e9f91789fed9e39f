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
from django.urls import resolve
from django.utils.formats import number_format
from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString, mark_safe

from shop.panels import notices_for
from shop.roles import may

register = template.Library()

# Drawn on a 20 x 20 field; every shape differs in outline, so that it reads without colour.
SHAPES = {
    "good": '<circle cx="10" cy="10" r="9" fill="currentColor"/>'
    '<path d="M5.4 10.4l3.2 3.2 6-7" fill="none" stroke="var(--mark-in, var(--sheet))" stroke-width="2.4"/>',
    "bad": '<path d="M1.5 1.5h17v17h-17z" fill="currentColor"/>'
    '<path d="M6 6l8 8m0-8l-8 8" fill="none" stroke="var(--mark-in, var(--sheet))" stroke-width="2.4"/>',
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
    "scan": '<path d="M1.5 6V1.5H6m8 0h4.5V6m0 8v4.5H14m-8 0H1.5V14M6 6v8m2.7-8v8m2.6-8v8m2.7-8v8"'
    ' fill="none" stroke="currentColor" stroke-width="1.8"/>',
    "plain": '<path d="M3 10h14" stroke="currentColor" stroke-width="3"/>',
}
# verdict -> (word, colour class, shape)
VERDICTS = {
    "passes": ("passes", "good", "good"),
    "fails": ("fails", "bad", "bad"),
    "not decided": ("not decided", "ask", "ask"),
    "not tested": ("not yet tested", "todo", "todo"),
    "not yet tested": ("not yet tested", "todo", "todo"),
    "invalid": ("invalid", "warn", "void"),
    "recorded": ("recorded", "plain", "plain"),
}
# side exit -> its words where they differ from the stored code
EXITS = {"exchange core": "kept as exchange core"}
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
    text = label or getattr(value, "label", EXITS.get(words, words))
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
    """Draw the whole route with the stage reached; ``notes`` gives a date or name per stage.

    With ``exit`` the route ends there, after the last stage that was reached.
    """
    here = ROUTE.index(_words(current)) if _words(current) in ROUTE else -1
    told = {_words(key): note for key, note in (notes or {}).items()}
    if exit:
        words = [(word, "done") for word in ROUTE[: here + 1]] + [
            (EXITS.get(_words(exit), _words(exit)), "exit")
        ]
    else:
        words = [(word, _state(place, here)) for place, word in enumerate(ROUTE)]
    stops = [
        {"word": word, "state": state, "note": told.get(word, ""), "current": state in ("here", "exit")}
        for word, state in words
    ]
    if exit and exit_label:
        stops[-1]["word"] = exit_label
    return {"stops": stops}


def _state(place: int, here: int) -> str:
    if place == here:
        return "here"
    return "done" if place < here else "to-come"


def serial_groups(text: str) -> list[str]:
    """Split a serial for reading aloud: at its own dashes or blanks, else by three."""
    parts = [part for part in re.split(r"[\s-]+", text.strip()) if part]
    if len(parts) > 1:
        return parts
    return re.findall(".{1,3}", parts[0]) if parts else []


@register.filter
def open_to(url: str, user: Any) -> bool:
    """Tell whether a person may open the page of an address of this project; False for no address."""
    if not url:
        return False
    action = getattr(resolve(re.split("[?#]", url)[0]).func, "action", None)
    return action is None or may(user, action)


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
    text = _number(value, places) if isinstance(value, int | float | Decimal) else value
    tail = format_html('\u202f<span class="unit">{}</span>', unit) if unit else ""
    return format_html('<span class="figure">{}{}</span>', text, tail)


@register.simple_tag
def price(value: Decimal | None, currency: str = "") -> SafeString:
    """Write the price of a piece: two decimals, and as many more as it has."""
    if value is None:
        return quantity(None)
    places = -int(value.normalize().as_tuple().exponent)
    return quantity(value, currency, max(2, places))


def _number(value: float | Decimal, places: int | None) -> str:
    """Round and write a number; Django's number_format alone cuts digits off instead of rounding."""
    if places is not None:
        text = format(value, f".{places}f")
    else:
        text = format(value, ".10g") if isinstance(value, float) else str(value)
    return text if "e" in text.lower() else number_format(text, use_l10n=True, force_grouping=False)


@register.simple_tag(takes_context=True)
def sort_head(context: Context, title: str, key: str, kind: str = "") -> SafeString:
    """Draw the head of a column that sorts the list; ``key`` is the column's key, ``kind`` its class.

    Needs ``sorting`` of `answer_list`; the rest of the address stays, the page begins anew.
    """
    state, asks = context["sorting"].head(key)
    query = context["request"].GET.copy()
    query.pop("page", None)
    query["sort"] = asks
    arrow = {"ascending": "▲", "descending": "▼"}.get(state, "")
    return format_html(
        '<th scope="col"{}{}><a href="?{}">{}{}</a></th>',
        format_html(' class="{}"', kind) if kind else "",
        format_html(' aria-sort="{}"', state) if state else "",
        query.urlencode(),
        title,
        format_html(' <span aria-hidden="true">{}</span>', arrow) if arrow else "",
    )


@register.simple_tag(takes_context=True)
def form_token(context: Context, form: Any = None) -> SafeString:
    """Hidden one-use token; a refused ``form``, being bound, keeps the token it was sent with.

    Without ``form`` the token is fresh, so that two forms on one page never share one.
    """
    request = context.get("request")
    bound = form is not None and form.is_bound
    posted = request.POST.get("form_token", "") if bound and request else ""
    keep = re.fullmatch("[0-9a-f-]{32,36}", posted)
    value = posted if keep else uuid.uuid4().hex
    return format_html('<input type="hidden" name="form_token" value="{}">', value)


@register.inclusion_tag("shop/_notices.html", takes_context=True)
def notices(context: Context) -> dict[str, Any]:
    """Draw what must be known of the thing that the page is about, on every page about it."""
    request = context.get("request")
    told = notices_for(request, context.flatten()) if request else []  # type: ignore[arg-type]
    return {"notices": told, "user": getattr(request, "user", None)}


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
    attrs: dict[str, str | bool] = {"data-focus": True, "autofocus": True} if takes_focus else {}
    return field.as_widget(attrs=attrs)
