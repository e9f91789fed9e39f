"""Claims: list, page, open, judge."""

from django.core.paginator import Paginator
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from shop.roles import may
from shop.views.answers import act_of, answer_form, answer_post, needs, searched
from shop.views.sorting import in_order
from shop.views.tables import answer_list
from workorders.forms.claims import AddToClaimForm, ClaimForm, CompareForm, JudgeForm
from workorders.models import Claim, Photo, Rebuild, Warranty
from workorders.services import claims
from workorders.services.recall_state import mark_recalled
from workorders.services.receiving import open_work_order
from workorders.views import columns
from workorders.views.narrowing import with_words_or_scan

STATES = (("open", "open"), ("judged", "judged"), ("all", "all"))
SEARCHED = (
    "number",
    "claimant__name",
    "reported",
    "reason",
    "warranty__rebuild__unit__serial",
    "warranty__rebuild__unit__maker_serial",
    "warranty__rebuild__unit__unit_type__code",
    "warranty__rebuild__unit__unit_type__name",
)


@require_GET
@needs("see")
def claim_list(request: HttpRequest) -> HttpResponse:
    """Claims, the open ones by default, narrowed by text."""
    state, text = request.GET.get("state", "open"), searched(request)
    rows = Claim.objects.select_related("warranty__rebuild__unit__unit_type", "claimant")
    if state == "open":
        rows = rows.filter(judgement="")
    elif state == "judged":
        rows = rows.exclude(judgement="")
    rows = in_order(request, columns.CLAIMS, with_words_or_scan(rows, text, *SEARCHED))
    page = Paginator(rows, 50).get_page(request.GET.get("page"))
    mark_recalled(claim.warranty.rebuild.unit for claim in page)
    return answer_list(
        request,
        "workorders/claims.html",
        {"page": page, "state": state, "states": STATES, "text": text},
        table=columns.CLAIMS,
        rows=rows,
    )


@require_http_methods(["GET", "POST"])
@needs("claims")
def claim_open(request: HttpRequest, pk: int) -> HttpResponse:
    """Open a claim against one warranty."""
    rows = Warranty.objects.select_related(
        "rebuild__unit__unit_type", "holder", "rebuild__work_order", "shipment__work_order"
    )
    warranty = get_object_or_404(rows, pk=pk)
    return answer_form(
        request,
        form=ClaimForm(request.POST or None, warranty=warranty),
        template="workorders/claim_open.html",
        context={"warranty": warranty, "waiting": warranty.claims.filter(judgement="").first()},
        write=lambda data: claims.open_claim(act=act_of(request), warranty=warranty, **data),
    )


def _claim(number: str) -> Claim:
    rows = Claim.objects.select_related(
        "warranty__rebuild__unit__unit_type",
        "warranty__rebuild__work_order",
        "warranty__rebuild__revision",
        "warranty__holder",
        "claimant",
        "rebuild__work_order",
        "opened_by",
        "judged_by",
        "identity_by",
    )
    return get_object_or_404(rows, number=number)


def _context(request: HttpRequest, claim: Claim) -> dict[str, object]:
    return {
        "claim": claim,
        "judge_form": JudgeForm(),
        "compare_form": CompareForm(),
        "sent": _pictures(claim.warranty.rebuild, Photo.Moment.MARK, Photo.Moment.PACKING),
        "came": _pictures(claim.rebuild, Photo.Moment.RECEIVING, Photo.Moment.MARK),
        "add_form": AddToClaimForm(),
        "earlier": claim.history.order_by("-history_date")[1:],
        "may_judge": may(request.user, "claims"),
        "may_receive": may(request.user, "receive"),
    }


def _pictures(rebuild: Rebuild | None, *moments: str) -> list[Photo]:
    """Return photos of a rebuild taken at those moments; none without a rebuild."""
    if rebuild is None:
        return []
    return list(rebuild.photos.filter(moment__in=moments).select_related("file").order_by("pk"))


@require_GET
@needs("see")
def claim_page(request: HttpRequest, number: str) -> HttpResponse:
    """One claim with its judgement and what it led to."""
    claim = _claim(number)
    return render(request, "workorders/claim.html", _context(request, claim))


@require_POST
@needs("claims")
def claim_judge(request: HttpRequest, number: str) -> HttpResponse:
    """Judge a claim."""
    claim = _claim(number)
    form = JudgeForm(request.POST)
    return answer_form(
        request,
        form=form,
        template="workorders/claim.html",
        context={**_context(request, claim), "judge_form": form},
        write=lambda data: claims.judge_claim(act=act_of(request, data["reason"]), claim=claim, **data),
    )


@require_POST
@needs("claims")
def claim_compare(request: HttpRequest, number: str) -> HttpResponse:
    """Record whether the unit that came back is the one that was sent."""
    claim = _claim(number)
    form = CompareForm(request.POST)
    return answer_form(
        request,
        form=form,
        template="workorders/claim.html",
        context={**_context(request, claim), "compare_form": form},
        write=lambda data: claims.compare_unit(act=act_of(request, data["note"]), claim=claim, **data),
    )


@require_POST
@needs("claims")
def claim_add(request: HttpRequest, number: str) -> HttpResponse:
    """Add to an open claim."""
    claim = _claim(number)
    form = AddToClaimForm(request.POST)
    return answer_form(
        request,
        form=form,
        template="workorders/claim.html",
        context={**_context(request, claim), "add_form": form},
        write=lambda data: claims.add_to_claim(act=act_of(request), claim=claim, reported=data["more"]),
    )


@require_POST
@needs("receive")
def claim_receive(request: HttpRequest, number: str) -> HttpResponse:
    """Open a work order for the unit that comes back under a claim."""
    claim = _claim(number)
    serial = claim.warranty.rebuild.unit.serial

    def write() -> str:
        order = open_work_order(
            act=act_of(request),
            customer=claim.claimant,
            note=f"Returned under claim {claim.number}",
            under_claim=True,
        )
        return f"{order.get_absolute_url()}?serial={serial}"

    return answer_post(request, write)
