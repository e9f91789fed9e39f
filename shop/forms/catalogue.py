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
    MountingPlace,
    Port,
    SealPosition,
    StepLimit,
    TestPlan,
    TestStep,
    TypeRevision,
    UnitType,
)
from shop.services.test_plans import QUANTITIES

PLACE_FIELDS = ("code", "name", "order", "hint")
PLACE_HELP = {
    "code": "Short, as on the drawing, such as S1. It stands on the certificate.",
    "order": "Places are shown from the smallest number up.",
    "hint": "What the bench should know here, such as the tool to use.",
}


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
        fields = ("code", "name", "family", "maker", "maker_numbers", "note")
        formfield_callback = row_field
        help_texts = {"maker_numbers": "As they stand on the units, separated by commas."}


class NewUnitTypeForm(UnitTypeForm):
    """A unit type to enter, with the fluid that its first revision needs."""

    service_fluid = forms.ModelChoiceField(Fluid.objects.all(), empty_label="Choose a fluid")

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
            "volume_ml",
            "displacement_cm3",
            "supply_v",
            "rated_pressure_bar",
            "proof_pressure_bar",
            "proof_hold_s",
            "proof_basis",
            "teardown_procedure",
            "filling_note",
            "mark_place",
            "mark_note",
        )
        formfield_callback = row_field
        labels = {"teardown_procedure": "Teardown procedure and its revision"}
        help_texts = {
            "proof_basis": "Where both come from: a drawing, a calculation, a named source. There is no "
            "general default: a general factor splits thin housings.",
            "filling_note": "Printed on the page for the person who fits the unit.",
            "mark_place": "Survives the wash and a lost label. Never on a rod, and never on a wall that "
            "holds pressure. With a place chosen, a release needs a photo of the mark.",
            "mark_note": "Such as: dot-peened, 3 mm high.",
        }

    groups = (
        ("Dimensions", ("bore_mm", "rod_mm", "stroke_mm", "volume_ml")),
        ("Power unit", ("displacement_cm3", "supply_v")),
        ("Pressure", ("rated_pressure_bar", "proof_pressure_bar", "proof_hold_s", "proof_basis")),
        ("Fluid and papers", ("service_fluid", "teardown_procedure", "filling_note")),
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
    """A port with its hose."""

    class Meta:
        model = Port
        fields = (*PLACE_FIELDS, "fitting", "thread", "hose")
        formfield_callback = row_field
        help_texts = PLACE_HELP | {"hose": "A hose on the wrong port is a come-back: number both."}


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
    "dimension": DimensionForm,
}


class PlanForm(RowForm):
    """What a test plan is called."""

    class Meta:
        model = TestPlan
        fields = ("title", "conditioning", "note")
        formfield_callback = row_field
        help_texts = {"conditioning": "Temperature, filtering and bleeding of the test fluid."}


class StepForm(RowForm):
    """What is done in a step."""

    class Meta:
        model = TestStep
        fields = ("order", "kind", "side", "title", "pressure_bar", "hold_s", "instruction")
        formfield_callback = row_field
        labels = {"order": "Place in the order"}
        help_texts = {"pressure_bar": "Proof and hold need both figures; there is no general default."}

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["order"].min_value = 1  # type: ignore[attr-defined]


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
    source = forms.ChoiceField(label="Known how", choices=StepLimit.Source.choices, initial="type")
    basis = forms.CharField(label="Basis", max_length=300)


class BaseLimitFormSet(forms.BaseFormSet):  # type: ignore[type-arg]
    """The limits of a step; those that exist can be taken out."""

    def add_fields(self, form: forms.Form, index: int | None) -> None:
        """Name the box that takes a limit out."""
        super().add_fields(form, index)
        if "DELETE" in form.fields:
            form.fields["DELETE"].label = "Take this limit out"


LimitFormSet = forms.formset_factory(
    LimitForm,
    formset=BaseLimitFormSet,
    extra=2,
    can_delete=True,
    can_delete_extra=False,
    max_num=12,
    validate_max=True,
)


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
