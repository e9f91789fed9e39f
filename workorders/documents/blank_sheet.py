"""The blank test sheet: the steps of a plan with room to write, for a bench without a screen."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer

from workorders.calc.serial import grouped
from workorders.documents.cautions import Caution, sources
from workorders.documents.certificate_data import Shop, UnitIdentity
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.sections import cautions_line, cautions_list
from workorders.documents.sheet import (
    LABEL,
    NOTE,
    STRONG_NOTE,
    SectionHead,
    Sheet,
    body_height,
    body_width,
    facts,
    para,
    render,
)
from workorders.documents.writing import BoxRow, RuledLines, StepHead, WriteBox, kept, ticks

KIND = "Blank test sheet"
NO_STANDARD = "Nothing on this sheet claims conformity with a standard."
NOT_A_RECORD = (
    "Written by hand, this sheet is a note for the record and not the record: enter every reading on the "
    "page of the test, which judges it. Verdicts are computed there and never ticked here."
)
BY_HAND = "__________________________"
ACROSS = 3  # boxes for readings in a row
READING_SHARE, ENDS = 117, (("Instrument", 27), ("Time", 18), ("Initials", 19))
NO_READING = "No reading is asked for yet."
NOTE_LINES = 3
OF_THE_LAST = "Its "


@dataclass(frozen=True, kw_only=True)
class WriteGroup:
    """What is asked for together: a heading, what it must be, its boxes; ``ends`` for who and with what.

    ``limit`` and ``basis`` are empty where nothing is judged.
    """

    title: str
    boxes: tuple[WriteBox, ...]
    limit: str = ""
    basis: str = ""
    instrument: bool = False
    optional: bool = False


@dataclass(frozen=True, kw_only=True)
class StepBoxes:
    """What a step asks for: how it is started, then its readings."""

    start: tuple[WriteBox, ...] = ()
    groups: tuple[WriteGroup, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BlankStep:
    """One step of the plan: what is done, what is confirmed first, and what is written down."""

    number: int
    title: str
    what: str
    boxes: StepBoxes
    instruction: str = ""
    raised: str = ""
    confirm: tuple[str, ...] = ()
    cautions: tuple[Caution, ...] = ()


@dataclass(frozen=True, kw_only=True)
class BlankSheet:
    """What a blank test sheet says; without ``unit`` it is for any unit of the type.

    ``address`` is what its symbol opens: the test, or the plan.
    """

    shop: Shop
    address: str
    type_name: str
    catalogue_code: str
    revision: str
    plan: str
    plan_version: str
    plan_state: str
    steps: tuple[BlankStep, ...]
    cautions: tuple[Caution, ...]
    unit: UnitIdentity | None = None
    work_order: str = ""
    test_number: str = ""
    conditioning: str = ""
    service_fluid: str = ""
    rig_fluid: str = ""
    proof: str = ""
    plan_note: str = ""

    @property
    def number(self) -> str:
        """What stands on every page, so that a loose page is known."""
        if self.unit:
            return self.unit.shop_serial
        return f"{self.catalogue_code}, plan version {self.plan_version}"


def blank_sheet_pdf(data: BlankSheet, *, page_size: str = "A4") -> bytes:
    """Print the sheet on "A4" or "Letter"; the same data gives the same bytes."""
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: _foot(data),
        head="" if data.unit else f"unit serial {BY_HAND}",
    )
    story = _story(data, body_width(page_size), body_height(page_size))
    return render(story, sheet, page_size=page_size)


def _foot(data: BlankSheet) -> str:
    if data.unit is None:
        return "for any unit of this type: write its serial on every page"
    serial = grouped(data.unit.shop_serial)
    return f"unit {serial}, work order {data.work_order}, plan version {data.plan_version}"


def _story(data: BlankSheet, width: float, height: float) -> list[Flowable]:
    words = grouped(data.unit.shop_serial) if data.unit else f"plan version {data.plan_version}"
    plan = f"{data.plan}, version {data.plan_version}"
    story = letterhead(data.shop, KIND, plan, width, symbol=(data.address, words))
    story += [facts(_known(data), width, style=NOTE), Spacer(0, 2 * mm)]
    story += [_to_fill_in(data), Spacer(0, 2 * mm), *boxed([para(NOT_A_RECORD, NOTE)], width)]
    story += [CondPageBreak(40 * mm), SectionHead("", "Before pressure goes on", 10)]
    # At length once; each step says its own in short.
    told = tuple(dict.fromkeys([*data.cautions, *(each for step in data.steps for each in step.cautions)]))
    story += [*cautions_list(told), Spacer(0, 1 * mm), small_print(f"{sources(told)} {NO_STANDARD}")]
    for step in data.steps:
        story += [Spacer(0, 1.6 * mm), CondPageBreak(30 * mm), *kept(_step(step, width), width, height)]
    if not data.steps:
        story.append(para("This plan has no steps yet.", NOTE))
    return [*story, KeepTogether(list(_closing(data)))]


def _known(data: BlankSheet) -> list[tuple[str, str]]:
    unit = data.unit
    pairs = [
        ("Unit", data.type_name),
        ("Unit serial", grouped(unit.shop_serial) if unit else ""),
        ("Catalogue code", f"{data.catalogue_code}, revision {data.revision}"),
        ("Maker's serial", unit.maker_serial if unit else ""),
        ("Work order", data.work_order),
        ("Test", data.test_number),
        ("Test plan", f"{data.plan}, version {data.plan_version} ({data.plan_state})"),
        ("Service fluid", data.service_fluid or "not known yet"),
        ("Fluid in the rig", data.rig_fluid),
        ("Fluid conditioning", data.conditioning or "none asked for"),
        ("Proof of the type", data.proof),
        ("Note of the plan", data.plan_note),
    ]
    return [(label, value) for label, value in pairs if value]


def _to_fill_in(data: BlankSheet) -> BoxRow:
    """Return the boxes for what is not known when the sheet is printed."""
    asked = (
        ("Unit serial", data.unit is None, 3),
        ("Work order", not data.work_order, 2),
        ("Fluid in the rig", not data.rig_fluid, 3),
        ("Fluid temperature, °C", True, 2),
        ("Rig", True, 2),
        ("Date", True, 2),
    )
    return BoxRow([(WriteBox(label=label), share) for label, open_yet, share in asked if open_yet])


def _step(step: BlankStep, width: float) -> list[list[Flowable]]:
    """Return what comes before the readings, then each reading with its boxes."""
    groups = [list(_group(group)) for group in step.boxes.groups]
    return (
        [list(_before(step, width)), *groups] if groups else [[*_before(step, width), para(NO_READING, NOTE)]]
    )


def _before(step: BlankStep, width: float) -> Iterator[Flowable]:
    yield StepHead(str(step.number), step.title)
    if step.what:
        yield para(step.what, STRONG_NOTE)
    if step.raised:
        yield Spacer(0, 0.8 * mm)
        yield from boxed([para(step.raised, STRONG_NOTE)], width)
    if step.instruction:
        yield para(step.instruction, NOTE)
    if step.cautions:
        yield Spacer(0, 0.8 * mm)
        yield from boxed([cautions_line(step.cautions)], width)
    if step.confirm:
        yield para("Confirm first, and tick:", NOTE)
        yield from ticks(step.confirm)
    if step.boxes.start:
        yield Spacer(0, 1 * mm)
        yield from _start(step.boxes.start)


def _start(boxes: tuple[WriteBox, ...]) -> Iterator[Flowable]:
    """Yield what is ticked, each as wide as its choices are many; then what is written, when and by whom."""
    chosen = [(box, 32.0 * len(box.choices)) for box in boxes if box.choices]
    written = [(box, 58.0) for box in boxes if not box.choices]
    ends = [(WriteBox(label=label), float(share)) for label, share in ENDS[1:]]
    rows = [chosen, [*written, *ends]] if written and chosen else [[*chosen, *written, *ends]]
    yield from map(BoxRow, rows)


def _group(group: WriteGroup) -> Iterator[Flowable]:
    yield Spacer(0, 1 * mm)
    title = f"{group.title}: {group.limit}" if group.limit else group.title
    yield para(title, NOTE if group.optional else STRONG_NOTE)
    if group.basis:
        yield para(group.basis, LABEL)
    yield Spacer(0, 0.6 * mm)
    for number, boxes in enumerate(_in_rows(group.boxes)):
        yield BoxRow(_row(group, boxes, first=number == 0))


def _in_rows(boxes: Sequence[WriteBox]) -> list[list[WriteBox]]:
    """Part boxes into rows; what is of the box before it, such as its uncertainty, stays beside it."""
    rows: list[list[WriteBox]] = [[]]
    for box in boxes:
        full = len(rows[-1]) == ACROSS
        if full and box.label.startswith(OF_THE_LAST):
            rows.append([rows[-1].pop()])
        elif full:
            rows.append([])
        rows[-1].append(box)
    return [row for row in rows if row]


def _row(group: WriteGroup, row: Sequence[WriteBox], *, first: bool) -> list[tuple[WriteBox, float]]:
    """Return the boxes of one row with their shares; the first ends in who and with what."""
    boxes = list(row)
    if len(group.boxes) == 1 and not boxes[0].choices:
        boxes.append(WriteBox(label="Remark"))
    shared = [(box, READING_SHARE / len(boxes)) for box in boxes]
    ends = [(WriteBox(label=label), float(share)) for label, share in ENDS]
    if not first:
        return [*shared, (WriteBox(label="Remark"), sum(share for _box, share in ends))]
    return [*shared, *(ends if group.instrument else ends[1:])]


def _closing(data: BlankSheet) -> Iterator[Flowable]:
    yield SectionHead("", "Notes", 10)
    yield RuledLines(NOTE_LINES)
    yield Spacer(0, 4 * mm)
    for who in ("Tested by", "Entered in the record by"):
        yield BoxRow(
            [(WriteBox(label=label), share) for label, share in ((who, 3), ("Signature", 3), ("On", 2))]
        )
    yield Spacer(0, 1 * mm)
    yield end_mark("blank test sheet", data.number)
