"""The page of one rebuild: where it stands, what comes next, and everything recorded so far."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import render
from django.utils import timezone
from django.views.decorators.http import require_GET

from shop.changes import changes
from shop.roles import ACTIONS, ROLES, may
from shop.services.profile import currency_of_shop
from shop.views.answers import needs
from workorders import models as rows
from workorders.models import Rebuild
from workorders.services.dimensions import dimensions
from workorders.services.lessons import RELATED
from workorders.services.margins import account, cost_by_lot
from workorders.services.next_step import next_step
from workorders.services.outside_work import shown_on
from workorders.services.standing import Meaning
from workorders.services.work import operations_of, outside_works
from workorders.views.rebuild_of import rebuild_of
from workorders.views.trails import to_order, to_rebuild

Stage = Rebuild.Stage
TRACKED = (
    rows.ArrivalItem,
    rows.Finding,
    rows.Measurement,
    rows.FluidFound,
    rows.Operation,
    rows.OutsideWork,
    rows.PressureTest,
)
# What a reader of the changes wants to see; the times beside them stand in the act itself.
SHOWN_CHANGES = frozenset(
    (
        *("stage", "opened_before", "arrival_condition", "reported", "destination", "mounting_place"),
        *("shelf", "debris_found", "debris_origin", "circuit_flagged", "exit_reason", "label"),
        *(
            "condition",
            "corrosion",
            "pitting",
            "cause",
            "action",
            "note",
            "value",
            "instrument",
            "position",
            "component",
        ),
        *("port", "hose", "length_mm", "kept_reason", "no_photo_reason"),
        *("fluid", "kind_note", "colour", "smell", "water", "kind", "tool"),
        *("state", "verdict", "fluid_left", "superseded_reason"),
        *("supplier", "asked", "due", "accepted", "reject_reason", "cancel_reason", "certificate"),
        *("bake", "bake_h", "bake_temperature_c", "bake_basis"),
    )
)


# Between the go-ahead and the test; the service says the rest.
ASKED = ("go_ahead", "side_exit", "release", "work_time", "prices")
SENDS_OUT = (Stage.GO_AHEAD, Stage.BUILDING)


@require_GET
@needs("see")
def rebuild(request: HttpRequest, pk: int) -> HttpResponse:
    """The hub of one rebuild."""
    row = rebuild_of(pk)
    step = next_step(row)
    stops = _stops(row)
    allowed = ACTIONS[step.action][1] if step.action else ()
    context = {
        **_record(row),
        "trail": to_order(row.work_order),
        "rebuild": row,
        "step": step,
        "may_step": bool(step.action) and may(request.user, step.action),
        "who_may": " or ".join(role for role in ROLES if role in allowed),
        "route_stage": list(stops)[-1] if row.stage in Rebuild.SIDE_EXITS else row.stage,
        "route_exit": row.stage if row.stage in Rebuild.SIDE_EXITS else None,
        "route_notes": {stage: f"{timezone.localtime(at):%d %b %Y}" for stage, at in stops.items()},
        "may_send_out": row.stage in SENDS_OUT and may(request.user, "build"),
        "may": {name: may(request.user, name) for name in ASKED},
        **(_money(row) if may(request.user, "costs") else {}),
    }
    return render(request, "workorders/rebuild.html", context)


def _record(row: Rebuild) -> dict[str, Any]:
    """Return everything recorded, each kind in a constant number of queries."""
    findings = list(
        row.findings.select_related("position", "component", "port", "hose", "found_by").prefetch_related(
            "photos__file"
        )
    )
    used = row.parts_used.select_related(
        "position", "component", "port", "hose", "lot__part", "by", "operation", "taken_back__by"
    )
    warranty = getattr(row, "warranty", None)
    return {
        "items": row.arrival_items.all(),
        "photos": row.photos.select_related("file", "by"),
        "findings": findings,
        "fluid": getattr(row, "fluid_found", None),
        "dimensions": dimensions(row, findings),
        "quotes": row.quotes.select_related("by"),
        "go_aheads": row.go_aheads.select_related("by"),
        "currency": currency_of_shop(),
        "operations": operations_of(row),
        "lessons": row.lessons.select_related(*RELATED),
        "outside_works": shown_on(outside_works(row), timezone.localdate()),
        "used": used,
        "work_times": row.work_times.select_related("done_by", "by", "replaced_by"),
        "tests": row.pressure_tests.select_related("plan", "rig_fluid", "fluid_left", "signature"),
        "releases": row.releases.select_related("by", "replaces", "replaced_by"),
        "packed": rows.PackedUnit.objects.filter(rebuild=row)
        .select_related("parcel__shipment__recipient", "exchange__core__unit")
        .first(),
        "warranty": warranty,
        "claims": warranty.claims.all() if warranty else (),
        "signatures": row.signatures.all(),
    }


def _money(row: Rebuild) -> dict[str, Any]:
    """Return what the panel of costs shows."""
    return {
        "costs": account(row),
        "cost_lots": cost_by_lot(row),
        "prices": row.invoiced_prices.select_related("by", "replaced_by"),
    }


def _stops(row: Rebuild) -> dict[str, datetime]:
    """Return when each stage of the route was reached, for those that were, in their order."""
    packed = getattr(row, "packed", None)
    signed = {one.meaning: one.done_at for one in row.signatures.order_by("-pk")}
    begun = [
        *row.parts_used.order_by("pk").values_list("at", flat=True)[:1],
        *row.operations.order_by("done_at").values_list("done_at", flat=True)[:1],
        *row.outside_works.order_by("sent_at").values_list("sent_at", flat=True)[:1],
    ]
    found = {
        Stage.RECEIVED: row.received_at,
        Stage.TORN_DOWN: signed.get(Meaning.TORN_DOWN),
        Stage.QUOTED: row.quotes.order_by("pk").values_list("at", flat=True).first(),
        Stage.GO_AHEAD: row.go_aheads.order_by("pk").values_list("given_at", flat=True).first(),
        Stage.BUILDING: min(begun, default=None),
        Stage.ON_TEST: row.pressure_tests.order_by("number").values_list("started_at", flat=True).first(),
        Stage.RELEASED: row.releases.order_by("pk").values_list("at", flat=True).first(),
        Stage.SHIPPED: packed.at if packed else None,
    }
    return {stage.value: at for stage, at in found.items() if at}


@require_GET
@needs("see")
def rebuild_changes(request: HttpRequest, pk: int) -> HttpResponse:
    """Every entry and every correction of a rebuild: what stood there, who changed it, when and why."""
    row = rebuild_of(pk)
    histories = [model.history.filter(rebuild_id=row.pk) for model in TRACKED]
    found = changes(row.history.all(), several=histories, fields=SHOWN_CHANGES)
    context = {"rebuild": row, "trail": to_rebuild(row), "changes": found}
    return render(request, "workorders/rebuild_changes.html", context)
