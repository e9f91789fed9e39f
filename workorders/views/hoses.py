"""Hoses at the bench: the photo of a port before its hose comes off, and the number when it goes on."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.views.decorators.http import require_http_methods

from shop.views.answers import answer_form, needs
from workorders.documents.bench_cautions import OPENING
from workorders.forms.hose import HoseCheckForm, PortPhotoForm
from workorders.models import HoseCheck, Photo
from workorders.services import teardown as service
from workorders.services.hose_checks import check_hose as record_check
from workorders.services.hose_checks import port_hoses
from workorders.services.standing import Meaning, signature, standing_build
from workorders.views.rebuild_of import rebuild_of, to_build, to_teardown
from workorders.views.teardown import act_with_reason

BOTH = ["GET", "POST"]


@require_http_methods(BOTH)
@needs("teardown")
def port_photo(request: HttpRequest, pk: int, hose_pk: int) -> HttpResponse:
    """Photos of the port of a hose, before the hose comes off."""
    rebuild = rebuild_of(pk)
    hose = get_object_or_404(rebuild.revision.hoses.select_related("port"), pk=hose_pk)
    signed = signature(rebuild, Meaning.TORN_DOWN) is not None
    form = PortPhotoForm(request.POST or None, request.FILES or None, signed=signed)

    def write(data: dict[str, Any]) -> str:
        act = act_with_reason(request, data)
        service.record_port_photos(act=act, rebuild=rebuild, hose=hose, photos=form.uploads)
        messages.success(request, f"Photo of port {hose.port}: kept.")
        return reverse("workorders:teardown", args=[rebuild.pk]) + "#hoses"

    context = {
        "trail": to_teardown(rebuild),
        "rebuild": rebuild,
        "hose": hose,
        "photos": rebuild.photos.filter(moment=Photo.Moment.PORT, port=hose.port_id).select_related("file"),
        "caution": OPENING,
    }
    return answer_form(
        request, form=form, template="workorders/port_photo.html", write=write, context=context
    )


@require_http_methods(BOTH)
@needs("build")
def check_hose(request: HttpRequest, pk: int, hose_pk: int) -> HttpResponse:
    """The number of the hose that goes on a port; another number is refused."""
    rebuild = rebuild_of(pk)
    hose = get_object_or_404(rebuild.revision.hoses.select_related("port"), pk=hose_pk)
    form = HoseCheckForm(request.POST or None, hose=hose, signed=standing_build(rebuild) is not None)

    def write(data: dict[str, Any]) -> str:
        act, way = act_with_reason(request, data), data.get("way", HoseCheck.Way.ON_PORT)
        done = record_check(act=act, rebuild=rebuild, hose=hose, number=data["number"], way=way)
        messages.success(request, f"Port {hose.port}: hose {hose.code}, {done.get_way_display()}.")
        return _next_open(pk)

    context = {
        "trail": to_build(rebuild),
        "rebuild": rebuild,
        "hose": hose,
        "rows": [row for row in port_hoses(rebuild) if row.hose],
        "may_work": True,
    }
    return answer_form(
        request, form=form, template="workorders/check_hose.html", write=write, context=context
    )


def _next_open(pk: int) -> str:
    """Return the page of the next hose to be read, else the build."""
    for row in port_hoses(rebuild_of(pk)):
        if row.is_open and row.hose:
            return reverse("workorders:check_hose", args=[pk, row.hose.pk])
    return reverse("workorders:build", args=[pk]) + "#hoses"
