"""Receiving: work orders, and units that arrive in them."""

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db import IntegrityError, transaction
from django.db.models import Max

from shop.errors import RuleBroken
from shop.models import Customer, MountingPlace, TypeRevision, UnitType
from shop.services.customers import ship_to_lines, standing
from shop.services.draft_types import bench_draft
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.calc.serial import draw_serial, grouped
from workorders.models import ArrivalItem, Photo, Rebuild, Signature, Unit, WorkOrder
from workorders.services.claims import link_rebuild, pending_claim
from workorders.services.photos import add_photo
from workorders.services.record.unit import intake_record
from workorders.services.signing import sign
from workorders.services.stages import refresh_stage
from workorders.services.standing import open_rebuild

MOST_DRAWS = 20
Kind = ArrivalItem.Kind
Draw = Callable[[], str]


@dataclass(frozen=True, kw_only=True)
class Intake:
    """What is written down when a unit arrives, before anything is loosened.

    ``opened_before`` and ``destination`` are values of the choices of `Rebuild`; ``hoses`` are the
    numbers attached, ``missing`` and ``extra`` name parts; ``photos`` are uploads.
    """

    opened_before: str
    arrival_condition: str
    mounting_place: MountingPlace | None = None
    reported: str = ""
    destination: str = Rebuild.Destination.CUSTOMER
    hoses: Sequence[str] = ()
    missing: Sequence[str] = ()
    extra: Sequence[str] = ()
    shelf: str = ""
    photos: "Sequence[UploadedFile[Any]]" = ()

    @property
    def items(self) -> list[tuple[str, str]]:
        """Kind and label of everything that came along or should have; each hose once."""
        lists = (
            (Kind.HOSE, dict.fromkeys(self.hoses)),
            (Kind.MISSING, self.missing),
            (Kind.EXTRA, self.extra),
        )
        return [(kind, label.strip()) for kind, labels in lists for label in labels if label.strip()]

    def write_to(self, rebuild: Rebuild) -> None:
        """Set the intake fields of a rebuild."""
        rebuild.mounting_place = self.mounting_place
        rebuild.opened_before = self.opened_before
        rebuild.arrival_condition = self.arrival_condition.strip()
        rebuild.reported = self.reported.strip()
        rebuild.destination = self.destination
        rebuild.shelf = self.shelf.strip()


@service("receive")
def open_work_order(
    *,
    act: Act,
    customer: Customer,
    customer_order: str = "",
    note: str = "",
    ship_to: str = "",
    under_claim: bool = False,
) -> WorkOrder:
    """Open a work order for one customer's box or visit.

    Where bills and parcels go, and who holds the warranty, is taken from the customer as it stands
    and kept; ``ship_to`` (lines of a label) is another address for this order. Raises RuleBroken
    for a customer that was merged, and without an order number where the account requires one,
    unless the unit comes back under a claim.
    """
    held = standing(customer)
    if not under_claim:
        require_order_number(held, customer_order)
    return keep(
        WorkOrder(
            number=next_number("W", act.at),
            customer=held,
            customer_order=customer_order.strip(),
            note=note.strip(),
            bill_to=held.bill_to,
            ship_to=ship_to.strip() or ship_to_lines(held),
            warranty_holder=held.warranty_holder,
            opened_at=act.at,
            opened_by=act.by,
        )
    )


def require_order_number(customer: Customer, customer_order: str) -> None:
    """Raise RuleBroken where an account requires an order number of theirs and none is given."""
    if customer.needs_order_number and not customer_order.strip():
        raise RuleBroken(
            fields={"customer_order": f"{customer} requires an order number of theirs; ask for it."}
        )


@service("receive")
def change_work_order(
    *,
    act: Act,
    work_order: WorkOrder,
    customer: Customer,
    customer_order: str,
    note: str,
    bill_to: str | None = None,
    ship_to: str | None = None,
) -> WorkOrder:
    """Correct the head of a work order, for the reason in ``act.why``.

    With another customer its addresses and its rule for the warranty are taken over, unless they
    are given. Raises RuleBroken without a reason, for another customer once a unit of it is
    released (the signed release names the customer), for another address once a packing list
    shows it, and where the account's order number is taken out.
    """
    need_reason(act)
    held = standing(customer)
    row = locked(work_order)
    if row.customer_order or row.customer_id != held.pk:
        require_order_number(held, customer_order)
    _refuse_another_customer(row, held)
    if row.customer_id != held.pk:
        row.bill_to, row.ship_to, row.warranty_holder = (
            held.bill_to,
            ship_to_lines(held),
            held.warranty_holder,
        )
    _change_addresses(row, bill_to, ship_to)
    row.customer, row.customer_order, row.note = held, customer_order.strip(), note.strip()
    return keep(row)


def _change_addresses(row: WorkOrder, bill_to: str | None, ship_to: str | None) -> None:
    """Set the addresses that are given; RuleBroken for a change once a packing list shows them."""
    for name, given in (("bill_to", bill_to), ("ship_to", ship_to)):
        lines = "\n".join(line.strip() for line in (given or "").splitlines() if line.strip())
        if given is None or lines == getattr(row, name):
            continue
        if row.shipments.exists():
            raise RuleBroken(
                fields={name: "A packing list of this order is issued; the address stays as it was."}
            )
        setattr(row, name, lines)


def _refuse_another_customer(row: WorkOrder, customer: Customer) -> None:
    if row.customer_id != customer.pk and row.shipments.exists():
        raise RuleBroken(f"A packing list of {row} is issued; it cannot go to another customer any more.")
    if row.customer_id != customer.pk and row.rebuilds.filter(releases__isnull=False).exists():
        raise RuleBroken(
            f"A release of {row} names {row.customer} as the customer; "
            "the work order cannot go to another one any more."
        )


@service("receive")
def add_new_unit(
    *,
    act: Act,
    work_order: WorkOrder,
    unit_type: UnitType,
    maker_serial: str = "",
    draw: Draw = draw_serial,
    **intake: Any,
) -> Rebuild:
    """Receive a unit that was never here: draw its serial and open its first rebuild.

    ``intake`` are the fields of `Intake`; ``draw`` gives a serial. Raises RuleBroken for a type
    without a revision to receive on and for a maker's serial that another unit of the type has.
    """
    told = Intake(**intake)
    revision = revision_to_receive(unit_type)
    maker_serial = tidy_maker_serial(maker_serial)
    refuse_known_maker_serial(unit_type, maker_serial)
    unit = new_unit(unit_type, maker_serial, draw)
    return open_next_rebuild(act, work_order, unit, revision, told)


@service("receive")
def add_known_unit(
    *, act: Act, work_order: WorkOrder, unit: Unit, for_claim: bool = True, **intake: Any
) -> Rebuild:
    """Receive a unit that has a shop serial already: open its next rebuild.

    A claim on the unit that waits for its rebuild is tied to it, unless the unit came for another
    reason (``for_claim`` False). Raises RuleBroken while an earlier rebuild of it is open, and for
    a type without a revision to receive on.
    """
    told = Intake(**intake)
    row = locked(unit)
    here = row.rebuilds.open().select_related("work_order").first()
    if here:
        raise RuleBroken(
            f"Unit {grouped(row.serial)} is in the shop already: {here.work_order}, "
            f"{here.get_stage_display()}. "
            "Compare the label with the unit; a twin may carry the wrong tag."
        )
    rebuild = open_next_rebuild(act, work_order, row, revision_to_receive(row.unit_type), told)
    claim = pending_claim(row) if for_claim else None
    if claim:
        link_rebuild(act=act, claim=claim, rebuild=rebuild)
    return rebuild


@service("receive")
def correct_intake(*, act: Act, rebuild: Rebuild, maker_serial: str, **intake: Any) -> Rebuild:
    """Correct what was written down at receiving, for the reason in ``act.why``, and sign it again.

    ``photos`` are added to those already there. Raises RuleBroken without a reason, and once the
    unit is released or gone: the signed papers show the intake.
    """
    told = Intake(**intake)
    need_reason(act)
    row = open_rebuild(rebuild)
    row.unit = locked(row.unit)
    _correct_maker_serial(row.unit, tidy_maker_serial(maker_serial))
    told.write_to(row)
    _refuse_foreign_place(row.unit.unit_type, told.mounting_place)
    keep(row)
    _replace_items(row, told.items)
    _add_photos(act, row, told.photos)
    sign_receipt(act, row)
    return row


@service("see")
def move_to_shelf(*, act: Act, rebuild: Rebuild, shelf: str) -> Rebuild:
    """Write down where a unit is now."""
    row = locked(rebuild)
    if not row.is_open:
        raise RuleBroken(f"Unit {grouped(row.unit.serial)} has left the shop.")
    row.shelf = shelf.strip()
    return keep(row)


def revision_to_receive(unit_type: UnitType) -> TypeRevision:
    """Return the revision that a unit is received on: the approved one, or a draft opened at the bench.

    Raises RuleBroken with a sentence where there is neither.
    """
    if unit_type.merged_into:
        raise RuleBroken(
            f"{unit_type} turned out to be {unit_type.merged_into}. Receive the unit as that type."
        )
    approved = unit_type.revisions.filter(state=TypeRevision.State.APPROVED).first()
    revision = approved or bench_draft(unit_type)
    if revision is None:
        raise RuleBroken(
            f"Unit type {unit_type} has no approved revision yet, so nobody could say how to rebuild it. "
            "The lead approves one under Unit types; then the unit can be received."
        )
    return revision


def tidy_maker_serial(text: str) -> str:
    """Return a maker's serial without blanks around it and with single ones inside."""
    return " ".join(text.split())


def known_by_maker_serial(unit_type: UnitType, maker_serial: str) -> Unit | None:
    """Return the unit of a type with that maker's serial, in either case, or None."""
    if not maker_serial:
        return None
    return Unit.objects.filter(unit_type=unit_type, maker_serial__iexact=maker_serial).first()


def refuse_known_maker_serial(unit_type: UnitType, maker_serial: str, apart_from: Unit | None = None) -> None:
    """Raise RuleBroken, naming the unit, where the maker's serial belongs to another unit."""
    known = known_by_maker_serial(unit_type, maker_serial)
    if known and known != apart_from:
        raise RuleBroken(
            fields={
                "maker_serial": f"Unit {grouped(known.serial)} of this type has this maker's serial already. "
                "Receive it by its shop serial instead of making a double."
            }
        )


def need_reason(act: Act) -> None:
    """Raise RuleBroken, beside the reason, where none was given."""
    if not act.why.strip():
        raise RuleBroken(fields={"why": "Say why this is changed; the reason stays in the history."})


def new_unit(unit_type: UnitType, maker_serial: str, draw: Draw) -> Unit:
    """Keep a unit under a serial that nobody has; another is drawn where the first is taken."""
    for _ in range(MOST_DRAWS):
        unit = Unit(serial=draw(), unit_type=unit_type, maker_serial=maker_serial)
        try:
            with transaction.atomic():
                return keep(unit)
        except RuleBroken as error:
            if "serial" not in error.fields:
                raise
        except IntegrityError:
            # Somebody else's commit came between the check and the row: the next check names it.
            continue
    raise RuleBroken(f"No free serial came up in {MOST_DRAWS} draws. Send the form again.")


def open_next_rebuild(
    act: Act, work_order: WorkOrder, unit: Unit, revision: TypeRevision, told: Intake
) -> Rebuild:
    """Open the next rebuild of a unit with its intake, and sign it; call inside a service."""
    _refuse_foreign_place(unit.unit_type, told.mounting_place)
    latest = unit.rebuilds.aggregate(number=Max("number"))["number"] or 0
    rebuild = Rebuild(
        unit=unit,
        work_order=work_order,
        revision=revision,
        number=latest + 1,
        received_at=act.at,
        received_by=act.by,
        # Debris found in one unit is a finding about the whole circuit, also for what comes later.
        circuit_flagged=work_order.rebuilds.filter(debris_found=True).exists(),
    )
    told.write_to(rebuild)
    keep(rebuild)
    _add_items(rebuild, told.items)
    _add_photos(act, rebuild, told.photos)
    sign_receipt(act, rebuild)
    return refresh_stage(rebuild)


def _refuse_foreign_place(unit_type: UnitType, place: MountingPlace | None) -> None:
    if place and place.unit_type_id != unit_type.pk:
        raise RuleBroken(fields={"mounting_place": f"{place} takes another unit type than {unit_type}."})


def _correct_maker_serial(unit: Unit, maker_serial: str) -> None:
    if unit.maker_serial == maker_serial:
        return
    refuse_known_maker_serial(unit.unit_type, maker_serial, apart_from=unit)
    unit.maker_serial = maker_serial
    keep(unit)


def _add_items(rebuild: Rebuild, items: Iterable[tuple[str, str]]) -> None:
    for kind, label in items:
        keep(ArrivalItem(rebuild=rebuild, kind=kind, label=label))


def _replace_items(rebuild: Rebuild, items: list[tuple[str, str]]) -> None:
    """Make the items equal to a list, touching only those that differ, each with its history."""
    missing = list(items)
    for row in rebuild.arrival_items.all():
        if (row.kind, row.label) in missing:
            missing.remove((row.kind, row.label))
        else:
            row.delete()
    _add_items(rebuild, missing)


def _add_photos(act: Act, rebuild: Rebuild, photos: "Sequence[UploadedFile[Any]]") -> None:
    for upload in photos:
        add_photo(act=act, rebuild=rebuild, upload=upload, moment=Photo.Moment.RECEIVING)


def sign_receipt(act: Act, rebuild: Rebuild) -> None:
    """Sign the intake as it stands now."""
    sign(act=act, rebuild=rebuild, meaning=Signature.Meaning.RECEIVED, content=intake_record(rebuild))
