"""Parts and suppliers: lists, one part, entering and changing."""

from datetime import date
from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count, OuterRef, Q, QuerySet, Subquery, Sum
from django.db.models.functions import Coalesce
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_GET, require_http_methods

from inventory.forms.stores import PartChangeForm, PartForm, SupplierChangeForm, SupplierForm
from inventory.models import Balance, KitLine, Lot, Part, RecipeLine, Supplier
from inventory.services.making import recipe_of
from inventory.services.part_fit import PartFit, part_fit
from inventory.services.parts import save_part, save_supplier
from inventory.services.stock import KIT_PREFIX
from inventory.views import columns
from inventory.views.part_ordering import part_ordering
from shop.calc.compatibility import BASIS_WORDS, Compatibility, fluid_compatibility
from shop.calc.materials import FLUIDS
from shop.changes import changes
from shop.models import FluidFamily
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services.gland_fit import Ring, ring_of, shop_limits
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, answer_form, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list


@require_GET
@needs("see")
def parts(request: HttpRequest) -> HttpResponse:
    """List parts with what the stores can give today, narrowed by text and kind."""
    text, kind = searched(request), request.GET.get("kind", "")
    today = timezone.localdate()
    rows = Part.objects.annotate(usable=Coalesce(Subquery(usable_pieces(today)), 0))
    for word in text.split():
        rows = rows.filter(
            Q(number__icontains=word)
            | Q(name__icontains=word)
            | Q(size_designation__icontains=word)
            | Q(polymer__iexact=word)
        )
    if kind in Part.Kind.values:
        rows = rows.filter(kind=kind)
    rows = in_order(request, columns.PARTS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "kind": kind,
        "kinds": Part.Kind.choices,
        "may_enter": may(request.user, "stores"),
    }
    return answer_list(request, "inventory/parts.html", context, table=columns.PARTS, rows=rows)


def usable_pieces(today: date) -> QuerySet[Any]:
    """Return the sum of what the shelves hold of the outer part in lots that may be used."""
    in_time = Q(lot__use_by__isnull=True) | Q(lot__use_by__gte=today)
    # Joined, not by a list of lots: that list would be made anew for every balance.
    held = Balance.objects.filter(in_time, lot__part=OuterRef("pk"), lot__state=Lot.State.ACCEPTED)
    held = held.exclude(place__startswith=KIT_PREFIX)
    return held.order_by().values("lot__part").annotate(total=Sum("quantity")).values("total")


@require_GET
@needs("see")
def part(request: HttpRequest, pk: int) -> HttpResponse:
    """One part: size, material and fluids, lots, how it fits the places it is meant for, every change."""
    row = get_object_or_404(Part, pk=pk)
    lots = row.lots.select_related("supplier").annotate(stock=Sum("balances__quantity", default=0))
    lines = row.kit_lines.select_related(
        "part",
        "kit__revision__unit_type",
        "kit__revision__service_fluid",
        "position",
        "component",
        "port",
        "hose",
    )
    context = {
        "part": row,
        "lots": lots.order_by("-stock", "use_by", "number")[:50],
        "lots_in_all": row.lots.count(),
        "ring": _ring(row),
        "lines": _fits(lines),
        "fluids": list(_fluids(row)),
        "today": timezone.localdate(),
        "panels": panels_for("inventory:part", request, row),
        "recipe": recipe_of(row),
        **part_ordering(row, timezone.localdate()),
        "currency": currency_of_shop(),
        "changes": changes(row.history.all(), several=[RecipeLine.history.filter(made=row)]),
        "may_change": may(request.user, "stores"),
        "may_make": may(request.user, "make"),
        "refusal": refusal(request.user, "stores"),
    }
    return render(request, "inventory/part.html", context)


def _ring(part: Part) -> Ring | None:
    """Return the size of an O-ring in mm; None for every other part."""
    if part.kind != Part.Kind.O_RING:
        return None
    return ring_of(designation=part.size_designation)


def _fits(lines: QuerySet[KitLine]) -> list[tuple[KitLine, PartFit, str]]:
    """Return every line of a kit with how the part fits there, and the basis of the fluid in words."""
    limits = shop_limits()
    found = []
    for line in lines:
        fit = part_fit(part=line.part, place=line.place, revision=line.kit.revision, limits=limits)
        found.append((line, fit, BASIS_WORDS[fit.fluid.basis] if fit.fluid else ""))
    return found


def _fluids(part: Part) -> list[tuple[str, Compatibility, str]]:
    """Return every fluid class with the rating of the part's material and its basis in words."""
    if not part.polymer:
        return []
    found = [fluid_compatibility(polymer=part.polymer, fluid=fluid) for fluid in FLUIDS]
    return [(str(FluidFamily(row.fluid).label), row, BASIS_WORDS[row.basis]) for row in found]


@require_http_methods(["GET", "POST"])
@needs("stores")
def part_new(request: HttpRequest) -> HttpResponse:
    """Enter a part."""
    return answer_form(
        request,
        form=PartForm(request.POST or None),
        template="shop/form_page.html",
        write=lambda data: save_part(act=act_of(request), **data),
        context=_page("Enter a part", "Enter this part", ("Parts", "inventory:parts")),
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def part_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a part, with the reason."""
    row = get_object_or_404(Part, pk=pk)

    def write(data: dict[str, Any]) -> Part:
        return save_part(act=act_of(request, data.pop("why")), part=row, **data)

    context = _page(f"Change {row}", "Save the change", ("Parts", "inventory:parts"))
    context["trail"].append((row.number, row.get_absolute_url()))
    return answer_form(
        request,
        form=PartChangeForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={**context, "cancel_url": row.get_absolute_url()},
    )


@require_GET
@needs("see")
def suppliers(request: HttpRequest) -> HttpResponse:
    """List suppliers with the number of lots they delivered."""
    text = searched(request)
    rows = Supplier.objects.annotate(lots_in_all=Count("lots")).order_by("name")
    for word in text.split():
        rows = rows.filter(
            Q(name__icontains=word)
            | Q(phone__icontains=word)
            | Q(email__icontains=word)
            | Q(note__icontains=word)
        )
    rows = in_order(request, columns.SUPPLIERS, rows)
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "text": text,
        "may_enter": may(request.user, "stores"),
    }
    return answer_list(request, "inventory/suppliers.html", context, table=columns.SUPPLIERS, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("stores")
def supplier_new(request: HttpRequest) -> HttpResponse:
    """Enter a supplier."""

    def write(data: dict[str, Any]) -> str:
        save_supplier(act=act_of(request), **data)
        return reverse("inventory:suppliers")

    return answer_form(
        request,
        form=SupplierForm(request.POST or None),
        template="shop/form_page.html",
        write=write,
        context=_page("Enter a supplier", "Enter this supplier", ("Suppliers", "inventory:suppliers")),
    )


@require_http_methods(["GET", "POST"])
@needs("stores")
def supplier_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Change a supplier, with the reason; every change is listed below."""
    row = get_object_or_404(Supplier, pk=pk)

    def write(data: dict[str, Any]) -> str:
        save_supplier(act=act_of(request, data.pop("why")), supplier=row, **data)
        return reverse("inventory:suppliers")

    context = _page(f"Change {row}", "Save the change", ("Suppliers", "inventory:suppliers"))
    return answer_form(
        request,
        form=SupplierChangeForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={**context, "changes": changes(row.history.all())},
    )


def _page(title: str, submit: str, parent: tuple[str, str]) -> dict[str, Any]:
    label, url_name = parent
    url = reverse(url_name)
    return {"title": title, "submit": submit, "trail": [(label, url)], "cancel_url": url}
