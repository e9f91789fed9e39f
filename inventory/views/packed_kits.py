"""Packed kits: the list, one kit, unpacking, and its label."""

from typing import Any

from django.conf import settings
from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from inventory.models import PackedKit
from inventory.services.kits import packed_lines, unpack_kit
from inventory.views import columns
from shop.changes import changes
from shop.documents.label import LABEL_STOCKS, PRINTER_DPI, Label, LabelError, label_pdf
from shop.errors import RuleBroken
from shop.forms.rows import WhyForm
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list


@require_GET
@needs("see")
def packed_kits(request: HttpRequest) -> HttpResponse:
    """List packed kits: those waiting, or all; narrowed by text."""
    text, everything = searched(request), bool(request.GET.get("all"))
    rows = PackedKit.objects.select_related("kit__revision__unit_type", "packed_by")
    rows = rows.annotate(pieces=Count("lines")).order_by("-packed_at", "-pk")
    if not everything:
        rows = rows.filter(state=PackedKit.State.PACKED)
    for word in text.split():
        rows = rows.filter(
            Q(code__icontains=word)
            | Q(kit__name__icontains=word)
            | Q(kit__revision__unit_type__code__icontains=word)
            | Q(document__icontains=word)
        )
    rows = in_order(request, columns.PACKED_KITS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "everything": everything,
    }
    return answer_list(request, "inventory/packed_kits.html", context, table=columns.PACKED_KITS, rows=rows)


@require_GET
@needs("see")
def packed_kit(request: HttpRequest, code: str) -> HttpResponse:
    """One packed kit: what is in it, from which lots, and whether all of it may still be used."""
    row = get_object_or_404(
        PackedKit.objects.select_related("kit__revision__unit_type", "packed_by"), code=code
    )
    today = timezone.localdate()
    lines = packed_lines(row)
    unusable = [
        line.lot for line in lines if line.lot.is_expired(today) or line.lot.state != line.lot.State.ACCEPTED
    ]
    context = {
        "packed": row,
        "lines": lines,
        "today": today,
        "unusable": unusable if row.state == PackedKit.State.PACKED else [],
        "stocks": [LABEL_STOCKS[name] for name in settings.LABEL_STOCKS],
        "resolutions": PRINTER_DPI,
        "changes": changes(row.history.all()),
        "may_pack": may(request.user, "pack_kits"),
        "refusal": refusal(request.user, "pack_kits"),
    }
    return render(request, "inventory/packed_kit.html", context)


@require_http_methods(["GET", "POST"])
@needs("pack_kits")
def packed_kit_unpack(request: HttpRequest, code: str) -> HttpResponse:
    """Put the pieces of a packed kit back on the shelf, with the reason."""
    row = get_object_or_404(PackedKit.objects.select_related("kit"), code=code)
    url = reverse("inventory:packed_kit", args=[code])

    def write(data: dict[str, Any]) -> str:
        unpack_kit(act=act_of(request, data["why"]), packed_kit=row)
        return url

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Unpack kit {row.code}",
            "note": f"{row.kit}. Every piece goes back to the place of its lot.",
            "submit": "Unpack it",
            "trail": [("Packed kits", reverse("inventory:packed_kits")), (row.code, url)],
            "cancel_url": url,
        },
    )


@require_GET
@needs("pack_kits")
def packed_kit_label(request: HttpRequest, code: str, stock: str, dpi: int) -> HttpResponse:
    """The label of a packed kit as PDF; its QR symbol is the bare code, which the bench scans."""
    row = get_object_or_404(PackedKit.objects.select_related("kit__revision__unit_type"), code=code)
    if stock not in LABEL_STOCKS or dpi not in PRINTER_DPI:
        raise Http404("There is no label of that size or resolution.")
    label = Label(
        address=row.code,
        big=row.code,
        lines=(row.kit.name, str(row.kit.revision), f"Packed {timezone.localtime(row.packed_at):%d %b %Y}"),
    )
    try:
        data = label_pdf([label], LABEL_STOCKS[stock], dpi=dpi)
    except LabelError as error:
        raise RuleBroken(str(error)) from error
    response = HttpResponse(data, content_type="application/pdf")
    response["Content-Disposition"] = f'attachment; filename="{row.code}-{stock}-{dpi}dpi.pdf"'
    return response
