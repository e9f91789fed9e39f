"""One small cylinder taken through the shop by the services, as far as a test wants it."""

import datetime as dt
from dataclasses import dataclass, field
from decimal import Decimal
from pathlib import Path

from django.core.files.uploadedfile import SimpleUploadedFile

from inventory.models import Kit, KitLine, Part
from shop import models as shop
from shop.services.writing import Act
from tests import factories
from workorders.models import Calibration, Instrument, Rebuild
from workorders.services import build, go_ahead, receiving, releasing, shipping, teardown, testing
from workorders.services.step_results import CountEntry, HandHoldEntry, ValueEntry, WitnessEntry

START = dt.datetime(2026, 3, 2, 9, 0, tzinfo=dt.UTC)
TRACES = Path(__file__).parents[2] / "fixtures" / "traces"


def make_type() -> shop.TypeRevision:
    """A double-acting cylinder with four seals, one port hose, a rod to measure and a plan."""
    revision = factories.TypeRevisionFactory()
    kinds = shop.SealPosition.Kind
    motions = shop.SealPosition.Motion
    for order, (code, kind, motion) in enumerate(
        [
            ("S1", kinds.ROD_SEAL, motions.RECIPROCATING),
            ("S2", kinds.PISTON_SEAL, motions.RECIPROCATING),
            ("S3", kinds.PORT_SEAL, motions.STATIC),
            ("S4", kinds.PORT_SEAL, motions.STATIC),
        ]
    ):
        factories.PositionFactory(
            revision=revision, code=code, name=kind.label, order=order, kind=kind, motion=motion
        )
    factories.ComponentFactory(revision=revision, code="K1", name="barrel")
    port = factories.PortFactory(revision=revision, code="P1", name="rod side")
    factories.HoseFactory(port=port, code="H1", name="hose, rod side")
    factories.DimensionLimitFactory(revision=revision, code="D1")
    plan = factories.TestPlanFactory(revision=revision, conditioning="oil at 20 to 25 °C, 10 µm filter")
    drips = [("drips", "count", "", None, 0.0)]
    steps = [
        ("low_pressure_leak", "Low-pressure leak", drips),
        ("proof", "Proof, both sides", [("pressure", "value", "bar", 160.0, None), *drips]),
        ("hold", "Pressure hold", [("decay", "decay", "bar/min", None, 1.0)]),
        ("bypass", "Piston bypass", [("drops", "count", "", None, 3.0)]),
        ("dryness", "Outside dry", [("dry outside", "witness", "", None, None)]),
    ]
    for order, (kind, title, limits) in enumerate(steps, start=1):
        step = shop.TestStep.objects.create(plan=plan, order=order, kind=kind, title=title)
        for place, (reading, judged, unit, lower, upper) in enumerate(limits, start=1):
            shop.StepLimit.objects.create(
                step=step,
                order=place,
                reading=reading,
                judged=judged,
                quantity="pressure" if judged in ("value", "decay") else "",
                unit=unit,
                lower=lower,
                upper=upper,
                basis="shop limit",
            )
    kit = Kit.objects.create(revision=revision, name="Kit")
    for position in revision.positions.all():
        static = position.motion == motions.STATIC
        part = factories.PartFactory(kind=Part.Kind.O_RING if static else Part.Kind.LIP_SEAL)
        factories.LotFactory(part=part)
        KitLine.objects.create(kit=kit, position=position, part=part)
    return revision


@dataclass
class Journey:
    """A unit under way; every step is one service call of the person whose job it is."""

    revision: shop.TypeRevision = field(default_factory=make_type)
    now: dt.datetime = START
    people: dict[str, shop.User] = field(default_factory=dict)
    rebuild: Rebuild | None = None

    def __post_init__(self):
        factories.ShopProfileFactory()
        self.gauge = factories.InstrumentFactory()
        self.gauge.accuracy, self.gauge.resolution = 0.4, 0.01
        self.gauge.save()
        self.micrometer = factories.InstrumentFactory(
            quantity=Instrument.Quantity.LENGTH,
            unit="mm",
            range_high=25,
            accuracy=0.003,
        )

    def act(self, role, why=""):
        if role not in self.people:
            self.people[role] = factories.person(role)
        self.now += dt.timedelta(minutes=10)
        return Act(by=self.people[role], at=self.now, why=why)

    def receive(self, customer=None, unit=None, order=None, **intake):
        order = order or receiving.open_work_order(
            act=self.act("receiving"), customer=customer or factories.CustomerFactory(), customer_order="PO-7"
        )
        told = {
            "opened_before": "not_before",
            "arrival_condition": "dirty, complete",
            "hoses": ["H1"],
            **intake,
        }
        if unit:
            self.rebuild = receiving.add_known_unit(
                act=self.act("receiving"), work_order=order, unit=unit, **told
            )
        else:
            self.rebuild = receiving.add_new_unit(
                act=self.act("receiving"),
                work_order=order,
                unit_type=self.revision.unit_type,
                maker_serial="",
                **told,
            )
        return self

    def find(self):
        for position in self.revision.positions.all():
            teardown.record_finding(
                act=self.act("bench"),
                rebuild=self.rebuild,
                place=position,
                condition="hardened",
                cause="age",
                action="renewed",
                note="stiff",
            )
        rest = (self.revision.components, self.revision.ports, self.revision.hoses)
        for place in (place for rows in rest for place in rows.all()):
            teardown.record_finding(
                act=self.act("bench"),
                rebuild=self.rebuild,
                place=place,
                condition="sound",
                cause="none",
                action="kept",
            )
        teardown.record_measurement(
            act=self.act("bench"),
            rebuild=self.rebuild,
            limit=self.revision.dimension_limits.get(),
            station=1,
            value=11.98,
            instrument=self.micrometer,
        )
        teardown.record_fluid(
            act=self.act("bench"),
            rebuild=self.rebuild,
            fluid=self.revision.service_fluid,
            colour="brown",
            water="none",
        )
        return self

    def close_teardown(self):
        teardown.close_teardown(act=self.act("bench"), rebuild=self.rebuild)
        return self

    def go_ahead(self):
        go_ahead.record_go_ahead(
            act=self.act("receiving"),
            rebuild=self.rebuild,
            given_by="R. Holm",
            given_at=self.now,
            how="telephone",
            scope="all seals",
            price_ceiling=Decimal("240"),
        )
        return self

    def fit(self):
        for line in self.revision.kit.lines.all():
            build.use_part(
                act=self.act("bench"),
                rebuild=self.rebuild,
                place=line.position,
                lot=line.part.lots.get(),
                quantity=1,
            )
        return self

    def close_build(self):
        build.close_build(act=self.act("bench"), rebuild=self.rebuild)
        return self

    def start_test(self):
        self.test = testing.start_test(
            act=self.act("bench"), rebuild=self.rebuild, rig_fluid=self.revision.service_fluid
        )
        return self

    def run_steps(self, proof_bar=165.0, end_bar=99.9, leave_out=()):
        for step in self.test.plan.steps.all():
            if step.title in leave_out:
                continue
            entries = {}
            for limit in step.limits.all():
                entries[limit] = {
                    "value": ValueEntry(value=proof_bar, instrument=self.gauge),
                    "decay": HandHoldEntry(
                        start_bar=100.0, end_bar=end_bar, duration_s=300, instrument=self.gauge
                    ),
                    "count": CountEntry(count=0),
                    "witness": WitnessEntry(as_required=True),
                }[limit.judged]
            act = self.act("bench")
            self.start_step(step, act)
            testing.record_step(act=act, test=self.test, step=step, entries=entries, note="dry all round")
        return self

    def start_step(self, step, act=None):
        testing.start_step(
            act=act or self.act("bench"),
            test=self.test,
            step=step,
            conditions=[each.key for each in step.facts.conditions],
            rod_port="open",
        )
        return self

    def sign_test(self):
        self.test = testing.sign_test(
            act=self.act("bench"), test=self.test, fluid_left=self.revision.service_fluid
        )
        return self

    def tested(self):
        return self.tested_for(None)

    def tested_for(self, customer):
        return (
            self.receive(customer=customer)
            .find()
            .close_teardown()
            .go_ahead()
            .fit()
            .close_build()
            .start_test()
            .run_steps()
            .sign_test()
        )

    def release(self, status="overhauled", remarks=""):
        self.rebuild.refresh_from_db()
        self.released = releasing.release_rebuild(
            act=self.act("lead"), rebuild=self.rebuild, status=status, remarks=remarks
        )
        return self

    def ship(self, recipient=None):
        self.rebuild.refresh_from_db()
        order = self.rebuild.work_order
        pack = shipping.UnitPack(
            rebuild=self.rebuild, packed=shipping.packing_items(self.rebuild), caps_on=True
        )
        self.shipment = shipping.ship(
            act=self.act("receiving"),
            work_order=order,
            recipient=recipient or order.customer,
            address="1 Quay\nNorthhaven",
            carrier="Coast Post",
            parcels=[shipping.ParcelPlan(units=[pack])],
        )
        self.rebuild.refresh_from_db()
        return self

    @property
    def unit(self):
        return self.rebuild.unit


def trace_upload(name="hold_tight.csv"):
    """One of the logged traces, as an upload."""
    return SimpleUploadedFile(name, (TRACES / name).read_bytes(), content_type="text/csv")


__all__ = ["START", "Calibration", "Journey", "make_type", "trace_upload"]
