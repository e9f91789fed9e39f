"""Labels as files and the choice of their stock, for every page that prints labels."""

from collections.abc import Sequence

from django.conf import settings
from django.http import Http404, HttpRequest, HttpResponse

from shop.documents import label as printing
from shop.errors import RuleBroken
from shop.models import ShopProfile

TAG = "tag"
PDF, PNG = "pdf", "png"
TYPES = {PDF: "application/pdf", PNG: "image/png"}


def paper_size() -> str:
    """Return the paper of the shop's printers."""
    profile = ShopProfile.objects.first()
    return profile.paper_size if profile else "A4"


def label_choices(request: HttpRequest) -> dict[str, object]:
    """Return what the choice of a label shows: stocks, sheets and resolutions."""
    paper = paper_size()
    sheets = sorted(printing.SHEET_STOCKS.values(), key=lambda sheet: sheet.page != paper)
    return {
        "dpi": _dpi(request),
        "resolutions": printing.PRINTER_DPI,
        "stocks": [printing.LABEL_STOCKS[name] for name in settings.LABEL_STOCKS],
        "sheets": sheets,
        "tag": printing.WIRED_TAG,
    }


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
