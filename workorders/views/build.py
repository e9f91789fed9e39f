"""Building: parts by scan or by choice, rework, readings after the work, and the signature."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, render
from django.urls import reverse
from django.utils import timezone
from django.utils.http import urlencode
from django.views.decorators.http import require_GET, require_http_methods, require_POST

from inventory.models import KitLine, Lot, PackedKit
from inventory.services.part_fit import PartFit, part_fit
from inventory.services.picking import pick_of
from shop.errors import RuleBroken
from shop.models import Step, TypeRevision
from shop.roles import LEAD, may, roles_of
from shop.services.gland_fit import shop_limits
from shop.views.answers import act_of, answer_form, needs
from workorders.forms.part_used import ScanForm, UsePartForm, find_lot
from workorders.forms.signed_work import SignWorkForm, TakeBackForm
from workorders.models import PartUsed, Rebuild
from workorders.services import build as service
from workorders.services.build_needs import Need, build_needs, missing_for_build
from workorders.services.dimensions import dimensions
from workorders.services.hose_checks import port_hoses
from workorders.services.open_work import UnitParts, units_of
from workorders.services.outside_work import shown_on
from workorders.services.places import kind_of
from workorders.services.standing import (
    UNAPPROVED,
    Meaning,
    begin_build,
    current_test,
    signature,
    standing_build,
)
from workorders.services.work import operations_of, outside_works
from workorders.views.rebuild_of import place_of, rebuild_of, to_build
from workorders.views.teardown import act_with_reason
from workorders.views.technique import panels_of
from workorders.views.trails import to_rebuild

BOTH = ["GET", "POST"]


@dataclass(frozen=True)
class Proposal:
    """Pieces of one lot for one place, with what is to be said about them before they go in."""

    line: KitLine
    lot: Lot
    quantity: int
    fit: PartFit

    @property
    def asks_reason(self) -> bool:
        """Whether it does not fit and the kit does not say why it is the right part."""
        return self.fit.asks and not self.line.reason


@dataclass(frozen=True)
class BuildRow:
    """One place on the build page."""

    need: Need
    kind: str
    url: str
    proposals: list[Proposal]


def _row(rebuild: Rebuild, need: Need, limits: Mapping[str, float]) -> BuildRow:
    kind = kind_of(need.place)
    return BuildRow(
        need=need,
        kind=kind,
        url=reverse("workorders:use_part", args=[rebuild.pk, kind, need.place.pk]),
        proposals=[
            Proposal(
                line=line,
                lot=lot,
                quantity=quantity,
                fit=part_fit(part=line.part, place=need.place, revision=rebuild.revision, limits=limits),
            )
            for line, lot, quantity in need.proposed
        ],
    )


def build_context(request: HttpRequest, rebuild: Rebuild) -> dict[str, Any]:
    """Return what the build page shows."""
    limits = shop_limits()
    rows = [_row(rebuild, need, limits) for need in build_needs(rebuild, on=timezone.localdate())]
    used = rebuild.parts_used.select_related(
        "position", "component", "port", "hose", "lot__part", "by", "operation", "taken_back__by"
    )
    may_work = may(request.user, "build")
    torn_down, go_ahead = signature(rebuild, Meaning.TORN_DOWN), rebuild.go_aheads.order_by("-pk").first()
    test, is_draft = current_test(rebuild), rebuild.revision.state == TypeRevision.State.DRAFT
    # What `begin_build` refuses is not offered; `_build_first.html` says what comes first.
    is_ready = rebuild.is_open and torn_down and go_ahead and not (test or is_draft)
    return {
        "trail": to_rebuild(rebuild),
        "rebuild": rebuild,
        "unit": _before_start(rebuild, used),
        "open_rows": [row for row in rows if row.need.is_open],
        "rows": rows,
        "used": used,
        "outside_works": shown_on(outside_works(rebuild), timezone.localdate()),
        "operations": operations_of(rebuild),
        "hose_rows": [row for row in port_hoses(rebuild) if row.hose],
        "dimensions": dimensions(rebuild, [row.need.finding for row in rows if row.need.finding]),
        "torn_down": torn_down,
        "unapproved": UNAPPROVED.format(rebuild.revision) if is_draft else "",
        "go_ahead": go_ahead,
        "test": test,
        "signed": standing_build(rebuild),
        "earlier": signature(rebuild, Meaning.BUILT),
        "missing": missing_for_build(rebuild),
        "panels": panels_of(request, rebuild, step=Step.BUILDING) if rebuild.is_open else [],
        "may_work": may_work,
        "may_change": bool(may_work and is_ready),
        "lot_in_hand": find_lot(request.GET.get("lot", "")) if request.GET.get("lot") else None,
    }


def _before_start(rebuild: Rebuild, used: Iterable[PartUsed]) -> UnitParts | None:
    """Return what the stores can give, while nothing is fitted yet; then each place says it itself."""
    if any(not hasattr(row, "taken_back") for row in used):
        return None
    return units_of([rebuild], on=timezone.localdate()).get(rebuild.pk)


@require_GET
@needs("see")
def build(request: HttpRequest, pk: int) -> HttpResponse:
    """Every place with what is proposed and what went in."""
    context = build_context(request, rebuild_of(pk))
    return render(request, "workorders/build.html", {**context, "form": ScanForm()})


@require_POST
@needs("build")
def scan(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a scan: a packed kit fills every open place, a lot the one place that waits for it."""
    rebuild = rebuild_of(pk)
    return answer_form(
        request,
        form=ScanForm(request.POST),
        template="workorders/build.html",
        write=lambda data: _take_scan(request, rebuild, data["code"]),
        context=build_context(request, rebuild),
    )


def _take_scan(request: HttpRequest, rebuild: Rebuild, code: str) -> str:
    text = code.strip().rstrip("/").rsplit("/", 1)[-1]
    page = reverse("workorders:build", args=[rebuild.pk])
    packed = PackedKit.objects.select_related("kit__revision").filter(code__iexact=text).first()
    if packed:
        used = service.use_packed_kit(act=act_of(request), rebuild=rebuild, packed_kit=packed)
        filled = ", ".join(row.place.code for row in used if row.place)
        messages.success(request, f"Kit {packed.code} fills {filled}.")
        return page
    lot = find_lot(code) or find_lot(text)
    # Nothing is written yet: this only says why nothing could be, before somebody is sent on.
    begin_build(act_of(request, "scanned a lot"), rebuild)
    if lot is None:
        raise RuleBroken(fields={"code": f"No lot and no packed kit is called {text}. Scan the label again."})
    waiting = _waiting_for(rebuild, lot)
    if len(waiting) != 1:
        return f"{page}?{urlencode({'lot': lot.number})}"
    need, quantity, reason = waiting[0]
    fit = part_fit(part=lot.part, place=need.place, revision=rebuild.revision)
    later = pick_of(lot=lot, quantity=quantity, on=timezone.localdate()).first
    if later or (fit.asks and not reason and not fit.refusal):
        url = reverse("workorders:use_part", args=[rebuild.pk, kind_of(need.place), need.place.pk])
        return f"{url}?{urlencode({'lot': lot.number})}"
    service.use_part(
        act=act_of(request),
        rebuild=rebuild,
        place=need.place,
        lot=lot,
        quantity=quantity,
        fit_reason=reason,
    )
    messages.success(request, f"{need.place}: {quantity} of lot {lot} fitted.")
    return page


def _waiting_for(rebuild: Rebuild, lot: Lot) -> list[tuple[Need, int, str]]:
    """Return the open places whose kit takes the part of a lot, with the pieces and the kit's reason."""
    found = []
    for need in build_needs(rebuild, on=timezone.localdate()):
        line = _line_for(need, lot)
        if need.is_open and line and need.outstanding(line):
            found.append((need, need.outstanding(line), line.reason))
    return found


def _line_for(need: Need, lot: Lot | None) -> KitLine | None:
    """Return the line of the kit that takes the part of a lot at a place, the preferred one first."""
    lines = [choice.line for option in need.options for choice in option.lines]
    if lot is None:
        return lines[0] if lines else None
    return next((line for line in lines if line.part_id == lot.part_id), None)


@require_http_methods(BOTH)
@needs("build")
def use_part(request: HttpRequest, pk: int, kind: str, place_pk: int) -> HttpResponse:
    """Pieces of one lot for one place: fitted, or spoiled in fitting."""
    rebuild = rebuild_of(pk)
    place = place_of(rebuild, kind, place_pk)
    need = next(n for n in build_needs(rebuild, on=timezone.localdate()) if n.place == place)
    lot = find_lot(request.GET.get("lot", ""))
    line = _line_for(need, lot)
    part = lot.part if lot else line.part if line else None
    form = UsePartForm(
        request.POST or None,
        signed=standing_build(rebuild) is not None,
        initial={
            "lot": lot.number if lot else "",
            "quantity": (line and need.outstanding(line)) or 1,
            "fit_reason": line.reason if line else "",
        },
    )

    def write(data: dict[str, Any]) -> str:
        used = service.use_part(
            act=act_with_reason(request, data),
            rebuild=rebuild,
            place=place,
            lot=data["lot"],
            quantity=int(data["quantity"]),
            use=data["use"],
            found_in_bin=data["found_in_bin"],
            fit_reason=data.get("fit_reason", ""),
            lot_reason=data.get("lot_reason", ""),
        )
        words = f"{place}: {used.quantity} of lot {used.lot} {used.get_use_display()}."
        messages.warning(request, f"{words} {used.fit_warning}") if used.fit_warning else messages.success(
            request, words
        )
        return reverse("workorders:build", args=[rebuild.pk])

    context = {
        "trail": to_build(rebuild),
        "rebuild": rebuild,
        "place": place,
        "panels": panels_of(request, rebuild, step=Step.BUILDING, place=place),
        "need": need,
        "part": part,
        "pick": pick_of(lot=lot, quantity=1, on=timezone.localdate()) if lot else None,
        "fit": part_fit(part=part, place=place, revision=rebuild.revision) if part else None,
        "on": timezone.localdate(),
    }
    return answer_form(request, form=form, template="workorders/use_part.html", write=write, context=context)


@require_http_methods(BOTH)
@needs("build")
def take_back_part(request: HttpRequest, pk: int) -> HttpResponse:
    """Take a wrong entry back: the pieces return to the shelf, both rows stay."""
    rows = PartUsed.objects.select_related(
        "lot__part", "movement", "by", "position", "component", "port", "hose"
    )
    used = get_object_or_404(rows, pk=pk)
    rebuild = rebuild_of(used.rebuild_id)
    form = TakeBackForm(request.POST or None, needs_reason=standing_build(rebuild) is not None)

    def write(data: dict[str, Any]) -> str:
        service.take_back_part(act=act_with_reason(request, data), part_used=used)
        messages.success(request, f"Taken back: {used.quantity} of lot {used.lot} returned to the shelf.")
        return reverse("workorders:build", args=[rebuild.pk])

    context = {
        "trail": to_build(rebuild),
        "rebuild": rebuild,
        "used": used,
        "taken": getattr(used, "taken_back", None),
    }
    return answer_form(request, form=form, template="workorders/take_back.html", write=write, context=context)


@require_http_methods(BOTH)
@needs("build")
def close_build(request: HttpRequest, pk: int) -> HttpResponse:
    """Sign the build; what is missing is named."""
    rebuild = rebuild_of(pk)
    form = SignWorkForm(request.POST or None, with_reason=LEAD in roles_of(request.user))

    def write(data: dict[str, Any]) -> str:
        service.close_build(act=act_with_reason(request, data), rebuild=rebuild, done_at=data["done_at"])
        messages.success(request, "The build is signed.")
        return rebuild.get_absolute_url()

    context = {
        "trail": to_build(rebuild),
        "rebuild": rebuild,
        "missing": missing_for_build(rebuild),
        "signed": standing_build(rebuild),
        "accepts": LEAD in roles_of(request.user),
        "title": "Sign the build",
        "statement": "Repaired as necessary and reassembled; parts, rework and readings are recorded.",
        "button": "Sign the build",
        "back": reverse("workorders:build", args=[rebuild.pk]),
    }
    return answer_form(request, form=form, template="workorders/sign_work.html", write=write, context=context)
