"""The one-page warning that debris was found: flush the circuit before anything is fitted."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.calc.serial import grouped
from workorders.documents.cautions import (
    COMPRESSED_AIR,
    FLUSHING,
    FLUSHING_SOURCE,
    INJECTION,
    STORED_PRESSURE,
    sources,
)
from workorders.documents.certificate_data import Act, Customer, Shop, UnitIdentity
from workorders.documents.letterhead import boxed, end_mark, letterhead, small_print
from workorders.documents.printed import day, moment
from workorders.documents.sections import cautions_list, unit_pairs
from workorders.documents.sheet import (
    LOUD,
    PLAIN,
    SectionHead,
    Sheet,
    body_width,
    facts,
    grid,
    numbered,
    para,
    render,
)

KIND = "Flush warning"
WHOLE_CIRCUIT = "What is in one unit has been through the whole circuit: pipes, reservoir and power unit."
CAUTIONS = (STORED_PRESSURE, INJECTION, COMPRESSED_AIR)


@dataclass(frozen=True, kw_only=True)
class FlaggedUnit:
    """Another unit of the same work order, flagged because it shares the circuit."""

    serial: str
    type_name: str
    place: str = ""
    state: str = ""


@dataclass(frozen=True, kw_only=True)
class FlushWarning:
    """What was found in which unit, where it came from, and what else is flagged."""

    number: str
    shop: Shop
    customer: Customer
    work_order: str
    issued_on: date
    unit: UnitIdentity
    debris: str
    origin: str
    found: Act
    service_fluid: str
    flagged: tuple[FlaggedUnit, ...] = ()


def flush_warning_pdf(data: FlushWarning, *, page_size: str = "A4") -> bytes:
    """Print the warning on "A4" or "Letter"; it fits one page with up to a dozen flagged units."""
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND,
        number=data.number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone}",
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: FlushWarning, width: float) -> list[Flowable]:
    subtitle = f"No. {data.number}, work order {data.work_order}, issued {day(data.issued_on)}"
    story = letterhead(data.shop, "Flush the circuit before fitting", subtitle, width, unit=data.unit)
    story += [facts(unit_pairs(data.unit), width), Spacer(0, 2 * mm)]
    story += boxed(
        [
            para(f"Debris was found in this unit: {data.unit.type_name}.", LOUD),
            para(WHOLE_CIRCUIT, PLAIN),
        ],
        width,
    )
    parts = (
        ("What was found", _found(data, width)),
        ("Before anything is fitted", [*numbered(FLUSHING, PLAIN), small_print(FLUSHING_SOURCE)]),
        ("Other units of this work order, flagged", _flagged(data, width)),
        ("Cautions", [*cautions_list(CAUTIONS), small_print(sources(CAUTIONS))]),
    )
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(20 * mm), SectionHead(str(number), title, 10), *content]
    return [*story, Spacer(0, 2 * mm), end_mark("flush warning", data.number)]


def _found(data: FlushWarning, width: float) -> list[Flowable]:
    customer = data.customer
    pairs = [
        ("Debris", data.debris),
        ("Where it came from", data.origin),
        ("Recorded", f"{data.found.meaning}: {data.found.name}, {moment(data.found.done_at)}"),
        ("Flush with", data.service_fluid),
        ("Customer", ", ".join(filter(None, (customer.name, *customer.address, customer.contact)))),
    ]
    return [facts(pairs, width, columns=1, style=PLAIN)]


def _flagged(data: FlushWarning, width: float) -> list[Flowable]:
    if not data.flagged:
        return [para("none: no other unit came with this work order", PLAIN)]
    rows = [(grouped(unit.serial), unit.type_name, unit.place, unit.state) for unit in data.flagged]
    return grid(("Shop serial", "Unit", "Place in the machine", "Now"), rows, (16, 40, 24, 20), width, PLAIN)
