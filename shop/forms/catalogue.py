"""Forms of the catalogue: unit types, revisions, places, plans, applications, fluids."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.forms.rows import PlainFloatField, RowForm, row_field
from shop.models import (
    Application,
    Component,
    DimensionLimit,
    Fluid,
    Hose,
    MountingPlace,
    Port,
    SealPosition,
    StepLimit,
    TestPlan,
    TypeRevision,
    UnitType,
)
from shop.services.test_plans import QUANTITIES
from shop.step_kinds import Ask

PLACE_FIELDS = ("code", "name", "order", "hint")
PLACE_HELP = {
    "code": "Short, as on the drawing, such as S1. It stands on the certificate.",
    "order": "Places are shown from the smallest number up.",
    "hint": "One line that holds at every step. What is done at one step is a technique note.",
}


HOSE_END_FIELDS = ("end_fitting", "end_thread", "connects_to")
HOSE_RATING_FIELDS = ("rated_pressure_bar", "rating_reason")
SUM_FIELDS = ("position", "gland_figure", "length_mm")
GLAND_FIELDS = (
    "arrangement",
    "gland_diameter_mm",
    "gland_diameter_tol_mm",
    "gland_depth_min_mm",
    "gland_depth_max_mm",
    "gland_width_min_mm",
    "gland_width_max_mm",
    "clearance_max_mm",
)


class UnitTypeForm(RowForm):
    """What a unit type is called and who made it."""

    class Meta:
        model = UnitType
        fields = ("code", "name", "family", "maker", "note")
        formfield_callback = row_field


class NewUnitTypeForm(UnitTypeForm):
    """A unit type to enter, with the fluid that its first revision needs."""

    service_fluid = forms.ModelChoiceField(Fluid.objects.all(), empty_label="Choose a fluid")
    maker_numbers = forms.CharField(
        label="Maker's numbers",
        max_length=400,
        required=False,
        help_text="As they stand on the units, separated by commas.",
    )

    field_order = ("code", "name", "family", "service_fluid", "maker", "maker_numbers", "note")


class ChangeUnitTypeForm(UnitTypeForm):
    """A unit type to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)


class RevisionForm(RowForm):
    """The figures of a draft."""

    class Meta:
        model = TypeRevision
        fields = (
            "service_fluid",
            "bore_mm",
            "rod_mm",
            "stroke_mm",
            "closed_length_mm",
            "volume_ml",
            "displacement_cm3",
            "supply_v",
            "rated_pressure_bar",
            "proof_pressure_bar",
            "proof_hold_s",
            "proof_basis",
            "teardown_procedure",
            "filling_note",
            "spare_fluid_ml",
            "mark_place",
            "mark_note",
        )
        formfield_callback = row_field
        labels = {"teardown_procedure": "Teardown procedure and its revision"}
        help_texts = {
            "closed_length_mm": "With the rod drawn in, over the mounting eyes: it helps to identify a unit.",
            "proof_basis": "Where both come from: a drawing, a calculation, a named source. There is no "
            "general default: a general factor splits thin housings.",
            "filling_note": "Printed on the page for the person who fits the unit.",
            "spare_fluid_ml": "Put into the parcel with each unit of this type. Empty: none goes along.",
            "mark_place": "Survives the wash and a lost label. Never on a rod, and never on a wall that "
            "holds pressure. With a place chosen, a release needs a photo of the mark.",
            "mark_note": "Such as: dot-peened, 3 mm high.",
        }

    groups = (
        ("Dimensions", ("bore_mm", "rod_mm", "stroke_mm", "closed_length_mm", "volume_ml")),
        ("Power unit", ("displacement_cm3", "supply_v")),
        ("Pressure", ("rated_pressure_bar", "proof_pressure_bar", "proof_hold_s", "proof_basis")),
        ("Fluid and papers", ("service_fluid", "teardown_procedure", "filling_note", "spare_fluid_ml")),
        ("Permanent mark", ("mark_place", "mark_note")),
    )


class PositionForm(RowForm):
    """A seal position with its gland."""

    class Meta:
        model = SealPosition
        fields = (
            *PLACE_FIELDS,
            "kind",
            "motion",
            "size_designation",
            *GLAND_FIELDS,
        )
        formfield_callback = row_field
        labels = {"arrangement": "Where the groove is"}
        help_texts = PLACE_HELP | {
            "size_designation": "An O-ring as AS568-214 or as 10 x 2 (inside diameter by section, mm); "
            "a profile as 12 x 20 x 5.7.",
            "gland_depth_min_mm": "From the bottom of the groove to the surface opposite, in line.",
            "clearance_max_mm": "Between the metal beside the groove and the surface opposite; "
            "none for a groove in a face.",
        }

    groups = (
        ("The position", ("code", "name", "kind", "motion", "size_designation", "order", "hint")),
        ("Its gland", GLAND_FIELDS),
    )


class ComponentForm(RowForm):
    """A component that is not a seal."""

    class Meta:
        model = Component
        fields = (*PLACE_FIELDS, "kind")
        formfield_callback = row_field
        help_texts = PLACE_HELP


class PortForm(RowForm):
    """A port; its hose is a row of its own."""

    class Meta:
        model = Port
        fields = (*PLACE_FIELDS, "fitting", "thread", "along")
        formfield_callback = row_field
        labels = {"along": "Place along the body"}
        help_texts = PLACE_HELP | {
            "along": "From 0 (end cap) to 1 (rod end), for the drawing; empty where it is not known."
        }


class HoseForm(RowForm):
    """A hose with the port that it belongs on and what it is made to."""

    class Meta:
        model = Hose
        fields = (
            *PLACE_FIELDS,
            "port",
            "attachment",
            "length_mm",
            "inside_diameter_mm",
            "size_designation",
            *HOSE_END_FIELDS,
            *HOSE_RATING_FIELDS,
        )
        formfield_callback = row_field
        labels = {"code": "Hose number", "port": "Port that it belongs on"}
        help_texts = PLACE_HELP | {
            "code": "As on its tag, such as H1. A hose on the wrong port is a come-back: number both.",
            "attachment": "“Not known” is an answer. A removable hose often stays with the machine.",
            "length_mm": "Over all, with its fittings.",
            "size_designation": "As printed on the hose, with its standard where it names one.",
            "end_fitting": "Such as: banjo, swivel nut, cut end for a clip.",
            "connects_to": "Such as: power unit, port 2.",
            "rating_reason": "Needed for a hose rated below its unit, such as: return line, no pressure.",
        }

    groups = (
        (
            "The hose",
            (
                *("code", "name", "port", "attachment", "length_mm", "inside_diameter_mm"),
                *("size_designation", "order", "hint"),
            ),
        ),
        ("Its far end", HOSE_END_FIELDS),
        ("What it is rated for", HOSE_RATING_FIELDS),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["port"].queryset = Port.objects.filter(revision=self.instance.revision_id)  # type: ignore[attr-defined]
        self.fields["port"].empty_label = "Choose a port"  # type: ignore[attr-defined]


class DimensionForm(RowForm):
    """A dimension that teardown measures."""

    class Meta:
        model = DimensionLimit
        fields = (
            *PLACE_FIELDS,
            "quantity",
            "unit",
            "stations",
            "lower",
            "upper",
            "basis",
            "required",
            *SUM_FIELDS,
        )
        formfield_callback = row_field
        labels = {
            "lower": "At least",
            "upper": "At most",
            "required": "Teardown must measure it",
            "position": "Gland of",
            "gland_figure": "The reading is its",
        }
        help_texts = PLACE_HELP | {
            "stations": "At how many places along the part it is measured.",
            "basis": "Where the limits come from. Say “from memory” where they do.",
            "position": "The reading is then run through the sum of this gland with the part of the kit.",
            "length_mm": "For a run-out: the shop's limit for each metre then judges it.",
        }

    groups = (
        (
            "The dimension",
            (
                *("code", "name", "quantity", "unit", "stations", "required", "order", "hint"),
                *("lower", "upper", "basis"),
            ),
        ),
        ("Judged by a sum as well", SUM_FIELDS),
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        positions = SealPosition.objects.filter(revision=self.instance.revision_id)
        self.fields["position"].queryset = positions  # type: ignore[attr-defined]
        self.fields["position"].empty_label = "No gland"  # type: ignore[attr-defined]


PLACE_FORMS: dict[str, type[RowForm]] = {
    "position": PositionForm,
    "component": ComponentForm,
    "port": PortForm,
    "hose": HoseForm,
    "dimension": DimensionForm,
}


class PlanForm(RowForm):
    """What a test plan is called."""

    class Meta:
        model = TestPlan
        fields = ("title", "conditioning", "note")
        formfield_callback = row_field
        help_texts = {"conditioning": "Temperature, filtering and bleeding of the test fluid."}


class LimitForm(ShopForm):
    """One limit of a step; an empty reading leaves the row out."""

    reading = forms.CharField(label="What is read", max_length=60)
    judged = forms.ChoiceField(label="Judged as", choices=StepLimit.Judged.choices, initial="value")
    quantity = forms.ChoiceField(
        label="Quantity",
        required=False,
        choices=[("", "none"), *((name, name) for name in QUANTITIES)],
    )
    unit = forms.CharField(label="Unit", required=False, max_length=12)
    lower = PlainFloatField(label="At least", required=False)
    upper = PlainFloatField(label="At most", required=False)
    figure = forms.ChoiceField(
        label="Figure of a stroke", required=False, choices=[("", "none"), *StepLimit.Figure.choices]
    )
    code_at_most = forms.CharField(
        label="Cleanliness code at most", required=False, max_length=8, help_text="Such as 18/16/13."
    )
    displacement_cm3 = PlainFloatField(
        label="Displacement for each revolution, cm³", required=False, help_text="For an efficiency."
    )
    displacement_error_pct = PlainFloatField(label="Largest error of the displacement, ± %", required=False)
    source = forms.ChoiceField(label="Known how", choices=StepLimit.Source.choices, initial="type")
    basis = forms.CharField(label="Basis", max_length=300)

    def narrow(self, ask: Ask) -> None:
        """Hide what a reading of a kind never has; what stands there already stays in sight."""
        for name in _not_asked(ask):
            if name == "figure" or self.initial.get(name) in (None, "", getattr(ask, name, "")):
                self.fields[name].widget = forms.HiddenInput()
        if self.fields["unit"].widget.is_hidden and ask.unit:
            for name in ("lower", "upper"):
                self.fields[name].widget.attrs["data-unit"] = ask.unit
        judged = self.fields["judged"]
        assert isinstance(judged, forms.ChoiceField)
        ways = {*ask.judged, self.initial.get("judged", "")}
        judged.widget.choices = [each for each in StepLimit.Judged.choices if each[0] in ways]
        if len(judged.widget.choices) == 1:
            judged.widget = forms.HiddenInput()

    def clean(self) -> dict[str, Any]:
        """A figure that stands in the field unseen belongs to a stroke alone."""
        data = super().clean() or self.cleaned_data
        if self.fields["figure"].widget.is_hidden and data.get("judged") != StepLimit.Judged.STROKE:
            data["figure"] = ""
        return data


NUMBERED = {"value", "decay", "count", "stroke", "steady", "efficiency"}  # ways with a number as limit


def _not_asked(ask: Ask) -> set[str]:
    """Return the fields of a limit that none of the ways of a reading asks for."""
    ways = set(ask.judged)
    gone = {"quantity"} if ask.quantity or not ways & {"value", "steady", "recorded"} else set()
    if len(QUANTITIES.get(ask.quantity, ())) < 2 or "decay" in ways:
        gone.add("unit")
    if not ways & NUMBERED or ask.bound == "most":
        gone.add("lower")
    if not ways & NUMBERED or ask.bound == "least":
        gone.add("upper")
    if ask.figure or "stroke" not in ways:
        gone.add("figure")
    if "cleanliness" not in ways:
        gone.add("code_at_most")
    return gone if "efficiency" in ways else gone | {"displacement_cm3", "displacement_error_pct"}


class ApplicationForm(RowForm):
    """A machine with several units."""

    class Meta:
        model = Application
        fields = ("name", "note")
        formfield_callback = row_field


class MountingPlaceForm(RowForm):
    """Where a unit sits in an application, and what it takes to get at it."""

    class Meta:
        model = MountingPlace
        fields = ("name", "unit_type", "access_labour_h", "twin_of")
        formfield_callback = row_field
        labels = {"twin_of": "Twin of"}
        help_texts = {"twin_of": "Left and right twins swap parts: name the other one."}

    def __init__(self, *args: Any, application: Application, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        others = application.places.exclude(pk=self.instance.pk)
        self.fields["twin_of"].queryset = others  # type: ignore[attr-defined]


class FluidForm(RowForm):
    """A fluid that the shop meets."""

    class Meta:
        model = Fluid
        fields = ("name", "family", "viscosity_grade", "note")
        formfield_callback = row_field


class FluidChangeForm(FluidForm):
    """A fluid to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)
