"""Forms of release, reissue, side exit and shipping."""

from typing import Any

from django import forms

from shop.forms import ShopForm
from shop.forms.signing import PasswordForm
from shop.models import Customer
from workorders.models import Rebuild, Release, WorkOrder
from workorders.services.shipping import ParcelPlan, UnitPack, packing_items

STAYS = "stays"


class ReleaseForm(PasswordForm):
    """Status word, remarks and the password again."""

    status = forms.ChoiceField(label="Status on the certificate", widget=forms.RadioSelect)
    remarks = forms.CharField(
        label="Remarks and deviations",
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Printed on the certificate. One line each; leave empty if there are none.",
    )
    field_order = ["status", "remarks", "why", "password"]

    def __init__(self, *args: Any, statuses: list[str], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field = self.fields["status"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(word, Release.Status(word).label.capitalize()) for word in statuses]
        field.initial = statuses[0]


class ReissueForm(ReleaseForm):
    """A release issued anew, with the reason."""

    why = forms.CharField(
        label="Why it is issued anew",
        max_length=300,
        help_text="Printed on the new certificate beside the number of the one it replaces.",
    )


class ExitForm(ShopForm):
    """A side exit with its reason."""

    exit = forms.ChoiceField(
        label="How it leaves the rebuild",
        widget=forms.RadioSelect,
        choices=[(stage.value, str(stage.label).capitalize()) for stage in Rebuild.SIDE_EXITS],
    )
    reason = forms.CharField(label="Reason", max_length=300, widget=forms.Textarea(attrs={"rows": 3}))


class TrackingForm(ShopForm):
    """A tracking number."""

    tracking = forms.CharField(label="Tracking number", max_length=60)


class ShipForm(ShopForm):
    """A shipment: recipient, and for every unit its parcel and its packing check."""

    recipient = forms.ModelChoiceField(Customer.objects.all(), label="Recipient", widget=forms.Select)
    address = forms.CharField(label="Address", widget=forms.Textarea(attrs={"rows": 4}))
    carrier = forms.CharField(label="Carrier", max_length=60, required=False)
    parcels = forms.IntegerField(label="Parcels", min_value=1, max_value=20, initial=1)

    def __init__(self, *args: Any, work_order: WorkOrder, rebuilds: list[Rebuild], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.rebuilds = rebuilds
        customer = work_order.customer
        self.fields["recipient"].initial = customer.pk
        self.fields["address"].initial = "\n".join([customer.name, *customer.address_lines])
        recipient = self.fields["recipient"]
        assert isinstance(recipient, forms.ModelChoiceField)
        recipient.queryset = Customer.objects.filter(pk=customer.pk) | Customer.objects.filter(
            pk__in=[rebuild.work_order.customer_id for rebuild in rebuilds]
        )
        self.items = {rebuild.pk: packing_items(rebuild) for rebuild in rebuilds}
        for rebuild in rebuilds:
            self._add_unit(rebuild, in_order=rebuild.work_order_id == work_order.pk)

    def _add_unit(self, rebuild: Rebuild, *, in_order: bool) -> None:
        choices = [(STAYS, "stays here"), *[(str(n), f"parcel {n}") for n in range(1, 21)]]
        self.fields[f"parcel_{rebuild.pk}"] = forms.ChoiceField(
            label="Where it goes", choices=choices, initial="1" if in_order else STAYS
        )
        self.fields[f"packed_{rebuild.pk}"] = forms.MultipleChoiceField(
            label="In the parcel with it",
            required=False,
            widget=forms.CheckboxSelectMultiple,
            choices=[(item, item) for item in self.items[rebuild.pk]],
        )
        self.fields[f"kept_{rebuild.pk}"] = forms.CharField(
            label="Why the rest is kept back",
            required=False,
            max_length=200,
            help_text="Needed only where something above is not packed.",
        )
        self.fields[f"caps_{rebuild.pk}"] = forms.BooleanField(
            label="A cap on every open port", required=False
        )

    @property
    def groups(self) -> list[tuple[str, list[str]]]:  # type: ignore[override]
        """One fieldset for each unit."""
        return [
            (
                f"{rebuild.unit.unit_type.name} {rebuild.unit.serial}",
                [f"{name}_{rebuild.pk}" for name in ("parcel", "packed", "kept", "caps")],
            )
            for rebuild in self.rebuilds
        ]

    def plans(self, data: dict[str, Any]) -> list[ParcelPlan]:
        """Turn the cleaned data into parcels; empty parcels stay empty and are refused later."""
        loaded: dict[int, list[UnitPack]] = {}
        for rebuild in self.rebuilds:
            where = data[f"parcel_{rebuild.pk}"]
            if where == STAYS:
                continue
            packed = data[f"packed_{rebuild.pk}"]
            reason = data[f"kept_{rebuild.pk}"]
            left = {item: reason for item in self.items[rebuild.pk] if item not in packed}
            pack = UnitPack(
                rebuild=rebuild, packed=packed, caps_on=data[f"caps_{rebuild.pk}"], kept_back=left
            )
            loaded.setdefault(int(where), []).append(pack)
        return [ParcelPlan(units=loaded.get(n, [])) for n in range(1, data["parcels"] + 1)]

    def clean(self) -> dict[str, Any]:
        """Refuse a unit put into a parcel that is not part of the shipment."""
        data = super().clean() or {}
        count = data.get("parcels") or 0
        for rebuild in self.rebuilds:
            where = data.get(f"parcel_{rebuild.pk}", STAYS)
            if where != STAYS and int(where) > count:
                self.add_error(f"parcel_{rebuild.pk}", f"The shipment has {count} parcels.")
        return data
