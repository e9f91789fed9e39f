"""Kits: which part goes to which position, and sets packed ahead."""

from functools import reduce
from operator import or_
from typing import ClassVar

from django.db import models
from django.db.models import Q
from django.urls import reverse

from shop.models import Component, Hose, Polymer, Port, SealPosition, Tracked, TypeRevision

from .lot import Lot
from .part import Part

# The fields that point to a place: also the kinds of place, in the order in which they are shown.
PLACE_FIELDS = ("position", "component", "port", "hose")
ONE_PLACE = reduce(
    or_, (Q(**{f"{name}__isnull": name != chosen for name in PLACE_FIELDS}) for chosen in PLACE_FIELDS)
)

POLYMERS = [(symbol, symbol) for symbol in Polymer.values]  # shown as their symbols, NBR and not Nbr
ANY_UPGRADE = reduce(
    or_,
    (
        Q(**{f"upgrade_{name}": True})
        for name in ("hydrolysis", "oxidation", "heat", "swelling", "wear", "other")
    ),
)


class Kit(Tracked):
    """The set of parts that renews one revision of a unit type."""

    revision = models.OneToOneField(TypeRevision, models.PROTECT, related_name="kit")
    name = models.CharField(max_length=120)

    class Meta:
        ordering = ["name"]

    def __str__(self) -> str:
        return self.name


class KitLine(Tracked):
    """A part for one place of the unit; alternatives in order of preference.

    Its material may be an upgrade over the one that was made or found there: that is a statement of
    the shop, with reasons from the closed list ``UPGRADES``.
    """

    UPGRADES: ClassVar[dict[str, str]] = {
        "upgrade_hydrolysis": "hydrolysis",
        "upgrade_oxidation": "oxidation",
        "upgrade_heat": "heat",
        "upgrade_swelling": "swelling",
        "upgrade_wear": "wear",
        "upgrade_other": "other",
    }

    kit = models.ForeignKey(Kit, models.PROTECT, related_name="lines")
    position = models.ForeignKey(
        SealPosition, models.PROTECT, null=True, blank=True, related_name="kit_lines"
    )
    component = models.ForeignKey(Component, models.PROTECT, null=True, blank=True, related_name="kit_lines")
    port = models.ForeignKey(Port, models.PROTECT, null=True, blank=True, related_name="kit_lines")
    hose = models.ForeignKey(Hose, models.PROTECT, null=True, blank=True, related_name="kit_lines")
    part = models.ForeignKey(Part, models.PROTECT, related_name="kit_lines")
    quantity = models.PositiveSmallIntegerField(default=1)
    preference = models.PositiveSmallIntegerField(default=1)
    required = models.BooleanField(default=True)
    reason = models.CharField("why this part", max_length=200, blank=True)
    original_polymer = models.CharField("material before", max_length=6, choices=POLYMERS, blank=True)
    upgrade_hydrolysis = models.BooleanField("upgrade against hydrolysis", default=False)
    upgrade_oxidation = models.BooleanField("upgrade against oxidation", default=False)
    upgrade_heat = models.BooleanField("upgrade against heat", default=False)
    upgrade_swelling = models.BooleanField("upgrade against swelling", default=False)
    upgrade_wear = models.BooleanField("upgrade against wear", default=False)
    upgrade_other = models.BooleanField("upgrade for another reason", default=False)
    upgrade_words = models.CharField("upgrade, in words", max_length=200, blank=True)

    class Meta:
        ordering = ["kit", "position__order", "component__order", "port__order", "hose__order", "preference"]
        constraints = [
            models.CheckConstraint(
                name="inventory_kitline_one_place",
                condition=ONE_PLACE,
                violation_error_message="A kit line names one position, component, port or hose.",
            ),
            models.CheckConstraint(
                name="inventory_kitline_quantity_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="A kit line needs at least one piece.",
            ),
            models.CheckConstraint(
                name="inventory_kitline_upgrade_has_reason",
                condition=Q(original_polymer="", upgrade_words="") | ANY_UPGRADE,
                violation_error_message="An upgraded material needs at least one reason of the list.",
            ),
            models.CheckConstraint(
                name="inventory_kitline_other_in_words",
                condition=Q(upgrade_other=False) | ~Q(upgrade_words=""),
                violation_error_message="Another reason for the upgrade is said in words.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.place}: {self.quantity} x {self.part}"

    @property
    def place(self) -> SealPosition | Component | Port | Hose:
        """The position, component, port or hose that the line is for."""
        found = self.position or self.component or self.port or self.hose
        assert found is not None
        return found

    @property
    def upgrade_reasons(self) -> list[str]:
        """Against what the material is better, in words of the list; empty where it is no upgrade."""
        return [words for name, words in self.UPGRADES.items() if getattr(self, name)]

    @property
    def is_upgrade(self) -> bool:
        """Whether the shop states that the material is better than the one before."""
        return bool(self.upgrade_reasons)

    @property
    def upgrade_sentence(self) -> str:
        """The upgrade as it stays on record and paper, as the shop's own statement; empty for none."""
        if not self.is_upgrade:
            return ""
        listed = ", ".join(words for words in self.upgrade_reasons if words != "other")
        told = "; ".join(filter(None, (listed and f"resists {listed}", self.upgrade_words.rstrip("."))))
        before = self.original_polymer or "a material that is not known"
        return f"{self.part.polymer} in place of {before}: {told} (stated by the shop)"


class PackedKit(Tracked):
    """A kit packed from known lots, waiting to be used by one scan."""

    class State(models.TextChoices):
        PACKED = "packed", "packed"
        USED = "used", "used"
        UNPACKED = "unpacked", "unpacked"

    code = models.CharField(max_length=20, unique=True)
    kit = models.ForeignKey(Kit, models.PROTECT, related_name="packed")
    state = models.CharField(max_length=10, choices=State, default=State.PACKED)
    packed_at = models.DateTimeField()
    packed_by = models.ForeignKey("shop.User", models.PROTECT, related_name="+")
    document = models.CharField("used in", max_length=60, blank=True)

    class Meta:
        ordering = ["-packed_at"]

    def __str__(self) -> str:
        return self.code

    def get_absolute_url(self) -> str:
        return reverse("inventory:packed_kit", args=[self.code])


class PackedKitLine(Tracked):
    """Pieces of one lot in a packed kit, for one line of the kit."""

    packed_kit = models.ForeignKey(PackedKit, models.PROTECT, related_name="lines")
    kit_line = models.ForeignKey(KitLine, models.PROTECT, related_name="+")
    lot = models.ForeignKey(Lot, models.PROTECT, related_name="packed_lines")
    quantity = models.PositiveSmallIntegerField()
    lot_reason = models.CharField("why this lot and not the one to expire first", max_length=300, blank=True)
    lot_warning = models.CharField("which lot was passed over", max_length=200, blank=True)

    class Meta:
        ordering = ["pk"]
        constraints = [
            models.CheckConstraint(
                name="inventory_packedkitline_positive",
                condition=Q(quantity__gt=0),
                violation_error_message="A packed line holds at least one piece.",
            ),
        ]

    def __str__(self) -> str:
        return f"{self.quantity} of {self.lot}"
