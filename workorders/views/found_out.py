"""What an instrument found out of tolerance touched: the list, the review of a rebuild, the notice."""

from collections.abc import Iterator, Mapping
from typing import Any

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.views.decorators.http import require_GET, require_http_methods

from shop.errors import NotAllowed
from shop.roles import may, refusal
from shop.views.answers import act_of, answer_form, needs
from shop.views.tables import answer_list
from workorders.forms.instruments import CalibrationReviewForm
from workorders.models import Calibration, Rebuild
from workorders.services import calibration_reviews as reviewing
from workorders.services.calibration_reviews import Line, Touched
from workorders.services.error_as_found import in_words
from workorders.services.found_out import flags
from workorders.views import found_out_columns as columns
from workorders.views.recall_notice import unit_of

REVIEW = "review_instrument"
UNITS_PER_PAGE = 20


def _calibration(pk: int) -> Calibration:
    """Return a calibration that found its instrument out of tolerance, or answer 404."""
    rows = Calibration.objects.filter(in_tolerance=False).select_related("instrument")
    return get_object_or_404(rows, pk=pk)


@require_GET
@needs("see")
def touched(request: HttpRequest, pk: int) -> HttpResponse:
    """Everything that a bad instrument touched since its last good calibration, unit by unit."""
    calibration = _calibration(pk)
    window = reviewing.window_of(calibration)
    rows = reviewing.touched_by(window)
    page = Paginator(rows, UNITS_PER_PAGE).get_page(request.GET.get("page"))
    return answer_list(
        request,
        "workorders/calibration_touched.html",
        {
            **_about(calibration),
            "window": window,
            "page": page,
            "units": len(rows),
            "waiting": sum(bool(row.flag and row.flag.is_open) for row in rows),
            "may_review": may(request.user, REVIEW),
        },
        table=columns.TOUCHED,
        rows=_lines(rows),
    )


def _lines(rows: list[Touched]) -> Iterator[tuple[Touched, Line]]:
    for row in rows:
        for line in row.lines:
            yield row, line


def _about(calibration: Calibration) -> dict[str, Any]:
    return {
        "calibration": calibration,
        "instrument": calibration.instrument,
        "error_words": in_words(calibration.instrument, calibration),
    }


@require_http_methods(["GET", "POST"])
@needs("see")
def review(request: HttpRequest, pk: int, rebuild_pk: int) -> HttpResponse:
    """The values of one rebuild with the error as found, and the lead's review of them."""
    may_review = may(request.user, REVIEW)
    if request.method == "POST" and not may_review:
        raise NotAllowed(refusal(request.user, REVIEW))
    calibration, rebuild = _calibration(pk), get_object_or_404(Rebuild, pk=rebuild_pk)
    window = reviewing.window_of(calibration)
    rows = reviewing.touched_by(window, rebuilds=[rebuild.pk])
    row = rows[0] if rows else None
    context = {
        **_about(calibration),
        "row": row or _nothing(rebuild),
        "reviews": calibration.reviews.filter(rebuild=rebuild).select_related("by").order_by("-pk"),
        "may_review": may_review,
        "refusal": refusal(request.user, REVIEW),
    }
    if not may_review:
        return render(request, "workorders/calibration_review.html", context)

    def write(data: dict[str, Any]) -> str:
        act = act_of(request, data["why"])
        reviewing.review_rebuild(act=act, calibration=calibration, rebuild=rebuild, decision=data["decision"])
        return reverse("workorders:calibration_review", args=[calibration.pk, rebuild.pk])

    return answer_form(
        request,
        form=CalibrationReviewForm(request.POST or None),
        template="workorders/calibration_review.html",
        context=context,
        write=write,
    )


def _nothing(rebuild: Rebuild) -> Touched:
    return Touched(rebuild=rebuild, lines=(), flag=None)


@require_GET
@needs("see")
def to_review(request: HttpRequest) -> HttpResponse:
    """Every rebuild that waits for the lead's review."""
    rows = [flag for flag in flags() if flag.is_open]
    context = {
        "page": Paginator(rows, 50).get_page(request.GET.get("page")),
        "may_review": may(request.user, REVIEW),
    }
    return answer_list(
        request, "workorders/instruments_to_review.html", context, table=columns.TO_REVIEW, rows=rows
    )


def found_out_notice(request: HttpRequest, context: Mapping[str, Any]) -> tuple[str, dict[str, Any]] | None:
    """Say on each page about a unit what waits for a review; nothing to those who are signed out."""
    unit = unit_of(context)
    if unit is None or not may(request.user, "see"):
        return None
    rows = [flag for flag in flags(units=[unit]) if flag.is_open or (flag.forbids and flag.rebuild.is_open)]
    told = {"flags": rows, "may_review": may(request.user, REVIEW)}
    return ("workorders/_found_out_notice.html", told) if rows else None
