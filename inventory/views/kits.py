"""Kits: which part renews which place of a revision."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import reduce
from operator import or_
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, Q
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from inventory.forms.kits import KitLineForm, PackKitForm
from inventory.models import Kit, KitLine, Lot, PackedKit
from inventory.services.kit_lines import make_kit, remove_kit_line, save_kit_line
from inventory.services.kits import PlaceChoice, kit_choices, lines_of, pack_kit
from inventory.services.part_fit import Place
from inventory.services.upgrades import MaterialCheck, material_checks
from inventory.views import columns
from shop.changes import changes
from shop.forms.rows import WhyForm
from shop.models import TypeRevision
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list, table_file

UPGRADED_LINES = reduce(or_, (Q(**{f"lines__{name}": True}) for name in KitLine.UPGRADES))


@require_GET
@needs("see")
def kits(request: HttpRequest) -> HttpResponse:
    """List kits with what is packed of each; superseded revisions only on request."""
    text, old = searched(request), bool(request.GET.get("old"))
    rows = Kit.objects.select_related("revision__unit_type").order_by(
        "revision__unit_type__code", "-revision__number"
    )
    if not old:
        rows = rows.exclude(revision__state=TypeRevision.State.SUPERSEDED)
    for word in text.split():
        rows = rows.filter(
            Q(name__icontains=word)
            | Q(revision__unit_type__code__icontains=word)
            | Q(revision__unit_type__name__icontains=word)
        )
    rows = rows.annotate(
        line_count=Count("lines", distinct=True),
        upgrade_count=Count("lines", filter=UPGRADED_LINES, distinct=True),
        packed_count=Count("packed", filter=Q(packed__state=PackedKit.State.PACKED), distinct=True),
    )
    rows = in_order(request, columns.KITS, rows)
    context = {"page": Paginator(rows, 50).get_page(request.GET.get("page")), "text": text, "old": old}
    return answer_list(request, "inventory/kits.html", context, table=columns.KITS, rows=rows)


@require_GET
@needs("see")
def kit(request: HttpRequest, pk: int) -> HttpResponse:
    """One kit: every place with its parts in order, and what the stores can give of each."""
    rows = Kit.objects.select_related("revision__unit_type", "revision__service_fluid")
    row = get_object_or_404(rows, pk=pk)
    places = kit_choices(revision=row.revision, on=timezone.localdate())
    if "format" in request.GET:
        return table_file(table=columns.KIT_LINES, form=request.GET["format"], rows=lines_of(row))
    superseded = row.revision.state == TypeRevision.State.SUPERSEDED
    context = {
        "kit": row,
        "places": places,
        "rows": _rows(row, places),
        "short": [choice.place for choice in places if choice.required and not choice.proposed],
        "packed": row.packed.filter(state=PackedKit.State.PACKED).select_related("packed_by"),
        "panels": panels_for("inventory:kit", request, row),
        "changes": changes(row.history.all(), several=[KitLine.history.filter(kit=row)]),
        "superseded": superseded,
        "may_edit": may(request.user, "catalogue") and not superseded,
        "may_change": may(request.user, "catalogue"),
        "may_pack": may(request.user, "pack_kits"),
        "refusal": refusal(request.user, "catalogue"),
        "pack_refusal": refusal(request.user, "pack_kits"),
    }
    return render(request, "inventory/kit.html", context)


@dataclass(frozen=True)
class KitRow:
    """One line on the page of a kit, with its place, its lots and what is known of its material."""

    place: Place
    line: KitLine
    lots: Sequence[Lot]
    check: MaterialCheck


def _rows(kit: Kit, places: Iterable[PlaceChoice]) -> list[KitRow]:
    choices = [
        (choice.place, each) for choice in places for option in choice.options for each in option.lines
    ]
    checks = material_checks((each.line for _place, each in choices), kit.revision)
    return [KitRow(place, each.line, each.lots, checks[each.line.pk]) for place, each in choices]


@require_POST
@needs("catalogue")
def kit_make(request: HttpRequest, revision_pk: int) -> HttpResponse:
    """Give a revision its kit, copied from the latest earlier revision that has one."""
    revision = get_object_or_404(TypeRevision, pk=revision_pk)
    earlier = Kit.objects.filter(
        revision__unit_type=revision.unit_type_id, revision__number__lt=revision.number
    ).order_by("-revision__number")
    copy_from = earlier.first() if request.POST.get("copy") else None

    def write() -> str:
        row = make_kit(
            act=act_of(request, "first kit of this revision"), revision=revision, copy_from=copy_from
        )
        return reverse("inventory:kit", args=[row.pk])

    return answer_post(request, write)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def kit_line_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add a line to a kit."""
    row = get_object_or_404(Kit.objects.select_related("revision__unit_type"), pk=pk)
    asked = {"place": request.GET.get("place", "")}
    return _answer_line(request, row, KitLineForm(request.POST or None, kit=row, initial=asked), None)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def kit_line_change(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """Change a line of a kit."""
    row = get_object_or_404(Kit.objects.select_related("revision__unit_type"), pk=pk)
    line = get_object_or_404(row.lines.select_related("position", "component", "port", "hose"), pk=line_pk)
    kind = next(kind for kind in ("position", "component", "port", "hose") if getattr(line, f"{kind}_id"))
    form = KitLineForm(
        request.POST or None, kit=row, instance=line, initial={"place": f"{kind}-{line.place.pk}"}
    )
    return _answer_line(request, row, form, line)


def _answer_line(request: HttpRequest, kit: Kit, form: KitLineForm, line: KitLine | None) -> HttpResponse:
    url = reverse("inventory:kit", args=[kit.pk])

    def write(data: dict[str, Any]) -> str:
        act = act_of(request, data.pop("why", ""))
        save_kit_line(act=act, kit=kit, line=line, **data)
        return url

    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Change a part of {kit}" if line else f"Add a part to {kit}",
            "submit": "Save this part" if line else "Add this part",
            "trail": [("Kits", reverse("inventory:kits")), (kit.name, url)],
            "links": [
                ("Take it out of the kit", reverse("inventory:kit_line_remove", args=[kit.pk, line.pk]))
            ]
            if line
            else [],
            "cancel_url": url,
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def kit_line_remove(request: HttpRequest, pk: int, line_pk: int) -> HttpResponse:
    """Take a line out of a kit, with the reason."""
    kit = get_object_or_404(Kit, pk=pk)
    url = reverse("inventory:kit", args=[pk])
    lines = kit.lines.select_related("kit__revision", "part", "position", "component", "port", "hose")
    line = lines.filter(pk=line_pk).first()
    if request.method == "GET" and not line:
        raise Http404("This kit has no such line.")

    # Looked up inside the write: a repeated request still gets the answer of the first.
    def write(data: dict[str, Any]) -> str:
        remove_kit_line(act=act_of(request, data["why"]), line=get_object_or_404(lines, pk=line_pk))
        return url

    return answer_form(
        request,
        form=WhyForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Take {line.part} out of {kit}" if line else f"Take a part out of {kit}",
            "note": f"It is the part for {line.place}." if line else "",
            "submit": "Take it out",
            "trail": [("Kits", reverse("inventory:kits")), (kit.name, url)],
            "cancel_url": url,
        },
    )


@require_http_methods(["GET", "POST"])
@needs("pack_kits")
def kit_pack(request: HttpRequest, pk: int) -> HttpResponse:
    """Pack a kit: one lot for each line, the first to expire proposed."""
    row = get_object_or_404(Kit.objects.select_related("revision__unit_type"), pk=pk)
    choices = kit_choices(revision=row.revision, on=timezone.localdate())
    form = PackKitForm(request.POST or None, choices=choices)
    url = reverse("inventory:kit", args=[pk])

    def write(data: dict[str, Any]) -> str:
        packed = pack_kit(act=act_of(request), kit=row, lots=form.lots, lot_reason=data["lot_reason"])
        return reverse("inventory:packed_kit", args=[packed.code])

    return answer_form(
        request,
        form=form,
        template="inventory/kit_pack.html",
        write=write,
        context={
            "kit": row,
            "short": [choice.place for choice in choices if choice.required and not choice.proposed],
            "trail": [("Kits", reverse("inventory:kits")), (row.name, url)],
            "cancel_url": url,
        },
    )
