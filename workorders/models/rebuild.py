"""Rebuilds: one pass of one unit through the shop."""

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import AppendOnly, Fluid, MountingPlace, Port, StoredFile, Tracked, TypeRevision

from .unit import Unit
from .work_order import WorkOrder


class RebuildQuerySet(models.QuerySet["Rebuild"]):
    """Ways to narrow rebuilds down."""

    def open(self) -> "RebuildQuerySet":
        """Still in the shop: neither shipped nor left by a side exit."""
        return self.exclude(stage__in=Rebuild.CLOSED_STAGES)

    def at_stage(self, stage: str) -> "RebuildQuerySet":
        """At one stage."""
        return self.filter(stage=stage)


class Rebuild(Tracked):
    """One pass of one unit through the shop; its stage follows from the work recorded."""

    class Stage(models.TextChoices):
        RECEIVED = "received", "received"
        TORN_DOWN = "torn_down", "torn down"
        QUOTED = "quoted", "quoted"
        GO_AHEAD = "go_ahead", "go-ahead"
        BUILDING = "building", "building"
        ON_TEST = "on_test", "on test"
        RELEASED = "released", "released"
        SHIPPED = "shipped", "shipped"
        RETURNED_AS_FOUND = "returned_as_found", "returned as found"
        SCRAPPED = "scrapped", "scrapped"
        EXCHANGE_CORE = "exchange_core", "kept as exchange core"

    CLOSED_STAGES = (Stage.SHIPPED, Stage.RETURNED_AS_FOUND, Stage.SCRAPPED, Stage.EXCHANGE_CORE)
    SIDE_EXITS = (Stage.RETURNED_AS_FOUND, Stage.SCRAPPED, Stage.EXCHANGE_CORE)

    class Opened(models.TextChoices):
        NOT_BEFORE = "not_before", "not opened before"
        BY_OTHERS = "by_others", "opened by others"
        BY_US = "by_us", "opened by us"
        NOT_CLEAR = "not_clear", "cannot be told"

    class Destination(models.TextChoices):
        CUSTOMER = "customer", "goes back to the customer"
        EXCHANGE = "exchange", "exchange core, stays with us"

    unit = models.ForeignKey(Unit, models.PROTECT, related_name="rebuilds")
    work_order = models.ForeignKey(WorkOrder, models.PROTECT, related_name="rebuilds")
    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="rebuilds")
    number = models.PositiveSmallIntegerField("rebuild of this unit, no.", default=1)
    stage = models.CharField(max_length=20, choices=Stage, default=Stage.RECEIVED, db_index=True)
    received_at = models.DateTimeField()
    received_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    mounting_place = models.ForeignKey(MountingPlace, models.PROTECT, null=True, blank=True, related_name="+")
    opened_before = models.CharField("opened before?", max_length=10, choices=Opened)
    arrival_condition = models.TextField("condition on arrival")
    reported = models.TextField("what the customer reports", blank=True)
    destination = models.CharField(max_length=10, choices=Destination, default=Destination.CUSTOMER)
    shelf = models.CharField("where it is now", max_length=40, blank=True)
    debris_found = models.BooleanField(default=False)
    debris_origin = models.CharField("where the debris came from", max_length=300, blank=True)
    circuit_flagged = models.BooleanField("debris found elsewhere in this work order", default=False)
    exit_reason = models.CharField("reason for the side exit", max_length=300, blank=True)

    objects = RebuildQuerySet.as_manager()

    class Meta:
        ordering = ["-received_at", "-pk"]
        constraints = [
            models.UniqueConstraint(
                fields=["unit", "number"],
                name="workorders_rebuild_number_once",
                violation_error_message="This unit has a rebuild of that number already.",
            ),
            models.UniqueConstraint(
                fields=["unit"],
                condition=Q(
                    stage__in=[
                        "received",
                        "torn_down",
                        "quoted",
                        "go_ahead",
                        "building",
                        "on_test",
                        "released",
                    ]
                ),
                name="workorders_rebuild_one_open",
                violation_error_message="This unit is in the shop already, in an open rebuild.",
            ),
            models.CheckConstraint(
                name="workorders_rebuild_exit_has_reason",
                condition=(
                    ~Q(stage__in=["returned_as_found", "scrapped", "exchange_core"]) | ~Q(exit_reason="")
                ),
                violation_error_message="A side exit needs its reason.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit} in {self.work_order}"

    def get_absolute_url(self) -> str:
        return reverse("workorders:rebuild", args=[self.pk])

    @property
    def is_open(self) -> bool:
        """Whether the unit is still in the shop in this rebuild."""
        return self.stage not in self.CLOSED_STAGES


class ArrivalItem(Tracked):
    """Something that came with a unit, or that should have: counted again at packing."""

    class Kind(models.TextChoices):
        HOSE = "hose", "hose attached"
        EXTRA = "extra", "extra part"
        MISSING = "missing", "missing part"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="arrival_items")
    kind = models.CharField(max_length=8, choices=Kind)
    label = models.CharField("number or name", max_length=60)
    note = models.CharField(max_length=200, blank=True)

    class Meta:
        ordering = ["kind", "label", "pk"]

    def __str__(self) -> str:
        return f"{self.get_kind_display()}: {self.label}"


class Photo(AppendOnly):
    """A photo of a rebuild, at receiving, teardown, test or packing."""

    class Moment(models.TextChoices):
        RECEIVING = "receiving", "before anything is loosened"
        PORT = "port", "port, before its hose comes off"
        TEARDOWN = "teardown", "teardown"
        BUILD = "build", "building"
        TEST = "test", "on test"
        MARK = "mark", "permanent mark"
        PACKING = "packing", "packing"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="photos")
    finding = models.ForeignKey(
        "workorders.Finding", models.PROTECT, null=True, blank=True, related_name="photos"
    )
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="+")
    moment = models.CharField(max_length=10, choices=Moment)
    caption = models.CharField(max_length=160, blank=True)
    file = models.ForeignKey(StoredFile, models.PROTECT, related_name="+")

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_photo_port_named",
                condition=Q(moment="port", port__isnull=False) | (~Q(moment="port") & Q(port__isnull=True)),
                violation_error_message="A photo from before a hose comes off names its port; no other does.",
            ),
        ]

    def __str__(self) -> str:
        return self.caption or self.get_moment_display()


class FluidFound(Tracked):
    """The fluid that came out of a unit."""

    class Water(models.TextChoices):
        NONE = "none", "no water seen"
        CLOUDY = "cloudy", "cloudy"
        FREE = "free", "free water"
        NOT_EXAMINED = "not_examined", "not examined"

    rebuild = models.OneToOneField(Rebuild, models.PROTECT, related_name="fluid_found")
    fluid = models.ForeignKey(Fluid, models.PROTECT, null=True, blank=True, related_name="+")
    kind_note = models.CharField("kind, as far as can be told", max_length=120, blank=True)
    colour = models.CharField(max_length=60, blank=True)
    smell = models.CharField(max_length=60, blank=True)
    water = models.CharField(max_length=12, choices=Water)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.fluid or self.kind_note or 'fluid not identified'}, {self.get_water_display()}"


class GoAhead(AppendOnly):
    """Who allowed which scope up to which price, when and how."""

    class How(models.TextChoices):
        TELEPHONE = "telephone", "by telephone"
        WRITTEN = "written", "in writing"
        COUNTER = "counter", "at the counter"
        LEAD = "lead", "the lead's own word (exchange stock)"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="go_aheads")
    given_by = models.CharField("given by", max_length=120)
    given_at = models.DateTimeField("given on")
    how = models.CharField(max_length=10, choices=How)
    scope = models.CharField(max_length=300)
    price_ceiling = models.DecimalField(max_digits=10, decimal_places=2, null=True, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="workorders_goahead_ceiling",
                condition=Q(how="lead") | Q(price_ceiling__isnull=False),
                violation_error_message="A customer's go-ahead needs a price ceiling.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.given_by}, {self.get_how_display()}: {self.scope}"


class Quote(AppendOnly):
    """A price told to the customer after teardown."""

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="quotes")
    amount = models.DecimalField(max_digits=10, decimal_places=2)
    scope = models.CharField(max_length=300)
    told_to = models.CharField(max_length=120, blank=True)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.amount}: {self.scope}"


class Signature(AppendOnly):
    """A signed step of a rebuild; it covers the digest of the record as it stood."""

    class Meaning(models.TextChoices):
        RECEIVED = "received", "received and inspected on arrival"
        TORN_DOWN = "torn_down", "disassembled, cleaned and inspected"
        BUILT = "built", "repaired as necessary and reassembled"
        TESTED = "tested", "tested to the named plan"
        RELEASED = "released", "released"
        RETURNED = "returned", "returned as found, findings signed"

    rebuild = models.ForeignKey(Rebuild, models.PROTECT, related_name="signatures")
    meaning = models.CharField(max_length=10, choices=Meaning)
    printed_name = models.CharField(max_length=80)
    authority_no = models.CharField(max_length=40, blank=True)
    done_at = models.DateTimeField("work completed")
    content_sha256 = models.CharField(max_length=64)

    class Meta:
        ordering = ["pk"]

    def __str__(self) -> str:
        return f"{self.get_meaning_display()} by {self.printed_name}"
