"""Whether a lot may be used: hold, quarantine, accept, a later date, certificates, scrap what is left."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods

from inventory.forms import lot_papers as paper_forms
from inventory.forms import stores as forms
from inventory.models import Lot, LotCertificate
from inventory.services import lot_cost as lot_cost_service
from inventory.services import lot_papers, lot_state
from inventory.views.lots import answer_lot
from shop.errors import RuleBroken
from shop.forms.rows import WhyForm
from shop.services.profile import currency_of_shop
from shop.views.answers import act_of, needs

BOTH = ["GET", "POST"]


@require_http_methods(BOTH)
@needs("stores")
def lot_hold(request: HttpRequest, number: str) -> HttpResponse:
    """Put a lot on hold."""
    row = get_object_or_404(Lot, number=number)
    return answer_lot(
        request,
        row,
        forms.HoldForm(request.POST or None),
        "Hold lot",
        "Put on hold",
        lambda data: lot_state.hold_lot(
            act=act_of(request, data["reason"][:200]), lot=row, reason=data["reason"]
        ),
        "Nothing of the lot can be used or packed until it is accepted again. Packed kits that hold it "
        "are refused at the bench too, and lots made here from it go on hold with it.",
    )


@require_http_methods(BOTH)
@needs("stores")
def lot_quarantine(request: HttpRequest, number: str) -> HttpResponse:
    """Set a lot aside until it was checked."""
    row = get_object_or_404(Lot, number=number)
    return answer_lot(
        request,
        row,
        forms.QuarantineForm(request.POST or None),
        "Quarantine lot",
        "Into quarantine",
        lambda data: lot_state.quarantine_lot(
            act=act_of(request, data["reason"][:200]), lot=row, reason=data["reason"]
        ),
        "Nothing of the lot can be used or packed until stores say what they checked and accept it. "
        "Lots made here from it go on hold.",
    )


@require_http_methods(BOTH)
@needs("stores")
def lot_accept(request: HttpRequest, number: str) -> HttpResponse:
    """Accept a lot that was on hold, or one in quarantine with what was checked."""
    row = get_object_or_404(Lot, number=number)
    note = f"{row.get_state_display().capitalize()} because: {row.hold_reason}" if row.hold_reason else ""
    form: Any = forms.AcceptForm(request.POST or None)
    if row.state == Lot.State.QUARANTINED:
        form = paper_forms.ArrivalCheckForm(request.POST or None)

    def write(data: dict[str, Any]) -> Lot:
        check = form.check if "certificate_seen" in data else None
        return lot_state.accept_lot(act=act_of(request, data["reason"]), lot=row, check=check)

    return answer_lot(request, row, form, "Accept lot", "Accept the lot", write, note)


@require_http_methods(BOTH)
@needs("stores")
def lot_scrap_all(request: HttpRequest, number: str) -> HttpResponse:
    """Scrap all that is left of a lot, and hold it."""
    row = get_object_or_404(Lot, number=number)
    left = ", ".join(f"{b.quantity} at {b.place}" for b in row.balances.filter(quantity__gt=0)) or "none"
    return answer_lot(
        request,
        row,
        WhyForm(request.POST or None),
        "Scrap all of lot",
        "Scrap all that is left",
        lambda data: lot_state.scrap_lot(act=act_of(request, data["why"]), lot=row),
        f"Left: {left}. The lot goes on hold, so that a piece found later is not used.",
    )


@require_http_methods(BOTH)
@needs("stores")
def lot_extend(request: HttpRequest, number: str) -> HttpResponse:
    """Record an inspection for a later use-by date."""
    row = get_object_or_404(Lot.objects.select_related("part"), number=number)
    life, why_not = lot_papers.extension_of(row)
    if life is None or life.use_by_after_inspection is None:
        if request.method == "GET":
            raise RuleBroken(why_not)
        # A repeated request still gets the answer of the first.
        limit = row.use_by or row.received_on
    else:
        limit = life.use_by_after_inspection
    basis = f"{life.basis.capitalize()}. " if life else ""
    return answer_lot(
        request,
        row,
        paper_forms.ExtendForm(request.POST or None, limit=limit),
        "Inspect for a later date: lot",
        "Record the inspection",
        lambda data: lot_papers.extend_lot(act=act_of(request), lot=row, **data),
        f"{basis}After a passed inspection the lot may be used until {limit:%d %b %Y} at most, once.",
    )


@require_http_methods(BOTH)
@needs("stores")
def lot_certificates(request: HttpRequest, number: str) -> HttpResponse:
    """Add certificates to a lot."""
    row = get_object_or_404(Lot, number=number)
    return answer_lot(
        request,
        row,
        paper_forms.CertificatesForm(request.POST or None, request.FILES or None),
        "Certificates of lot",
        "Keep these files",
        lambda data: lot_papers.add_certificates(
            act=act_of(request), lot=row, uploads=data["certificates"], title=data["title"]
        ),
    )


@require_http_methods(BOTH)
@needs("stores")
def lot_certificate_withdraw(request: HttpRequest, number: str, pk: int) -> HttpResponse:
    """Withdraw a certificate that belongs elsewhere, with the reason."""
    paper = get_object_or_404(LotCertificate.objects.select_related("lot", "file"), pk=pk, lot__number=number)
    return answer_lot(
        request,
        paper.lot,
        WhyForm(request.POST or None),
        f"Withdraw {paper}, lot",
        "Withdraw it",
        lambda data: lot_papers.withdraw_certificate(act=act_of(request, data["why"]), certificate=paper),
        "The file stays with the lot, marked as withdrawn.",
    )


@require_http_methods(BOTH)
@needs("costs")
def lot_cost(request: HttpRequest, number: str) -> HttpResponse:
    """Correct what a piece of a lot cost."""
    row = get_object_or_404(Lot, number=number)
    form = forms.CostForm(
        request.POST or None, currency=currency_of_shop(), initial={"unit_cost": row.unit_cost}
    )
    return answer_lot(
        request,
        row,
        form,
        "Correct the cost of lot",
        "Correct the cost",
        lambda data: lot_cost_service.correct_cost(
            act=act_of(request, data["why"]), lot=row, unit_cost=data["unit_cost"]
        ),
        "The cost of every rebuild that used pieces of it follows, released ones too, and so does that "
        "of lots made here from it. The history of the lot keeps what stood there.",
    )
