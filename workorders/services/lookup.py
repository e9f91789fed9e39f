"""What the desk asks: find a thing by whatever was read out, and say what a caller needs."""

from collections.abc import Iterator
from dataclasses import dataclass, field
from datetime import date, datetime
from typing import Any

from django.db.models import Prefetch, Q, QuerySet
from django.utils import timezone

from inventory.documents.lot_label import read_lot_scan
from inventory.models import Lot, PackedKit, Part, PurchaseOrder
from shop.calc.maker_number import bare_number
from shop.models import Customer, UnitType
from shop.services.customers import find_customers
from workorders.calc.serial import SerialError, grouped, other_layouts, read_scan
from workorders.models import (
    Box,
    Claim,
    Exchange,
    PressureTest,
    Rebuild,
    Recall,
    Release,
    Shipment,
    Unit,
    Verdict,
    Warranty,
    WorkOrder,
)
from workorders.services.box_papers import read_box_number
from workorders.services.pick_list import read_order_number
from workorders.services.stages import Stage

LIMIT = 25


@dataclass
class Found:
    """What a search came upon; ``only`` is set where there is exactly one thing to open."""

    text: str
    units: list[Unit] = field(default_factory=list)
    work_orders: list[WorkOrder] = field(default_factory=list)
    boxes: list[Box] = field(default_factory=list)
    customers: list[Customer] = field(default_factory=list)
    papers: list[Release | Claim | Shipment] = field(default_factory=list)
    lots: list[Lot] = field(default_factory=list)
    stores: list[PackedKit | PurchaseOrder | Recall | Part] = field(default_factory=list)
    types: list[UnitType] = field(default_factory=list)
    problem: str = ""

    @property
    def rows(self) -> list[Any]:
        """Everything found, in the order shown."""
        found = [*self.units, *self.work_orders, *self.boxes, *self.papers]
        return [*found, *self.lots, *self.stores, *self.types, *self.customers]

    @property
    def only(self) -> Any:
        """The one thing found, or None."""
        return self.rows[0] if len(self.rows) == 1 else None


def find(text: str) -> Found:
    """Find units, boxes, work orders, papers, unit types and customers by a scan or by what was typed.

    A scan in any case, whole address or bare serial, opens its unit, and that of a slip its box. A
    text that is clearly a serial but mistyped gives a problem in words. At most 25 rows of a kind.
    """
    wanted = text.strip()
    found = Found(text=wanted)
    if not wanted:
        return found
    number = None if scanned_lot(text) else read_box_number(wanted)
    if number:
        found.boxes = list(_boxes().filter(number=number))
        if found.boxes:
            return found
    if order := read_order_number(wanted):
        found.work_orders = list(WorkOrder.objects.filter(number=order).select_related("customer"))
        found.problem = "" if found.work_orders else f"No work order has the number {order}."
        return found
    if scanned_lot(text):
        found.lots = list(lots_of(text).select_related("part"))
        found.problem = "" if found.lots else f"No lot has the number {scanned_lot(text)}."
        return found
    try:
        serial = read_scan(text)
    except SerialError as error:
        found.problem = str(error)
        serial = None
    if serial:
        found.units = list(_units().filter(serial=serial))
        if found.units:
            return found
        found.problem = f"No unit carries the serial {serial}."
    part = wanted.upper().replace(" ", "").replace("-", "")
    by_serial = Q(serial__contains=part) if len(part) >= 3 else Q(pk__in=[])
    by_text = Q(maker_serial__icontains=wanted)
    found.units = list(_units().filter(by_serial | by_text)[:LIMIT])
    found.work_orders = list(
        WorkOrder.objects.filter(
            Q(number__icontains=wanted) | Q(customer_order__iexact=wanted)
        ).select_related("customer")[:LIMIT]
    )
    found.boxes = list(
        _boxes().filter(
            Q(number__icontains=wanted) | Q(tracking__iexact=wanted) | Q(customer_order__iexact=wanted)
        )[:LIMIT]
    )
    found.papers = [
        *Release.objects.filter(number__iexact=wanted)[:LIMIT],
        *Claim.objects.filter(number__iexact=wanted)[:LIMIT],
        *_shipments(wanted),
    ]
    found.lots = list(lots_of(wanted).select_related("part"))
    found.stores = _stores(wanted)
    found.types = _types(wanted)
    found.customers = list(find_customers(wanted)[:LIMIT])
    return found


def _shipments(wanted: str) -> list[Shipment]:
    """Find shipments by number, also as the end of a scanned address, or by a tracking number."""
    number = wanted.rstrip("/").rsplit("/", 1)[-1]
    rows = Shipment.objects.filter(Q(number__iexact=number) | Q(parcels__tracking__iexact=wanted))
    return list(rows.distinct()[:LIMIT])


def scanned_lot(text: str) -> str | None:
    """Return the lot number in the scan of a lot's label; None for any other text."""
    told = (read_lot_scan(each) for each in (text, *other_layouts(text)))
    return next(filter(None, told), None)


def lots_of(text: str) -> QuerySet[Lot]:
    """Return the lot of a scanned label or a typed number, in any case."""
    return Lot.objects.filter(number__iexact=scanned_lot(text) or text.strip())


def _stores(wanted: str) -> list[PackedKit | PurchaseOrder | Recall | Part]:
    """Find packed kits, purchase orders and recalls by number, and parts by number, part of it, or size."""
    numbered = Q(number__icontains=wanted) if len(wanted) >= 3 else Q(number__iexact=wanted)
    return [
        *PackedKit.objects.filter(code__iexact=wanted),
        *PurchaseOrder.objects.filter(number__iexact=wanted),
        *Recall.objects.filter(number__iexact=wanted),
        *Part.objects.filter(numbered | Q(size_designation__iexact=wanted))[:LIMIT],
    ]


def _boxes() -> Any:
    return Box.objects.select_related("customer", "work_order__customer")


def _types(wanted: str) -> list[UnitType]:
    """Find unit types by their catalogue code, or by a maker's number however it is spaced."""
    bare = bare_number(wanted)
    numbered = Q(maker_numbers__bare__startswith=bare) if len(bare) >= 4 else Q(pk__in=[])
    return list(UnitType.objects.in_use().filter(Q(code__iexact=wanted) | numbered).distinct()[:LIMIT])


def _units() -> Any:
    latest = Rebuild.objects.order_by("-number").select_related("work_order__customer")
    return Unit.objects.select_related("unit_type").prefetch_related(
        Prefetch("rebuilds", latest, to_attr="passes")
    )


@dataclass(frozen=True)
class Answer:
    """What a caller needs to hear about a unit, computed from its record on one day."""

    kind: str
    headline: str
    sentences: tuple[str, ...]
    rebuilt_on: date | None
    warranty: Warranty | None
    in_warranty: bool
    claim_possible: bool


def answer(unit: Unit, passes: list[Rebuild], *, on: date) -> Answer:
    """Say whether the warranty holds, when the unit was rebuilt, how it tested.

    ``passes`` are the unit's rebuilds, latest first, as ``history_of`` reads them. ``kind`` is
    good (in warranty), bad (out of it), ask (no warranty was given) or warn (in the shop now).
    """
    shipped = next((row for row in passes if hasattr(row, "warranty")), None)
    warranty = shipped.warranty if shipped else None
    inside = bool(warranty and warranty.starts_on <= on <= warranty.ends_on)
    done = next((row for row in passes if row.releases.all()), None)
    rebuilt_on = _local(list(done.releases.all())[-1].at) if done else None
    open_now = next((row for row in passes if row.is_open), None)
    if warranty is None:
        kind, headline = "ask", "No warranty from this shop"
    elif inside:
        kind, headline = "good", f"In warranty until {day(warranty.ends_on)}"
    else:
        kind, headline = "bad", f"Out of warranty since {day(warranty.ends_on)}"
    sentences = tuple(_sentences(unit, passes, done, rebuilt_on, open_now))
    return Answer(
        kind="warn" if open_now and kind == "ask" else kind,
        headline=headline,
        sentences=sentences,
        rebuilt_on=rebuilt_on,
        warranty=warranty,
        in_warranty=inside,
        claim_possible=warranty is not None,
    )


def _sentences(
    unit: Unit,
    passes: list[Rebuild],
    done: Rebuild | None,
    rebuilt_on: date | None,
    open_now: Rebuild | None,
) -> Iterator[str]:
    if done and rebuilt_on:
        status = list(done.releases.all())[-1].get_status_display()
        yield f"{unit.unit_type.name}, {status}, released {day(rebuilt_on)} ({done.work_order.number})."
        yield tested(done)
    else:
        yield f"{unit.unit_type.name}; this shop has not released it yet."
    if len(passes) > 1:
        yield f"It has been here {'twice' if len(passes) == 2 else f'{len(passes)} times'}."
    if open_now:
        yield f"It is in the shop now: {open_now.get_stage_display()}, {open_now.work_order.number}."
    for row in passes[:1]:
        if row.stage in Rebuild.SIDE_EXITS:
            yield f"Last time it was {row.get_stage_display()}: {row.exit_reason}"
    yield from _exchange_sentences(passes)


def _exchange_sentences(passes: list[Rebuild]) -> Iterator[str]:
    """Name the other end of an exchange, latest first: the unit given for it, or what it was given for."""
    for row in passes:
        if exchange := getattr(row, "exchange", None):
            given = exchange.packed.rebuild
            warranty = getattr(given, "warranty", None)
            until = f", in warranty until {day(warranty.ends_on)}" if warranty else ""
            yield (
                f"For this core the customer was given unit {grouped(given.unit.serial)} "
                f"({exchange.packed.parcel.shipment}){until}."
            )
        packed = getattr(row, "packed", None)
        if packed and (exchange := getattr(packed, "exchange", None)):
            yield _given_for(exchange)


def _given_for(exchange: Exchange) -> str:
    if exchange.core:
        return f"It was given in exchange for core {grouped(exchange.core.unit.serial)}."
    if exchange.waived_at:
        return f"It was given in exchange; no core came: {exchange.waive_reason}"
    return f"It was given in exchange; the core is owed, due by {day(exchange.due)}."  # type: ignore[arg-type]


def tested(rebuild: Rebuild) -> str:
    """Say how a rebuild tested, from its standing signed test."""
    signed = [t for t in rebuild.pressure_tests.all() if t.state == PressureTest.State.SIGNED]
    if not signed:
        return "There is no standing pressure test."
    test = signed[-1]
    results = [result for result in test.results.all() if result.verdict != Verdict.RECORDED]
    good = sum(result.verdict == Verdict.PASSES for result in results)
    when = f", {day(_local(test.signature.done_at))}" if test.signature else ""
    return f"Pressure test {test.get_verdict_display()}: {good} of {len(results)} steps pass{when}."


def day(value: date) -> str:
    """Write a date so that nobody can mistake it, such as 05 Nov 2026."""
    return value.strftime("%d %b %Y")


def _local(value: datetime) -> date:
    return timezone.localdate(value)


def history_of(unit: Unit) -> list[Rebuild]:
    """Read a unit's rebuilds, latest first, with all that the unit page shows.

    The number of queries does not grow with the rebuilds or their rows.
    """
    rows = unit.rebuilds.order_by("-number").select_related(
        "work_order__customer", "revision", "received_by", "mounting_place__application"
    )
    return list(
        rows.select_related(
            "warranty__holder",
            "fluid_found__fluid",
            "packed__parcel__shipment",
            "packed__exchange__core__unit",
            "exchange__packed__rebuild__unit",
            "exchange__packed__rebuild__warranty",
            "exchange__packed__parcel__shipment",
        ).prefetch_related(
            "findings__position",
            "findings__component",
            "findings__port",
            "findings__hose",
            "measurements__limit",
            "operations__position",
            "operations__component",
            "operations__port",
            "operations__hose",
            "operations__done_by",
            "operations__instrument",
            "operations__locker_lot",
            "operations__values",
            "parts_used__lot__part",
            "parts_used__position",
            "parts_used__component",
            "parts_used__port",
            "parts_used__hose",
            "parts_used__taken_back",
            "quotes",
            "go_aheads__by",
            "photos__file",
            "signatures",
            "releases__replaces",
            "releases__certificate",
            Prefetch("pressure_tests", PressureTest.objects.select_related("plan", "signature", "rig_fluid")),
            "pressure_tests__results__step",
            "pressure_tests__results__readings",
            "warranty__claims__claimant",
            "warranty__claims__judged_by",
        )
    )


@dataclass(frozen=True)
class Event:
    """One knot of the timeline."""

    at: datetime
    title: str
    text: str = ""
    who: str = ""
    url: str = ""
    link: str = ""
    verdict: str = ""
    major: bool = False


def timeline(rebuild: Rebuild, *, currency: str) -> list[Event]:
    """Return what happened in one rebuild, latest first, from stored rows only; prices in ``currency``."""
    events = [*_work_events(rebuild, currency), *_test_events(rebuild), *_after_events(rebuild)]
    return sorted(events, key=lambda event: event.at, reverse=True)


def _work_events(rebuild: Rebuild, currency: str) -> Iterator[Event]:
    yield Event(
        rebuild.received_at,
        "Received",
        f"{rebuild.get_opened_before_display()}; {rebuild.arrival_condition}",
        str(rebuild.received_by),
        major=True,
    )
    for row in rebuild.signatures.all():
        if row.meaning in ("torn_down", "built", "returned"):
            yield Event(row.done_at, row.get_meaning_display().capitalize(), "", row.printed_name)
    for quote in rebuild.quotes.all():
        yield Event(quote.at, "Quoted", f"{quote.amount} {currency} for {quote.scope}")
    for go in rebuild.go_aheads.all():
        ceiling = f", up to {go.price_ceiling} {currency}" if go.price_ceiling is not None else ""
        text = f"{go.given_by}, {go.get_how_display()}: {go.scope}{ceiling}"
        yield Event(go.given_at, "Go-ahead", text, str(go.by))
    for operation in rebuild.operations.all():
        parts = (f"with {operation.tool}", "; ".join(operation.lines), operation.note)
        text = ". ".join(part for part in parts if part)
        yield Event(operation.done_at, str(operation), text, str(operation.done_by))


def _test_events(rebuild: Rebuild) -> Iterator[Event]:
    for test in rebuild.pressure_tests.all():
        at = test.signature.done_at if test.signature else test.started_at
        who = test.signature.printed_name if test.signature else ""
        text = f"{test.plan}; {test.get_state_display()}"
        if test.superseded_reason:
            text += f": {test.superseded_reason}"
        yield Event(
            at,
            f"Pressure test {test.number}",
            text,
            who,
            test.get_absolute_url(),
            "readings and chart",
            test.verdict or "not tested",
        )


def _after_events(rebuild: Rebuild) -> Iterator[Event]:
    for release in rebuild.releases.all():
        text = f"replaces {release.replaces.number}: {release.why}" if release.replaces else ""
        title = f"Released as {release.get_status_display()}, {release.number}"
        yield Event(release.at, title, text, "", release.get_absolute_url(), "certificate", major=True)
    packed = getattr(rebuild, "packed", None)
    if packed:
        parcel = packed.parcel
        text = f"parcel {parcel.number}, {parcel.shipment.carrier} {parcel.tracking}".strip()
        yield Event(
            packed.at, f"Shipped, {parcel.shipment}", text, "", parcel.shipment.get_absolute_url(), "shipment"
        )
    warranty = getattr(rebuild, "warranty", None)
    for claim in warranty.claims.all() if warranty else []:
        yield Event(
            claim.opened_at,
            f"Claim {claim}",
            claim.reported,
            "",
            claim.get_absolute_url(),
            "claim",
            major=True,
        )
        if claim.judged_at:
            title = f"Claim {claim} judged: {claim.get_judgement_display()}"
            yield Event(claim.judged_at, title, claim.reason, str(claim.judged_by))


def open_counts() -> list[tuple[str, str, int]]:
    """Return how many open rebuilds stand at each stage: code, word, count."""
    counts = dict.fromkeys(Stage.values, 0)
    for stage in Rebuild.objects.open().values_list("stage", flat=True):
        counts[stage] += 1
    closed = [s.value for s in Rebuild.CLOSED_STAGES]
    return [(s.value, str(s.label), counts[s.value]) for s in Stage if s.value not in closed]
