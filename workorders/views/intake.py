"""The intake of a rebuild: what was received, corrections, photos, where it is now."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.changes import Change, changes
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.receiving import CorrectIntakeForm, MorePhotosForm, ShelfForm
from workorders.models import ArrivalItem, BoxLine, Photo, Rebuild, Signature
from workorders.services.boxes import next_to_receive
from workorders.services.photos import add_photo
from workorders.services.receiving import correct_intake, move_to_shelf
from workorders.views import trails

SHOWN_CHANGES = (
    "mounting_place",
    "opened_before",
    "arrival_condition",
    "reported",
    "destination",
    "shelf",
    "maker_serial",
    "unit_type",
    "revision",
)


def _rebuild(pk: int) -> Rebuild:
    rows = Rebuild.objects.select_related(
        "unit__unit_type",
        "work_order__customer",
        "revision",
        "mounting_place__application",
        "received_by",
        "box_line__box",
    )
    return get_object_or_404(rows, pk=pk)


def _items(rebuild: Rebuild) -> dict[str, list[str]]:
    items = list(rebuild.arrival_items.all())
    return {kind: [item.label for item in items if item.kind == kind] for kind in ArrivalItem.Kind.values}


def _corrections(rebuild: Rebuild) -> list[Change]:
    """Return what was changed in the intake after the receipt."""
    found = changes(
        rebuild.history.all(),
        rebuild.unit.history.all(),
        ArrivalItem.history.filter(rebuild_id=rebuild.pk),
        fields=SHOWN_CHANGES,
    )
    return [change for change in found if change.at > rebuild.received_at]


def _next_line(rebuild: Rebuild) -> BoxLine | None:
    """Return the line of the same box from which the next unit may be received."""
    if not hasattr(rebuild, "box_line"):
        return None
    return next_to_receive(rebuild.box_line.box.lines.to_receive().order_by("order"))


def _context(request: HttpRequest, rebuild: Rebuild) -> dict[str, Any]:
    signed = rebuild.signatures.filter(meaning=Signature.Meaning.RECEIVED).order_by("pk")
    return {
        "rebuild": rebuild,
        "next_line": _next_line(rebuild),
        "trail": trails.to_rebuild(rebuild),
        "items": _items(rebuild),
        "photos": rebuild.photos.filter(moment=Photo.Moment.RECEIVING).select_related("file"),
        "signatures": signed,
        "changes": _corrections(rebuild),
        "form": ShelfForm(initial={"shelf": rebuild.shelf}),
        "may_receive": may(request.user, "receive"),
        "may_retype": rebuild.stage == Rebuild.Stage.RECEIVED,
        "may_correct": rebuild.is_open and rebuild.stage != Rebuild.Stage.RELEASED,
        "refusal": refusal(request.user, "receive"),
    }


@require_GET
@needs("see")
def intake(request: HttpRequest, pk: int) -> HttpResponse:
    """What was received, and what comes next: labels, tag, another unit."""
    return render(request, "workorders/intake.html", _context(request, _rebuild(pk)))


@require_POST
@needs("see")
def shelf(request: HttpRequest, pk: int) -> HttpResponse:
    """Write down where a unit is now."""
    rebuild = _rebuild(pk)

    def write(data: dict[str, Any]) -> str:
        move_to_shelf(act=act_of(request), rebuild=rebuild, shelf=data["shelf"])
        return reverse("workorders:intake", args=[pk])

    return answer_form(
        request,
        form=ShelfForm(request.POST),
        template="workorders/intake.html",
        write=write,
        context=_context(request, rebuild),
    )


@require_http_methods(["GET", "POST"])
@needs("receive")
def intake_change(request: HttpRequest, pk: int) -> HttpResponse:
    """Correct an intake, with the reason."""
    rebuild = _rebuild(pk)
    form = CorrectIntakeForm(
        request.POST or None,
        request.FILES or None,
        revision=rebuild.revision,
        initial=CorrectIntakeForm.initial_of(rebuild),
    )

    def write(data: dict[str, Any]) -> str:
        correct_intake(
            act=act_of(request, data["why"]),
            rebuild=rebuild,
            maker_serial=data["maker_serial"],
            **form.intake,
        )
        return reverse("workorders:intake", args=[pk])

    return answer_form(
        request,
        form=form,
        template="workorders/intake_change.html",
        write=write,
        context={"rebuild": rebuild, "trail": trails.to_intake(rebuild)},
    )


@require_http_methods(["GET", "POST"])
@needs("see")
def photos(request: HttpRequest, pk: int) -> HttpResponse:
    """Every photo of a rebuild, and the form that adds more."""
    rebuild = _rebuild(pk)
    asked = request.GET.get("moment", "")
    moment = asked if asked in Photo.Moment.values else _moment_of(rebuild)
    form = MorePhotosForm(request.POST or None, request.FILES or None, initial={"moment": moment})

    def write(data: dict[str, Any]) -> str:
        for upload in form.uploads:
            add_photo(
                act=act_of(request),
                rebuild=rebuild,
                upload=upload,
                moment=data["moment"],
                caption=data["caption"],
            )
        return reverse("workorders:photos", args=[pk])

    rows = list(rebuild.photos.select_related("file", "by", "finding__position", "finding__component"))
    grouped = [(moment.label, [row for row in rows if row.moment == moment]) for moment in Photo.Moment]
    return answer_form(
        request,
        form=form,
        template="workorders/photos.html",
        write=write,
        context={
            "rebuild": rebuild,
            "moments": [pair for pair in grouped if pair[1]],
            "may_take_over": may(request.user, "catalogue"),
            "trail": trails.to_intake(rebuild),
        },
    )


def _moment_of(rebuild: Rebuild) -> str:
    """Propose the moment that goes with the stage."""
    stage, moment = Rebuild.Stage, Photo.Moment
    if rebuild.stage == stage.RECEIVED:
        return moment.RECEIVING
    later = {stage.BUILDING: moment.BUILD, stage.ON_TEST: moment.TEST, stage.RELEASED: moment.PACKING}
    return later.get(rebuild.stage, moment.TEARDOWN)  # type: ignore[call-overload,no-any-return]
