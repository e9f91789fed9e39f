"""Boxes: the list, one of them, announced by the desk, received, sorted, closed."""

from typing import Any

from django.conf import settings
from django.core.paginator import Paginator
from django.db.models import Count, Exists, F, OuterRef, Prefetch, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.changes import changes
from shop.documents import label as printing
from shop.models import Customer
from shop.roles import may, refusal
from shop.services.customers import find_customers
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.customers import answer_new_customer, as_customer
from shop.views.label_files import PDF, label_answer, paper_size
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.boxes import (
    AnnounceForm,
    BoxOrderForm,
    BoxPhotosForm,
    ChangeBoxForm,
    LineForm,
    ReceiveBoxForm,
    SenderForm,
)
from workorders.forms.receiving import ReasonForm
from workorders.models import Box, BoxLine, Rebuild, WorkOrder
from workorders.services import boxes
from workorders.services.box_papers import box_label, print_slip, tray_tags
from workorders.views import columns, trails
from workorders.views.narrowing import with_words_or_scan

MOST_FOUND = 24
SEARCHED = (
    "number",
    "sender_as_written",
    "customer__name",
    "work_order__customer__name",
    "work_order__number",
    "customer_order",
    "carrier",
    "tracking",
    "shelf",
)
# Common practice, no source.
BEFORE_OPENING = (
    "A unit may still hold pressure or a loaded spring: loosen no fitting to see what it is.",
    "Oil that leaked into the box is slippery and may burn: gloves, a tray, nothing hot nearby.",
    "Two people lift what one should not. Local rules come first.",
)
FILTERS = (
    ("open", "Open"),
    ("announced", "On their way"),
    ("to_sort", "To sort"),
    ("unidentified", "Not identified"),
    ("all", "All"),
)


def _box(number: str) -> Box:
    rows = Box.objects.select_related(
        "customer", "work_order__customer", "announced_by", "received_by", "closed_by"
    )
    return get_object_or_404(rows, number=number)


@require_GET
@needs("see")
def box_list(request: HttpRequest) -> HttpResponse:
    """List boxes: the open ones, or those of one state, narrowed by text."""
    show, text = request.GET.get("show", "open"), searched(request)
    rows = Box.objects.all()
    if show in ("open", "announced", "to_sort", "unidentified"):
        rows = getattr(rows, show)()
    left = BoxLine.objects.filter(outcome=BoxLine.Outcome.UNIDENTIFIED).select_related("unit_type")
    rows = (
        rows.select_related("customer", "work_order__customer")
        .prefetch_related(Prefetch("lines", left, to_attr="left"))
        .annotate(units=Count("lines"), sorted_units=Count("lines", filter=~Q(lines__outcome="open")))
        .order_by(F("closed_at").desc(nulls_first=True), "-pk")
    )
    rows = with_words_or_scan(rows, text, *SEARCHED, more=_on_a_line)
    rows = in_order(request, columns.BOXES, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "show": show,
        "text": text,
        "filters": FILTERS,
        "may_receive": may(request.user, "receive"),
        "may_announce": may(request.user, "announce"),
    }
    return answer_list(request, "workorders/boxes.html", context, table=columns.BOXES, rows=rows)


def _on_a_line(word: str) -> Q:
    """Return the condition of a box with a line that the word is found in."""
    lines = BoxLine.objects.filter(
        Q(what__icontains=word)
        | Q(unit_type__name__icontains=word)
        | Q(rebuild__unit__serial__icontains=word)
    )
    return Q(pk__in=lines.values("box"))


@require_GET
@needs("see")
def box_scanned(request: HttpRequest, number: str) -> HttpResponse:
    """Answer the symbol of a slip or a tag."""
    row = get_object_or_404(Box, number=number.upper())
    return redirect(row.get_absolute_url())


@require_GET
@needs("see")
def box(request: HttpRequest, number: str) -> HttpResponse:
    """One box: expected against found, its packing, what can be done next."""
    row = _box(number)
    lines = list(row.lines.select_related("unit_type", "rebuild__unit__unit_type"))
    found = changes(row.history.all(), several=[BoxLine.history.filter(box_id=row.pk)])
    context = {
        "box": row,
        "lines": lines,
        "has_units": any(line.rebuild_id for line in lines),
        "expected": sum(line.expected for line in lines),
        "photos": row.photos.select_related("file"),
        "left_to_do": boxes.left_to_do(lines) if row.received_at and row.is_open else [],
        "next_line": boxes.next_to_receive(lines) if row.work_order else None,
        "changes": [change for change in found if change.at > row.known_since],
        "paper": paper_size(),
        "stocks": [printing.LABEL_STOCKS[name] for name in settings.LABEL_STOCKS],
        "may_receive": may(request.user, "receive"),
        "may_announce": may(request.user, "announce"),
        "may_label": may(request.user, "labels"),
        "refusal": refusal(request.user, "receive"),
        "trail": trails.to_boxes(),
    }
    return render(request, "workorders/box.html", context)


@require_http_methods(["GET", "POST"])
@needs("announce")
def box_announce(request: HttpRequest) -> HttpResponse:
    """Write down a box that a customer announces on the telephone or by mail."""
    pk = request.GET.get("customer", "")
    customer = get_object_or_404(Customer, pk=pk) if pk.isdecimal() else None
    form = AnnounceForm(request.POST or None, customer=customer)

    def write(data: dict[str, Any]) -> Box:
        return boxes.announce_box(act=act_of(request), how=data["how"], customer=customer, **form.told)

    context = {"customer": customer, "trail": trails.to_boxes()}
    return answer_form(
        request, form=form, template="workorders/box_announce.html", write=write, context=context
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_new(request: HttpRequest) -> HttpResponse:
    """A box is here that nobody announced: a photo and the state of its packing are enough."""
    return _arrive(request, None)


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_receive(request: HttpRequest, number: str) -> HttpResponse:
    """An announced box is here."""
    return _arrive(request, _box(number))


def _arrive(request: HttpRequest, row: Box | None) -> HttpResponse:
    initial = {"sender_as_written": row.sender_as_written, "carrier": row.carrier} if row else {}
    form = ReceiveBoxForm(request.POST or None, request.FILES or None, initial=initial)

    def write(_data: dict[str, Any]) -> Box:
        return boxes.receive_box(act=act_of(request), box=row, photos=form.uploads, **form.arrival)

    context = {
        "box": row,
        "cautions": BEFORE_OPENING,
        "waiting": Box.objects.announced().select_related("customer")[:MOST_FOUND] if row is None else (),
        "trail": trails.to_box(row) if row else trails.to_boxes(),
    }
    return answer_form(
        request, form=form, template="workorders/box_receive.html", write=write, context=context
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_change(request: HttpRequest, number: str) -> HttpResponse:
    """Correct what was written down of a box, or where it is now, with the reason."""
    row = _box(number)

    def write(data: dict[str, Any]) -> Box:
        return boxes.change_box(act=act_of(request, data.pop("why")), box=row, **data)

    return answer_form(
        request,
        form=ChangeBoxForm(request.POST or None, box=row),
        template="workorders/box_change.html",
        write=write,
        context={"box": row, "trail": trails.to_box(row)},
    )


@require_http_methods(["GET", "POST"])
@needs("announce")
def box_sender(request: HttpRequest, number: str) -> HttpResponse:
    """Find the customer whose box it is, by what is written on it at first, or enter a new one in place."""
    row, text = _box(number), searched(request)
    if "q" not in request.GET and row.sender is None:
        text = row.sender_as_written
    named = "workorders:box_sender_named"

    def enter(customer: Customer) -> str:
        if row.sender:  # another one than before: the next page asks for the reason
            return reverse(named, args=[row.number, customer.pk])
        return boxes.name_sender(act=act_of(request), box=row, customer=customer).get_absolute_url()

    return answer_new_customer(
        request,
        template="workorders/box_sender.html",
        use=lambda customer: reverse(named, args=[row.number, customer.pk]),
        entered=enter,
        context={
            "box": row,
            "text": text,
            "found": find_customers(text)[:MOST_FOUND] if text else [],
            "trail": trails.to_box(row),
        },
        initial=as_customer(text),
    )


@require_http_methods(["GET", "POST"])
@needs("announce")
def box_sender_named(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Name one customer as the sender; a change needs the reason."""
    row, customer = _box(number), get_object_or_404(Customer, pk=pk)
    return answer_form(
        request,
        form=SenderForm(request.POST or None, first=row.sender in (None, customer)),
        template="workorders/box_sender_named.html",
        write=lambda data: boxes.name_sender(
            act=act_of(request, data.get("why", "")), box=row, customer=customer
        ),
        context={"box": row, "customer": customer, "trail": trails.to_box(row)},
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_order(request: HttpRequest, number: str) -> HttpResponse:
    """Open a work order for the box, or choose an open one of the same customer."""
    row = _box(number)
    template, context = "workorders/box_order.html", {"box": row, "trail": trails.to_box(row)}
    if row.sender is None:
        return render(request, template, context, status=422 if request.method == "POST" else 200)
    units = Rebuild.objects.filter(work_order=OuterRef("pk"))
    waiting = WorkOrder.objects.filter(Exists(units.open()) | ~Exists(units), customer=row.sender)
    form = BoxOrderForm(request.POST or None, box=row, waiting=list(waiting[:10]))
    return answer_form(
        request,
        form=form,
        template=template,
        write=lambda _data: boxes.put_into_work_order(act=act_of(request), box=row, **form.told),
        context=context,
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_line_new(request: HttpRequest, number: str) -> HttpResponse:
    """Write down a unit that lies in the box and that nobody announced."""
    row = _box(number)
    return answer_form(
        request,
        form=LineForm(request.POST or None, line=None, known_box=bool(row.announced_at)),
        template="workorders/box_line.html",
        write=lambda data: boxes.add_line(act=act_of(request), box=row, **data).box,
        context={"box": row, "line": None, "trail": trails.to_box(row)},
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_line(request: HttpRequest, number: str, order: int) -> HttpResponse:
    """Say what became of one line."""
    row = _box(number)
    line = get_object_or_404(row.lines.select_related("rebuild__unit"), order=order)
    initial = {"what": line.what, "unit_type": line.unit_type_id, "note": line.note, "outcome": line.outcome}
    form = LineForm(request.POST or None, line=line, known_box=bool(row.announced_at), initial=initial)

    def write(data: dict[str, Any]) -> Box:
        return boxes.judge_line(act=act_of(request), line=line, **data).box

    context = {"box": row, "line": line, "trail": trails.to_box(row)}
    return answer_form(request, form=form, template="workorders/box_line.html", write=write, context=context)


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_photos(request: HttpRequest, number: str) -> HttpResponse:
    """Add photos of the packing or of what lies in the box."""
    row = _box(number)
    form = BoxPhotosForm(request.POST or None, request.FILES or None)
    return answer_form(
        request,
        form=form,
        template="workorders/box_photos.html",
        write=lambda data: boxes.add_box_photos(
            act=act_of(request), box=row, photos=form.uploads, caption=data["caption"]
        ),
        context={"box": row, "photos": row.photos.select_related("file"), "trail": trails.to_box(row)},
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_close(request: HttpRequest, number: str) -> HttpResponse:
    """Close a box, or say what is left to do; one that never came needs the reason."""
    row = _box(number)
    lines = list(row.lines.all())
    came = row.received_at is not None
    form = ReasonForm(request.POST or None)
    if came:
        form.fields.pop("why")
    return answer_form(
        request,
        form=form,
        template="workorders/box_close.html",
        write=lambda data: boxes.close_box(act=act_of(request, data.get("why", "")), box=row),
        context={
            "box": row,
            "left_to_do": boxes.left_to_do(lines) if came else [],
            "unidentified": [line for line in lines if line.outcome == BoxLine.Outcome.UNIDENTIFIED],
            "trail": trails.to_box(row),
        },
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def box_reopen(request: HttpRequest, number: str) -> HttpResponse:
    """Open a closed box again, with the reason."""
    row = _box(number)
    return answer_form(
        request,
        form=ReasonForm(request.POST or None),
        template="workorders/box_reopen.html",
        write=lambda data: boxes.reopen_box(act=act_of(request, data["why"]), box=row),
        context={"box": row, "trail": trails.to_box(row)},
    )


@require_GET
@needs("see")
def box_slip(request: HttpRequest, number: str) -> HttpResponse:
    """The slip to put into the box, as PDF."""
    return slip_answer(_box(number))


def slip_answer(row: Box) -> HttpResponse:
    """Answer with the slip of a box."""
    response = HttpResponse(print_slip(row), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="{row.number}-slip.pdf"'
    return response


@require_GET
@needs("labels")
def box_tags(request: HttpRequest, number: str, paper: str) -> HttpResponse:
    """The tags of the trays, one for each line that is here, as one PDF."""
    row = _box(number)
    tags = tray_tags(row, row.lines.all())
    return label_answer(request, tags, paper, PDF, f"{row.number}-tags")


@require_GET
@needs("labels")
def box_own_label(request: HttpRequest, number: str, paper: str) -> HttpResponse:
    """The label of the box itself, as PDF."""
    row = _box(number)
    return label_answer(request, [box_label(row)], paper, PDF, f"{row.number}-label")
