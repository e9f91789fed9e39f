"""Releases: the page that says what is missing, signing, reissue, papers."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_GET, require_http_methods

from shop.roles import may
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.releasing import ExitForm, ReissueForm, ReleaseForm
from workorders.models import Rebuild, Release
from workorders.services import releasing, shipping
from workorders.services.papers import as_found_pdf


def _rebuild(pk: int) -> Rebuild:
    rows = Rebuild.objects.select_related("unit__unit_type", "work_order__customer", "revision__unit_type")
    return get_object_or_404(rows, pk=pk)


@require_http_methods(["GET", "POST"])
@needs("see")
def release_rebuild(request: HttpRequest, pk: int) -> HttpResponse:
    """What is missing for the release; for the lead, the signature."""
    rebuild = _rebuild(pk)
    latest = rebuild.releases.order_by("-pk").first()
    if latest:
        return redirect(latest)
    form = ReleaseForm(request.POST or None, request=request, statuses=releasing.allowed_statuses(rebuild))
    context = {
        "rebuild": rebuild,
        "missing": releasing.missing_for_release(rebuild),
        "may_release": may(request.user, "release"),
    }
    return answer_form(
        request,
        form=form,
        template="workorders/release_rebuild.html",
        context=context,
        write=lambda data: releasing.release_rebuild(
            act=act_of(request), rebuild=rebuild, status=data["status"], remarks=data["remarks"]
        ),
    )


def _release(number: str) -> Release:
    rows = Release.objects.select_related(
        "rebuild__unit__unit_type", "rebuild__work_order__customer", "replaces", "signature", "by"
    )
    return get_object_or_404(rows, number=number)


@require_GET
@needs("see")
def release(request: HttpRequest, number: str) -> HttpResponse:
    """One release with its papers and the releases before and after it."""
    row = _release(number)
    standing = releasing.standing_release(row.rebuild)
    context = {
        "release": row,
        "replaced_by": Release.objects.filter(replaces=row).first(),
        "stands": standing is not None and standing.pk == row.pk,
        "holds": releasing.signature_holds(row),
        "may_release": may(request.user, "release"),
        "may_ship": may(request.user, "ship"),
    }
    return render(request, "workorders/release.html", context)


@require_http_methods(["GET", "POST"])
@needs("release")
def reissue(request: HttpRequest, number: str) -> HttpResponse:
    """Issue a certificate anew, with a reason, under its own number."""
    row = _release(number)
    form = ReissueForm(
        request.POST or None,
        request=request,
        statuses=releasing.allowed_statuses(row.rebuild),
        initial={"remarks": row.remarks},
    )
    return answer_form(
        request,
        form=form,
        template="workorders/reissue.html",
        context={"release": row, "missing": releasing.missing_for_release(row.rebuild)},
        write=lambda data: releasing.reissue_release(
            act=act_of(request, data["why"]), release=row, status=data["status"], remarks=data["remarks"]
        ),
    )


@require_http_methods(["GET", "POST"])
@needs("side_exit")
def side_exit(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a unit out of the rebuild, with a reason."""
    rebuild = _rebuild(pk)
    return answer_form(
        request,
        form=ExitForm(request.POST or None),
        template="workorders/side_exit.html",
        context={"rebuild": rebuild},
        write=lambda data: shipping.exit_rebuild(
            act=act_of(request, data["reason"]), rebuild=rebuild, **data
        ),
    )


@require_GET
@needs("see")
def as_found(request: HttpRequest, pk: int) -> HttpResponse:
    """The signed paper of a unit that goes back as found."""
    rebuild = _rebuild(pk)
    if not rebuild.signatures.filter(meaning="returned").exists():
        return render(
            request,
            "shop/rule_broken.html",
            {"reason": "This unit has not left the rebuild by a side exit; there is no such paper."},
            status=404,
        )
    response = HttpResponse(as_found_pdf(rebuild), content_type="application/pdf")
    response["Content-Disposition"] = f'inline; filename="as-found-{rebuild.unit.serial}.pdf"'
    return response
