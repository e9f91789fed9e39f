"""Receiving: the customer, the work order, units new and known."""

from typing import Any

from django.contrib import messages
from django.db.models import Count, Exists, OuterRef, Q, QuerySet
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from shop.models import Customer, TypeRevision, UnitType
from shop.services.customers import find_customers
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.customers import answer_new_customer, as_customer
from shop.views.units import takes_inch, unit_switch
from workorders.calc.serial import SerialError, grouped, read_scan
from workorders.forms.receiving import IntakeForm, KnownUnitForm, OpenWorkOrderForm
from workorders.forms.unknown_unit import UnknownUnitForm, seen_before
from workorders.models import Box, BoxLine, Rebuild, Unit, WorkOrder
from workorders.services import lookup
from workorders.services.box_papers import read_box_number
from workorders.services.boxes import receive_unit_of_line, refuse_foreign_order
from workorders.services.claims import pending_claim
from workorders.services.recall_state import mark_recalled
from workorders.services.receiving import (
    add_known_unit,
    add_new_unit,
    known_by_maker_serial,
    open_work_order,
    revision_to_receive,
    tidy_maker_serial,
)
from workorders.services.twins import twins_of
from workorders.services.unknown_units import add_unknown_unit
from workorders.views import trails

MOST_FOUND = 24


@require_http_methods(["GET", "POST"])
@needs("receive")
def receive(request: HttpRequest) -> HttpResponse:
    """Find the customer of a box, or enter a new one in place; the slip of a box leads to its page."""
    text = searched(request)
    number = read_box_number(text)
    if number and (box := Box.objects.filter(number=number).first()):
        return redirect(box.get_absolute_url())
    found, sent_by = _customers_for(text)
    return answer_new_customer(
        request,
        template="workorders/receive.html",
        use=lambda customer: reverse("workorders:receive_for", args=[customer.pk]),
        context={"text": text, "found": found, "sent_by": sent_by},
        initial=as_customer(text),
    )


def _customers_for(text: str) -> tuple[list[Customer], Unit | None]:
    """Find customers by what was typed; a scanned unit gives the one who sent it last."""
    if not text:
        return [], None
    try:
        unit = Unit.objects.filter(serial=read_scan(text) or "").first()
    except SerialError:
        unit = None
    if unit:
        latest = unit.rebuilds.select_related("work_order__customer").first()
        return ([latest.work_order.customer] if latest else []), unit
    return list(find_customers(text)[:MOST_FOUND]), None


@require_http_methods(["GET", "POST"])
@needs("receive")
def receive_for(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a work order for a customer, or go on with one that is open."""
    customer = get_object_or_404(Customer, pk=pk)
    form = OpenWorkOrderForm(request.POST or None, customer=customer)
    units = Rebuild.objects.filter(work_order=OuterRef("pk"))
    waiting = customer.work_orders.filter(Exists(units.open()) | ~Exists(units))
    return answer_form(
        request,
        form=form,
        template="workorders/receive_for.html",
        write=lambda _data: open_work_order(act=act_of(request), customer=customer, **form.head),
        context={
            "customer": customer,
            "waiting": waiting.annotate(units=Count("rebuilds")).order_by("-opened_at", "-pk")[:10],
            "announced": Box.objects.announced().filter(customer=customer)[:10],
            "trail": [("Receive", reverse("workorders:receive"))],
        },
    )


@require_GET
@needs("receive")
def add_unit(request: HttpRequest, number: str) -> HttpResponse:
    """Answer the field that adds a unit: a shop serial, a maker's serial, or a unit type."""
    order = get_object_or_404(WorkOrder, number=number)
    line = _line(request, order)
    text = searched(request)
    unit, problem = _scanned(text)
    types: list[Any] = [] if unit else list(_types_for(text))
    if line and line.unit_type_id:  # what the line was judged to be stands first
        types.sort(key=lambda row: row.pk != line.unit_type_id)
    live = bool(request.htmx)  # type: ignore[attr-defined]
    if unit and not live:
        known = reverse("workorders:add_known", args=[order.number, unit.serial])
        return redirect(f"{known}?line={line.pk}" if line else known)
    units = [unit] if unit else _units_with_maker_serial(text)
    mark_recalled(units)
    context = {
        "order": order,
        "line": line,
        "lines": []
        if line
        else BoxLine.objects.to_receive().filter(box__work_order=order).select_related("box"),
        "text": text,
        "problem": problem,
        "units": units,
        "types": [row for row in types if row.ready or row.provisional],
        "drafts": [row for row in types if not (row.ready or row.provisional)],
        "more": len(types) == MOST_FOUND,
        "unknown": _unknown_url(order, line),
        "trail": trails.to_order(order),
    }
    template = "workorders/_unit_choices.html" if live else "workorders/add_unit.html"
    return render(request, template, context, status=422 if problem and not live else 200)


def _line(request: HttpRequest, order: WorkOrder) -> BoxLine | None:
    """Return the line of a box that a unit is received from, where the page was opened from one."""
    pk = request.GET.get("line", "")
    if not pk:
        return None
    rows = BoxLine.objects.select_related("box__work_order")
    line = get_object_or_404(rows, pk=pk if pk.isdecimal() else 0)
    refuse_foreign_order(line, order)
    return line


def _unknown_url(order: WorkOrder, line: BoxLine | None) -> str:
    url = reverse("workorders:add_unknown", args=[order.number])
    return f"{url}?line={line.pk}" if line else url


def _from_line(line: BoxLine | None) -> dict[str, Any]:
    """Propose what the sender said about the unit."""
    return {"reported": line.symptoms} if line else {}


def _scanned(text: str) -> tuple[Unit | None, str]:
    """Read a shop serial: the unit, or a sentence that says what is wrong with it."""
    try:
        serial = read_scan(text)
    except SerialError as error:
        return None, str(error)
    if serial is None:
        return None, ""
    unit = Unit.objects.select_related("unit_type").filter(serial=serial).first()
    if unit is None:
        return None, (
            f"No unit carries the shop serial {grouped(serial)}. Compare it with the label; "
            "a unit that was never here is received as new."
        )
    return unit, ""


def _units_with_maker_serial(text: str) -> list[Unit]:
    if len(text) < 3:
        return []
    rows = Unit.objects.filter(maker_serial__icontains=tidy_maker_serial(text))
    return list(rows.select_related("unit_type")[:MOST_FOUND])


def _types_for(text: str) -> QuerySet[UnitType]:
    """Return unit types with every word of the text; without a text those received most."""
    approved = TypeRevision.objects.filter(unit_type=OuterRef("pk"), state=TypeRevision.State.APPROVED)
    types = UnitType.objects.in_use().matching(text)
    rows = types.annotate(ready=Exists(approved)).prefetch_related("maker_numbers")
    if not text:
        ready = rows.filter(Q(ready=True) | Q(provisional=True))
        return ready.annotate(seen=Count("units")).order_by("-provisional", "-seen", "code")[:MOST_FOUND]
    return rows.order_by("-ready", "-provisional", "code")[:MOST_FOUND]


@require_http_methods(["GET", "POST"])
@needs("receive")
def add_new(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Receive a unit that was never here."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    unit_type = get_object_or_404(UnitType, pk=pk)
    revision = revision_to_receive(unit_type)
    line = _line(request, order)
    read = {"maker_serial": tidy_maker_serial(request.GET.get("maker_serial", "").replace("\0", ""))[:60]}
    form = IntakeForm(
        request.POST or None, request.FILES or None, revision=revision, initial={**read, **_from_line(line)}
    )

    def write(data: dict[str, Any]) -> str:
        told = {"unit_type": unit_type, "maker_serial": data["maker_serial"], **form.intake}
        if line:
            rebuild = receive_unit_of_line(act=act_of(request), line=line, work_order=order, **told)
        else:
            rebuild = add_new_unit(act=act_of(request), work_order=order, **told)
        return _received(request, rebuild)

    posted = tidy_maker_serial(request.POST.get("maker_serial", "").replace("\0", ""))
    return answer_form(
        request,
        form=form,
        template="workorders/add_new.html",
        write=write,
        context={
            "order": order,
            "line": line,
            "unit_type": unit_type,
            "revision": revision,
            "known": known_by_maker_serial(unit_type, posted),
            "trail": trails.to_choice(order),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def add_unknown(request: HttpRequest, number: str) -> HttpResponse:
    """Receive a unit that no type fits; what was looked up before stands in the form."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    line = _line(request, order)
    initial = {**seen_before(request.GET), **_from_line(line)}
    inch = takes_inch(request)
    form = UnknownUnitForm(
        request.POST or None, request.FILES or None, revision=None, initial=initial, inch=inch
    )

    def write(data: dict[str, Any]) -> str:
        told = {"seen": form.seen, "maker_serial": data["maker_serial"], **form.intake}
        if line:
            rebuild = receive_unit_of_line(act=act_of(request), line=line, work_order=order, **told)
        else:
            rebuild = add_unknown_unit(act=act_of(request), work_order=order, **told)
        return _received(request, rebuild)

    context = {"order": order, "line": line, "trail": trails.to_choice(order)}
    context |= unit_switch(request, inch=inch)
    return answer_form(
        request, form=form, template="workorders/add_unknown.html", write=write, context=context
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def add_known(request: HttpRequest, number: str, serial: str) -> HttpResponse:
    """Receive a unit that was here before; its history stands above the form."""
    order = get_object_or_404(WorkOrder.objects.select_related("customer"), number=number)
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    passes = lookup.history_of(unit)
    claim = pending_claim(unit)
    line = _line(request, order)
    form = KnownUnitForm(
        request.POST or None,
        request.FILES or None,
        revision=revision_to_receive(unit.unit_type),
        claim=claim,
        initial={**_like_last_time(passes), **_from_line(line)},
    )

    def write(data: dict[str, Any]) -> str:
        for_claim = claim is not None and data["claim"] == claim.number
        told = {"work_order": order, "unit": unit, "for_claim": for_claim, **form.intake}
        if line:
            rebuild = receive_unit_of_line(act=act_of(request), line=line, **told)
        else:
            rebuild = add_known_unit(act=act_of(request), **told)
        return _received(request, rebuild)

    context = {
        "order": order,
        "line": line,
        "unit": unit,
        "passes": passes,
        "claim": claim,
        "trail": trails.to_choice(order),
        "answer": lookup.answer(unit, passes, on=timezone.localdate()),
        "here": next((row for row in passes if row.is_open), None),
    }
    return answer_form(request, form=form, template="workorders/add_known.html", write=write, context=context)


def _like_last_time(passes: list[Rebuild]) -> dict[str, Any]:
    """Propose what the last rebuild says; a unit that we released was opened by us."""
    if not passes:
        return {}
    opened = Rebuild.Opened.BY_US if any(row.releases.all() for row in passes) else ""
    return {"mounting_place": passes[0].mounting_place_id, "opened_before": opened}


def _received(request: HttpRequest, rebuild: Rebuild) -> str:
    """Tell what was received, warn of a twin, and return the address of the intake page."""
    messages.success(request, f"Received: unit {grouped(rebuild.unit.serial)}, {rebuild.unit.unit_type}.")
    place = rebuild.mounting_place
    twin = twins_of([place]).get(place.pk) if place else None
    if twin:
        messages.warning(
            request, f"{place} has a twin, {twin}: mark this unit and keep the parts of the two apart."
        )
    return reverse("workorders:intake", args=[rebuild.pk])
