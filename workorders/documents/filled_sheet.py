"""The test sheet: every step of one pressure test with its readings, arithmetic, charts and verdicts."""

from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from io import BytesIO

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Image, KeepTogether, Spacer

from workorders.calc.serial import grouped
from workorders.documents.blank_sheet import NO_STANDARD
from workorders.documents.cautions import RESULTS_RELATE, Caution, sources
from workorders.documents.certificate_data import (
    HoldChart,
    InstrumentRow,
    Reading,
    Shop,
    Signature,
    UnitIdentity,
)
from workorders.documents.letterhead import BOX_PADDING, boxed, letterhead, small_print
from workorders.documents.printed import judged, moment, plain, short
from workorders.documents.sections import (
    budgets_section,
    cautions_line,
    charts_section,
    closing,
    instruments_section,
    signature_section,
    unit_pairs,
)
from workorders.documents.sheet import (
    LABEL,
    NAME,
    NOTE,
    STRONG_NOTE,
    STRONG_TEXT,
    TEXT,
    SectionHead,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    para,
    render,
    table,
)
from workorders.documents.words import Words, strong
from workorders.documents.writing import StepHead

KIND = "Test sheet"
NOT_RECORDED, NOT_SIGNED = "not recorded", "not signed"
PHOTO_WIDTH, PHOTO_HEIGHT = 60 * mm, 45 * mm
RECOMPUTE = (
    "Every verdict can be worked out again: each reading is kept with its raw entries, with the instrument "
    "as it was that day and, where it was logged, with the file as it was handed in. The page of a logged "
    "hold shows the result computed anew beside the record; the whole record (JSON), from the page of the "
    "unit, holds every raw entry. The digest is the SHA-256 of the whole test written as JSON with its keys "
    "sorted and without spaces; the signature covers it."
)


@dataclass(frozen=True, kw_only=True)
class SheetReading:
    """One reading as it was stored: what the certificate prints of it, how it was found, and its basis."""

    row: Reading
    arithmetic: str
    basis: str
    due: str = ""


@dataclass(frozen=True, kw_only=True)
class SheetStep:
    """One step with its result; ``verdict`` is empty and there are no readings where it has none yet."""

    number: int
    title: str
    what: str
    verdict: str = ""
    readings: tuple[SheetReading, ...] = ()
    charts: tuple[HoldChart, ...] = ()
    raised: str = ""
    confirmed: str = ""
    note: str = ""
    photo: bytes = b""
    photo_words: str = ""
    done_by: str = ""
    done_at: datetime | None = None


@dataclass(frozen=True, kw_only=True)
class FilledSheet:
    """Everything printed on the sheet of one test; times carry their zone.

    ``standing`` says whether the test counts: running, signed, or set aside with the reason.
    """

    shop: Shop
    unit: UnitIdentity
    address: str
    work_order: str
    rebuild_number: int
    test_number: int
    plan: str
    plan_version: str
    rig_fluid: str
    started_at: datetime
    started_by: str
    state: str
    standing: str
    verdict: str
    decision_rule: str
    steps: tuple[SheetStep, ...]
    instruments: tuple[InstrumentRow, ...]
    cautions: tuple[Caution, ...]
    conditioning: str = ""
    service_fluid: str = ""
    fluid_left: str = ""
    proof: str = ""
    unused_files: tuple[str, ...] = ()
    signature: Signature | None = None
    digest: str = ""

    @property
    def number(self) -> str:
        """The unit and which of its tests, as on every page."""
        return f"{self.unit.shop_serial}, test {self.test_number}"


def filled_sheet_pdf(data: FilledSheet, *, page_size: str = "A4") -> bytes:
    """Print the sheet on "A4" or "Letter"; the same data gives the same bytes.

    ValueError for another page size or a time without a zone.
    """
    record = f"record {short(data.digest)}" if data.digest else "no signed record yet"
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"{data.state}; {record}; work order {data.work_order}",
    )
    return render(_story(data, body_width(page_size)), sheet, page_size=page_size)


def _story(data: FilledSheet, width: float) -> list[Flowable]:
    symbol = (data.address, grouped(data.unit.shop_serial))
    subtitle = f"Test {data.test_number} of rebuild {data.rebuild_number}, work order {data.work_order}"
    story = [*letterhead(data.shop, KIND, subtitle, width, symbol=symbol), *_answer(data, width)]
    story += [facts(_facts(data), width), Spacer(0, 1 * mm), para(RESULTS_RELATE, TEXT)]
    for step in data.steps:
        story += [Spacer(0, 2 * mm), KeepTogether(list(_step(step, width)))]
    if not data.steps:
        story += [Spacer(0, 2 * mm), para("The plan of this test has no steps.", NOTE)]
    parts = (
        ("How the uncertainties add up", _budgets(data, width)),
        ("Instruments as they were that day", instruments_section(data.instruments, width)),
        ("Logger files handed in and not used", _unused(data)),
        ("Cautions", _cautions(data)),
    )
    story.append(Spacer(0, 2 * mm))
    for title, content in parts:
        if content:
            story += [CondPageBreak(22 * mm), SectionHead("", title), *content]
    return [*story, KeepTogether(list(_end(data, width)))]


def _answer(data: FilledSheet, width: float) -> list[Flowable]:
    """Say on top whether the test counts, what came of it, and by which rule."""
    word = judged(data.verdict) if data.verdict else NOT_SIGNED
    row = [para("Result", LABEL), para(word, NAME), para(data.standing, STRONG_NOTE)]
    rule = f"Decision rule: {data.decision_rule.rstrip('.')}."
    inner = width - BOX_PADDING
    return boxed([table([row], (8, 24, 68), inner, lines=False), para(rule)], width)


def _facts(data: FilledSheet) -> list[tuple[str, str | list[Flowable]]]:
    missing = sum(1 for step in data.steps if not step.verdict)
    steps = f"{len(data.steps)}" + (f", {missing} not recorded yet" if missing else "")
    return [
        *unit_pairs(data.unit),
        ("Work order", f"{data.work_order}, rebuild {data.rebuild_number}"),
        ("Steps", steps),
        ("Test plan", f"{data.plan}, version {data.plan_version}"),
        ("Started", f"{moment(data.started_at)}, {data.started_by}"),
        ("Service fluid", data.service_fluid),
        ("Fluid in the rig", data.rig_fluid),
        ("Fluid conditioning", data.conditioning or "none asked for"),
        ("Left inside", data.fluid_left or "decided at signing"),
        ("Proof of the type", data.proof),
        ("State", data.state),
    ]


def _step(step: SheetStep, width: float) -> Iterator[Flowable]:
    yield StepHead(str(step.number), step.title, judged(step.verdict) if step.verdict else NOT_RECORDED)
    if step.what:
        yield para(step.what, LABEL)
    if step.raised:
        yield para(step.raised, STRONG_TEXT)
    if step.confirmed:
        yield Words([strong("Confirmed first: "), plain(step.confirmed)], TEXT)
    if step.readings:
        yield from _readings(step, width)
    yield from charts_section(step.charts, width)
    if step.note:
        yield Words([strong("Note: "), plain(step.note)], TEXT)
    if step.photo:
        yield Spacer(0, 1 * mm)
        yield _photo(step.photo)
    if step.photo_words:
        yield para(step.photo_words, LABEL)
    if step.done_at:
        yield para(f"Recorded by {step.done_by}, {moment(step.done_at)}", LABEL)


def _readings(step: SheetStep, width: float) -> Iterator[Flowable]:
    heads = ("Reading", "Value", "Uncertainty, k = 2", "Limit", "Verdict", "Instrument, due")
    rows = [
        (
            each.row.label,
            f"{each.row.value} {each.row.unit}".strip(),
            each.row.uncertainty,
            each.row.limit,
            judged(each.row.verdict),
            "\n".join(filter(None, (each.row.instrument, each.due))),
        )
        for each in step.readings
    ]
    yield from grid(heads, rows, (20, 13, 15, 20, 14, 18), width)
    for each in step.readings:
        yield Words([strong(f"{plain(each.row.label)}: "), plain(each.arithmetic)], TEXT)
        yield para(each.basis, LABEL)


def _budgets(data: FilledSheet, width: float) -> list[Flowable]:
    rows = [(step.number, each.row) for step in data.steps for each in step.readings]
    return budgets_section(((f"{number}. {row.label}", row) for number, row in rows), width)


def _photo(data: bytes) -> Image:
    image = Image(BytesIO(data))
    scale = min(PHOTO_WIDTH / image.imageWidth, PHOTO_HEIGHT / image.imageHeight, 1)
    image.drawWidth, image.drawHeight = image.imageWidth * scale, image.imageHeight * scale
    image.hAlign = "LEFT"
    return image


def _unused(data: FilledSheet) -> list[Flowable]:
    return bullets(data.unused_files) if data.unused_files else []


def _cautions(data: FilledSheet) -> list[Flowable]:
    return [cautions_line(data.cautions), small_print(f"{sources(data.cautions)} {NO_STANDARD}")]


def _end(data: FilledSheet, width: float) -> Iterator[Flowable]:
    """Keep the signature on one page, and never alone on the last."""
    yield SectionHead("", "How to compute it again")
    yield para(RECOMPUTE)
    yield SectionHead("", "Signature")
    yield from _signed(data, width)
    yield closing(data.digest or "none before it is signed", "test sheet", data.number, width)


def _signed(data: FilledSheet, width: float) -> list[Flowable]:
    signature = data.signature
    if signature is None:
        return [
            para("Not signed. Nothing on this sheet may be relied on before the test is signed.", STRONG_NOTE)
        ]
    return signature_section(signature, width)
