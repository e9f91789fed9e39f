"""Boxes: announced, received, whose they are, what was found in them, closed."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Any

from django.core.files.uploadedfile import UploadedFile
from django.db.models import Max

from shop.errors import RuleBroken
from shop.models import Customer, UnitType
from shop.services.customers import standing
from shop.services.draft_types import SeenOutside
from shop.services.files import store_photo
from shop.services.numbering import next_number
from shop.services.writing import Act, keep, locked, service
from workorders.models import Box, BoxLine, BoxPhoto, Rebuild, Unit, WorkOrder
from workorders.services.receiving import add_known_unit, add_new_unit, open_work_order
from workorders.services.unknown_units import add_unknown_unit

Outcome = BoxLine.Outcome
MOST_LINES = 60
Uploads = Sequence["UploadedFile[Any]"]


@dataclass(frozen=True, kw_only=True)
class Expected:
    """One unit that the sender says is in the box."""

    what: str
    symptoms: str = ""
    unit_type: UnitType | None = None


@service("announce")
def announce_box(
    *,
    act: Act,
    how: str,
    expected: Sequence[Expected],
    customer: Customer | None = None,
    sender_as_written: str = "",
    contact: str = "",
    return_address: str = "",
    customer_order: str = "",
) -> Box:
    """Write down a box that is on its way, with the units it should hold.

    ``how`` is a value of `Box.How`. Nobody is named as the one who announced it where the customer
    used a link. Raises RuleBroken without a unit, and where neither customer nor sender is given.
    """
    if how == Box.How.NOT_ANNOUNCED or how not in Box.How.values:
        raise RuleBroken(fields={"how": "Choose how the box was announced."})
    if not expected:
        raise RuleBroken("Name at least one unit that is in the box.")
    if len(expected) > MOST_LINES:
        raise RuleBroken(f"A box has {MOST_LINES} lines at most; announce the rest as another box.")
    if customer is None and not sender_as_written.strip():
        raise RuleBroken(fields={"sender_as_written": "Say who sends the box."})
    box = keep(
        Box(
            number=next_number("B", act.at),
            customer=standing(customer) if customer else None,
            sender_as_written=sender_as_written.strip(),
            contact=contact.strip(),
            return_address=return_address.strip(),
            customer_order=customer_order.strip(),
            announced_how=how,
            announced_at=act.at,
            announced_by=None if how == Box.How.LINK else act.by,
        )
    )
    for order, line in enumerate(expected, 1):
        keep(
            BoxLine(
                box=box,
                order=order,
                what=line.what.strip(),
                symptoms=line.symptoms.strip(),
                unit_type=line.unit_type,
                expected=True,
            )
        )
    return box


@service("receive")
def receive_box(*, act: Act, box: Box | None = None, photos: Uploads = (), **arrival: str) -> Box:
    """Write down that a box is here: ``box`` where it was announced, or a new one from nothing.

    ``arrival`` are packing, damage_note, carrier, tracking, shelf and sender_as_written; packing is
    sound unless told. Raises RuleBroken for a box that is here already, and for damage that
    nobody describes.
    """
    row = locked(box) if box else Box(number=next_number("B", act.at))
    if row.received_at:
        raise RuleBroken(f"Box {row} is here already, since {row.received_at:%d %b %Y}.")
    if row.closed_at:
        raise RuleBroken(f"Box {row} was closed as one that did not come; reopen it first.")
    for name in ("damage_note", "carrier", "tracking", "shelf", "sender_as_written"):
        if name in arrival:
            setattr(row, name, arrival[name].strip())
    row.packing = arrival.get("packing", Box.Packing.SOUND)
    row.received_at, row.received_by = act.at, act.by
    _need_damage_note(row)
    keep(row)
    _add_photos(act, row, photos)
    return row


def _need_damage_note(box: Box) -> None:
    if box.packing not in ("", Box.Packing.SOUND) and not box.damage_note:
        raise RuleBroken(
            fields={"damage_note": "Say what is wrong with the packing; the carrier will ask for it."}
        )


TOLD = ("sender_as_written", "contact", "return_address", "customer_order")
ARRIVED = ("packing", "damage_note", "carrier", "tracking", "shelf")


@service("receive")
def change_box(*, act: Act, box: Box, **told: str) -> Box:
    """Correct what was written down of a box, for the reason in ``act.why``.

    ``told`` are fields of `TOLD`, and of `ARRIVED` once the box is here. Raises RuleBroken without
    a reason, for a closed box, and for damage that nobody describes.
    """
    row = _open_box(box)
    _need_reason(act, "Say why this is changed; the reason stays in the history.")
    for name in TOLD + (ARRIVED if row.received_at else ()):
        if name in told:
            setattr(row, name, told[name].strip())
    _need_damage_note(row)
    return keep(row)


@service("receive")
def add_box_photos(*, act: Act, box: Box, photos: Uploads, caption: str = "") -> Box:
    """Add photos of the packing, its damage, or what lies in the box."""
    _add_photos(act, box, photos, caption)
    return box


def _add_photos(act: Act, box: Box, photos: Iterable["UploadedFile[Any]"], caption: str = "") -> None:
    for upload in photos:
        try:
            stored = store_photo(act=act, upload=upload)
        except RuleBroken as error:
            raise RuleBroken(fields={"photo": f"{upload.name}: {error}"}) from error
        keep(BoxPhoto(box=box, caption=caption.strip(), file=stored, by=act.by, at=act.at, why=act.why))


@service("announce")
def name_sender(*, act: Act, box: Box, customer: Customer) -> Box:
    """Say whose box it is, once that is known; another name than before needs the reason in ``act.why``.

    Raises RuleBroken once a unit was received from it in the work order of another customer. An
    empty tie to a work order of the former sender is undone.
    """
    row = _open_box(box)
    customer = standing(customer)
    before = row.sender
    if before == customer:
        return row
    if before and row.lines.filter(rebuild__isnull=False).exists():
        raise RuleBroken(
            f"Units of box {row} were received for {before} in {row.work_order}. "
            "Where the whole work order has the wrong customer, give it to the right one on its page; "
            "the box follows."
        )
    if before:
        _need_reason(act, "Say why the sender is changed; the reason stays in the history.")
    row.work_order, row.customer = None, customer
    return keep(row)


@service("receive")
def put_into_work_order(
    *,
    act: Act,
    box: Box,
    work_order: WorkOrder | None = None,
    customer_order: str | None = None,
    ship_to: str = "",
) -> Box:
    """Tie a box to a work order of its sender; a new one is opened where none is given.

    A new one has the order number that was announced, unless ``customer_order`` is another, and goes
    to ``ship_to`` (lines of a label), or where the sender's parcels go. Raises RuleBroken while the
    sender is unknown, for a box that is not here, for a work order of another customer, and once
    units of the box were received in its work order.
    """
    row = _open_box(box)
    if row.received_at is None:
        raise RuleBroken(f"Box {row} is not here yet; receive it first.")
    if row.sender is None:
        raise RuleBroken(f"Nobody knows yet whose box {row} is; name the sender first.")
    if row.lines.filter(rebuild__isnull=False).exists():
        raise RuleBroken(f"Units of box {row} were received in {row.work_order}; they stay together.")
    if work_order and work_order.customer_id != row.sender.pk:
        raise RuleBroken(
            f"Work order {work_order} belongs to {work_order.customer}, box {row} to {row.sender}: "
            "the boxes of two customers are kept apart."
        )
    chosen = work_order or open_work_order(
        act=act,
        customer=row.sender,
        customer_order=row.customer_order if customer_order is None else customer_order,
        ship_to=ship_to,
    )
    row.work_order, row.customer = chosen, None
    return keep(row)


@service("receive")
def add_line(
    *,
    act: Act,
    box: Box,
    what: str,
    outcome: str = Outcome.EXTRA,
    unit_type: UnitType | None = None,
    symptoms: str = "",
    note: str = "",
) -> BoxLine:
    """Write down a unit that lies in the box and that nobody announced."""
    row = _open_box(box)
    if row.received_at is None:
        raise RuleBroken(f"Box {row} is not here yet; receive it first.")
    last = row.lines.aggregate(order=Max("order"))["order"] or 0
    if last >= MOST_LINES:
        raise RuleBroken(f"A box has {MOST_LINES} lines at most; write the rest down as another box.")
    return keep(
        BoxLine(
            box=row,
            order=last + 1,
            what=what.strip(),
            unit_type=unit_type,
            symptoms=symptoms.strip(),
            note=note.strip(),
            expected=False,
            outcome=outcome,
        )
    )


@service("receive")
def judge_line(
    *,
    act: Act,
    line: BoxLine,
    outcome: str,
    what: str = "",
    unit_type: UnitType | None = None,
    note: str = "",
    rebuild: Rebuild | None = None,
) -> BoxLine:
    """Say what became of a line: found, missing, other than announced, extra or not identified.

    ``what`` may say better how a unit that was not announced looks; the words of the sender stay.
    ``rebuild`` is a unit that was received in the box's work order without naming this line. Raises
    RuleBroken for a box that is not here, once a unit was received from the line, and for a unit of
    another work order or another line.
    """
    row = locked(line)
    box = _here(locked(row.box))
    if row.rebuild_id and outcome != row.outcome:
        raise RuleBroken(f"A unit was received from line {row.order} of box {box}; its outcome stays.")
    if not box.is_open and row.outcome != Outcome.UNIDENTIFIED:
        raise RuleBroken(f"Box {box} is closed; reopen it first.")
    if outcome == Outcome.WRONG and not note.strip():
        raise RuleBroken(fields={"note": "Say what lies in the box instead."})
    if what.strip() and not row.expected:
        row.what = what.strip()
    row.outcome, row.unit_type, row.note = outcome, unit_type, note.strip()
    if rebuild:
        _tie(row, locked(rebuild, fixed=("unit", "work_order")))
    return keep(row)


def _tie(line: BoxLine, rebuild: Rebuild) -> None:
    """Tie a unit that was received already to the line that it came in."""
    if hasattr(rebuild, "box_line"):
        taken = rebuild.box_line
        raise RuleBroken(
            fields={"rebuild": f"That unit came in line {taken.order} of box {taken.box} already."}
        )
    refuse_foreign_order(line, rebuild.work_order)
    if line.outcome in (Outcome.MISSING, Outcome.UNIDENTIFIED):
        raise RuleBroken(fields={"outcome": "A unit that was received is here, and it is known what it is."})
    line.rebuild, line.unit_type = rebuild, rebuild.unit.unit_type


def _here(box: Box) -> Box:
    if box.received_at is None:
        raise RuleBroken(f"Box {box} is not here yet; receive it first.")
    return box


@service("receive")
def receive_unit_of_line(
    *,
    act: Act,
    line: BoxLine,
    work_order: WorkOrder,
    unit_type: UnitType | None = None,
    unit: Unit | None = None,
    seen: SeenOutside | None = None,
    **told: Any,
) -> Rebuild:
    """Receive the unit of a line into the box's work order, and tie the line to its rebuild.

    ``unit`` was here before, ``unit_type`` names the type of a new one, or ``seen`` says what an
    unknown one looks like; ``told`` goes to `add_known_unit`, `add_new_unit` or
    `add_unknown_unit`. Raises RuleBroken, naming both sides, where the work order is not the
    box's, and for a line that was received or is missing.
    """
    row = locked(line)
    refuse_foreign_order(row, work_order)
    if row.rebuild_id:
        raise RuleBroken(f"The unit of line {row.order} of box {row.box} was received already.")
    if row.outcome == Outcome.MISSING:
        raise RuleBroken(f"Line {row.order} of box {row.box} was judged missing; judge it anew first.")
    if unit:
        rebuild = add_known_unit(act=act, work_order=work_order, unit=unit, **told)
    elif seen:
        rebuild = add_unknown_unit(act=act, work_order=work_order, seen=seen, **told)
    else:
        assert unit_type is not None
        rebuild = add_new_unit(act=act, work_order=work_order, unit_type=unit_type, **told)
    row.rebuild, row.unit_type = rebuild, rebuild.unit.unit_type
    if row.outcome in (Outcome.OPEN, Outcome.UNIDENTIFIED):
        row.outcome = Outcome.FOUND if row.expected else Outcome.EXTRA
    keep(row)
    return rebuild


def refuse_foreign_order(line: BoxLine, work_order: WorkOrder) -> None:
    """Raise RuleBroken where a unit of a line would land in another work order than its box."""
    box = line.box
    if box.work_order_id == work_order.pk:
        return
    home = f"belongs to {box.work_order}" if box.work_order else "has no work order yet"
    raise RuleBroken(
        f"Box {box} {home}, so its units cannot be received in {work_order}: "
        "the boxes of two customers are kept apart."
    )


@service("receive")
def close_box(*, act: Act, box: Box) -> Box:
    """Close a box whose lines are all settled; one that never came, for the reason in ``act.why``.

    Raises RuleBroken naming each line that is not settled.
    """
    row = _open_box(box)
    if row.received_at is None:
        _need_reason(act, "Say why the box is closed although it did not come.")
    elif unsettled := left_to_do(list(row.lines.all())):
        raise RuleBroken(" ".join(unsettled))
    row.closed_at, row.closed_by = act.at, act.by
    return keep(row)


def left_to_do(lines: Sequence[BoxLine]) -> list[str]:
    """Say in sentences what keeps a box from being closed; units not identified do not, they stay listed."""
    if not lines:
        return ["Nothing is written down yet of what lies in the box."]
    return [sentence for line in lines if (sentence := _unsettled(line))]


def next_to_receive(lines: Iterable[BoxLine]) -> BoxLine | None:
    """Return the first line that waits for its unit to be received."""
    return next((line for line in lines if line.can_be_received and _unsettled(line)), None)


def _unsettled(line: BoxLine) -> str:
    """Say what a line lacks, or nothing. A thing that is no unit may stay with a note of where it went."""
    name = f"Line {line.order}, {line.what},"
    if line.outcome == Outcome.OPEN:
        return f"{name} is not sorted yet."
    if line.rebuild_id or line.outcome in (Outcome.MISSING, Outcome.UNIDENTIFIED):
        return ""
    if line.expected:
        return f"{name} is here and not received as a unit yet."
    if line.note:
        return ""
    return f"{name} is neither received as a unit nor does its note say where it went."


@service("receive")
def reopen_box(*, act: Act, box: Box) -> Box:
    """Open a closed box again, for the reason in ``act.why``."""
    row = locked(box)
    if row.is_open:
        raise RuleBroken(f"Box {row} is open.")
    _need_reason(act, "Say why the box is opened again; the reason stays in the history.")
    row.closed_at = row.closed_by = None
    return keep(row)


def _open_box(box: Box) -> Box:
    row = locked(box)
    if not row.is_open:
        raise RuleBroken(f"Box {row} is closed; reopen it first.")
    return row


def _need_reason(act: Act, sentence: str) -> None:
    if not act.why.strip():
        raise RuleBroken(fields={"why": sentence})
