"""A unit that was received as the wrong type: another type is looked up, and confirmed with the reason."""

from typing import Any

from django.db.models import Exists, OuterRef, Q
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.forms.relations import TakenPhotoForm
from shop.models import TypeRevision, UnitType
from shop.services.reference_photos import add_reference_photo
from shop.views.answers import act_of, answer_form, needs, searched
from workorders.forms.receiving import ReasonForm
from workorders.models import Photo, Rebuild
from workorders.services.other_type import correct_unit_type
from workorders.views import trails

MOST_FOUND = 24


def _rebuild(pk: int) -> Rebuild:
    rows = Rebuild.objects.select_related("unit__unit_type", "work_order", "mounting_place")
    return get_object_or_404(rows, pk=pk)


@require_GET
@needs("receive")
def other_type(request: HttpRequest, pk: int) -> HttpResponse:
    """Look up the type that a unit really is."""
    rebuild, text = _rebuild(pk), searched(request)
    approved = TypeRevision.objects.filter(unit_type=OuterRef("pk"), state=TypeRevision.State.APPROVED)
    rows = UnitType.objects.in_use().filter(Q(provisional=True) | Exists(approved))
    rows = rows.exclude(pk=rebuild.unit.unit_type_id).matching(text).order_by("code")
    found = list(rows.prefetch_related("maker_numbers")[: MOST_FOUND + 1]) if text else []
    context = {
        "rebuild": rebuild,
        "text": text,
        "types": found[:MOST_FOUND],
        "more": len(found) > MOST_FOUND,
        "trail": trails.to_intake(rebuild),
    }
    return render(request, "workorders/other_type.html", context)


@require_http_methods(["GET", "POST"])
@needs("receive")
def other_type_chosen(request: HttpRequest, pk: int, type_pk: int) -> HttpResponse:
    """Confirm that a unit is of another type, with the reason."""
    rebuild = _rebuild(pk)
    unit_type = get_object_or_404(UnitType.objects.in_use(), pk=type_pk)

    def write(data: dict[str, Any]) -> str:
        correct_unit_type(act=act_of(request, data["why"]), rebuild=rebuild, unit_type=unit_type)
        return reverse("workorders:intake", args=[pk])

    trail = [
        *trails.to_intake(rebuild),
        ("Another type", reverse("workorders:other_type", args=[pk])),
    ]
    return answer_form(
        request,
        form=ReasonForm(request.POST or None),
        template="workorders/other_type_chosen.html",
        write=write,
        context={"rebuild": rebuild, "unit_type": unit_type, "trail": trail},
    )


@require_http_methods(["GET", "POST"])
@needs("catalogue")
def photo_reference(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a photo of a rebuild over as a reference photo of the unit's type."""
    rows = Photo.objects.select_related("file", "rebuild__unit__unit_type", "rebuild__work_order")
    photo = get_object_or_404(rows, pk=pk)
    rebuild, unit_type = photo.rebuild, photo.rebuild.unit.unit_type

    def write(data: dict[str, Any]) -> str:
        add_reference_photo(
            act=act_of(request),
            unit_type=unit_type,
            file=photo.file,
            source=f"unit {rebuild.unit.serial}, {rebuild.work_order.number}",
            **data,
        )
        return f"{unit_type.get_absolute_url()}#reference-photos"

    return answer_form(
        request,
        form=TakenPhotoForm(request.POST or None, initial={"caption": photo.caption}),
        template="workorders/photo_reference.html",
        write=write,
        context={
            "photo": photo,
            "unit_type": unit_type,
            "rebuild": rebuild,
            "trail": [
                *trails.to_intake(rebuild),
                ("Photos", reverse("workorders:photos", args=[rebuild.pk])),
            ],
        },
    )
