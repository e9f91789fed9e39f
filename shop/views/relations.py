"""Relations of a unit type: makers' numbers, variants, interchange, reference photos."""

from collections.abc import Callable
from typing import Any

from django.db import models
from django.forms import Form
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shop.forms.relations import (
    ChangePhotoForm,
    InterchangeForm,
    MakerNumberForm,
    ReferencePhotoForm,
    VariantForm,
)
from shop.forms.rows import WhyForm
from shop.models import Interchange, MakerNumber, ReferencePhoto, UnitType
from shop.services import interchange, maker_numbers, reference_photos
from shop.services.writing import Act
from shop.views.answers import act_of, answer_form, needs

Write = Callable[[dict[str, Any]], Any]


def relations_of(row: UnitType) -> dict[str, Any]:
    """Return what the page of a unit type shows of its relations."""
    return {
        "numbers": row.maker_numbers.select_related("superseded_by__unit_type").prefetch_related(
            "supersedes__unit_type"
        ),
        "variants": row.variants.all(),
        "interchange": [(each, *_seen_from(each, row)) for each in interchange.interchange_of(row)],
        "reference_photos": row.reference_photos.select_related("file"),
    }


def _seen_from(each: Interchange, row: UnitType) -> tuple[UnitType, str]:
    """Return the other type of an interchange, and in words which may stand in for which."""
    first = each.stand_in_id == row.pk
    other = each.replaced if first else each.stand_in
    if each.both_ways:
        return other, "either may stand in for the other"
    return other, "this one may stand in for it" if first else "it may stand in for this one"


def histories_of(row: UnitType) -> list[Any]:
    """Return the histories of everything that `relations_of` shows."""
    return [
        MakerNumber.history.filter(unit_type=row),
        Interchange.history.filter(models.Q(stand_in=row) | models.Q(replaced=row)).select_related(
            "stand_in", "replaced"
        ),
        ReferencePhoto.history.filter(unit_type=row),
    ]


def _answer(
    request: HttpRequest, row: UnitType, *, form: Form, write: Write, anchor: str, **context: Any
) -> HttpResponse:
    """Answer a page with one form below a unit type, and lead back to its part of the type's page."""
    back = f"{row.get_absolute_url()}#{anchor}"

    def leading_back(data: dict[str, Any]) -> str:
        write(data)
        return back

    trail = [("Unit types", reverse("shop:unit_types")), (row.code, row.get_absolute_url())]
    return answer_form(
        request,
        form=form,
        template="shop/form_page.html",
        write=leading_back,
        context={"trail": trail, "cancel_url": back, **context},
    )


def _answer_removal(
    request: HttpRequest,
    row: UnitType,
    *,
    rows: "models.QuerySet[Any]",
    pk: int,
    remove: Callable[..., Any],
    title: str,
    **context: Any,
) -> HttpResponse:
    """Answer a page that takes a row off, with the reason; sent again, it leads to the same page."""
    found = rows.filter(pk=pk).first()
    if found is None and request.method != "POST":
        raise Http404

    def write(data: dict[str, Any]) -> None:
        remove(act=_act(request, data), row=get_object_or_404(rows, pk=pk))

    form = WhyForm(request.POST or None)
    return _answer(request, row, form=form, write=write, title=title.replace("{}", str(found)), **context)


def _act(request: HttpRequest, data: dict[str, Any]) -> Act:
    """Return the act with the reason of the form, where it asks for one."""
    return act_of(request, data.pop("why", ""))


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def number_edit(request: HttpRequest, pk: int, number_pk: int | None = None) -> HttpResponse:
    """Add a maker's number, or correct one."""
    row = get_object_or_404(UnitType, pk=pk)
    known = row.maker_numbers.select_related("superseded_by__unit_type")
    number = get_object_or_404(known, pk=number_pk) if number_pk else None
    initial = MakerNumberForm.initial_of(number) if number else {}
    context: dict[str, Any] = {
        "title": f"Correct number {number}" if number else f"Add a maker's number to {row.code}",
        "submit": "Save the correction" if number else "Add this number",
    }
    if number:
        context["links"] = [("Take it off", reverse("shop:number_remove", args=[pk, number.pk]))]

    def write(data: dict[str, Any]) -> None:
        act = _act(request, data)
        maker_numbers.save_maker_number(act=act, unit_type=row, row=number, **data)

    form = MakerNumberForm(request.POST or None, row=number, unit_type=row, initial=initial)
    return _answer(request, row, form=form, write=write, anchor="numbers", **context)


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def number_remove(request: HttpRequest, pk: int, number_pk: int) -> HttpResponse:
    """Take a maker's number off, with the reason."""
    row = get_object_or_404(UnitType, pk=pk)
    return _answer_removal(
        request,
        row,
        rows=row.maker_numbers.all(),
        pk=number_pk,
        remove=maker_numbers.remove_maker_number,
        anchor="numbers",
        title=f"Take number {{}} off {row.code}",
        note="For a number that was never this type's. One that was superseded stays, and says by what.",
        submit="Take it off",
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def variant_edit(request: HttpRequest, pk: int) -> HttpResponse:
    """Say when a type was built, and which type it is a variant of."""
    row = get_object_or_404(UnitType.objects.select_related("variant_of"), pk=pk)
    return _answer(
        request,
        row,
        form=VariantForm(request.POST or None, unit_type=row, initial=VariantForm.initial_of(row)),
        write=lambda data: maker_numbers.save_variant(act=_act(request, data), unit_type=row, **data),
        anchor="variants",
        title=f"Years and variant of {row.code}",
        note="A variant is the same design with something changed. A change that this shop makes to "
        "how it rebuilds a type is a revision.",
        submit="Save it",
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def interchange_edit(request: HttpRequest, pk: int, interchange_pk: int | None = None) -> HttpResponse:
    """Write an interchange down, or correct one."""
    row = get_object_or_404(UnitType, pk=pk)
    known = get_object_or_404(_interchanges(row), pk=interchange_pk) if interchange_pk else None
    initial = InterchangeForm.initial_of(known, row) if known else {}
    form = InterchangeForm(request.POST or None, unit_type=row, row=known, initial=initial)
    context: dict[str, Any] = {
        "title": f"Correct the interchange {known}" if known else f"Interchange of {row.code}",
        "note": "A unit that goes out in place of another must do its work and be as safe: compare "
        "pressure, ports, stroke, mounting and fluid before you write it down.",
        "submit": "Save the correction" if known else "Write it down",
    }
    if known:
        context["links"] = [("It no longer holds", reverse("shop:interchange_remove", args=[pk, known.pk]))]

    def write(data: dict[str, Any]) -> None:
        interchange.save_interchange(act=_act(request, data), row=known, **form.told)

    return _answer(request, row, form=form, write=write, anchor="interchange", **context)


def _interchanges(row: UnitType) -> "models.QuerySet[Interchange]":
    either = models.Q(stand_in=row) | models.Q(replaced=row)
    return Interchange.objects.filter(either).select_related("stand_in", "replaced")


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def interchange_remove(request: HttpRequest, pk: int, interchange_pk: int) -> HttpResponse:
    """Withdraw an interchange, with the reason."""
    row = get_object_or_404(UnitType, pk=pk)
    return _answer_removal(
        request,
        row,
        rows=_interchanges(row),
        pk=interchange_pk,
        remove=interchange.remove_interchange,
        anchor="interchange",
        title="The interchange {} no longer holds",
        submit="Withdraw it",
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def reference_photo_new(request: HttpRequest, pk: int) -> HttpResponse:
    """Add reference photos."""
    row = get_object_or_404(UnitType, pk=pk)
    form = ReferencePhotoForm(request.POST or None, request.FILES or None)

    def write(data: dict[str, Any]) -> None:
        for upload in form.uploads:
            reference_photos.add_reference_photo(
                act=act_of(request),
                unit_type=row,
                upload=upload,
                shows=data["shows"],
                caption=data["caption"],
            )

    return _answer(
        request,
        row,
        form=form,
        write=write,
        anchor="reference-photos",
        title=f"Reference photos of {row.code}",
        note="A unit in hand is compared with these. Photos taken at a rebuild are taken over on its own "
        "page of photos.",
        submit="Add the photos",
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def reference_photo_change(request: HttpRequest, pk: int, photo_pk: int) -> HttpResponse:
    """Correct what a reference photo shows."""
    row = get_object_or_404(UnitType, pk=pk)
    photo = get_object_or_404(row.reference_photos, pk=photo_pk)
    initial = {"shows": photo.shows, "caption": photo.caption}
    return _answer(
        request,
        row,
        form=ChangePhotoForm(request.POST or None, initial=initial),
        write=lambda data: reference_photos.change_reference_photo(
            act=_act(request, data), row=photo, **data
        ),
        anchor="reference-photos",
        title=f"Correct the photo “{photo}”",
        links=[("Take it off", reverse("shop:reference_photo_remove", args=[pk, photo.pk]))],
        submit="Save the correction",
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def reference_photo_remove(request: HttpRequest, pk: int, photo_pk: int) -> HttpResponse:
    """Take a reference photo off, with the reason."""
    row = get_object_or_404(UnitType, pk=pk)
    return _answer_removal(
        request,
        row,
        rows=row.reference_photos.all(),
        pk=photo_pk,
        remove=reference_photos.remove_reference_photo,
        anchor="reference-photos",
        title=f"Take the photo “{{}}” off {row.code}",
        submit="Take it off",
    )
