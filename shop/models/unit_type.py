"""Unit types, their revisions, and the places in them that get looked at."""

from django.db import models
from django.db.models import F, Q
from django.urls import reverse

from .base import Tracked
from .fluid import Fluid
from .unit_type_queryset import UnitTypeQuerySet, years_in_words


class UnitType(Tracked):
    """A catalogue entry: one design of cylinder, power unit or valve block."""

    class Family(models.TextChoices):
        CYLINDER = "cylinder", "cylinder"
        POWER_UNIT = "power_unit", "power unit"
        VALVE_BLOCK = "valve_block", "valve block"

    code = models.CharField("catalogue code", max_length=30, unique=True)
    name = models.CharField(max_length=120)
    family = models.CharField(max_length=12, choices=Family)
    maker = models.CharField(max_length=80, blank=True)
    variant_of = models.ForeignKey("self", models.PROTECT, null=True, blank=True, related_name="variants")
    built_from = models.PositiveSmallIntegerField("built from the year", null=True, blank=True)
    built_to = models.PositiveSmallIntegerField("built until the year", null=True, blank=True)
    differs = models.CharField("what differs from it", max_length=300, blank=True)
    note = models.TextField(blank=True)
    provisional = models.BooleanField("opened at the bench, not approved yet", default=False)
    merged_into = models.ForeignKey(
        "self", models.PROTECT, null=True, blank=True, related_name="merged_types"
    )

    objects = UnitTypeQuerySet.as_manager()

    class Meta:
        ordering = ["code"]
        constraints = [
            models.CheckConstraint(
                name="shop_unittype_merged_elsewhere",
                condition=Q(merged_into__isnull=True) | (Q(provisional=True) & ~Q(merged_into=F("pk"))),
                violation_error_message=(
                    "Only a type opened at the bench turns out to be another one, and never itself."
                ),
            ),
            models.CheckConstraint(
                name="shop_unittype_variant_of_another",
                condition=Q(variant_of__isnull=True) | ~Q(variant_of=F("id")),
                violation_error_message="A unit type is a variant of another one, not of itself.",
            ),
            models.CheckConstraint(
                name="shop_unittype_variant_told",
                condition=Q(variant_of__isnull=True, differs="")
                | (Q(variant_of__isnull=False) & ~Q(differs="")),
                violation_error_message="A variant needs the type it is a variant of, and what differs.",
            ),
            models.CheckConstraint(
                name="shop_unittype_years_in_order",
                condition=Q(built_from__isnull=True)
                | Q(built_to__isnull=True)
                | Q(built_from__lte=F("built_to")),
                violation_error_message="It was built until a year before its first one.",
            ),
            models.CheckConstraint(
                name="shop_unittype_years_plausible",
                condition=(Q(built_from__isnull=True) | Q(built_from__range=(1900, 2200)))
                & (Q(built_to__isnull=True) | Q(built_to__range=(1900, 2200))),
                violation_error_message="Write the year with four digits, such as 1998.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"

    def get_absolute_url(self) -> str:
        return reverse("shop:unit_type", args=[self.pk])

    @property
    def years(self) -> str:
        """The years in which it was built, in words; empty where none are known."""
        return years_in_words(self.built_from, self.built_to)

    @property
    def current(self) -> "TypeRevision":
        """The approved revision that new rebuilds are built to; TypeRevision.DoesNotExist if none."""
        return self.revisions.get(state=TypeRevision.State.APPROVED)


class TypeRevision(Tracked):
    """One state of a unit type; a rebuild keeps the revision it was built to."""

    class State(models.TextChoices):
        DRAFT = "draft", "draft"
        APPROVED = "approved", "approved"
        SUPERSEDED = "superseded", "superseded"

    class MarkPlace(models.TextChoices):
        """Where a permanent mark may go: never on a rod, and never on a wall that holds pressure."""

        LUG = "lug", "mounting lug or eye"
        BRACKET = "bracket", "bracket"
        FOOT = "foot", "foot of the housing"
        FLANGE = "flange", "edge of a flange, outside the seal"
        COVER = "cover", "cover that holds no pressure"
        PLATE = "plate", "plate under a screw of the bracket"

    unit_type = models.ForeignKey(UnitType, models.PROTECT, related_name="revisions")
    number = models.PositiveSmallIntegerField(default=1)
    state = models.CharField(max_length=12, choices=State, default=State.DRAFT)
    bore_mm = models.FloatField("bore, mm", null=True, blank=True)
    rod_mm = models.FloatField("rod, mm", null=True, blank=True)
    stroke_mm = models.FloatField("stroke, mm", null=True, blank=True)
    closed_length_mm = models.FloatField("closed length, mm", null=True, blank=True)
    volume_ml = models.FloatField("oil volume, mL", null=True, blank=True)
    displacement_cm3 = models.FloatField("displacement, cm³/rev", null=True, blank=True)
    supply_v = models.FloatField("motor supply, V", null=True, blank=True)
    rated_pressure_bar = models.FloatField("rated pressure, bar", null=True, blank=True)
    proof_pressure_bar = models.FloatField("proof pressure, bar", null=True, blank=True)
    proof_hold_s = models.FloatField("proof hold, s", null=True, blank=True)
    proof_basis = models.CharField("basis of proof pressure and hold", max_length=300, blank=True)
    service_fluid = models.ForeignKey(Fluid, models.PROTECT, null=True, blank=True, related_name="+")
    teardown_procedure = models.CharField(max_length=120, blank=True)
    filling_note = models.TextField("filling and bleeding", blank=True)
    spare_fluid_ml = models.FloatField("spare fluid that goes along, mL", null=True, blank=True)
    mark_place = models.CharField("permanent mark on", max_length=8, choices=MarkPlace, blank=True)
    mark_note = models.CharField("how the mark is made", max_length=200, blank=True)

    class Meta:
        ordering = ["unit_type", "number"]
        constraints = [
            models.UniqueConstraint(
                fields=["unit_type", "number"],
                name="shop_typerevision_number_once",
                violation_error_message="This revision number exists already.",
            ),
            models.UniqueConstraint(
                fields=["unit_type"],
                condition=Q(state="approved"),
                name="shop_typerevision_one_approved",
                violation_error_message="Another revision is approved; supersede it first.",
            ),
            models.CheckConstraint(
                name="shop_typerevision_fluid_known",
                condition=Q(state="draft") | Q(service_fluid__isnull=False),
                violation_error_message="Name the service fluid: only a draft may leave it open.",
            ),
            models.CheckConstraint(
                name="shop_typerevision_proof_has_basis",
                condition=Q(proof_pressure_bar__isnull=True)
                # Without the null test an empty hold would make the check unknown, which passes.
                | (
                    Q(proof_pressure_bar__gt=0, proof_hold_s__isnull=False, proof_hold_s__gt=0)
                    & ~Q(proof_basis="")
                ),
                violation_error_message=(
                    "A proof pressure needs a hold time and a written basis; there is no general default."
                ),
            ),
            models.CheckConstraint(
                name="shop_typerevision_spare_fluid",
                condition=Q(spare_fluid_ml__isnull=True) | Q(spare_fluid_ml__gt=0),
                violation_error_message="Spare fluid is more than 0 mL; leave it empty for none.",
            ),
            models.CheckConstraint(
                name="shop_typerevision_mark_off_pressure",
                condition=Q(mark_place__in=["", "lug", "bracket", "foot", "flange", "cover", "plate"]),
                violation_error_message=(
                    "A permanent mark goes on none of these: a rod, or a wall that holds pressure."
                ),
            ),
            models.CheckConstraint(
                name="shop_typerevision_rod_in_bore",
                condition=Q(rod_mm__isnull=True) | Q(bore_mm__isnull=True) | Q(rod_mm__lt=F("bore_mm")),
                violation_error_message="The rod must be thinner than the bore.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.unit_type} rev {self.number}"


class Place(Tracked):
    """What positions, components, ports and hoses share: a code and an order within one revision."""

    code = models.CharField(max_length=12)
    name = models.CharField(max_length=80)
    order = models.PositiveSmallIntegerField(default=0)
    hint = models.TextField("short hint", blank=True)

    class Meta:
        abstract = True
        ordering = ["order", "code"]

    def __str__(self) -> str:
        return f"{self.code} {self.name}"


class SealPosition(Place):
    """A place in a unit type where a seal sits."""

    class Kind(models.TextChoices):
        ROD_SEAL = "rod_seal", "rod seal"
        WIPER = "wiper", "wiper"
        PISTON_SEAL = "piston_seal", "piston seal"
        PORT_SEAL = "port_seal", "port seal"
        STATIC_SEAL = "static_seal", "static seal"
        SHAFT_SEAL = "shaft_seal", "shaft seal"
        VALVE_SEAT_SEAL = "valve_seat_seal", "valve seat seal"

    class Motion(models.TextChoices):
        STATIC = "static", "static"
        RECIPROCATING = "reciprocating", "reciprocating"
        ROTARY = "rotary", "rotary"

    class Arrangement(models.TextChoices):
        PISTON = "piston", "groove in the inner part"
        ROD = "rod", "groove in the outer part"
        FACE = "face", "groove in a face"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="positions")
    kind = models.CharField(max_length=16, choices=Kind)
    motion = models.CharField(max_length=14, choices=Motion)
    size_designation = models.CharField(max_length=60, blank=True)
    arrangement = models.CharField(max_length=6, choices=Arrangement, blank=True)
    gland_diameter_mm = models.FloatField("groove diameter, mm", null=True, blank=True)
    gland_diameter_tol_mm = models.FloatField("± on the groove diameter, mm", null=True, blank=True)
    gland_depth_min_mm = models.FloatField("gland depth, least, mm", null=True, blank=True)
    gland_depth_max_mm = models.FloatField("gland depth, most, mm", null=True, blank=True)
    gland_width_min_mm = models.FloatField("groove width, least, mm", null=True, blank=True)
    gland_width_max_mm = models.FloatField("groove width, most, mm", null=True, blank=True)
    clearance_max_mm = models.FloatField("diametral clearance, most, mm", null=True, blank=True)

    class Meta(Place.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "code"],
                name="shop_sealposition_code_once",
                violation_error_message="This revision has a position of that code already.",
            ),
            models.CheckConstraint(
                name="shop_sealposition_depth_order",
                condition=Q(gland_depth_min_mm__isnull=True)
                | Q(gland_depth_max_mm__isnull=True)
                | Q(gland_depth_min_mm__lte=F("gland_depth_max_mm")),
                violation_error_message="The least gland depth is larger than the most.",
            ),
            models.CheckConstraint(
                name="shop_sealposition_width_order",
                condition=Q(gland_width_min_mm__isnull=True)
                | Q(gland_width_max_mm__isnull=True)
                | Q(gland_width_min_mm__lte=F("gland_width_max_mm")),
                violation_error_message="The least groove width is larger than the most.",
            ),
            models.CheckConstraint(
                name="shop_sealposition_clearance_not_negative",
                condition=Q(clearance_max_mm__isnull=True) | Q(clearance_max_mm__gte=0),
                violation_error_message="A clearance is 0 mm or more.",
            ),
        ]

    @property
    def kind_and_motion(self) -> str:
        """Say the kind, and the motion where the kind does not: ``static seal``, ``rod seal, static``."""
        kind, motion = self.get_kind_display(), self.get_motion_display()
        return kind if kind.startswith(motion) else f"{kind}, {motion}"


class Component(Place):
    """A part of a unit type that is looked at and is not a seal."""

    class Kind(models.TextChoices):
        BODY = "body", "body"
        ROD = "rod", "rod"
        BARREL = "barrel", "barrel"
        PISTON = "piston", "piston"
        BRUSHES = "brushes", "brushes"
        COMMUTATOR = "commutator", "commutator"
        PUMPING_ELEMENT = "pumping_element", "pumping element"
        BALL = "ball", "ball"
        SPRING = "spring", "spring"
        SCREEN = "screen", "screen"
        COIL = "coil", "coil"
        CONNECTOR = "connector", "connector"
        SNAP_RING = "snap_ring", "snap ring"
        OTHER = "other", "other"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="components")
    kind = models.CharField(max_length=16, choices=Kind)

    class Meta(Place.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "code"],
                name="shop_component_code_once",
                violation_error_message="This revision has a component of that code already.",
            ),
        ]


class Port(Place):
    """A numbered port; the hose that belongs on it, if any, points to it."""

    class Fitting(models.TextChoices):
        CRIMPED = "crimped", "crimped in by the maker"
        CLIPPED = "clipped", "screwed clip or plate"
        SCREWED = "screwed", "screwed"
        PLUGGED = "plugged", "plugged"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="ports")
    fitting = models.CharField(max_length=10, choices=Fitting)
    thread = models.CharField("thread or fitting size", max_length=40, blank=True)
    along = models.FloatField("place along the body, 0 to 1", null=True, blank=True)

    class Meta(Place.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "code"],
                name="shop_port_code_once",
                violation_error_message="This revision has a port of that number already.",
            ),
            models.CheckConstraint(
                name="shop_port_along_the_body",
                condition=Q(along__isnull=True) | Q(along__gte=0, along__lte=1),
                violation_error_message="The place along the body is from 0 (end cap) to 1 (rod end).",
            ),
        ]


class DimensionLimit(Place):
    """A dimension that teardown measures, with its limits and their basis."""

    class Quantity(models.TextChoices):
        ROD_DIAMETER = "rod_diameter", "rod diameter"
        BORE = "bore", "bore"
        RUN_OUT = "run_out", "run-out"
        GROOVE = "groove", "groove"
        SURFACE = "surface", "surface roughness"
        LENGTH = "length", "length"
        CLEARANCE = "clearance", "clearance"
        OTHER = "other", "other"

    class GlandFigure(models.TextChoices):
        DEPTH = "depth", "gland depth"
        WIDTH = "width", "groove width"
        DIAMETER = "diameter", "groove diameter"
        CLEARANCE = "clearance", "diametral clearance"

    revision = models.ForeignKey(TypeRevision, models.PROTECT, related_name="dimension_limits")
    quantity = models.CharField(max_length=14, choices=Quantity)
    unit = models.CharField(max_length=10, choices=[("mm", "mm"), ("µm", "µm")], default="mm")
    stations = models.PositiveSmallIntegerField("readings to take", default=1)
    lower = models.FloatField(null=True, blank=True)
    upper = models.FloatField(null=True, blank=True)
    basis = models.CharField(max_length=300)
    required = models.BooleanField(default=True)
    limits_open = models.BooleanField("limits left to the lead", default=False)
    position = models.ForeignKey(SealPosition, models.PROTECT, null=True, blank=True, related_name="+")
    gland_figure = models.CharField("figure of its gland", max_length=9, choices=GlandFigure, blank=True)
    length_mm = models.FloatField("length between the rests, mm", null=True, blank=True)

    class Meta(Place.Meta):
        constraints = [
            models.UniqueConstraint(
                fields=["revision", "code"],
                name="shop_dimensionlimit_code_once",
                violation_error_message="This revision has a dimension of that code already.",
            ),
            models.CheckConstraint(
                name="shop_dimensionlimit_has_limit",
                condition=Q(lower__isnull=False)
                | Q(upper__isnull=False)
                | ~Q(gland_figure="")
                | Q(length_mm__isnull=False)
                | Q(limits_open=True),
                violation_error_message=(
                    "Give a lower or an upper limit, the figure of a gland, or the length of a rod: "
                    "something must judge the reading."
                ),
            ),
            models.CheckConstraint(
                name="shop_dimensionlimit_figure_with_position",
                condition=Q(gland_figure="", position__isnull=True)
                | (~Q(gland_figure="") & Q(position__isnull=False)),
                violation_error_message="A figure of a gland and its seal position go together.",
            ),
            models.CheckConstraint(
                name="shop_dimensionlimit_length_of_run_out",
                condition=Q(length_mm__isnull=True) | Q(length_mm__gt=0, quantity="run_out", gland_figure=""),
                violation_error_message=(
                    "Only a run-out has a length, above 0 mm, and it is no figure of a gland."
                ),
            ),
            models.CheckConstraint(
                name="shop_dimensionlimit_sum_in_mm",
                condition=Q(gland_figure="", length_mm__isnull=True) | Q(unit="mm"),
                violation_error_message="What a sum judges is read in mm.",
            ),
            models.CheckConstraint(
                name="shop_dimensionlimit_order",
                condition=Q(lower__isnull=True) | Q(upper__isnull=True) | Q(lower__lte=F("upper")),
                violation_error_message="The lower limit is above the upper limit.",
            ),
        ]

    @property
    def is_judged_by_sum(self) -> bool:
        """Whether a sum judges the reading, beside or instead of entered limits."""
        return bool(self.gland_figure) or self.length_mm is not None

    @property
    def is_judged_by_nothing(self) -> bool:
        """Whether the lead has given neither limits nor a sum yet."""
        return self.lower is None and self.upper is None and not self.is_judged_by_sum
