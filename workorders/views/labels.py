"""Labels and wired tags, of one unit or of a whole work order; nothing here changes a record."""

from collections.abc import Sequence

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.documents import label as printing
from shop.errors import RuleBroken
from shop.models import ShopProfile
from shop.views.answers import needs
from workorders.documents.unit_label import UnitLabel, unit_address
from workorders.models import Rebuild, Unit, WorkOrder
from workorders.views import trails

TAG = "tag"
PDF, PNG = "pdf", "png"
TYPES = {PDF: "application/pdf", PNG: "image/png"}


@require_GET
@needs("labels")
def labels(request: HttpRequest, serial: str) -> HttpResponse:
    """Choose the stock for one unit's label, with a picture of each."""
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    latest = unit.rebuilds.select_related("work_order").first()
    context = {**_choices(request), "unit": unit, "trail": trails.to_unit(unit, latest)}
    return render(request, "workorders/labels.html", context)


@require_GET
@needs("labels")
def work_order_labels(request: HttpRequest, number: str) -> HttpResponse:
    """Choose the stock for the labels of every unit of a work order."""
    order = get_object_or_404(WorkOrder, number=number)
    rebuilds = order.rebuilds.select_related("unit__unit_type").order_by("pk")
    context = {**_choices(request), "order": order, "rebuilds": rebuilds, "trail": trails.to_order(order)}
    return render(request, "workorders/work_order_labels.html", context)


def paper_size() -> str:
    """Return the paper of the shop's printers."""
    profile = ShopProfile.objects.first()
    return profile.paper_size if profile else "A4"


def _choices(request: HttpRequest) -> dict[str, object]:
    paper = paper_size()
    sheets = sorted(printing.SHEET_STOCKS.values(), key=lambda sheet: sheet.page != paper)
    return {
        "dpi": _dpi(request),
        "resolutions": printing.PRINTER_DPI,
        "stocks": [printing.LABEL_STOCKS[name] for name in settings.LABEL_STOCKS],
        "sheets": sheets,
        "tag": printing.WIRED_TAG,
    }


@require_GET
@needs("labels")
def label_file(request: HttpRequest, serial: str, paper: str, kind: str) -> HttpResponse:
    """One unit's label or tag as a file."""
    unit = get_object_or_404(Unit.objects.select_related("unit_type"), serial=serial)
    latest = unit.rebuilds.select_related("work_order").first()
    return label_answer(request, [_label(unit, latest)], paper, kind, unit.serial)


@require_GET
@needs("labels")
def work_order_label_file(request: HttpRequest, number: str, paper: str) -> HttpResponse:
    """The labels or tags of every unit of a work order as one PDF."""
    order = get_object_or_404(WorkOrder, number=number)
    rebuilds = order.rebuilds.select_related("unit__unit_type", "work_order").order_by("pk")
    return label_answer(request, [_label(row.unit, row) for row in rebuilds], paper, PDF, order.number)


def _label(unit: Unit, rebuild: Rebuild | None) -> printing.Label:
    return UnitLabel(
        serial=unit.serial,
        address=unit_address(settings.PUBLIC_ADDRESS, unit.serial),
        unit_type=str(unit.unit_type),
        work_order=rebuild.work_order.number if rebuild else "",
        received=timezone.localdate(rebuild.received_at) if rebuild else None,
    ).as_label()


def label_answer(
    request: HttpRequest, wanted: Sequence[printing.Label], paper: str, kind: str, name: str
) -> HttpResponse:
    """Answer with the file; a wrong paper is 404, what cannot be printed says why with 422."""
    try:
        data = _bytes(request, wanted, paper, kind)
    except printing.LabelError as error:
        raise RuleBroken(str(error)) from error
    response = HttpResponse(data, content_type=TYPES[kind])
    shown = "inline" if kind == PNG else "attachment"
    response["Content-Disposition"] = f'{shown}; filename="{name}-{paper}.{kind}"'
    return response


def _bytes(request: HttpRequest, wanted: Sequence[printing.Label], paper: str, kind: str) -> bytes:
    dpi = _dpi(request)
    if paper in printing.SHEET_STOCKS and kind == PDF:
        return printing.sheet_pdf(wanted, printing.SHEET_STOCKS[paper], start=_start(request))
    if paper == TAG and kind in TYPES:
        return printing.tag_png(wanted[0], dpi=dpi) if kind == PNG else printing.tag_pdf(wanted, dpi=dpi)
    if paper in settings.LABEL_STOCKS and kind in TYPES:
        stock = printing.LABEL_STOCKS[paper]
        if kind == PNG:
            return printing.label_png(wanted[0], stock, dpi=dpi)
        return printing.label_pdf(wanted, stock, dpi=dpi)
    raise Http404(f"There is no {kind} of labels on {paper}.")


def _dpi(request: HttpRequest) -> int:
    """Read the printer's resolution; 300 dots per inch where none was chosen."""
    wanted = request.GET.get("dpi", str(printing.PRINTER_DPI[-1]))
    for dpi in printing.PRINTER_DPI:
        if wanted == str(dpi):
            return dpi
    raise Http404(f"There is no label for {wanted} dpi.")


def _start(request: HttpRequest) -> int:
    start = request.GET.get("start", "1").strip()
    if not start.isdecimal():
        raise RuleBroken(
            "The first free place on the sheet is a whole number, counted along the rows from 1."
        )
    return int(start)
