"""Plain data of an invented unit for the tests of the printed papers: fixed dates, no clock."""

from datetime import UTC, date, datetime, timedelta, timezone

from workorders.calc.verdict import DECISION_RULE
from workorders.documents.certificate_data import (
    Act,
    Certificate,
    ComponentRow,
    Customer,
    Fluids,
    HoldChart,
    InstrumentRow,
    MeasurementRow,
    Method,
    OperationRow,
    PositionRow,
    Reading,
    Shop,
    Signature,
    StepRow,
    UnitIdentity,
)
from workorders.documents.trace_chart import HoldTrace

DIGEST = "3f9a12cd5e0b7781" + "c4" * 24
WINTER = timezone(timedelta(hours=1))

SHOP = Shop(
    name="Tern Quay Rebuild Works",
    address=("3 Slip Row", "Tern Quay", "TQ0 0TQ"),
    phone="+44 1632 960 142",
    email="desk@ternquay.example.com",
    location="Bench hall, 5 Slip Row, Tern Quay",
)
CUSTOMER = Customer(
    name="Halvard Øst Båtplattform ÅS",
    address=("Brygge 7", "0123 Skarvøy"),
    contact="telephone +44 1632 960 377",
)
UNIT = UnitIdentity(
    type_name="Boarding platform lift cylinder, left",
    catalogue_code="TQ-CYL-040",
    revision="3",
    maker_serial="MX 88-1204",
    shop_serial="7K3M9QX2D",
    address="HTTPS://RECORDS.TERNQUAY.EXAMPLE.COM/U/7K3M9QX2D",
)
_KINDS = (
    ("S1 rod gland", "rod seal, reciprocating", "hardened", "age", "lip seal 20 x 28 x 5 HNBR", "L-2417"),
    (
        "S2 rod gland, outer",
        "wiper, reciprocating",
        "cut or nicked",
        "contamination",
        "wiper 20 x 26 x 4 PU",
        "L-2391",
    ),
    (
        "S3 piston",
        "piston seal, reciprocating",
        "broken up, fragments lost",
        "normal wear",
        "energised ring 40 x 32.5 PTFE",
        "L-2402",
    ),
    ("S4 head", "static seal", "compression set", "age", "O-ring 36 x 2 NBR 90", "L-2350"),
    (
        "S5 end cap",
        "static seal",
        "not examined",
        "cause not determined",
        "O-ring 34 x 2 NBR 90",
        "L-2350",
    ),
    ("P1 rod-side port", "port seal, static", "swollen", "unsuitable fluid", "O-ring 9 x 1.5 HNBR", "L-2418"),
    (
        "P2 bore-side port",
        "port seal, static",
        "extruded",
        "over-pressure or wide gap",
        "O-ring 9 x 1.5 HNBR",
        "L-2418",
    ),
    ("V1 check valve", "valve seat seal, static", "sound", "no fault found", "seat ring 6 POM", "L-2288"),
    ("V2 relief valve", "valve seat seal, static", "sound", "no fault found", "seat ring 6 POM", "L-2288"),
)
POSITIONS = tuple(
    PositionRow(position=code, kind=kind, condition=found, cause=cause, action="renewed", part=part, lot=lot)
    for code, kind, found, cause, part, lot in _KINDS
)
COMPONENTS = (
    ComponentRow(
        name="R rod",
        condition="scored",
        cause="contamination",
        action="reworked",
        note="Polished out; see the measurement after the work.",
    ),
    ComponentRow(name="B barrel", condition="sound", cause="no fault found", action="kept"),
    ComponentRow(
        name="SR1 snap ring",
        condition="corroded or pitted",
        cause="corrosion",
        action="renewed",
        part="snap ring 40 mm",
        lot="L-2205",
    ),
    ComponentRow(name="A port, rod side", condition="oil-wet", cause="age", action="reworked"),
    ComponentRow(name="B port, bore side", condition="sound", cause="no fault found", action="kept"),
)
MEASUREMENTS = (
    MeasurementRow(
        what="Rod diameter, station 1",
        when="as found",
        value="19.962",
        unit="mm",
        limit="19.947 to 19.980 mm",
        verdict="passes",
        instrument="MC-11",
    ),
    MeasurementRow(
        what="Rod roughness Ra",
        when="as found",
        value="0.62",
        unit="µm",
        limit="at most 0.40 µm",
        verdict="fails",
        instrument="MC-11",
    ),
    MeasurementRow(
        what="Rod roughness Ra",
        when="after the work",
        value="0.21",
        unit="µm",
        limit="at most 0.40 µm",
        verdict="passes",
        instrument="MC-11",
    ),
    MeasurementRow(
        what="Bore, station 1",
        when="as found",
        value="40.021",
        unit="mm",
        limit="40.000 to 40.062 mm",
        verdict="passes",
        instrument="MC-11",
    ),
)
OPERATIONS = (
    OperationRow(
        what="crimp machined out, port A", who="Ines Quill", tool="lathe 2, crimp mandrel 14 mm", parts="N/A"
    ),
    OperationRow(
        what="hose held by screwed clip, port A",
        who="Ines Quill",
        tool="torque driver 4 Nm",
        parts="clip plate 14 mm, L-2301",
    ),
    OperationRow(what="polished, rod", who="Bram Yardley", tool="film belt 9 µm"),
)


def _reading(
    label: str, value: str, unit: str, limit: str, uncertainty: str, instrument: str, **budget: str
) -> Reading:
    return Reading(
        label=label,
        value=value,
        unit=unit,
        limit=limit,
        uncertainty=uncertainty,
        instrument=instrument,
        verdict="passes",
        **budget,
    )


PROOF_PARTS = {
    "budget": "accuracy of the instrument 0.61; smallest step of the instrument 0.029",
    "combined": "0.61 bar",
}
STEPS = (
    StepRow(
        title="Low-pressure leak",
        readings=(_reading("rod gland", "0", "drips", "at most 0 drips", "", "eye"),),
    ),
    StepRow(
        title="Proof, both sides",
        readings=(
            _reading("bore side", "226.4", "bar", "at least 225 bar", "± 1.3 bar", "PT-07", **PROOF_PARTS),
            _reading("rod side", "226.9", "bar", "at least 225 bar", "± 1.3 bar", "PT-07", **PROOF_PARTS),
        ),
    ),
    StepRow(
        title="Hold, bore side",
        readings=(
            _reading(
                "decay",
                "0.0141",
                "bar/min",
                "at most 0.05 bar/min",
                "± 0.0021 bar/min",
                "PT-07",
                budget="drift of the gauge between start and end 0.0007; scatter about the line 0.0008",
                combined="0.0011 bar/min",
            ),
        ),
        note="Window from 20 s to 140 s of the trace.",
    ),
    StepRow(
        title="Piston bypass, end of stroke",
        readings=(
            _reading("retracted", "0.4", "mL/min", "at most 1.0 mL/min", "± 0.1 mL/min", "FM-02"),
            _reading("extended", "0.3", "mL/min", "at most 1.0 mL/min", "± 0.1 mL/min", "FM-02"),
        ),
    ),
    StepRow(
        title="Full strokes",
        readings=(_reading("strokes without jerk", "10", "strokes", "at least 10 strokes", "", "eye"),),
    ),
    StepRow(
        title="Dry outside",
        readings=(_reading("all joints", "dry, witnessed", "", "as required", "", "eye"),),
    ),
)
INSTRUMENTS = (
    InstrumentRow(
        code="PT-07",
        what="pressure transducer",
        range="0 to 400 bar",
        accuracy="± 1.0 bar",
        calibrated_on=date(2026, 3, 4),
        due_on=date(2027, 3, 4),
    ),
    InstrumentRow(
        code="FM-02",
        what="burette, drip measuring",
        range="0 to 25 mL",
        accuracy="± 0.1 mL",
        calibrated_on=date(2026, 1, 19),
        due_on=date(2028, 1, 19),
    ),
    InstrumentRow(
        code="MC-11",
        what="micrometer",
        range="0 to 25 mm",
        accuracy="± 0.002 mm",
        calibrated_on=date(2026, 6, 2),
        due_on=date(2027, 6, 2),
    ),
)


def _chart(side: str, decay_bar_per_min: float) -> HoldChart:
    time_s = tuple(float(at) for at in range(0, 151, 2))
    pressure = tuple(226.0 - decay_bar_per_min * at / 60 + 0.002 * (at % 3) for at in time_s)
    line = ((20.0, 226.0 - decay_bar_per_min / 3), (140.0, 226.0 - decay_bar_per_min * 7 / 3))
    trace = HoldTrace(
        time_s=time_s,
        pressure_bar=pressure,
        title=f"Hold, {side}",
        window_s=(20.0, 140.0),
        line=line,
        limit_line=(line[0], (140.0, line[0][1] - 0.05 * 2)),
        limit_label="0.05 bar/min",
    )
    return HoldChart(
        trace=trace, caption=f"Hold, {side}: falls by {decay_bar_per_min} ± 0.0002 bar/min over 120 s."
    )


CHARTS = (_chart("bore side", 0.0141), _chart("rod side", 0.0087))


def _act(meaning: str, name: str, day: int, hour: int) -> Act:
    done = datetime(2026, 11, day, hour, 5, tzinfo=UTC)
    return Act(meaning=meaning, name=name, done_at=done, entered_at=done + timedelta(minutes=6))


ACTS = (
    _act("received and inspected on arrival", "Wren Halloway", 1, 9),
    _act("disassembled, cleaned and inspected", "Ines Quill", 2, 10),
    _act("repaired as necessary and reassembled", "Ines Quill", 3, 14),
    _act("tested to the named plan", "Bram Yardley", 4, 11),
    _act("released", "Odile Marchbank", 5, 13),
)
CERTIFICATE = Certificate(
    number="RC-2026-0412",
    status="overhauled",
    shop=SHOP,
    customer=CUSTOMER,
    customer_order="PO 77/19",
    work_order="WO-2026-0318",
    unit=UNIT,
    method=Method(
        plan_name="Lift cylinder 40/20 acceptance",
        plan_version="2",
        teardown_procedure="TD-CYL-040 rev B",
        decision_rule=DECISION_RULE,
    ),
    condition_on_arrival=(
        "Not opened before. Rod extended 40 mm, oil at the rod gland, port caps missing, label of the maker "
        "readable."
    ),
    received_on=date(2026, 11, 1),
    torn_down_on=date(2026, 11, 2),
    built_on=date(2026, 11, 3),
    tested_on=date(2026, 11, 4),
    issued_on=date(2026, 11, 5),
    positions=POSITIONS,
    components=COMPONENTS,
    measurements=MEASUREMENTS,
    operations=OPERATIONS,
    steps=STEPS,
    charts=CHARTS,
    test_verdict="passes",
    instruments=INSTRUMENTS,
    fluids=Fluids(
        service="mineral oil ISO VG 15", rig="mineral oil ISO VG 22", left_inside="mineral oil ISO VG 15"
    ),
    acts=ACTS,
    signature=Signature(
        statement=(
            "I release this unit: the work named on this certificate was done and the whole test plan has "
            "passed on valid instruments."
        ),
        name="Odile Marchbank",
        authority="TQ-REL-02",
        at=datetime(2026, 11, 5, 14, 32, tzinfo=WINTER),
    ),
    deviations=(
        "Rig fluid ISO VG 22 in place of the service fluid, accepted by the lead; unit flushed with ISO VG "
        "15 afterwards.",
    ),
    limitations=("Hoses were not tested.", "The piston rod was not checked for cracks."),
    warranty_terms=(
        "36 months from the day the unit leaves the shop, for the recipient of the shipment.",
        "Void where the unit was opened by others or run on another fluid than the service fluid named here.",
    ),
    digest=DIGEST,
)
