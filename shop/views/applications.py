"""Applications with their mounting places, and the fluids that the shop meets."""

from typing import Any

from django.core.paginator import Paginator
from django.db.models import Count
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.changes import changes
from shop.forms.catalogue import ApplicationForm, FluidChangeForm, FluidForm, MountingPlaceForm
from shop.models import Application, Fluid, MountingPlace
from shop.panels import panels_for
from shop.roles import may, refusal
from shop.services import applications as writing
from shop.services.catalogue import save_fluid
from shop.views import columns
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.narrowing import with_words
from shop.views.sorting import in_order
from shop.views.tables import answer_list


def application_url(application: Application) -> str:
    """Return the address of an application's page."""
    return reverse("shop:application", args=[application.pk])


@require_GET
@needs("see")
def applications(request: HttpRequest) -> HttpResponse:
    """List applications with the number of their mounting places."""
    text = searched(request)
    rows = Application.objects.annotate(place_count=Count("places")).order_by("name", "pk")
    rows = in_order(request, columns.APPLICATIONS, with_words(rows, text, "name", "note"))
    context = {
        "text": text,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
    }
    return answer_list(request, "shop/applications.html", context, table=columns.APPLICATIONS, rows=rows)


@require_GET
@needs("see")
def application(request: HttpRequest, pk: int) -> HttpResponse:
    """One application: what sits where, and the labour to get at it."""
    row = get_object_or_404(Application, pk=pk)
    context = {
        "application": row,
        "places": row.places.select_related("unit_type", "twin_of"),
        "panels": panels_for("shop:application", request, row),
        "changes": changes(row.history.all(), several=[MountingPlace.history.filter(application=row)]),
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
    }
    return render(request, "shop/application.html", context)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def application_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Enter or change an application."""
    row = get_object_or_404(Application, pk=pk) if pk else None
    url = reverse("shop:applications")
    return answer_form(
        request,
        form=ApplicationForm(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=lambda data: application_url(
            writing.save_application(act=act_of(request), application=row, **data)
        ),
        context={
            "title": f"Change {row}" if row else "Enter an application",
            "submit": "Save the change" if row else "Enter this application",
            "trail": [("Applications", url)],
            "cancel_url": application_url(row) if row else url,
        },
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def mounting_place_edit(request: HttpRequest, pk: int, place_pk: int | None = None) -> HttpResponse:
    """Add or change a mounting place."""
    row = get_object_or_404(Application, pk=pk)
    place = get_object_or_404(MountingPlace, pk=place_pk, application=row) if place_pk else None
    url = application_url(row)

    def write(data: dict[str, Any]) -> str:
        writing.save_mounting_place(act=act_of(request), application=row, place=place, **data)
        return url

    context = {
        "title": f"Change {place.name}" if place else f"Add a mounting place to {row}",
        "submit": "Save this place" if place else "Add this place",
        "trail": [("Applications", reverse("shop:applications")), (row.name, url)],
        "cancel_url": url,
    }
    if place:
        context["remove_url"] = reverse("shop:mounting_place_remove", args=[pk, place.pk])
        context["remove_words"] = "Take this place out"
    form = MountingPlaceForm(request.POST or None, instance=place, application=row)
    return answer_form(request, form=form, template="shop/form_page.html", write=write, context=context)


@require_POST
@needs("catalogue")
def mounting_place_remove(request: HttpRequest, pk: int, place_pk: int) -> HttpResponse:
    """Take a mounting place out of an application."""

    def write() -> str:
        place = get_object_or_404(MountingPlace, pk=place_pk, application=pk)
        return application_url(writing.remove_mounting_place(act=act_of(request), place=place))

    return answer_post(request, write)


@require_GET
@needs("see")
def fluids(request: HttpRequest) -> HttpResponse:
    """List the fluids that the shop meets."""
    text = searched(request)
    rows = with_words(Fluid.objects.all(), text, "name", "family", "viscosity_grade", "note")
    rows = in_order(request, columns.FLUIDS, rows)
    context = {
        "text": text,
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "may_change": may(request.user, "catalogue"),
        "refusal": refusal(request.user, "catalogue"),
    }
    return answer_list(request, "shop/fluids.html", context, table=columns.FLUIDS, rows=rows)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def fluid_edit(request: HttpRequest, pk: int | None = None) -> HttpResponse:
    """Enter a fluid, or change one with the reason."""
    row = get_object_or_404(Fluid, pk=pk) if pk else None
    url = reverse("shop:fluids")

    def write(data: dict[str, Any]) -> str:
        save_fluid(act=act_of(request, data.pop("why", "")), fluid=row, **data)
        return url

    form_class = FluidChangeForm if row else FluidForm
    return answer_form(
        request,
        form=form_class(request.POST or None, instance=row),
        template="shop/form_page.html",
        write=write,
        context={
            "title": f"Change {row}" if row else "Enter a fluid",
            "submit": "Save the change" if row else "Enter this fluid",
            "trail": [("Fluids", url)],
            "cancel_url": url,
            "changes": changes(row.history.all()) if row else None,
        },
    )
