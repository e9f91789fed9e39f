"""Forms of the packing bench: a scan, a line, a parcel, the address, the core of an exchange unit."""

from collections.abc import Iterable, Mapping
from typing import Any

from django import forms
from django.db.models import Q

from shop.forms import ShopForm, number_field
from shop.models import Customer, Fluid
from workorders.forms.outside_work import date_field
from workorders.forms.part_used import LotField
from workorders.models import Packing, PackingParcel, PackingUnit, Rebuild
from workorders.services.addresses import ship_choices

LATER = "later"
WRITTEN = "written"


class PressForm(ShopForm):
    """A lone button: nothing is asked, and a refusal comes back on the same page."""


class PackingScanForm(ShopForm):
    """The one field of the bench."""

    bench = True
    code = forms.CharField(
        label="Scan a unit, a hose, a cap or an accessory",
        max_length=200,
        error_messages={"required": "Scan a label, or type its number."},
        help_text="A label, a hose number, a port number for its cap, or “parcel 2”.",
        widget=forms.TextInput(
            attrs={
                "data-scan": True,
                "data-shortest": "2",
                "autocapitalize": "characters",
                "autocomplete": "off",
                "spellcheck": "false",
                "enterkeyhint": "send",
            }
        ),
    )
    unit = forms.IntegerField(required=False, widget=forms.HiddenInput)


class PackLineForm(ShopForm):
    """How much of a fluid goes along, and of which lot."""

    volume_ml = number_field("How much", unit="mL", places=1, min_value=0, max_digits=8, required=False)
    lot = LotField(label="Lot, if it is from stock", required=False)


class MoveForm(ShopForm):
    """Into which parcel a unit is moved; none is one more."""

    parcel = forms.ModelChoiceField(
        PackingParcel.objects.none(),
        label="Parcel",
        required=False,
        error_messages={"invalid_choice": "That parcel is not on this bench; choose another."},
    )

    def __init__(self, *args: Any, unit: PackingUnit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["parcel"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = PackingParcel.objects.filter(packing=unit.parcel.packing_id)


class KeepBackForm(ShopForm):
    """Why a thing does not go along."""

    bench = True
    reason = forms.CharField(label="Why it is kept back", max_length=200)


class AddLineForm(ShopForm):
    """Something else that goes along."""

    text = forms.CharField(
        label="What goes along",
        max_length=160,
        required=False,
        help_text="Such as: warranty card, spare clip. Leave it empty for spare fluid.",
    )
    fluid = forms.ModelChoiceField(
        Fluid.objects.all(), label="Spare fluid", required=False, empty_label="none"
    )
    volume_ml = number_field("How much fluid", unit="mL", places=1, min_value=1, max_digits=8, required=False)


class CloseParcelForm(ShopForm):
    """Weight and size of a parcel, as far as anybody takes them."""

    weight_kg = number_field("Weight", unit="kg", places=2, min_value=0, max_digits=7, required=False)
    length_cm = number_field("Length", unit="cm", places=1, min_value=0, max_digits=6, required=False)
    width_cm = number_field("Width", unit="cm", places=1, min_value=0, max_digits=6, required=False)
    height_cm = number_field("Height", unit="cm", places=1, min_value=0, max_digits=6, required=False)

    @property
    def told(self) -> dict[str, Any]:
        """The answers as the service takes them."""
        data = {name: None if value is None else float(value) for name, value in self.cleaned_data.items()}
        return {
            "weight_kg": data["weight_kg"],
            "size_cm": (data["length_cm"], data["width_cm"], data["height_cm"]),
        }


class SendForm(ShopForm):
    """To whom the shipment goes."""

    recipient = forms.ModelChoiceField(Customer.objects.none(), label="Recipient", empty_label=None)
    goes_to = forms.ChoiceField(label="Where it goes", required=False, widget=forms.RadioSelect)
    address = forms.CharField(
        label="Another address",
        required=False,
        widget=forms.Textarea(attrs={"rows": 4}),
        help_text="Only for “another address”: name and lines, as on the label.",
    )
    carrier = forms.CharField(label="Carrier", max_length=60, required=False)

    def __init__(self, *args: Any, packing: Packing, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        customer = packing.work_order.customer
        field = self.fields["recipient"]
        assert isinstance(field, forms.ModelChoiceField)
        owner = packing.work_order.end_owner_id
        known = Customer.objects.standing().filter(
            Q(pk=customer.pk) | Q(pk=owner) | Q(shipments__work_order__customer=customer)
        )
        field.queryset = known.distinct()
        field.initial = customer.pk
        self._offer_addresses(packing)

    def _offer_addresses(self, packing: Packing) -> None:
        """Offer the addresses that are known, that of the work order first and chosen."""
        self.addresses = ship_choices(packing.work_order)
        field = self.fields["goes_to"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            *[(each.key, f"{each.title}: {', '.join(each.lines.splitlines())}") for each in self.addresses],
            (WRITTEN, "Another address, written below"),
        ]
        field.initial = self.addresses[0].key if self.addresses else WRITTEN

    def clean(self) -> dict[str, Any]:
        """Take the lines of the address that was chosen."""
        data = super().clean() or {}
        chosen = data.pop("goes_to", "")
        for each in self.addresses:
            if each.key == chosen:
                data["address"] = each.lines
        return data


class CancelPackingForm(ShopForm):
    """Why a packing is given up."""

    why = forms.CharField(label="Why it is given up", max_length=200)


def core_choices(cores: Iterable[Rebuild], fitting: Mapping[int, str]) -> list[tuple[str, str]]:
    """Return cores as tiles, each with what the catalogue says where its type is another."""
    return [
        (str(row.pk), f"{_told(row)}{_read_with(fitting.get(row.unit.unit_type_id, ''))}") for row in cores
    ]


def _told(row: Rebuild) -> str:
    return f"{row.unit.serial}, {row.unit.unit_type.name}, {row.get_stage_display()} ({row.work_order})"


def _read_with(words: str) -> str:
    return f"; {words}" if words else ""


class ExchangeForm(ShopForm):
    """For which core a unit from the shelf is given."""

    core = forms.ChoiceField(label="Given for", widget=forms.RadioSelect)
    due = date_field("Core due on", required=False, help_text="Only where it is still to come.")

    def __init__(
        self, *args: Any, cores: Iterable[Rebuild], fitting: Mapping[int, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.cores = {str(row.pk): row for row in cores}
        field = self.fields["core"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [*core_choices(self.cores.values(), fitting), (LATER, "a core still to come")]
        field.initial = None if self.cores else LATER

    def clean(self) -> dict[str, Any]:
        """Ask for the day where the core is still to come."""
        data = super().clean() or {}
        if data.get("core") == LATER and not data.get("due") and "due" not in self.errors:
            self.add_error("due", "Say on which day the core is due.")
        return data

    @property
    def told(self) -> dict[str, Any]:
        """The core, or the day."""
        later = self.cleaned_data["core"] == LATER
        return {
            "replaces": None if later else self.cores[self.cleaned_data["core"]],
            "core_due": self.cleaned_data["due"] if later else None,
        }


class CoreCameForm(ShopForm):
    """Which unit is the core that was owed."""

    core = forms.ChoiceField(label="The core", widget=forms.RadioSelect)

    def __init__(
        self, *args: Any, cores: Iterable[Rebuild], fitting: Mapping[int, str], **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.cores = {str(row.pk): row for row in cores}
        field = self.fields["core"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = core_choices(self.cores.values(), fitting)

    @property
    def chosen(self) -> Rebuild:
        """The core chosen."""
        return self.cores[self.cleaned_data["core"]]


class CoreDueForm(ShopForm):
    """Another day for an owed core."""

    due = date_field("Core due on")
    why = forms.CharField(label="Why the day changes", max_length=200)


class WaiveCoreForm(ShopForm):
    """Why no core comes."""

    why = forms.CharField(
        label="Why no core comes", max_length=200, help_text="Such as: paid for instead, by telephone."
    )


class TrackingForm(ShopForm):
    """A tracking number, and the carrier where it is another than the shipment's."""

    tracking = forms.CharField(label="Tracking number", max_length=60)
    carrier = forms.CharField(
        label="Carrier of this parcel",
        max_length=60,
        required=False,
        help_text="Only where it is another than the shipment's.",
    )
