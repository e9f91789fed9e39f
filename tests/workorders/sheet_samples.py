"""Plain data of test sheets, blank and filled, for the tests of their layout: fixed dates, no clock."""

from datetime import datetime

from tests.workorders.paper_samples import DIGEST, SHOP, UNIT, WINTER
from workorders.calc.verdict import DECISION_RULE
from workorders.documents.blank_sheet import BlankSheet, BlankStep, StepBoxes, WriteGroup
from workorders.documents.cautions import COMPRESSED_AIR, TESTING
from workorders.documents.certificate_data import HoldChart, InstrumentRow, Reading, Signature
from workorders.documents.filled_sheet import FilledSheet, SheetReading, SheetStep
from workorders.documents.trace_chart import HoldTrace
from workorders.documents.writing import WriteBox

AT = datetime(2026, 3, 4, 10, 20, tzinfo=WINTER)
ADDRESS = "HTTPS://RECORDS.TERNQUAY.EXAMPLE.COM/T/41-1"
HOLD = ("Pressure at the start, bar", "Pressure at the end, bar", "Time between, s")
BLANK_RIG = (
    "Blanked rig, pressure at the start, bar",
    "Blanked rig, pressure at the end, bar",
    "Time between, s",
    "Compliance of the blanked rig, mL/bar",
    "Compliance of rig and unit, mL/bar",
)
RAISED = (
    "With 160 bar on the bore side a plugged rod port would see 208 bar (bore 25 mm, rod 12 mm). Leave the "
    "rod port open to the tank, or relieve it."
)


def boxes(*labels: str, choices: tuple[str, ...] = ()) -> tuple[WriteBox, ...]:
    return tuple(WriteBox(label=label, choices=choices) for label in labels)


def group(title: str, limit: str, *labels: str, instrument: bool = True, **more: object) -> WriteGroup:
    basis = "A reading against its limit. Limit: belongs to the unit type, with its basis: proof of the type"
    return WriteGroup(
        title=title, limit=limit, basis=basis, boxes=boxes(*labels), instrument=instrument, **more
    )


SEEN = WriteGroup(
    title="dry outside",
    limit="as required",
    basis="A witnessed observation: as required, or not. Limit: set by this shop: shop rule",
    boxes=(WriteBox(label="Seen", choices=("as required", "not as required")), WriteBox(label="Counted")),
)
BLANK_STEPS = (
    BlankStep(
        number=1,
        title="Low-pressure leak, both ends",
        what="low-pressure leak, both sides, 5 bar, hold 60 s",
        instruction="Fill and bleed at a quarter stroke. Wipe dry, wait, look with a lamp.",
        boxes=StepBoxes(groups=(SEEN,)),
    ),
    BlankStep(
        number=2,
        title="Proof, bore side",
        what="proof, bore side, 160 bar, hold 60 s",
        raised=RAISED,
        confirm=("The rod port is open to the tank or relieved.", "The shield is shut."),
        cautions=(COMPRESSED_AIR,),
        boxes=StepBoxes(
            start=(
                *boxes("The rod port", choices=("open: to the tank", "relieved through a valve", "plugged")),
                *boxes("Relief opens at, bar", "What relieves it"),
            ),
            groups=(
                group("pressure", "at least 160 bar", "Reading, bar"),
                group("held", "at least 60 s", "Reading, s"),
                group("drips", "at most 0 drips", "Counted, drips", instrument=False),
            ),
        ),
    ),
    BlankStep(
        number=3,
        title="Hold at 7 bar",
        what="pressure hold, bore side, 7 bar, hold 120 s",
        boxes=StepBoxes(
            groups=(
                group("decay", "at most 0.1 bar/min (from memory, not verified)", *HOLD),
                WriteGroup(
                    title="Decay: the rig blanked before it, if it was checked",
                    boxes=boxes(*BLANK_RIG),
                    optional=True,
                ),
            ),
        ),
    ),
)
BLANK = BlankSheet(
    shop=SHOP,
    address=ADDRESS,
    type_name=UNIT.type_name,
    catalogue_code=UNIT.catalogue_code,
    revision=UNIT.revision,
    plan="Test of the boarding platform lift cylinder",
    plan_version="2",
    plan_state="approved",
    plan_note="Test left and right twins one after the other.",
    conditioning="40 °C, filtered, bled",
    service_fluid="Mineral oil ISO VG 32",
    proof="160 bar for 60 s: 1.5 times rated, drawing note 4",
    steps=BLANK_STEPS,
    cautions=TESTING,
    unit=UNIT,
    work_order="W26-0117",
    test_number="1",
    rig_fluid="Mineral oil ISO VG 32",
)


def reading(
    label: str, value: str, unit: str, limit: str, verdict: str = "passes", **more: str
) -> SheetReading:
    row = Reading(
        label=label,
        value=value,
        unit=unit,
        limit=limit,
        verdict=verdict,
        uncertainty=more.get("uncertainty", ""),
        instrument=more.get("instrument", ""),
        budget=more.get("budget", ""),
        combined=more.get("combined", ""),
    )
    return SheetReading(
        row=row,
        arithmetic=more.get("arithmetic", f"{label} {value} {unit}, limit {limit}: {verdict}"),
        basis="A reading against its limit. Limit: set by this shop: shop rule",
        due="due 01 Nov 2026" if row.instrument else "",
    )


TRACE = HoldTrace(
    time_s=tuple(float(second) for second in range(0, 300, 10)),
    pressure_bar=tuple(7.31 - second / 20000 for second in range(0, 300, 10)),
    title="Hold at 7 bar",
    window_s=(60, 260),
    line=((60, 7.307), (260, 7.297)),
    limit_line=((60, 7.307), (260, 6.97)),
    limit_label="limit 0.1 bar/min",
)
FILLED_STEPS = (
    SheetStep(
        number=1,
        title="Low-pressure leak, both ends",
        what="low-pressure leak, both sides, 5 bar, hold 60 s",
        verdict="passes",
        readings=(reading("dry outside", "as required", "", "as required"),),
        note="dry all round after five minutes",
        done_by="Tomas Ashdown",
        done_at=AT,
    ),
    SheetStep(
        number=2,
        title="Proof, bore side",
        what="proof, bore side, 160 bar, hold 60 s",
        raised=RAISED,
        confirmed="Rod port open. Confirmed by Tomas Ashdown, 04 Mar 2026, 10:18.",
        verdict="not decided",
        readings=(
            reading(
                "pressure",
                "161",
                "bar",
                "at least 160 bar",
                "not decided",
                uncertainty="±2.9 bar",
                instrument="PG-250",
                arithmetic="161 ± 2.94 bar, limit at least 160: not decided, the limit lies inside the "
                "uncertainty; a gauge of ±0.7 bar would decide it, if the value stays",
            ),
            reading(
                "held",
                "65",
                "s",
                "at least 60 s",
                uncertainty="±0.23 s",
                instrument="SW-1",
                budget="accuracy of the instrument 0.12; smallest step of the instrument 0.0029",
                combined="0.12 s",
            ),
        ),
        done_by="Tomas Ashdown",
        done_at=AT,
    ),
    SheetStep(
        number=3,
        title="Hold at 7 bar",
        what="pressure hold, bore side, 7 bar, hold 120 s",
        verdict="passes",
        readings=(
            reading(
                "decay", "0.003", "bar/min", "at most 0.1 bar/min", uncertainty="±0.0006", instrument="PT-16"
            ),
        ),
        charts=(HoldChart(caption="Hold at 7 bar: window 60 s to 260 s, 0.0030 bar/min", trace=TRACE),),
        done_by="Wren Calloway",
        done_at=AT,
    ),
)
FILLED = FilledSheet(
    shop=SHOP,
    unit=UNIT,
    address=ADDRESS,
    work_order="W26-0117",
    rebuild_number=1,
    test_number=1,
    plan="Test of the boarding platform lift cylinder",
    plan_version="2",
    conditioning="40 °C, filtered, bled",
    service_fluid="Mineral oil ISO VG 32",
    rig_fluid="Mineral oil ISO VG 32",
    fluid_left="Mineral oil ISO VG 32",
    proof="160 bar for 60 s: 1.5 times rated, drawing note 4",
    started_at=AT,
    started_by="Tomas Ashdown",
    state="signed",
    standing="Signed. A test is as its worst step.",
    verdict="not decided",
    decision_rule=DECISION_RULE,
    steps=FILLED_STEPS,
    instruments=(
        InstrumentRow(
            code="PG-250",
            what="gauge, 4711, C-88",
            range="0 to 250 bar",
            accuracy="±2.5 bar",
            calibrated_on=AT.date(),
            due_on=AT.date().replace(year=2027),
        ),
    ),
    cautions=TESTING,
    unused_files=("first-try.csv, for Hold at 7 bar: decay, handed in by Wren Calloway",),
    signature=Signature(
        statement="The unit named here was tested to the plan named here.",
        name="Petra Lindqvist",
        authority="TQ-03",
        at=AT,
    ),
    digest=DIGEST,
)
