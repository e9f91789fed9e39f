"""Forms of a unit type's relations: makers' numbers, variants, interchange, reference photos."""

from typing import Any, ClassVar

from django import forms
from django.db.models import Q, QuerySet

from shop.forms import ManyFilesInput, PhotosField, ShopForm
from shop.models import Interchange, MakerNumber, ReferencePhoto, UnitType
from shop.services.maker_numbers import numbers_named

OTHER_ROWS = UnitType.objects.order_by("code")
YEAR_HELP = "Four digits; empty where it is not known."


def year_field(label: str) -> forms.IntegerField:
    """Return a field for a year."""
    return forms.IntegerField(
        label=label, required=False, min_value=1900, max_value=2200, help_text=YEAR_HELP
    )


def why_field(label: str = "Reason for the correction") -> forms.CharField:
    """Return the field that asks for the reason."""
    return forms.CharField(label=label, max_length=200)


def _others(unit_type: UnitType, *, now: int | None) -> QuerySet[UnitType]:
    """Return the types of a family beside one; of those that turned out to be another, what stands now."""
    offered = Q(merged_into__isnull=True) | Q(pk=now)
    return OTHER_ROWS.filter(offered, family=unit_type.family).exclude(pk=unit_type.pk)


class MakerNumberForm(ShopForm):
    """A maker's number of a unit type; the reason is asked for where one is corrected."""

    number = forms.CharField(
        label="Maker's number",
        max_length=60,
        help_text="As it stands on the unit. Blanks, dashes, dots and slashes make no difference.",
    )
    year_from = year_field("Used from the year")
    year_to = year_field("Used until the year")
    superseded_by = forms.CharField(
        label="Superseded by",
        max_length=100,
        required=False,
        help_text="Another number that the catalogue has. Where several types have it: NUMBER of CODE.",
    )
    note = forms.CharField(label="Note", max_length=200, required=False)
    why = why_field()

    def __init__(
        self, *args: Any, row: MakerNumber | None = None, unit_type: UnitType, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.unit_type = unit_type
        if row is None:
            del self.fields["why"]

    @staticmethod
    def initial_of(row: MakerNumber) -> dict[str, Any]:
        """Return what the form shows at first: the number as it stands."""
        later = row.superseded_by
        names = ("number", "year_from", "year_to", "note")
        return {name: getattr(row, name) for name in names} | {
            "superseded_by": f"{later} of {later.unit_type.code}" if later else ""
        }

    def clean_superseded_by(self) -> MakerNumber | None:
        """Find the number that is named; the type's own comes before those of others."""
        text = self.cleaned_data["superseded_by"]
        if not text:
            return None
        found = numbers_named(text)
        own = [row for row in found if row.unit_type_id == self.unit_type.pk]
        if own or len(found) == 1:
            return (own or found)[0]
        if not found:
            raise forms.ValidationError("No unit type has this number yet: enter it with its type first.")
        codes = ", ".join(row.unit_type.code for row in found)
        raise forms.ValidationError(f"Several types have this number: {codes}. Write it as: NUMBER of CODE.")


class VariantForm(ShopForm):
    """When a type was built, and which type it is a variant of."""

    built_from = year_field("Built from the year")
    built_to = year_field("Built until the year")
    variant_of = forms.ModelChoiceField(
        OTHER_ROWS, label="Variant of", required=False, empty_label="no variant of another type"
    )
    differs = forms.CharField(
        label="What differs from it",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="In words that tell the two apart on the bench.",
    )
    why = why_field("How this is known")

    def __init__(self, *args: Any, unit_type: UnitType, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["variant_of"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = _others(unit_type, now=unit_type.variant_of_id)

    @staticmethod
    def initial_of(row: UnitType) -> dict[str, Any]:
        """Return what the form shows at first."""
        names = ("built_from", "built_to", "variant_of", "differs")
        return {name: getattr(row, name) for name in names}


class InterchangeForm(ShopForm):
    """Which type may stand in for which, seen from one of them."""

    ONE_FOR_OTHER, OTHER_FOR_ONE, BOTH = "for", "by", "both"

    other = forms.ModelChoiceField(OTHER_ROWS, label="The other unit type", empty_label="Choose a unit type")
    direction = forms.ChoiceField(label="Which may stand in for which", widget=forms.RadioSelect)
    basis = forms.CharField(
        label="Who says so, or what was compared",
        max_length=300,
        help_text="Such as: the maker's list of 2012; or bore, ports and eyes compared on the bench.",
    )
    condition = forms.CharField(
        label="Under which condition",
        max_length=300,
        required=False,
        help_text="Such as: only with the hoses of the newer one. Empty where there is none.",
    )
    why = why_field()

    def __init__(
        self, *args: Any, unit_type: UnitType, row: Interchange | None = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.unit_type = unit_type
        other, direction = self.fields["other"], self.fields["direction"]
        assert isinstance(other, forms.ModelChoiceField)
        assert isinstance(direction, forms.ChoiceField)
        stands = InterchangeForm.other_of(row, unit_type).pk if row else None
        other.queryset = _others(unit_type, now=stands)
        direction.choices = [
            (self.ONE_FOR_OTHER, f"{unit_type.code} may stand in for the other"),
            (self.OTHER_FOR_ONE, f"the other may stand in for {unit_type.code}"),
            (self.BOTH, "both ways"),
        ]
        if row is None:
            del self.fields["why"]

    @staticmethod
    def other_of(row: Interchange, unit_type: UnitType) -> UnitType:
        """Return the type at the other end of an interchange."""
        return row.replaced if row.stand_in_id == unit_type.pk else row.stand_in

    @classmethod
    def initial_of(cls, row: Interchange, unit_type: UnitType) -> dict[str, Any]:
        """Return what the form shows at first, seen from a type."""
        first = row.stand_in_id == unit_type.pk
        one_way = cls.ONE_FOR_OTHER if first else cls.OTHER_FOR_ONE
        return {
            "other": cls.other_of(row, unit_type),
            "direction": cls.BOTH if row.both_ways else one_way,
            "basis": row.basis,
            "condition": row.condition,
        }

    @property
    def told(self) -> dict[str, Any]:
        """The cleaned data as keywords of the service."""
        data = self.cleaned_data
        pair = (self.unit_type, data["other"])
        stand_in, replaced = pair[::-1] if data["direction"] == self.OTHER_FOR_ONE else pair
        return {
            "stand_in": stand_in,
            "replaced": replaced,
            "both_ways": data["direction"] == self.BOTH,
            "basis": data["basis"],
            "condition": data["condition"],
        }


class ReferencePhotoForm(ShopForm):
    """Photos to add to a unit type."""

    shows = forms.ChoiceField(
        label="What they show", choices=ReferencePhoto.Shows.choices, widget=forms.RadioSelect
    )
    caption = forms.CharField(
        label="Caption", max_length=160, required=False, help_text="What to look at in it."
    )
    camera = PhotosField(
        label="Take a photo now",
        required=False,
        widget=ManyFilesInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    photo = PhotosField(
        label="Choose photos", required=False, help_text="JPEG, PNG or WebP; several at once."
    )

    NONE: ClassVar = "Choose at least one photo."

    def clean(self) -> dict[str, Any]:
        """Refuse a form without photos."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not self.uploads:
            raise forms.ValidationError({"photo": self.NONE})
        return data

    @property
    def uploads(self) -> list[Any]:
        """Every photo sent."""
        return [*self.cleaned_data["camera"], *self.cleaned_data["photo"]]


class TakenPhotoForm(ShopForm):
    """What a photo shows that is there already."""

    shows = forms.ChoiceField(
        label="What it shows", choices=ReferencePhoto.Shows.choices, widget=forms.RadioSelect
    )
    caption = forms.CharField(
        label="Caption", max_length=160, required=False, help_text="What to look at in it."
    )


class ChangePhotoForm(TakenPhotoForm):
    """A correction of what a photo shows, with the reason."""

    why = why_field()
