"""The release certificate: what was found, done and measured on one unit, and who answers for it."""

from collections.abc import Iterator

from reportlab.lib.units import mm
from reportlab.platypus import Flowable

from workorders.documents.cautions import FITTING, NOT_A_DELIVERY_NOTE, RESULTS_RELATE, SAMPLING, sources
from workorders.documents.certificate_data import STATUS_DEFINITIONS, Certificate, StepRow
from workorders.documents.letterhead import BOX_PADDING, boxed, letterhead, replacement, small_print
from workorders.documents.printed import day, judged, short
from workorders.documents.sections import (
    BUDGETS,
    acts_section,
    cautions_line,
    charts_section,
    closing,
    components_section,
    identity_pairs,
    instruments_section,
    measurements_section,
    notes,
    ports_section,
    positions_section,
    signature_section,
    signed_sections,
    small_run,
)
from workorders.documents.sheet import (
    LABEL,
    NAME,
    Sheet,
    body_width,
    bullets,
    facts,
    grid,
    para,
    render,
    table,
)

KIND = "Release certificate"
UPGRADED = "Upgraded material: the reasons are statements of this shop and no result of the test."
NONE, AS_ABOVE = "none", "as above"
ROOM_UNDER_HEAD = 16 * mm


def certificate_pdf(data: Certificate, *, page_size: str = "A4") -> bytes:
    """Print a release certificate on "A4" or "Letter"; the same data gives the same bytes.

    Modelled on the report items of ISO/IEC 17025:2017, 7.8.2.1, and on the blocks of aviation
    release forms; no compliance is claimed. ValueError for another page size or a time without
    a zone; shop.documents.qr.QrError for an address that no symbol holds.
    """
    width = body_width(page_size)
    sheet = Sheet(
        kind=KIND, number=data.number, shop=data.shop.name, foot=lambda page: f"record {short(data.digest)}"
    )
    return render(_story(data, width), sheet, page_size=page_size)


def _story(data: Certificate, width: float) -> list[Flowable]:
    # Certificates issued before the hoses were drawn print again as they were.
    hoses = [("Ports and hoses", ports_section(data.family, data.ports, width))] if data.ports else []
    parts = (
        ("Unit, order and dates", _identity(data, width)),
        ("Findings and work by seal position", _positions(data, width)),
        ("Components, ports and body", components_section(data.components, width)),
        *hoses,
        ("Measurements against limits", measurements_section(data.measurements, width)),
        ("Rework operations", _operations(data, width)),
        ("Pressure test", _test(data, width)),
        ("Instruments", instruments_section(data.instruments, width)),
        ("Fluids", _fluids(data, width)),
        ("Deviations and results from others", _deviations(data, width)),
        ("Who did what when", acts_section(data.acts, width)),
        ("Limitations, cautions and warranty", _limits(data, width)),
        ("Release", signature_section(data.signature, width)),
    )
    story = letterhead(
        data.shop, KIND, f"No. {data.number}, issued {day(data.issued_on)}", width, unit=data.unit
    )
    story += replacement(data.replaces, "certificate", width)
    story += _status(data.status, width)
    end = closing(data.digest, "certificate", data.number, width)
    return [*story, *signed_sections(parts, end, ROOM_UNDER_HEAD)]


def _positions(data: Certificate, width: float) -> list[Flowable]:
    # Certificates issued before upgrades were recorded print again as they were.
    upgrades = [para(UPGRADED, LABEL), *notes(data.upgrades)] if data.upgrades else []
    return [*positions_section(data.positions, width), *upgrades]


def _status(status: str, width: float) -> list[Flowable]:
    words = ", ".join(STATUS_DEFINITIONS)
    meaning = [para(STATUS_DEFINITIONS[status] + "."), small_print(f"The status is exactly one of: {words}.")]
    row = [para("Status", LABEL), para(status, NAME), meaning]
    return boxed([table([row], (8, 21, 71), width - BOX_PADDING, head=False, lines=False)], width)


def _identity(data: Certificate, width: float) -> list[Flowable]:
    shop, method = data.shop, data.method
    pairs = [
        *identity_pairs(data.customer, data.customer_order, data.work_order, data.unit),
        ("Received", day(data.received_on)),
        ("Quantity", str(data.unit.quantity)),
        ("Torn down", day(data.torn_down_on)),
        ("Test plan", f"{method.plan_name}, version {method.plan_version}"),
        ("Built", day(data.built_on)),
        ("Teardown procedure", method.teardown_procedure),
        ("Tested", day(data.tested_on)),
        ("Sampling", SAMPLING),
        ("Issued", day(data.issued_on)),
        ("Place of the work", shop.location or ", ".join(shop.address)),
    ]
    arrival = [("Condition on arrival", data.condition_on_arrival)]
    return [facts(pairs, width), facts(arrival, width, columns=1), para(RESULTS_RELATE)]


def _operations(data: Certificate, width: float) -> list[Flowable]:
    rows = [(r.what, r.tool, r.parts, r.who) for r in data.operations]
    return grid(("Operation", "Tool", "Parts", "Done by"), rows, (34, 22, 24, 20), width)


def _test(data: Certificate, width: float) -> list[Flowable]:
    method = data.method
    statement = (
        f"Result of {method.plan_name}, version {method.plan_version}: {judged(data.test_verdict)}. "
        f"Decision rule: {method.decision_rule.rstrip('.')}."
    )
    heads = ("Step", "Reading", "Value", "Uncertainty", "Limit", "Verdict", "Instrument")
    rows = [row for number, step in enumerate(data.steps, 1) for row in _readings(number, step)]
    made_of = _budgets(data)
    # Certificates issued before uncertainties were told in parts print again as they were.
    shares = (20.5, 15, 13, 14.5, 17, 9.5, 10.5) if made_of else (22, 15.5, 13, 14.5, 17, 9.5, 8.5)
    steps = grid(heads, rows, shares, width)
    step_notes = notes((f"Step {number}", step.note) for number, step in enumerate(data.steps, 1))
    first = small_run((f"Before step {number}", step.confirmed) for number, step in enumerate(data.steps, 1))
    charts = charts_section(data.charts, width)
    return [para(statement), *steps, *step_notes, *first, *made_of, *charts]


def _budgets(data: Certificate) -> list[Flowable]:
    """Print what each uncertainty is made of in one run, so that a certificate stays two pages."""
    together: dict[str, list[str]] = {}
    for number, step in enumerate(data.steps, 1):
        for each in step.readings:
            if each.budget:
                made_of = f"{each.budget}; combined {each.combined}"
                together.setdefault(made_of, []).append(f"{number}. {each.label}")
    return small_run(((", ".join(names), made_of) for made_of, names in together.items()), BUDGETS)


def _readings(number: int, step: StepRow) -> Iterator[tuple[str, ...]]:
    for at, reading in enumerate(step.readings):
        yield (
            f"{number}. {AS_ABOVE if at else step.title}",
            reading.label,
            f"{reading.value} {reading.unit}",
            reading.uncertainty,
            reading.limit,
            judged(reading.verdict),
            reading.instrument,
        )


def _fluids(data: Certificate, width: float) -> list[Flowable]:
    fluids = data.fluids
    pairs = [
        ("Service fluid", fluids.service),
        ("In the test rig", fluids.rig),
        ("Left inside", fluids.left_inside),
    ]
    return [facts(pairs, width, columns=3)]


def _deviations(data: Certificate, width: float) -> list[Flowable]:
    pairs = [
        ("Deviations, concessions", "\n".join(data.deviations) or NONE),
        ("Results from others", "\n".join(data.external_results) or NONE),
    ]
    return [facts(pairs, width, columns=1)]


def _limits(data: Certificate, width: float) -> list[Flowable]:
    pairs = [
        ("Limitations", bullets([*data.limitations, NOT_A_DELIVERY_NOTE])),
        ("Cautions for installing and filling", [cautions_line(FITTING), small_print(sources(FITTING))]),
        ("Warranty", bullets(data.warranty_terms)),
    ]
    return [facts(pairs, width, columns=1)]
