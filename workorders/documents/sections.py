"""Sections that more than one paper prints: findings, measurements, who did what, the signature."""

from collections.abc import Iterable, Sequence
from dataclasses import replace

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, KeepTogether, Spacer

from shop.documents.paper import BODY
from workorders.documents.cautions import Caution
from workorders.documents.certificate_data import (
    Act,
    ComponentRow,
    Customer,
    HoldChart,
    InstrumentRow,
    MeasurementRow,
    PositionRow,
    Reading,
    Signature,
    UnitIdentity,
)
from workorders.documents.letterhead import BOX_PADDING, boxed, end_mark, small_print
from workorders.documents.port_drawing import PortRow, places_known, port_drawing
from workorders.documents.printed import day, judged, moment, plain
from workorders.documents.sheet import DIGEST, NOTE, SMALL, TEXT, SectionHead, facts, grid, para, table
from workorders.documents.trace_chart import hold_chart
from workorders.documents.words import Words, strong

BUDGETS = "Uncertainties are made of (standard, k = 1):"
CHART_HEIGHT, CHART_GAP, CHART_SCALE = 31 * mm, 6, 0.7


def identity_pairs(
    customer: Customer, customer_order: str, work_order: str, unit: UnitIdentity
) -> list[tuple[str, str]]:
    """Pair the labels and values that say whose unit it is and which: order at left, unit at right."""
    return [
        ("Customer", "\n".join(filter(None, (customer.name, ", ".join(customer.address))))),
        ("Unit", unit.type_name),
        ("Customer contact", customer.contact),
        ("Catalogue code", f"{unit.catalogue_code}, revision {unit.revision}"),
        ("Customer's order no.", customer_order),
        ("Shop serial", unit.shop_serial),
        ("Work order", work_order),
        ("Maker's serial", unit.maker_serial),
    ]


def unit_pairs(unit: UnitIdentity) -> list[tuple[str, str]]:
    """Pair the labels and values that say which unit a paper without an order is about."""
    return [
        ("Unit", unit.type_name),
        ("Shop serial", unit.shop_serial),
        ("Catalogue code", f"{unit.catalogue_code}, revision {unit.revision}"),
        ("Maker's serial", unit.maker_serial),
    ]


def notes(pairs: Iterable[tuple[str, str]]) -> list[Flowable]:
    """Print the notes there are in one run, each after the name of what it is about."""
    run = [
        piece
        for name, note in pairs
        if note
        for piece in ("; ", strong(f"{plain(name)}:"), f" {plain(note)}")
    ]
    return [Words(run[1:], TEXT)] if run else []


def positions_section(positions: Sequence[PositionRow], width: float) -> list[Flowable]:
    """Print findings and work by seal position, then their notes."""
    heads = ("Position", "Kind", "Condition as found", "Likely cause", "Action", "Part fitted", "Lot")
    rows = [(r.position, r.kind, r.condition, r.cause, r.action, r.part, r.lot) for r in positions]
    return grid(heads, rows, (15, 17, 15, 14, 9, 19, 11), width) + notes(
        (r.position, r.note) for r in positions
    )


def components_section(components: Sequence[ComponentRow], width: float) -> list[Flowable]:
    """Print findings and work at components, ports and the body, then their notes."""
    heads = ("Place", "Condition as found", "Likely cause", "Action", "Part fitted", "Lot")
    rows = [(r.name, r.condition, r.cause, r.action, r.part, r.lot) for r in components]
    return grid(heads, rows, (30, 15, 18, 9, 18, 10), width) + notes((r.name, r.note) for r in components)


def hoses_table(ports: Sequence[PortRow], width: float) -> list[Flowable]:
    """Print each hose with its port, length and far end, and where it is; nothing where none is known."""
    rows = [
        (port.hose, f"{port.code} {port.name}", port.length, port.far_end, port.whereabouts)
        for port in ports
        if port.hose
    ]
    if not any(port.length or port.far_end or port.whereabouts for port in ports):
        return []
    heads = ("Hose", "On port", "Length", "Far end", "Where it is")
    return [Spacer(0, 2 * mm), *grid(heads, rows, (10, 26, 14, 32, 18), width, NOTE)]


def drawn_ports(family: str, ports: Sequence[PortRow], width: float) -> list[Flowable]:
    """Draw which hose goes to which port; nothing where there are no ports or too many to read."""
    drawing = port_drawing(family, ports, width)
    if drawing is None:
        return []
    known = "places along the body as on the unit"
    places = known if places_known(ports) else "ports in the order of the table"
    words = f"Not to scale; {places}. Each hose belongs on the port of its number."
    return [Spacer(0, 2 * mm), drawing, small_print(words)]


def ports_section(family: str, ports: Sequence[PortRow], width: float) -> list[Flowable]:
    """Print the ports with the hose of each, and draw them."""
    rows = [(f"{port.code} {port.name}", port.fitting, port.hose) for port in ports]
    table = grid(("Port", "Fitting", "Hose"), rows, (40, 40, 20), width)
    return [*table, *hoses_table(ports, width), *drawn_ports(family, ports, width)]


def measurements_section(measurements: Sequence[MeasurementRow], width: float) -> list[Flowable]:
    """Print measured sizes against their limits."""
    heads = ("What", "When", "Value", "Limit", "Verdict", "Instrument")
    rows = [
        (r.what, r.when, f"{r.value} {r.unit}", r.limit, judged(r.verdict), r.instrument)
        for r in measurements
    ]
    return grid(heads, rows, (29, 14, 13, 22, 12, 10), width)


def small_run(pairs: Iterable[tuple[str, str]], intro: str = "") -> list[Flowable]:
    """Print sentences in one small run, each after the name of what it is about; nothing without any."""
    run = [
        piece
        for name, words in pairs
        if words
        for piece in (" ", strong(f"{plain(name)}:"), f" {plain(words).rstrip('.')}.")
    ]
    return [Words([intro, *run] if intro else run[1:], SMALL)] if run else []


def budgets_section(readings: Iterable[tuple[str, Reading]], width: float) -> list[Flowable]:
    """Print what the uncertainty of each reading is made of; nothing for readings without any."""
    heads = ("Reading", "Standard uncertainties, in the unit of the reading", "Combined", "Expanded, k = 2")
    rows = [(name, row.budget, row.combined, row.uncertainty) for name, row in readings if row.budget]
    return grid(heads, rows, (20, 50, 15, 15), width) if rows else []


def charts_section(charts: Sequence[HoldChart], width: float) -> list[Flowable]:
    """Lay charts of holds out, one over the whole width or two to a row; nothing without any."""
    if not charts:
        return []
    columns = min(len(charts), 2)
    cells: list[list[Flowable]] = [_chart(chart, width / columns - CHART_GAP) for chart in charts]
    if len(cells) % columns:
        cells.append([])
    rows = [cells[at : at + columns] for at in range(0, len(cells), columns)]
    return [table(rows, (1,) * columns, width, lines=False)]


def _chart(chart: HoldChart, width: float) -> list[Flowable]:
    # Short labels, since the legend is one line; what the limit is stands in the caption instead.
    trace = replace(chart.trace, line_label="line fitted", limit_label="limit")
    # Drawn larger and scaled down, so that its lettering fits that of the tables.
    drawing = hold_chart(trace, font=BODY, width=width / CHART_SCALE, height=CHART_HEIGHT / CHART_SCALE)
    drawing.initialFontName = BODY
    drawing.renderScale = CHART_SCALE
    drawing.hAlign = "LEFT"
    limit = f" Limit drawn: {chart.trace.limit_label}." if chart.trace.limit_line else ""
    return [drawing, para(f"{chart.caption.rstrip('.')}.{limit}", SMALL)]


def instruments_section(instruments: Sequence[InstrumentRow], width: float) -> list[Flowable]:
    """Print the instruments used, each with its calibration on the day."""
    heads = ("Code", "What", "Range", "Accuracy", "Calibrated", "Due")
    rows = [(r.code, r.what, r.range, r.accuracy, day(r.calibrated_on), day(r.due_on)) for r in instruments]
    return grid(heads, rows, (12, 34, 16, 14, 12, 12), width)


def acts_section(acts: Sequence[Act], width: float) -> list[Flowable]:
    """Print who did what; the time of the work stands apart from the time of the entry."""
    rows = [(act.meaning, act.name, moment(act.done_at), moment(act.entered_at)) for act in acts]
    return grid(("What", "Name", "Work completed", "Entered and signed"), rows, (34, 22, 22, 22), width)


def signature_section(signature: Signature, width: float) -> list[Flowable]:
    """Print the signed statement in its box."""
    pairs = [
        ("Signed by", signature.name),
        ("Authority no.", signature.authority),
        ("Signed on", moment(signature.at)),
        ("How", "in the record, by the signer's password"),
    ]
    inner = facts(pairs, width - BOX_PADDING, lines=False)
    return boxed([para(signature.statement), inner], width)


def signed_sections(
    parts: Sequence[tuple[str, list[Flowable]]], end: Flowable, room: float
) -> list[Flowable]:
    """Number sections, the last of which is the signature.

    It stands with the section before it and the end of the paper on one page, if these fit on one,
    and each other section begins where ``room`` points are left.
    """
    found = [[SectionHead(str(at), title), *content] for at, (title, content) in enumerate(parts, 1)]
    before = [each for section in found[:-2] for each in (CondPageBreak(room), *section)]
    return [*before, KeepTogether([*found[-2], *found[-1], end])]


def closing(digest: str, kind: str, number: str, width: float) -> Flowable:
    """Print the digest of the record that the signature covers, and the end of the paper."""
    row = [para(f"record sha-256 {digest}", DIGEST), end_mark(kind, number)]
    return table([row], (60, 40), width, lines=False)


def cautions_line(cautions: Sequence[Caution]) -> Flowable:
    """Print cautions in their short form, one after the other."""
    run = [
        piece for item in cautions for piece in ("; ", strong(plain(item.hazard)), f": {plain(item.short)}")
    ]
    return Words([*run[1:], "."], TEXT)


def cautions_list(cautions: Sequence[Caution]) -> list[Flowable]:
    """Print cautions at length, a paragraph each, for a page that is read beside the machine."""
    return [Words([strong(f"{plain(item.hazard)}."), f" {plain(item.text)}"], NOTE) for item in cautions]
