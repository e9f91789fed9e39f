"""Forms of the receiving clerk."""

from collections.abc import Iterable, Mapping, Sequence
from typing import Any, ClassVar

from django import forms

from shop.forms import ManyFilesInput, PhotosField, ShopForm
from shop.models import Customer, MountingPlace, TypeRevision
from shop.services.customers import ship_to_lines
from workorders.models import ArrivalItem, Claim, Photo, Rebuild
from workorders.services.addresses import Address, account_addresses, each_once
from workorders.services.receiving import tidy_maker_serial
from workorders.services.twins import twins_of

Groups = Sequence[tuple[str, Sequence[str]]]
LONGEST_LINE = 60
CHOOSE_AGAIN = "Photos shown here are sent again; choose those that are missing."


class LinesField(forms.CharField):
    """Text with one thing on each line; cleans to a list without empty lines."""

    def __init__(
        self, *, label: str, help_text: str = "One on each line.", longest: int = LONGEST_LINE
    ) -> None:
        self.longest = longest
        widget = forms.Textarea(attrs={"rows": 2})
        super().__init__(label=label, help_text=help_text, required=False, widget=widget)

    def clean(self, value: Any) -> list[str]:
        """Split the text; refuse a line that is too long, naming it."""
        lines = [line.strip() for line in super().clean(value).splitlines() if line.strip()]
        for line in lines:
            if len(line) > self.longest:
                raise forms.ValidationError(f"“{line[:30]}…” is longer than {self.longest} characters.")
        return lines


class PhotoForm(ShopForm):
    """Photos from the camera or from the device; both give uploads."""

    camera = PhotosField(
        label="Take a photo now",
        required=False,
        widget=ManyFilesInput(attrs={"accept": "image/*", "capture": "environment"}),
    )
    photo = PhotosField(
        label="Choose photos", required=False, help_text="JPEG, PNG or WebP; several at once."
    )

    def add_error(self, field: str | None, error: Any) -> None:
        """Say beside the photos that they must be chosen again."""
        super().add_error(field, error)
        if self.files:
            self["photo"].help_text = CHOOSE_AGAIN

    @property
    def uploads(self) -> list[Any]:
        """Every photo sent."""
        return [*self.cleaned_data["camera"], *self.cleaned_data["photo"]]


class IntakeForm(PhotoForm):
    """What is written down when a unit arrives."""

    maker_serial = forms.CharField(
        label="Maker's serial",
        max_length=60,
        required=False,
        help_text="As stamped on the unit; leave it empty where there is none.",
    )
    mounting_place = forms.ModelChoiceField(
        MountingPlace.objects.none(),
        label="Where it was mounted",
        required=False,
        blank=True,
        empty_label="not known",
        widget=forms.RadioSelect,
    )
    opened_before = forms.ChoiceField(
        label="Opened before?", choices=Rebuild.Opened, widget=forms.RadioSelect
    )
    arrival_condition = forms.CharField(
        label="Condition on arrival",
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Leaks, dents, rust, paint on the rod, cut hoses: what you see before you loosen anything.",
    )
    reported = forms.CharField(
        label="What the customer reports", required=False, widget=forms.Textarea(attrs={"rows": 3})
    )
    hoses = forms.MultipleChoiceField(
        label="Hoses attached, by number", required=False, widget=forms.CheckboxSelectMultiple
    )
    other_hoses = LinesField(label="Other hoses attached")
    missing = LinesField(label="Missing parts")
    extra = LinesField(label="Extra parts in the box")
    destination = forms.ChoiceField(
        label="Where it goes afterwards",
        choices=Rebuild.Destination,
        initial=Rebuild.Destination.CUSTOMER,
        widget=forms.RadioSelect,
    )
    shelf = forms.CharField(label="Shelf", max_length=40, required=False)

    groups: ClassVar[Groups] = (
        ("The unit", ("maker_serial", "mounting_place")),
        ("As it arrives", ("opened_before", "arrival_condition", "reported")),
        ("What came with it", ("hoses", "other_hoses", "missing", "extra")),
        ("Photos, before anything is loosened", ("camera", "photo")),
        ("Where it goes", ("destination", "shelf")),
    )

    def __init__(self, *args: Any, revision: TypeRevision | None, **kwargs: Any) -> None:
        """Offer the places and hoses of a revision; None where no type is known yet."""
        super().__init__(*args, **kwargs)
        self._offer_places(revision)
        rows = revision.hoses.select_related("port") if revision else ()
        hoses = [(row.code, f"{row.code} (port {row.port.code})") for row in rows]
        if hoses:
            self._choice_field("hoses").choices = hoses
        else:
            del self.fields["hoses"]
            self.fields["other_hoses"].label = "Hoses attached, by number"

    def _offer_places(self, revision: TypeRevision | None) -> None:
        """Offer the mounting places of the type, and name the twins that swap parts."""
        unit_type = revision.unit_type_id if revision else None
        places = MountingPlace.objects.filter(unit_type=unit_type).select_related("application")
        if not places:
            del self.fields["mounting_place"]
            return
        field = self.fields["mounting_place"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = places
        twins = twins_of(places)
        field.help_text = _twins_help(places, twins)

    def _choice_field(self, name: str) -> forms.ChoiceField:
        field = self.fields[name]
        assert isinstance(field, forms.ChoiceField)
        return field

    def clean_maker_serial(self) -> str:
        """Tidy the blanks, so that the same stamp is the same text."""
        return tidy_maker_serial(self.cleaned_data["maker_serial"])

    @property
    def intake(self) -> dict[str, Any]:
        """The cleaned data as keywords of the services that receive a unit."""
        data = self.cleaned_data
        plain = ("opened_before", "arrival_condition", "reported", "missing", "extra", "destination", "shelf")
        return {
            **{name: data[name] for name in plain},
            "mounting_place": data.get("mounting_place"),
            "hoses": [*data.get("hoses", []), *data["other_hoses"]],
            "photos": self.uploads,
        }


def _twins_help(places: Iterable[MountingPlace], twins: Mapping[int, MountingPlace]) -> str:
    pairs = {frozenset((str(place), str(twins[place.pk]))) for place in places if place.pk in twins}
    if not pairs:
        return ""
    named = "; ".join(sorted(" and ".join(sorted(pair)) for pair in pairs))
    return f"Twins that swap parts easily, so look twice and mark the unit: {named}."


class KnownUnitForm(IntakeForm):
    """The intake of a unit that was here before."""

    claim = forms.ChoiceField(label="Why it comes back", widget=forms.RadioSelect, required=False)

    groups: ClassVar[Groups] = (
        ("Why it comes back", ("claim",)),
        ("The unit", ("mounting_place",)),
        *IntakeForm.groups[1:],
    )

    def __init__(self, *args: Any, claim: Claim | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        del self.fields["maker_serial"]
        if claim:
            field = self._choice_field("claim")
            field.choices = [
                (claim.number, f"Under claim {claim.number}: {claim.reported[:80]}"),
                ("", "For another reason"),
            ]
            field.initial = claim.number
        else:
            del self.fields["claim"]


class CorrectIntakeForm(IntakeForm):
    """A correction of an intake, with the reason."""

    why = forms.CharField(label="Reason for the correction", max_length=200)

    groups: ClassVar[Groups] = (*IntakeForm.groups, ("Why", ("why",)))

    @staticmethod
    def initial_of(rebuild: Rebuild) -> dict[str, Any]:
        """Return what the form shows at first: the intake as it stands."""
        items = list(rebuild.arrival_items.all())
        known = set(rebuild.revision.hoses.values_list("code", flat=True))
        labels = {
            kind: [item.label for item in items if item.kind == kind] for kind in ArrivalItem.Kind.values
        }
        hoses = labels[ArrivalItem.Kind.HOSE]
        return {
            "maker_serial": rebuild.unit.maker_serial,
            "mounting_place": rebuild.mounting_place_id,
            "opened_before": rebuild.opened_before,
            "arrival_condition": rebuild.arrival_condition,
            "reported": rebuild.reported,
            "hoses": [hose for hose in hoses if hose in known],
            "other_hoses": "\n".join(hose for hose in hoses if hose not in known),
            "missing": "\n".join(labels[ArrivalItem.Kind.MISSING]),
            "extra": "\n".join(labels[ArrivalItem.Kind.EXTRA]),
            "destination": rebuild.destination,
            "shelf": rebuild.shelf,
        }


class MorePhotosForm(PhotoForm):
    """Photos to add to a rebuild."""

    # The photo of a port is asked for at its hose, which says which port it shows.
    moment = forms.ChoiceField(
        label="When",
        choices=[choice for choice in Photo.Moment.choices if choice[0] != Photo.Moment.PORT],
        widget=forms.RadioSelect,
    )
    caption = forms.CharField(label="What they show", max_length=160, required=False)

    field_order = ("moment", "caption", "camera", "photo")

    def clean(self) -> dict[str, Any]:
        """Refuse a form without photos."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not self.uploads:
            raise forms.ValidationError({"photo": "Choose at least one photo."})
        return data


class ShelfForm(ShopForm):
    """Where a unit is now."""

    shelf = forms.CharField(label="Where it is now", max_length=40, required=False)


class WorkOrderForm(ShopForm):
    """The head of a work order."""

    customer_order = forms.CharField(label="Customer's order number", max_length=60, required=False)
    note = forms.CharField(label="Note", required=False, widget=forms.Textarea(attrs={"rows": 2}))


class OpenWorkOrderForm(WorkOrderForm):
    """A work order to open: the order number that an account requires, and where it goes back to."""

    goes_to = forms.ChoiceField(label="Where it goes back to", required=False, widget=forms.RadioSelect)

    field_order = ("customer_order", "goes_to", "note")

    def __init__(
        self, *args: Any, customer: Customer, announced: Sequence[Address] = (), **kwargs: Any
    ) -> None:
        """Offer the addresses of the customer, behind those that were ``announced`` with a box."""
        super().__init__(*args, **kwargs)
        if customer.needs_order_number:
            field = self.fields["customer_order"]
            field.required = True
            field.help_text = "This account requires one; nothing is opened without."
            field.error_messages["required"] = f"{customer} requires an order number of theirs; ask for it."
        self.addresses = each_once([*announced, *account_addresses(customer)])
        field = self.fields["goes_to"]
        assert isinstance(field, forms.ChoiceField)
        if len(self.addresses) < 2:
            del self.fields["goes_to"]
            return
        field.choices = [
            (each.key, f"{each.title}: {', '.join(each.lines.splitlines())}") for each in self.addresses
        ]
        usual = next((each for each in self.addresses if each.lines == ship_to_lines(customer)), None)
        field.initial = (usual if usual and not announced else self.addresses[0]).key

    @property
    def head(self) -> dict[str, Any]:
        """The cleaned data as keywords of `open_work_order`."""
        data = dict(self.cleaned_data)
        chosen = data.pop("goes_to", "")
        if "goes_to" not in self.fields and self.addresses:
            chosen = self.addresses[0].key
        return {**data, "ship_to": next((each.lines for each in self.addresses if each.key == chosen), "")}


class ChangeWorkOrderForm(WorkOrderForm):
    """A correction of the head, with the reason."""

    bill_to = forms.CharField(
        label="Bill to", max_length=600, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    ship_to = forms.CharField(
        label="Ship to", max_length=600, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )
    why = forms.CharField(label="Reason for the change", max_length=200)


class ReasonForm(ShopForm):
    """The reason for a change that needs nothing else."""

    why = forms.CharField(label="Reason for the change", max_length=200)
