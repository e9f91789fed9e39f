"""The signed paper for a unit that goes back untouched: findings, discrepancies, no warranty."""

from dataclasses import dataclass
from datetime import date

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from workorders.documents.cautions import INJECTION, RESULTS_RELATE, STORED_PRESSURE, TRAPPED_OIL, sources
from workorders.documents.certificate_data import (
    Act,
    ComponentRow,
    Customer,
    MeasurementRow,
    PositionRow,
    Replaces,
    Shop,
    Signature,
    UnitIdentity,
)
from workorders.documents.letterhead import boxed, letterhead, replacement, small_print
from workorders.documents.printed import day, short
from workorders.documents.sections import (
    acts_section,
    cautions_line,
    closing,
    identity_pairs,
    measurements_section,
    notes,
    signature_section,
    signed_sections,
)
from workorders.documents.sheet import (
    NAME,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    para,
    render,
)

KIND = "Returned as found"
UNTOUCHED = (
    "The unit goes back as it was found. Nothing in it was renewed or repaired; do not fit it as it is."
)
CAUTIONS = (STORED_PRESSURE, INJECTION, TRAPPED_OIL)


@dataclass(frozen=True, kw_only=True)
class ReturnedAsFound:
    """What is printed for a unit that leaves without a rebuild; `caps` says how its ports are closed."""

    number: str
    shop: Shop
    customer: Customer
    work_order: str
    unit: UnitIdentity
    condition_on_arrival: str
    reason: str
    received_on: date
    issued_on: date
    discrepancies: tuple[str, ...]
    caps: str
    left_inside: str
    acts: tuple[Act, ...]
    signature: Signature
    digest: str
    customer_order: str = ""
    torn_down_on: date | None = None
    positions: tuple[PositionRow, ...] = ()
    components: tuple[ComponentRow, ...] = ()
    measurements: tuple[MeasurementRow, ...] = ()
    replaces: Replaces | None = None


def returned_as_found_pdf(data: ReturnedAsFound, *, page_size: str = "A4") -> bytes:
    """Print the paper on "A4" or "Letter"; modelled on the discrepancy list of 14 CFR 43.11(a)."""
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND, number=data.number, shop=data.shop.name, foot=lambda page: f"record {short(data.digest)}"
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: ReturnedAsFound, width: float) -> list[Flowable]:
    parts = (
        ("Unit and order", _identity(data, width)),
        ("Discrepancies for the owner", bullets(data.discrepancies)),
        ("Findings by seal position", _positions(data, width)),
        ("Components, ports and body", _components(data, width)),
        ("Measurements against limits", measurements_section(data.measurements, width)),
        ("Who did what when", acts_section(data.acts, width)),
        ("Cautions", [cautions_line(CAUTIONS), small_print(sources(CAUTIONS))]),
        ("Signature", signature_section(data.signature, width)),
    )
    story = letterhead(
        data.shop, KIND, f"No. {data.number}, issued {day(data.issued_on)}", width, unit=data.unit
    )
    story += replacement(data.replaces, "paper", width)
    story += boxed(
        [
            para("not tested, no warranty", NAME),
            para(UNTOUCHED),
        ],
        width,
    )
    end = closing(data.digest, "paper", data.number, width)
    return [*story, *signed_sections(parts, end, 20 * mm)]


def _identity(data: ReturnedAsFound, width: float) -> list[Flowable]:
    pairs = [
        *identity_pairs(data.customer, data.customer_order, data.work_order, data.unit),
        ("Received", day(data.received_on)),
        ("Quantity", str(data.unit.quantity)),
        ("Torn down", day(data.torn_down_on)),
        ("Issued", day(data.issued_on)),
        ("Ports closed by", data.caps),
        ("Fluid left inside", data.left_inside),
    ]
    longer = [("Condition on arrival", data.condition_on_arrival), ("Why it goes back", data.reason)]
    return [facts(pairs, width), facts(longer, width, columns=1), para(RESULTS_RELATE)]


def _positions(data: ReturnedAsFound, width: float) -> list[Flowable]:
    heads = ("Position", "Kind", "Condition as found", "Likely cause", "It would need")
    rows = [(r.position, r.kind, r.condition, r.cause, r.action) for r in data.positions]
    return grid(heads, rows, (22, 16, 24, 24, 14), width) + notes(
        (r.position, r.note) for r in data.positions
    )


def _components(data: ReturnedAsFound, width: float) -> list[Flowable]:
    heads = ("Place", "Condition as found", "Likely cause", "It would need")
    rows = [(r.name, r.condition, r.cause, r.action) for r in data.components]
    return grid(heads, rows, (38, 24, 24, 14), width) + notes((r.name, r.note) for r in data.components)
