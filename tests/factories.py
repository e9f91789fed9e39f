"""Rows for tests, by sequence and fixed dates."""

import datetime as dt

import factory
from django.contrib.auth.models import Group
from factory.django import DjangoModelFactory

from inventory import models as inventory
from shop import models as shop
from shop.calc.maker_number import bare_number
from shop.services.customer_keys import keep_keys
from workorders import models as workorders
from workorders.calc.serial import draw_serial

NOW = dt.datetime(2026, 3, 1, 9, 0, tzinfo=dt.UTC)
PASSWORD = "correct horse 7 battery"


FAR_OFF = dt.date(2090, 1, 1)


class UserFactory(DjangoModelFactory):
    class Meta:
        model = shop.User
        skip_postgeneration_save = True

    username = factory.Sequence(lambda n: f"user{n}")
    printed_name = factory.Sequence(lambda n: f"Person {n}")
    password = factory.django.Password(PASSWORD)


def person(role, **fields):
    """A user in the group of one role."""
    user = UserFactory(**fields)
    user.groups.add(Group.objects.get(name=role))
    return user


class CustomerFactory(DjangoModelFactory):
    class Meta:
        model = shop.Customer
        skip_postgeneration_save = True

    name = factory.Sequence(lambda n: f"Customer {n}")
    phone = factory.Sequence(lambda n: f"01632 960{500 + n % 500}")
    phone_digits = factory.LazyAttribute(lambda o: "".join(c for c in o.phone if c.isdigit()))
    street = "1 Quay"
    town = "Northhaven"

    @factory.post_generation
    def told_by(customer, create, _extracted, **_kwargs):
        keep_keys(customer)


class FluidFactory(DjangoModelFactory):
    class Meta:
        model = shop.Fluid
        django_get_or_create = ["name"]

    name = "HM 32"
    family = shop.FluidFamily.MINERAL


class ShopProfileFactory(DjangoModelFactory):
    class Meta:
        model = shop.ShopProfile
        django_get_or_create = ["pk"]

    pk = 1
    name = "Tern Quay Rebuild Works"
    street = "4 Slipway Row"
    town = "Tern Quay"
    phone = "01632 960100"
    email = "desk@example.org"
    warranty_terms = "Seals and workmanship."


class UnitTypeFactory(DjangoModelFactory):
    class Meta:
        model = shop.UnitType

    code = factory.Sequence(lambda n: f"C{n:03d}")
    name = factory.Sequence(lambda n: f"Lift cylinder {n}")
    family = shop.UnitType.Family.CYLINDER


class MakerNumberFactory(DjangoModelFactory):
    class Meta:
        model = shop.MakerNumber

    unit_type = factory.SubFactory(UnitTypeFactory)
    number = factory.Sequence(lambda n: f"HC-{n:04d}")
    bare = factory.LazyAttribute(lambda o: bare_number(o.number))


class TypeRevisionFactory(DjangoModelFactory):
    class Meta:
        model = shop.TypeRevision

    unit_type = factory.SubFactory(UnitTypeFactory)
    number = 1
    state = shop.TypeRevision.State.APPROVED
    bore_mm = 25.0
    rod_mm = 12.0
    stroke_mm = 160.0
    rated_pressure_bar = 120.0
    proof_pressure_bar = 160.0
    proof_hold_s = 60.0
    proof_basis = "Wall calculation of this shop"
    service_fluid = factory.SubFactory(FluidFactory)
    teardown_procedure = "TP-1 rev 2"


class PositionFactory(DjangoModelFactory):
    class Meta:
        model = shop.SealPosition

    revision = factory.SubFactory(TypeRevisionFactory)
    code = factory.Sequence(lambda n: f"S{n}")
    name = factory.Sequence(lambda n: f"seal {n}")
    order = factory.Sequence(lambda n: n)
    kind = shop.SealPosition.Kind.STATIC_SEAL
    motion = shop.SealPosition.Motion.STATIC


class ComponentFactory(DjangoModelFactory):
    class Meta:
        model = shop.Component

    revision = factory.SubFactory(TypeRevisionFactory)
    code = factory.Sequence(lambda n: f"K{n}")
    name = factory.Sequence(lambda n: f"component {n}")
    kind = shop.Component.Kind.BARREL


class PortFactory(DjangoModelFactory):
    class Meta:
        model = shop.Port

    revision = factory.SubFactory(TypeRevisionFactory)
    code = factory.Sequence(lambda n: f"P{n}")
    name = factory.Sequence(lambda n: f"port {n}")
    fitting = shop.Port.Fitting.CRIMPED


class TechniqueNoteFactory(DjangoModelFactory):
    class Meta:
        model = shop.TechniqueNote

    revision = factory.SubFactory(TypeRevisionFactory)
    step = shop.Step.BUILDING
    text = factory.Sequence(lambda n: f"Oil the lip before it goes over thread {n}.")
    order = factory.Sequence(lambda n: n)


class FasteningFigureFactory(DjangoModelFactory):
    class Meta:
        model = shop.FasteningFigure

    revision = factory.SubFactory(TypeRevisionFactory)
    what = factory.Sequence(lambda n: f"gland nut {n}")
    torque_nm = 40.0
    tolerance_nm = 4.0
    basis = "drawing of this shop"
    order = factory.Sequence(lambda n: n)


class SpecialToolFactory(DjangoModelFactory):
    class Meta:
        model = shop.SpecialTool

    number = factory.Sequence(lambda n: f"F-{n:04d}")
    name = "seal sleeve"
    kept_at = "wall B, hook 14"


class ToolNeedFactory(DjangoModelFactory):
    class Meta:
        model = shop.ToolNeed

    revision = factory.SubFactory(TypeRevisionFactory)
    tool = factory.SubFactory(SpecialToolFactory)
    order = factory.Sequence(lambda n: n)


class HoseFactory(DjangoModelFactory):
    class Meta:
        model = shop.Hose

    port = factory.SubFactory(PortFactory)
    revision = factory.SelfAttribute("port.revision")
    code = factory.Sequence(lambda n: f"H{n}")
    name = factory.Sequence(lambda n: f"hose {n}")
    attachment = shop.Hose.Attachment.NOT_KNOWN


class DimensionLimitFactory(DjangoModelFactory):
    class Meta:
        model = shop.DimensionLimit

    revision = factory.SubFactory(TypeRevisionFactory)
    code = factory.Sequence(lambda n: f"D{n}")
    name = "rod diameter"
    quantity = shop.DimensionLimit.Quantity.ROD_DIAMETER
    lower = 11.95
    upper = 12.0
    basis = "drawing of this shop"


class TestPlanFactory(DjangoModelFactory):
    class Meta:
        model = shop.TestPlan

    revision = factory.SubFactory(TypeRevisionFactory)
    version = 1
    state = shop.TestPlan.State.APPROVED
    title = "Cylinder test"


class SupplierFactory(DjangoModelFactory):
    class Meta:
        model = inventory.Supplier

    name = factory.Sequence(lambda n: f"Supplier {n}")


class PartFactory(DjangoModelFactory):
    class Meta:
        model = inventory.Part

    number = factory.Sequence(lambda n: f"PN-{n:04d}")
    name = "rod seal"
    kind = inventory.Part.Kind.LIP_SEAL
    polymer = shop.Polymer.NBR
    hardness_shore_a = 90


class LotFactory(DjangoModelFactory):
    """A lot with its receipt in the ledger: ``quantity_received`` pieces at place A1."""

    class Meta:
        model = inventory.Lot
        skip_postgeneration_save = True

    number = factory.Sequence(lambda n: f"L{n:05d}")
    part = factory.SubFactory(PartFactory)
    supplier = factory.SubFactory(SupplierFactory)
    cure_date = "3Q24"
    counted_from = dt.date(2024, 9, 30)
    use_by = dt.date(2031, 9, 30)
    # Far off, so that a test may give its lots a day to come whatever the real clock says.
    computed_use_by = factory.LazyAttribute(lambda lot: FAR_OFF if lot.use_by else None)
    storage_standard = "ISO2230"
    received_on = dt.date(2025, 1, 10)
    quantity_received = 20

    @factory.post_generation
    def receipt(lot, create, _extracted, **_kwargs):
        inventory.Balance.objects.create(lot=lot, place="A1", quantity=lot.quantity_received)
        inventory.Movement.objects.create(
            lot=lot,
            kind=inventory.Movement.Kind.RECEIVED,
            place="A1",
            quantity=lot.quantity_received,
            by=UserFactory(),
            at=NOW,
        )


class InstrumentFactory(DjangoModelFactory):
    """A pressure gauge, calibrated in January 2026 for a year."""

    class Meta:
        model = workorders.Instrument
        skip_postgeneration_save = True

    code = factory.Sequence(lambda n: f"G-{n:02d}")
    name = "test gauge"
    quantity = workorders.Instrument.Quantity.PRESSURE
    unit = "bar"
    range_high = 250.0
    accuracy = 0.6
    resolution = 0.1

    @factory.post_generation
    def calibration(instrument, create, extracted, **_kwargs):
        workorders.Calibration.objects.create(
            instrument=instrument,
            calibrated_on=dt.date(2026, 1, 10),
            due_on=extracted or dt.date(2027, 1, 10),
            certificate_no=f"CAL-{instrument.code}",
            done_by="Northhaven Calibration",
        )


class UnitFactory(DjangoModelFactory):
    class Meta:
        model = workorders.Unit

    serial = factory.LazyFunction(draw_serial)
    unit_type = factory.LazyFunction(lambda: TypeRevisionFactory().unit_type)


class WorkOrderFactory(DjangoModelFactory):
    class Meta:
        model = workorders.WorkOrder

    number = factory.Sequence(lambda n: f"W25-{n:04d}")  # services number 2026 themselves
    customer = factory.SubFactory(CustomerFactory)
    opened_at = NOW
    opened_by = factory.SubFactory(UserFactory)


class RebuildFactory(DjangoModelFactory):
    class Meta:
        model = workorders.Rebuild

    unit = factory.SubFactory(UnitFactory)
    work_order = factory.SubFactory(WorkOrderFactory)
    revision = factory.LazyAttribute(lambda o: o.unit.unit_type.current)
    received_at = NOW
    received_by = factory.SubFactory(UserFactory)
    opened_before = workorders.Rebuild.Opened.NOT_BEFORE
    arrival_condition = "dirty, complete"
