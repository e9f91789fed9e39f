"""The plain page for the person who fits a rebuilt unit: fluid, caps, hoses, filling, cautions."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import CondPageBreak, Flowable, Spacer

from workorders.documents.cautions import (
    FITTER_DOES_NOT_COVER,
    FITTING,
    GENERAL_FILLING,
    GENERAL_FILLING_SOURCE,
    sources,
)
from workorders.documents.certificate_data import Shop, UnitIdentity
from workorders.documents.letterhead import BOX_PADDING, boxed, end_mark, letterhead, small_print
from workorders.documents.port_drawing import PortRow
from workorders.documents.printed import day
from workorders.documents.sections import cautions_list, drawn_ports, hoses_table, unit_pairs
from workorders.documents.sheet import (
    NOTE,
    PLAIN,
    SectionHead,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    numbered,
    para,
    render,
)

KIND = "Fitting page"


@dataclass(frozen=True, kw_only=True)
class FitterPage:
    """What whoever fits the unit needs; `filling` are the type's own steps, general ones if empty."""

    certificate_number: str
    issued_on: date
    shop: Shop
    unit: UnitIdentity
    family: str
    fluid_inside: str
    fluid_to_fill: str
    ports: tuple[PortRow, ...]
    filling: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()


def fitter_page_pdf(data: FitterPage, *, page_size: str = "A4") -> bytes:
    """Print the page for the fitter on "A4" or "Letter"; ValueError for another size or family."""
    width = body_width(page_size)
    number = data.certificate_number
    sheet = Sheet(
        kind=KIND,
        number=number,
        shop=data.shop.name,
        foot=lambda page: f"questions: telephone {data.shop.phone}",
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: FitterPage, width: float) -> list[Flowable]:
    subtitle = f"Goes with release certificate {data.certificate_number}, issued {day(data.issued_on)}."
    parts = (
        ("Caps to take off, hose to port", _ports(data, width)),
        ("Filling and bleeding", _filling(data)),
        ("Cautions", [*cautions_list(FITTING), small_print(sources(FITTING))]),
        ("What this page does not cover", bullets(FITTER_DOES_NOT_COVER, NOTE)),
    )
    story = letterhead(data.shop, "For the person who fits this unit", subtitle, width, unit=data.unit)
    story += [facts(unit_pairs(data.unit), width), Spacer(0, 2.5 * mm), *_fluid(data, width)]
    for number, (title, content) in enumerate(parts, 1):
        story += [CondPageBreak(20 * mm), SectionHead(str(number), title, 10), *content]
    return [*story, Spacer(0, 2 * mm), end_mark("fitting page", data.certificate_number)]


def _fluid(data: FitterPage, width: float) -> list[Flowable]:
    pairs = [("Fluid inside now", data.fluid_inside), ("Fill with", data.fluid_to_fill)]
    content: list[Flowable] = [facts(pairs, width - BOX_PADDING, lines=False, style=PLAIN)]
    if data.fluid_inside != data.fluid_to_fill:
        content.append(
            para("The fluid inside is not the one to fill with: drain it and flush before filling.", PLAIN)
        )
    return boxed(content, width)


def _ports(data: FitterPage, width: float) -> list[Flowable]:
    if not data.ports:
        return [para("", PLAIN)]
    heads = ("Port", "Name", "Fitting", "Cap to take off", "Hose to connect")
    rows = [(port.code, port.name, port.fitting, port.cap, port.hose) for port in data.ports]
    content: list[Flowable] = grid(heads, rows, (9, 30, 25, 18, 18), width, NOTE)
    return content + hoses_table(data.ports, width) + drawn_ports(data.family, data.ports, width)


def _filling(data: FitterPage) -> list[Flowable]:
    steps = data.filling or GENERAL_FILLING
    content: list[Flowable] = [*numbered(steps, NOTE)]
    if not data.filling:
        content.append(small_print(GENERAL_FILLING_SOURCE))
    return content + [para(note, NOTE) for note in data.notes]
