"""Forms of boxes: announced by the desk or by the customer, received, sorted, closed."""

from collections.abc import Sequence
from typing import Any, ClassVar

from django import forms

from shop.forms import ShopForm
from shop.models import Customer, UnitType
from workorders.calc.serial import grouped
from workorders.forms.receiving import LinesField, OpenWorkOrderForm, PhotoForm
from workorders.models import Box, BoxLine, Rebuild, WorkOrder
from workorders.services.addresses import box_addresses
from workorders.services.box_links import GOOD_FOR_DAYS
from workorders.services.boxes import ARRIVED, TOLD, Expected

Groups = Sequence[tuple[str, Sequence[str]]]
ROWS = 4
MOST_FURTHER = 20
NOTHING_NAMED = "Name at least one unit that is in the box."


class ExpectedForm(ShopForm):
    """The units of an announced box, and where it comes from."""

    contact = forms.CharField(
        label="Whom to ask", max_length=120, required=False, help_text="Name and telephone or e-mail."
    )
    return_address = forms.CharField(
        label="Address that the units go back to",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    customer_order = forms.CharField(label="Order number of the customer", max_length=60, required=False)
    further = LinesField(
        label="Further units",
        help_text=f"One on each line, with what is wrong with it; {MOST_FURTHER} lines at most.",
        longest=120,
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for row in range(1, ROWS + 1):
            self.fields[f"what_{row}"] = forms.CharField(label=f"Unit {row}", max_length=120, required=False)
            self.fields[f"symptoms_{row}"] = forms.CharField(
                label=f"What is wrong with unit {row}",
                max_length=400,
                required=False,
                widget=forms.Textarea(attrs={"rows": 2}),
            )
        first = self.fields["what_1"]
        first.required = True
        first.error_messages["required"] = NOTHING_NAMED
        first.help_text = "What it is, and a number on it if one can be read."

    @property
    def unit_fields(self) -> list[str]:
        """Names of the fields of the units, in the order they are drawn."""
        rows = [name for row in range(1, ROWS + 1) for name in (f"what_{row}", f"symptoms_{row}")]
        return [*rows, "further"]

    def clean_further(self) -> list[str]:
        """Refuse more lines than a box has."""
        lines: list[str] = self.cleaned_data["further"]
        if len(lines) > MOST_FURTHER:
            raise forms.ValidationError(f"There are more than {MOST_FURTHER} lines; announce another box.")
        return lines

    def clean(self) -> dict[str, Any]:
        """Refuse symptoms without their unit."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        for row in range(1, ROWS + 1):
            name = f"what_{row}"
            if data.get(f"symptoms_{row}") and not data.get(name) and name not in self.errors:
                self.add_error(name, "Say which unit this is.")
        return data

    @property
    def expected(self) -> list[Expected]:
        """The units named, in order."""
        data = self.cleaned_data
        rows = [
            Expected(what=data[f"what_{row}"], symptoms=data.get(f"symptoms_{row}", ""))
            for row in range(1, ROWS + 1)
            if data.get(f"what_{row}")
        ]
        return [*rows, *(Expected(what=line) for line in data.get("further", []))]

    @property
    def told(self) -> dict[str, Any]:
        """The cleaned data as keywords of the services that announce a box."""
        names = ("sender_as_written", "contact", "return_address", "customer_order")
        return {"expected": self.expected, **{name: self.cleaned_data[name] for name in names}}


class AnnounceForm(ExpectedForm):
    """What the desk writes down when a customer calls or writes."""

    how = forms.ChoiceField(
        label="How it was announced",
        choices=[(how.value, how.label) for how in (Box.How.TELEPHONE, Box.How.EMAIL)],
        initial=Box.How.TELEPHONE,
        widget=forms.RadioSelect,
    )
    sender_as_written = forms.CharField(
        label="Sender", max_length=200, required=False, help_text="As told; the customer is tied to it later."
    )

    def __init__(self, *args: Any, customer: Customer | None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if customer is None:
            self.fields["sender_as_written"].required = True

    @property
    def groups(self) -> Groups:  # type: ignore[override]
        """Draw the call first, then the units."""
        call = ("how", "sender_as_written", "contact", "return_address", "customer_order")
        return (("The call", call), ("What is in the box", self.unit_fields))


class LinkAnnounceForm(ExpectedForm):
    """What a customer fills in by link; ``website`` is filled in by programs only."""

    sender_as_written = forms.CharField(label="Your name or firm", max_length=200)
    website = forms.CharField(required=False, widget=forms.HiddenInput)

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["contact"].label = "Whom we may ask"
        self.fields["customer_order"].label = "Your order number"

    @property
    def groups(self) -> Groups:  # type: ignore[override]
        """Draw the sender first, then the units."""
        who = ("sender_as_written", "contact", "return_address", "customer_order")
        return (("You", who), ("What is in the box", self.unit_fields))

    def clean_website(self) -> str:
        """Refuse what a program filled in."""
        if self.cleaned_data["website"]:
            raise forms.ValidationError("This form was not filled in by hand. Open the address again.")
        return ""


class ReceiveBoxForm(PhotoForm):
    """A box is here: everything but the state of its packing may stay empty."""

    packing = forms.ChoiceField(
        label="State of the packing",
        choices=Box.Packing,
        widget=forms.RadioSelect,
    )
    damage_note = forms.CharField(
        label="What is wrong with the packing",
        max_length=600,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="Needed unless it is sound. Take photos before you open it, and keep the packing.",
    )
    sender_as_written = forms.CharField(
        label="Sender as written on the box",
        max_length=200,
        required=False,
        help_text="Empty if it says none.",
    )
    carrier = forms.CharField(label="Carrier", max_length=60, required=False)
    tracking = forms.CharField(label="Tracking number", max_length=60, required=False)
    shelf = forms.CharField(label="Where it is now", max_length=40, required=False)

    groups: ClassVar[Groups] = (
        ("The packing, before it is opened", ("packing", "damage_note", "camera", "photo")),
        ("What is known", ("sender_as_written", "carrier", "tracking", "shelf")),
    )

    @property
    def arrival(self) -> dict[str, str]:
        """The cleaned data as keywords of the service."""
        names = ("packing", "damage_note", "sender_as_written", "carrier", "tracking", "shelf")
        return {name: self.cleaned_data[name] for name in names}


class ChangeBoxForm(ShopForm):
    """A correction of what was written down of a box, with the reason."""

    sender_as_written = forms.CharField(label="Sender as written", max_length=200, required=False)
    contact = forms.CharField(label="Whom to ask", max_length=120, required=False)
    customer_order = forms.CharField(label="Order number of the customer", max_length=60, required=False)
    return_address = forms.CharField(
        label="Address that the units go back to",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )
    shelf = forms.CharField(label="Where it is now", max_length=40, required=False)
    carrier = forms.CharField(label="Carrier", max_length=60, required=False)
    tracking = forms.CharField(label="Tracking number", max_length=60, required=False)
    packing = forms.ChoiceField(label="State of the packing", choices=Box.Packing, widget=forms.RadioSelect)
    damage_note = forms.CharField(
        label="What is wrong with the packing",
        max_length=600,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    why = forms.CharField(label="Reason for the change", max_length=200)

    def __init__(self, *args: Any, box: Box, **kwargs: Any) -> None:
        names = TOLD + (ARRIVED if box.received_at else ())
        super().__init__(*args, initial={name: getattr(box, name) for name in names}, **kwargs)
        for name in set(self.fields) - {*names, "why"}:
            del self.fields[name]


class BoxPhotosForm(PhotoForm):
    """Photos to add to a box."""

    caption = forms.CharField(label="What they show", max_length=160, required=False)
    field_order = ("caption", "camera", "photo")

    def clean(self) -> dict[str, Any]:
        """Refuse a form without photos."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        if not self.errors and not self.uploads:
            raise forms.ValidationError({"photo": "Choose at least one photo."})
        return data


class ReceivedField(forms.ModelChoiceField):  # type: ignore[type-arg]
    """A choice of units that were received."""

    def label_from_instance(self, obj: Any) -> str:
        """Name the unit as its tag does, with its type."""
        return f"{grouped(obj.unit.serial)}, {obj.unit.unit_type.name}"


class LineForm(ShopForm):
    """What lies in the box, or what became of what was announced."""

    outcome = forms.ChoiceField(label="What it is", widget=forms.RadioSelect)
    what = forms.CharField(
        label="How it looks",
        max_length=120,
        help_text="In words that find it again on the tray: colour, size, marks.",
    )
    unit_type = forms.ModelChoiceField(
        UnitType.objects.in_use().order_by("code"), label="Unit type", required=False, empty_label="not known"
    )
    note = forms.CharField(label="Note", max_length=300, required=False)
    rebuild = ReceivedField(
        Rebuild.objects.none(),
        label="Received already as",
        required=False,
        empty_label="not received yet",
        help_text="A unit that was received without naming its line.",
    )

    bench = True
    EXPECTED: ClassVar = (
        BoxLine.Outcome.FOUND,
        BoxLine.Outcome.MISSING,
        BoxLine.Outcome.WRONG,
        BoxLine.Outcome.UNIDENTIFIED,
    )
    UNEXPECTED: ClassVar = (BoxLine.Outcome.EXTRA, BoxLine.Outcome.UNIDENTIFIED)

    def __init__(self, *args: Any, line: BoxLine | None, known_box: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self._offer_received(line)
        expected = line is not None and line.expected
        outcomes = self.EXPECTED if expected else self.UNEXPECTED
        field = self.fields["outcome"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [(outcome.value, self._word(outcome, known_box)) for outcome in outcomes]
        if expected:
            del self.fields["what"]
            self.fields["note"].help_text = "If another unit lies in the box instead, say which."

    def _offer_received(self, line: BoxLine | None) -> None:
        """Offer the units of the box's work order that came in no line."""
        order = line.box.work_order_id if line and not line.rebuild_id else None
        rows = Rebuild.objects.filter(work_order=order, box_line__isnull=True) if order else None
        if rows is None or not rows.exists():
            del self.fields["rebuild"]
            return
        field = self.fields["rebuild"]
        assert isinstance(field, forms.ModelChoiceField)
        field.queryset = rows.select_related("unit__unit_type").order_by("pk")

    @staticmethod
    def _word(outcome: BoxLine.Outcome, announced: bool) -> str:
        """Say it of a box that nobody announced without the word "announced"."""
        if outcome == BoxLine.Outcome.EXTRA:
            return "not announced, but identified" if announced else "identified"
        return outcome.label


class BoxOrderForm(OpenWorkOrderForm):
    """Which work order of the sender a box belongs to, and the head of one that is opened for it."""

    order = forms.ChoiceField(label="Work order", widget=forms.RadioSelect)
    NEW: ClassVar = "new"
    field_order = ("order", "customer_order", "goes_to")

    def __init__(self, *args: Any, box: Box, waiting: Sequence[WorkOrder], **kwargs: Any) -> None:
        assert box.sender
        super().__init__(
            *args,
            customer=box.sender,
            announced=box_addresses([box], box.sender),
            initial={"customer_order": box.customer_order},
            **kwargs,
        )
        del self.fields["note"]
        field = self.fields["order"]
        assert isinstance(field, forms.ChoiceField)
        field.choices = [
            (self.NEW, "Open a new work order"),
            *((order.number, f"{order.number}, opened {order.opened_at:%d %b %Y}") for order in waiting),
        ]
        field.initial = self.NEW
        self.waiting = {order.number: order for order in waiting}
        if waiting:
            self.fields["customer_order"].required = False
            for name, label in (("customer_order", "order number"), ("goes_to", "address")):
                if name in self.fields:
                    self.fields[name].help_text += f" For a new work order; another one keeps its {label}."

    @property
    def chosen(self) -> WorkOrder | None:
        """The work order chosen; None opens a new one."""
        return self.waiting.get(self.cleaned_data["order"])

    @property
    def told(self) -> dict[str, Any]:
        """The cleaned data as keywords of `put_into_work_order`."""
        if self.chosen:
            return {"work_order": self.chosen}
        return {name: self.head[name] for name in ("customer_order", "ship_to")}


class SenderForm(ShopForm):
    """Whose box it is; the reason is needed where another sender was named before."""

    why = forms.CharField(label="Reason for the change", max_length=200)

    def __init__(self, *args: Any, first: bool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        if first:
            del self.fields["why"]


class LinkForm(ShopForm):
    """A link for one customer."""

    for_whom = forms.CharField(
        label="Whom it is for",
        max_length=120,
        help_text="For the shop's own list; the customer does not see it.",
    )
    days = forms.TypedChoiceField(
        label="Good for",
        choices=[(days, f"{days} days") for days in GOOD_FOR_DAYS],
        coerce=int,
        initial=30,
        widget=forms.RadioSelect,
    )
