"""Forms of the stores: parts, suppliers, lots and what happens to them."""

from datetime import date
from typing import Any, ClassVar

from django import forms
from django.core.validators import RegexValidator

from inventory.forms.picking import pieces_field
from inventory.models import Lot, OrderLine, Part, Supplier
from inventory.services.stock import KIT_PREFIX
from shop.forms import FilesField, ShopForm, number_field
from shop.forms.rows import Groups, RowForm, row_field

LOT_NUMBER = RegexValidator(
    r"^[A-Za-z0-9][A-Za-z0-9._-]*$", "Use letters, digits, dots, dashes and underscores, without blanks."
)


class DateInput(forms.DateInput):
    """The browser's own date control."""

    input_type = "date"

    def __init__(self, attrs: dict[str, Any] | None = None) -> None:
        super().__init__(attrs, format="%Y-%m-%d")


class PartForm(RowForm):
    """Everything about a part."""

    class Meta:
        model = Part
        fields = ("number", "name", "kind", "polymer", "hardness_shore_a", "size_designation", "note")
        formfield_callback = row_field
        labels = {"hardness_shore_a": "Hardness, Shore A"}
        help_texts = {
            "polymer": "Seals need it: storage life and fluids follow from it.",
            "size_designation": "As printed by the supplier, such as 12 x 20 x 5.",
        }

    groups: ClassVar[Groups] = (
        ("What it is", ("number", "name", "kind", "size_designation")),
        ("Material", ("polymer", "hardness_shore_a")),
        ("Anything else", ("note",)),
    )


class PartChangeForm(PartForm):
    """A part to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)

    groups: ClassVar[Groups] = (*PartForm.groups, ("Why", ("why",)))


class SupplierForm(RowForm):
    """Everything about a supplier."""

    class Meta:
        model = Supplier
        fields = ("name", "phone", "email", "storage_standard", "note")
        formfield_callback = row_field
        labels = {"storage_standard": "Storage life of its seals after"}
        help_texts = {
            "storage_standard": "Empty: the standard of the shop. Counts for lots received from now on."
        }


class SupplierChangeForm(SupplierForm):
    """A supplier to change, with the reason."""

    why = forms.CharField(label="Reason for the change", max_length=200)


class ReceiveLotForm(ShopForm):
    """A lot as it comes out of its package."""

    part = forms.ModelChoiceField(Part.objects.all(), empty_label="Choose a part")
    supplier = forms.ModelChoiceField(Supplier.objects.all(), empty_label="Choose a supplier")
    quantity = pieces_field("Pieces")
    cure_date = forms.CharField(
        label="Cure date as printed",
        max_length=20,
        required=False,
        help_text="Quarter and year: 3Q24, 3Q2024 or 3/94. Needed for every seal that ages.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    supplier_batch = forms.CharField(label="Supplier's batch", max_length=60, required=False)
    document = forms.CharField(label="Delivery note", max_length=60, required=False)
    received_on = forms.DateField(label="Received on", widget=DateInput)
    place = forms.CharField(label="Place in the stores", max_length=40)
    number = forms.CharField(
        label="Lot number",
        max_length=40,
        required=False,
        validators=[LOT_NUMBER],
        help_text="Leave empty to draw the shop's next number.",
    )
    unit_cost = number_field("Cost of a piece", unit="", places=4, required=False, min_value=0, max_digits=12)
    order_line = forms.ModelChoiceField(OrderLine.objects.all(), label="For the order", required=False)
    over_reason = forms.CharField(
        label="Reason, where more came than ordered", max_length=200, required=False
    )

    groups: ClassVar[Groups] = (
        ("What came", ("part", "supplier", "quantity", "order_line", "over_reason")),
        ("What the package says", ("cure_date", "supplier_batch", "document", "unit_cost")),
        ("Where it goes", ("received_on", "place", "number")),
    )

    def __init__(self, *args: Any, today: date, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        # Any line is read, and the service judges it: a form sent twice gets the answer of the first.
        awaited = OrderLine.objects.filter(order__state__in=["sent", "partly"])
        self.fields["order_line"].choices = [  # type: ignore[attr-defined]
            ("", "for no order"),
            *((row.pk, _order_line_words(row)) for row in awaited.select_related("order__supplier", "part")),
        ]
        self.fields["received_on"].initial = today
        self.fields["unit_cost"].widget.attrs["data-unit"] = currency


def _order_line_words(line: OrderLine) -> str:
    return f"{line.order}, {line.order.supplier}: {line}"


class ArrivedLotForm(ReceiveLotForm):
    """A lot that comes in now, with its papers."""

    certificates = FilesField(
        label="Certificates",
        required=False,
        help_text="PDFs, or photos of the paper.",
    )
    quarantine = forms.BooleanField(
        label="Into quarantine",
        required=False,
        help_text="Nothing of the lot is used before stores have checked it.",
    )

    groups: ClassVar[Groups] = (
        ("What came", ("part", "supplier", "quantity", "order_line", "over_reason")),
        ("What the package says", ("cure_date", "supplier_batch", "document", "unit_cost", "certificates")),
        ("Where it goes", ("received_on", "place", "number", "quarantine")),
    )


class HoldForm(ShopForm):
    """Why nothing of a lot may be used."""

    reason = forms.CharField(label="What is wrong with the lot", max_length=300)


class QuarantineForm(ShopForm):
    """Why a lot is set aside until it was checked."""

    reason = forms.CharField(label="Why it is set aside", max_length=300)


class AcceptForm(ShopForm):
    """Why a lot on hold may be used again."""

    reason = forms.CharField(label="What was found", max_length=200)


class LotForm(ShopForm):
    """Base of the forms about pieces of a lot at a place that holds some."""

    place = forms.ChoiceField(label="Place")

    def __init__(self, *args: Any, lot: Lot, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        held = lot.balances.exclude(place__startswith=KIT_PREFIX).order_by("-quantity")
        self.fields["place"].choices = [  # type: ignore[attr-defined]
            (row.place, f"{row.place} ({row.quantity} there)") for row in self.offered(held)
        ]

    def offered(self, held: Any) -> Any:
        """Return the balances to choose from."""
        return held.filter(quantity__gt=0)


class ScrapForm(LotForm):
    """Pieces that go into the bin for good."""

    quantity = pieces_field("Pieces to scrap")
    reason = forms.CharField(max_length=200)


class MoveForm(LotForm):
    """Pieces that get another place."""

    quantity = pieces_field("Pieces to move")
    to_place = forms.CharField(label="To", max_length=40)


class AdjustForm(LotForm):
    """What a count found at a place; the difference is written to the ledger."""

    counted = pieces_field("Pieces counted there", least=0)
    reason = forms.CharField(label="Why the ledger was wrong", max_length=200)

    def offered(self, held: Any) -> Any:
        """Offer empty places too: a count may find pieces there."""
        return held


class SettleForm(ShopForm):
    """What stores found out about pieces that the ledger did not know."""

    finding = forms.CharField(
        label="What was found out",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="Such as: miscounted at receiving; pieces of a stripped unit; label of another lot.",
    )


class CostForm(ShopForm):
    """What a piece cost, with the reason of the correction."""

    why = forms.CharField(label="Reason", max_length=200, help_text="Such as: the invoice says otherwise.")

    def __init__(self, *args: Any, currency: str, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["unit_cost"] = number_field(
            "Cost of a piece",
            unit=currency,
            places=4,
            required=False,
            min_value=0,
            max_digits=12,
            help_text="Empty where nobody knows it.",
        )
        self.order_fields(["unit_cost", "why"])
