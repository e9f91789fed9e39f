"""The label of a rig, and the short address on it."""

from django.conf import settings
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET

from shop.views.answers import needs
from shop.views.label_files import PDF, label_answer, label_choices
from workorders.documents.rig_label import RigLabel, rig_address
from workorders.models import Rig
from workorders.views import trails


@require_GET
@needs("see")
def scanned(request: HttpRequest, pk: int) -> HttpResponse:
    """Answer the symbol of a rig's label."""
    return redirect(get_object_or_404(Rig, pk=pk))


@require_GET
@needs("labels")
def label(request: HttpRequest, pk: int) -> HttpResponse:
    """Choose the stock for the label of a rig."""
    row = get_object_or_404(Rig, pk=pk)
    context = {**label_choices(request), "rig": row, "trail": trails.to_rig(row)}
    return render(request, "workorders/rig_label.html", context)


@require_GET
@needs("labels")
def label_file(request: HttpRequest, pk: int, paper: str) -> HttpResponse:
    """The label of a rig as PDF."""
    row = get_object_or_404(Rig, pk=pk)
    made = RigLabel(
        code=row.code,
        address=rig_address(settings.PUBLIC_ADDRESS, row.pk),
        name=row.name,
        place=row.place,
    )
    return label_answer(request, [made.as_label()], paper, PDF, f"rig-{row.code}")
