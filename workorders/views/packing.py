"""The packing bench: begun, scanned full, closed parcel by parcel, sent off."""

from collections.abc import Callable
from typing import Any

from django.contrib import messages
from django.forms import Form
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.models import Step
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs
from workorders.calc.serial import grouped
from workorders.forms import packing as forms
from workorders.models import PackingLine, PackingParcel, PackingUnit, Rebuild, WorkOrder
from workorders.services import packing as service
from workorders.services.exchanges import cores_for, fitting_types
from workorders.services.packing_page import Bench, bench_of, happened
from workorders.services.packing_scans import Taken, take_scan
from workorders.views.packing_of import (
    address_of,
    line_of,
    order_of,
    packing_of,
    parcel_of,
    to_bench,
    unit_of,
)
from workorders.views.technique import panels_of
from workorders.views.trails import to_order

BOTH = ["GET", "POST"]
MOST_CORES = 50


def _number(request: HttpRequest, name: str) -> int:
    told = request.GET.get(name, "")
    return int(told) if told.isdigit() and len(told) < 10 else 0


def _context(request: HttpRequest, bench: Bench, line_form: tuple[int, Form] | None = None) -> dict[str, Any]:
    """Return what the bench page shows; fluids get a field for their millilitres."""
    may_ship = may(request.user, "ship")
    for unit in bench.in_hand.units if bench.in_hand else ():
        for line in unit.lines:
            line.form = _line_form(line) if line.is_open and line.kind in PackingLine.FLUIDS else None
            if line_form and line_form[0] == line.pk and line.form:
                line.form = line_form[1]
    return {
        "trail": to_order(bench.order),
        "bench": bench,
        "panels": panels_of(request, *bench.at_hand, step=Step.PACKING) if may_ship else [],
        "order": bench.order,
        "scan": forms.PackingScanForm(initial={"unit": bench.unit or None}),
        "may_ship": may_ship,
        "refusal": refusal(request.user, "ship"),
        "happened": happened(bench.packing) if bench.packing else [],
    }


def _line_form(line: PackingLine, data: Any = None) -> forms.PackLineForm:
    form = forms.PackLineForm(data, auto_id=f"line{line.pk}_%s", initial={"volume_ml": line.volume_ml})
    if line.kind == PackingLine.Kind.INSIDE:
        del form.fields["lot"]
    return form


def _answer(
    request: HttpRequest,
    order: WorkOrder,
    form: Form,
    write: Callable[[dict[str, Any]], str],
    *,
    parcel: int = 0,
    unit: int = 0,
    line_form: tuple[int, Form] | None = None,
) -> HttpResponse:
    """Answer an act of the bench; what is refused is said on top of it."""
    context: dict[str, Any] = {}
    if request.method == "POST":
        bench = bench_of(order, parcel=parcel, unit=unit, shelf=True)
        context = _context(request, bench, line_form)
        if isinstance(form, forms.PackingScanForm):
            context["scan"] = form
    return answer_form(request, form=form, template="workorders/pack.html", write=write, context=context)


@require_GET
@needs("see")
def pack(request: HttpRequest, number: str) -> HttpResponse:
    """The bench of a work order: what is packed, what is ready, what is still in work, what has left."""
    bench = bench_of(
        order_of(number), parcel=_number(request, "parcel"), unit=_number(request, "unit"), shelf=True
    )
    return render(request, "workorders/pack.html", _context(request, bench))


@require_POST
@needs("ship")
def begin(request: HttpRequest, number: str) -> HttpResponse:
    """Begin to pack."""
    order = order_of(number)

    def write(_data: dict[str, Any]) -> str:
        return service.begin_packing(act=act_of(request), work_order=order).get_absolute_url()

    return _answer(request, order, forms.PressForm(request.POST), write)


@require_POST
@needs("ship")
def scan(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a scan into the parcel in hand."""
    parcel = parcel_of(pk)
    order = parcel.packing.work_order
    form = forms.PackingScanForm(request.POST)

    def write(data: dict[str, Any]) -> str:
        lying = PackingUnit.objects.lying().filter(parcel__packing=parcel.packing_id)
        unit = lying.filter(pk=data["unit"] or 0).first()
        return _scanned(request, take_scan(act=act_of(request), parcel=parcel, code=data["code"], unit=unit))

    return _answer(request, order, form, write, parcel=parcel.number)


def _scanned(request: HttpRequest, taken: Taken) -> str:
    if taken.ask_core:
        return reverse("workorders:packing_exchange", args=[taken.parcel.pk, taken.ask_core.pk])
    messages.success(request, taken.sentence)
    if taken.warning:
        messages.warning(request, taken.warning)
    return address_of(taken.parcel, taken.unit)


@require_POST
@needs("ship")
def parcel_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Put another parcel on the bench."""
    packing = packing_of(pk)

    def write(_data: dict[str, Any]) -> str:
        return address_of(service.add_parcel(act=act_of(request), packing=packing))

    return _answer(request, packing.work_order, forms.PressForm(request.POST), write)


@require_POST
@needs("ship")
def put_in(request: HttpRequest, pk: int, rebuild_pk: int) -> HttpResponse:
    """Put a unit into a parcel by its name; one from the shelf asks for its core first."""
    parcel = parcel_of(pk)
    rows = Rebuild.objects.select_related("unit", "work_order__customer", "revision", "mounting_place")
    rebuild = get_object_or_404(rows, pk=rebuild_pk)

    def write(_data: dict[str, Any]) -> str:
        code = rebuild.unit.serial
        return _scanned(request, take_scan(act=act_of(request), parcel=parcel, code=code))

    form = forms.PressForm(request.POST)
    return _answer(request, parcel.packing.work_order, form, write, parcel=parcel.number)


@require_POST
@needs("ship")
def take_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a unit out of its parcel again."""
    unit = unit_of(pk)

    def write(_data: dict[str, Any]) -> str:
        service.take_out(act=act_of(request), unit=unit)
        messages.success(request, f"Taken out of {unit.parcel}: {grouped(unit.rebuild.unit.serial)}.")
        return address_of(unit.parcel)

    form = forms.PressForm(request.POST)
    return _answer(
        request, unit.parcel.packing.work_order, form, write, parcel=unit.parcel.number, unit=unit.pk
    )


@require_POST
@needs("ship")
def move(request: HttpRequest, pk: int) -> HttpResponse:
    """Lay a unit into another parcel of the bench, or into one more."""
    unit = unit_of(pk)
    order = unit.parcel.packing.work_order
    form = forms.MoveForm(request.POST, unit=unit)

    def write(data: dict[str, Any]) -> str:
        moved = service.move_unit(act=act_of(request), unit=unit, parcel=data["parcel"])
        name = grouped(unit.rebuild.unit.serial)
        messages.success(request, f"Unit {name} lies in {moved.parcel}, with what was checked of it.")
        return address_of(moved.parcel, moved)

    return _answer(request, order, form, write, parcel=unit.parcel.number, unit=unit.pk)


@require_POST
@needs("ship")
def line_pack(request: HttpRequest, pk: int) -> HttpResponse:
    """A thing lies in the parcel; of a fluid, how much."""
    line = line_of(pk)
    unit = line.packing_unit
    fluid = line.kind in PackingLine.FLUIDS
    form = _line_form(line, request.POST) if fluid else forms.PressForm(request.POST)

    def write(data: dict[str, Any]) -> str:
        amount = data.get("volume_ml")
        volume_ml = float(amount) if amount is not None else None
        service.pack_line(act=act_of(request), line=line, volume_ml=volume_ml, lot=data.get("lot"))
        return address_of(unit.parcel, unit)

    return _answer(
        request,
        unit.parcel.packing.work_order,
        form,
        write,
        parcel=unit.parcel.number,
        unit=unit.pk,
        line_form=(line.pk, form) if fluid else None,
    )


@require_POST
@needs("ship")
def line_undo(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a line again."""
    line = line_of(pk)
    unit = line.packing_unit

    def write(_data: dict[str, Any]) -> str:
        service.undo_line(act=act_of(request), line=line)
        messages.success(request, f"Undone: {line.text}. Both stay in the history.")
        return address_of(unit.parcel, unit)

    form = forms.PressForm(request.POST)
    return _answer(
        request, unit.parcel.packing.work_order, form, write, parcel=unit.parcel.number, unit=unit.pk
    )


@require_http_methods(BOTH)
@needs("ship")
def keep_back(request: HttpRequest, pk: int) -> HttpResponse:
    """A thing does not go along, and why."""
    line = line_of(pk)

    def write(data: dict[str, Any]) -> str:
        service.keep_back(act=act_of(request, data["reason"]), line=line, reason=data["reason"])
        return address_of(line.packing_unit.parcel, line.packing_unit)

    form = forms.KeepBackForm(request.POST or None)
    return _ask(request, line.packing_unit.parcel, form, "Keep back", "Keep it back", write, told=line.text)


@require_http_methods(BOTH)
@needs("ship")
def line_add(request: HttpRequest, pk: int) -> HttpResponse:
    """Something else goes along with a unit."""
    unit = unit_of(pk)

    def write(data: dict[str, Any]) -> str:
        amount = float(data["volume_ml"]) if data["volume_ml"] else None
        service.add_line(
            act=act_of(request), unit=unit, text=data["text"], fluid=data["fluid"], volume_ml=amount
        )
        return address_of(unit.parcel, unit)

    told = f"{unit.rebuild.unit.unit_type.name}, {grouped(unit.rebuild.unit.serial)}"
    form = forms.AddLineForm(request.POST or None)
    return _ask(
        request, unit.parcel, form, "Something else goes along", "Put it on the list", write, told=told
    )


@require_http_methods(BOTH)
@needs("ship")
def exchange(request: HttpRequest, pk: int, rebuild_pk: int) -> HttpResponse:
    """For which core a unit from the shelf is given."""
    parcel = parcel_of(pk)
    rows = Rebuild.objects.select_related("unit__unit_type", "work_order__customer", "revision")
    given = get_object_or_404(rows, pk=rebuild_pk, destination=Rebuild.Destination.EXCHANGE)
    customer = parcel.packing.work_order.customer
    cores = list(cores_for(given, customer, taken=request.method == "POST")[:MOST_CORES])
    form = forms.ExchangeForm(request.POST or None, cores=cores, fitting=fitting_types(given.unit.unit_type))

    def write(_data: dict[str, Any]) -> str:
        unit = service.put_in(act=act_of(request), parcel=parcel, rebuild=given, **form.told)
        messages.success(request, f"Unit {grouped(given.unit.serial)} from the shelf lies in {parcel}.")
        return address_of(parcel, unit)

    told = f"{given.unit.unit_type.name}, {grouped(given.unit.serial)}, leaves in the place of a core of "
    told += f"{parcel.packing.work_order.customer}."
    return _ask(request, parcel, form, "Exchange unit from the shelf", "Put it in", write, told=told)


@require_http_methods(BOTH)
@needs("ship")
def parcel_close(request: HttpRequest, pk: int) -> HttpResponse:
    """Close a complete parcel."""
    parcel = parcel_of(pk)
    form = forms.CloseParcelForm(request.POST or None)

    def write(_data: dict[str, Any]) -> str:
        service.close_parcel(act=act_of(request), parcel=parcel, **form.told)
        messages.success(request, f"Parcel {parcel.number} is closed.")
        return address_of(parcel)

    return _ask(request, parcel, form, f"Close parcel {parcel.number}", "Close it", write)


@require_POST
@needs("ship")
def parcel_reopen(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a closed parcel again."""
    parcel = parcel_of(pk)

    def write(_data: dict[str, Any]) -> str:
        service.reopen_parcel(act=act_of(request), parcel=parcel)
        return address_of(parcel)

    form = forms.PressForm(request.POST)
    return _answer(request, parcel.packing.work_order, form, write, parcel=parcel.number)


def _ask(
    request: HttpRequest,
    parcel: PackingParcel,
    form: Form,
    title: str,
    submit: str,
    write: Callable[[dict[str, Any]], str],
    told: str = "",
) -> HttpResponse:
    """Answer a page with one form below the bench."""
    order = parcel.packing.work_order
    context = {
        "trail": to_bench(order),
        "order": order,
        "title": title,
        "submit": submit,
        "told": told,
        "back": address_of(parcel),
    }
    return answer_form(request, form=form, template="workorders/pack_ask.html", write=write, context=context)


@require_http_methods(BOTH)
@needs("ship")
def cancel(request: HttpRequest, pk: int) -> HttpResponse:
    """Give a packing up."""
    packing = packing_of(pk)
    order = packing.work_order

    def write(data: dict[str, Any]) -> str:
        service.cancel_packing(act=act_of(request, data["why"]), packing=packing)
        messages.success(request, "The packing is given up; its units stand ready again.")
        return order.get_absolute_url()

    context = {
        "trail": to_bench(order),
        "order": order,
        "title": "Give the packing up",
        "submit": "Give it up",
        "grave": True,
        "told": "Everything is taken out of the parcels again. What was checked stays in the history.",
        "back": packing.get_absolute_url(),
    }
    form = forms.CancelPackingForm(request.POST or None)
    return answer_form(request, form=form, template="workorders/pack_ask.html", write=write, context=context)


@require_http_methods(BOTH)
@needs("ship")
def send(request: HttpRequest, pk: int) -> HttpResponse:
    """Send off what is packed; one that has left leads to its shipment."""
    packing = packing_of(pk)
    if packing.shipment and request.method == "GET":
        return redirect(packing.shipment)
    bench = bench_of(packing.work_order)

    def write(data: dict[str, Any]) -> Any:
        return service.send_off(act=act_of(request), packing=packing, **data)

    context = {
        "trail": to_bench(packing.work_order),
        "order": packing.work_order,
        "bench": bench,
        "back": packing.get_absolute_url(),
    }
    form = forms.SendForm(request.POST or None, packing=packing)
    return answer_form(request, form=form, template="workorders/pack_send.html", write=write, context=context)
