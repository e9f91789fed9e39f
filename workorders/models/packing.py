"""Packing: the running check of what goes into which parcel, until it is sent off."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from inventory.models import Lot
from shop.models import Fluid, Tracked

from .rebuild import Rebuild
from .release import Measured, PackedUnit, Shipment, measured_rules
from .work_order import WorkOrder


def whole(*names: str) -> Q:
    """Return the condition that fields are all set or all empty."""
    return Q(**{f"{name}__isnull": False for name in names}) | Q(
        **{f"{name}__isnull": True for name in names}
    )


class PackingQuerySet(models.QuerySet["Packing"]):
    """Ways to narrow packings down."""

    def open(self) -> "PackingQuerySet":
        """Begun, and neither sent off nor given up."""
        return self.filter(shipment__isnull=True, cancelled_at__isnull=True)


class Packing(Tracked):
    """One packing of units of a work order: begun, gone on with by anybody, sent off as one shipment."""

    work_order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="packings")
    begun_at = models.DateTimeField()
    begun_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    shipment = models.OneToOneField(
        Shipment, models.PROTECT, null=True, blank=True, related_name="packing", verbose_name="sent off as"
    )
    cancelled_at = models.DateTimeField(null=True, blank=True)
    cancelled_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    cancel_reason = models.CharField("why it is given up", max_length=300, blank=True)

    objects = PackingQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["work_order"],
                condition=Q(shipment__isnull=True, cancelled_at__isnull=True),
                name="workorders_packing_one_open",
                violation_error_message="A packing of this work order is open already; go on with that one.",
            ),
            models.CheckConstraint(
                name="workorders_packing_cancelled_whole",
                condition=Q(cancelled_at__isnull=True, cancelled_by__isnull=True)
                | (Q(cancelled_at__isnull=False, cancelled_by__isnull=False) & ~Q(cancel_reason="")),
                violation_error_message="Say why the packing is given up.",
            ),
            models.CheckConstraint(
                name="workorders_packing_sent_or_cancelled",
                condition=Q(shipment__isnull=True) | Q(cancelled_at__isnull=True),
                violation_error_message="What was sent off cannot be given up.",
            ),
        ]

    def __str__(self) -> str:
        return f"packing of {self.work_order}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:pack", args=[self.work_order.number])

    @property
    def is_open(self) -> bool:
        """Whether it is neither sent off nor given up."""
        return self.shipment_id is None and self.cancelled_at is None


class PackingParcel(Measured, Tracked):
    """One parcel on the packing bench; closed when it is complete, opened again if need be."""

    packing = models.ForeignKey(Packing, models.PROTECT, related_name="parcels")
    number = models.PositiveSmallIntegerField()
    closed_at = models.DateTimeField(null=True, blank=True)
    closed_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["packing", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["packing", "number"],
                name="workorders_packingparcel_number_once",
                violation_error_message="This packing has a parcel of that number already.",
            ),
            models.CheckConstraint(
                name="workorders_packingparcel_closed_whole",
                condition=whole("closed_at", "closed_by"),
                violation_error_message="Say who closed the parcel.",
            ),
            *measured_rules("packingparcel"),
        ]

    def __str__(self) -> str:
        return f"parcel {self.number}"

    @property
    def is_open(self) -> bool:
        """Whether more may go into it."""
        return self.closed_at is None


class PackingUnitQuerySet(models.QuerySet["PackingUnit"]):
    """Ways to narrow units on the packing bench down."""

    def lying(self) -> "PackingUnitQuerySet":
        """Still in their parcel: not taken out again."""
        return self.filter(taken_out_at__isnull=True)


class PackingUnit(Tracked):
    """One unit put into a parcel; taken out again, the row stays and says so."""

    parcel = models.ForeignKey(PackingParcel, models.PROTECT, related_name="units")
    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="packing_units")
    put_in_at = models.DateTimeField()
    put_in_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    replaces = models.ForeignKey(
        Rebuild, models.PROTECT, null=True, blank=True, related_name="+", verbose_name="given for the core"
    )
    core_due = models.DateField("core due on", null=True, blank=True)
    taken_out_at = models.DateTimeField(null=True, blank=True)
    taken_out_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")

    objects = PackingUnitQuerySet.as_manager()

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["rebuild"],
                condition=Q(taken_out_at__isnull=True),
                name="workorders_packingunit_packed_once",
                violation_error_message="This unit lies in a parcel already; take it out there first.",
            ),
            models.UniqueConstraint(
                fields=["replaces"],
                condition=Q(taken_out_at__isnull=True),
                name="workorders_packingunit_core_once",
                violation_error_message="Another exchange unit goes out for this core already.",
            ),
            models.CheckConstraint(
                name="workorders_packingunit_taken_out_whole",
                condition=whole("taken_out_at", "taken_out_by"),
                violation_error_message="Say who took the unit out.",
            ),
            models.CheckConstraint(
                name="workorders_packingunit_core_here_or_due",
                condition=Q(replaces__isnull=True) | Q(core_due__isnull=True),
                violation_error_message="A core is here, or it is still to come: not both.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.rebuild.unit} in {self.parcel}"


class PackingLine(Tracked):
    """One thing that must go with a unit: packed, or kept back with a reason; an undo opens it again."""

    class Kind(models.TextChoices):
        HOSE = "hose", "hose"
        EXTRA = "extra", "accessory"
        CAP = "cap", "cap"
        INSIDE = "inside", "fluid left inside"
        SPARE = "spare", "spare fluid"
        PAPER = "paper", "papers"
        OTHER = "other", "something else"

    class State(models.TextChoices):
        OPEN = "open", "to be packed"
        PACKED = "packed", "packed"
        KEPT = "kept", "kept back"

    FLUIDS = (Kind.INSIDE, Kind.SPARE)

    packing_unit = models.ForeignKey(PackingUnit, models.PROTECT, related_name="lines")
    order = models.PositiveSmallIntegerField("line")
    kind = models.CharField(max_length=6, choices=Kind)
    code = models.CharField("what a scan of it says", max_length=60, blank=True)
    text = models.CharField("what it is", max_length=160)
    state = models.CharField(max_length=6, choices=State, default=State.OPEN)
    done_at = models.DateTimeField(null=True, blank=True)
    done_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    reason = models.CharField("why it is kept back", max_length=200, blank=True)
    fluid = models.ForeignKey(Fluid, models.PROTECT, null=True, blank=True, related_name="+")
    volume_ml = models.FloatField("how much, mL", null=True, blank=True)
    lot = models.ForeignKey(Lot, models.PROTECT, null=True, blank=True, related_name="+")

    class Meta:
        ordering = ["packing_unit", "order"]
        constraints = [
            models.UniqueConstraint(
                fields=["packing_unit", "order"],
                name="workorders_packingline_order_once",
                violation_error_message="This unit has a line of that number already.",
            ),
            models.CheckConstraint(
                name="workorders_packingline_done_whole",
                condition=Q(state="open", done_at__isnull=True, done_by__isnull=True)
                | (~Q(state="open") & Q(done_at__isnull=False, done_by__isnull=False)),
                violation_error_message="What is packed or kept back says who did it, and when.",
            ),
            models.CheckConstraint(
                name="workorders_packingline_kept_told",
                condition=(Q(state="kept") & ~Q(reason="")) | (~Q(state="kept") & Q(reason="")),
                violation_error_message="Say why it is kept back.",
            ),
            models.CheckConstraint(
                name="workorders_packingline_fluid_measured",
                condition=Q(kind__in=["inside", "spare"])
                | Q(fluid__isnull=True, volume_ml__isnull=True, lot__isnull=True),
                violation_error_message="Only a fluid has millilitres and a lot.",
            ),
            models.CheckConstraint(
                name="workorders_packingline_volume",
                condition=Q(volume_ml__isnull=True) | Q(volume_ml__gte=0),
                violation_error_message="A volume is 0 mL or more.",
            ),
            models.CheckConstraint(
                name="workorders_packingline_spare_whole",
                condition=~Q(kind="spare", state="packed")
                # A comparison with nothing is unknown, which passes: ask that it is there.
                | Q(fluid__isnull=False, volume_ml__isnull=False, volume_ml__gt=0),
                violation_error_message="Say which fluid goes along, and how many millilitres of it.",
            ),
        ]

    def __str__(self) -> str:
        amount = f", {self.volume_ml:g} mL" if self.volume_ml is not None else ""
        lot = f", lot {self.lot}" if self.lot else ""
        return f"{self.text}{amount}{lot}"

    @property
    def is_open(self) -> bool:
        """Whether it is neither packed nor kept back."""
        return self.state == self.State.OPEN


class ExchangeQuerySet(models.QuerySet["Exchange"]):
    """Ways to narrow exchanges down."""

    def owed(self) -> "ExchangeQuerySet":
        """The customer's core is still to come."""
        return self.filter(core__isnull=True, waived_at__isnull=True)


class Exchange(Tracked):
    """A unit from the shelf that left for a customer's core: which core it was, or until when it is due."""

    packed = models.OneToOneField(PackedUnit, models.PROTECT, related_name="exchange")
    core = models.OneToOneField(
        Rebuild, models.PROTECT, null=True, blank=True, related_name="exchange", verbose_name="the core"
    )
    due = models.DateField("core due on", null=True, blank=True, db_index=True)
    came_at = models.DateTimeField("core here since", null=True, blank=True)
    came_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    waived_at = models.DateTimeField(null=True, blank=True)
    waived_by = models.ForeignKey("shop.User", models.PROTECT, null=True, blank=True, related_name="+")
    waive_reason = models.CharField("why no core comes", max_length=300, blank=True)

    objects = ExchangeQuerySet.as_manager()

    class Meta:
        ordering = ["due", "pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_exchange_core_or_due",
                condition=Q(core__isnull=False) | Q(due__isnull=False),
                violation_error_message="Name the core, or the day on which it is due.",
            ),
            models.CheckConstraint(
                name="workorders_exchange_came_whole",
                condition=whole("core", "came_at", "came_by"),
                violation_error_message="A core that came says when, and who took it in.",
            ),
            models.CheckConstraint(
                name="workorders_exchange_waived_whole",
                condition=Q(waived_at__isnull=True, waived_by__isnull=True)
                | (Q(waived_at__isnull=False, waived_by__isnull=False) & ~Q(waive_reason="")),
                violation_error_message="Say why no core comes.",
            ),
            models.CheckConstraint(
                name="workorders_exchange_came_or_waived",
                condition=Q(core__isnull=True) | Q(waived_at__isnull=True),
                violation_error_message="The core is here; there is nothing to waive.",
            ),
        ]

    def __str__(self) -> str:
        return f"exchange of {self.packed.rebuild.unit}"

    @property
    def is_owed(self) -> bool:
        """Whether the customer's core is still to come."""
        return self.core_id is None and self.waived_at is None
