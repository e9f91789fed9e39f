"""Forms of the kits: their lines, and packing one from lots."""

from collections.abc import Iterator, Sequence
from typing import Any

from django import forms

from inventory.forms.picking import lot_reason_field
from inventory.models import Kit, KitLine, Lot, Part
from inventory.models.kit import POLYMERS
from inventory.services.kits import LineChoice, PlaceChoice
from inventory.services.part_fit import Place
from inventory.services.upgrades import Upgrade, upgrade_of
from shop.forms import FieldGroup, ShopForm
from shop.forms.rows import RowForm, row_field
from shop.models import TypeRevision


class KitLineForm(RowForm):
    """A part for one place of the unit."""

    place = forms.ChoiceField(label="Place in the unit")
    original_polymer = forms.ChoiceField(
        label="Material before",
        choices=[("", "not known"), *POLYMERS],
        required=False,
        help_text="As it was made, or as it is found at teardown.",
    )
    upgrade_reasons = forms.MultipleChoiceField(
        label="The material is better against",
        choices=list(KitLine.UPGRADES.items()),
        widget=forms.CheckboxSelectMultiple,
        required=False,
        help_text="A statement of the shop, and marked so wherever it stands.",
    )
    upgrade_words = forms.CharField(label="In words", max_length=200, required=False)
    groups = (("Upgraded material, if it is one", ["original_polymer", "upgrade_reasons", "upgrade_words"]),)

    class Meta:
        model = KitLine
        fields = ("part", "quantity", "preference", "required", "reason")
        formfield_callback = row_field
        labels = {
            "quantity": "Pieces",
            "required": "Required: the unit is not released without it",
            "reason": "Why this part",
        }
        help_texts = {
            "preference": "1 is taken first. Parts of the same number go in together; other numbers "
            "are alternatives.",
            "reason": "Such as: low friction. Needed where motion, size, gland or fluid do not fit.",
        }

    field_order = (
        *("place", "part", "quantity", "preference", "required", "reason"),
        *("original_polymer", "upgrade_reasons", "upgrade_words"),
    )

    def __init__(self, *args: Any, kit: Kit, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = {f"{kind}-{place.pk}": place for kind, place in places_of(kit.revision)}
        self.fields["place"].choices = [  # type: ignore[attr-defined]
            ("", "Choose a place"),
            *((key, str(place)) for key, place in self.places.items()),
        ]
        self.fields["part"].queryset = Part.objects.all()  # type: ignore[attr-defined]
        if self.instance.pk:
            told = upgrade_of(self.instance)
            self.initial["upgrade_reasons"] = list(told.reasons)
            self.initial.update(original_polymer=told.original_polymer, upgrade_words=told.words)
        if kit.revision.state == TypeRevision.State.APPROVED:
            self.fields["why"] = forms.CharField(
                label="Reason for the change", max_length=200, help_text="The revision is approved."
            )

    def clean(self) -> dict[str, Any]:
        """Put what was said of the upgrade into one value."""
        data: dict[str, Any] = super().clean() or self.cleaned_data
        data["upgrade"] = Upgrade(
            reasons=tuple(data.pop("upgrade_reasons", ())),
            original_polymer=data.pop("original_polymer", ""),
            words=data.pop("upgrade_words", ""),
        )
        return data

    def clean_place(self) -> Place:
        """Return the position, component, port or hose."""
        return self.places[self.cleaned_data["place"]]


def places_of(revision: TypeRevision) -> Iterator[tuple[str, Place]]:
    """Yield every place of a revision that may take a part, with its kind."""
    for kind, rows in (
        ("position", revision.positions),
        ("component", revision.components),
        ("port", revision.ports),
        ("hose", revision.hoses),
    ):
        for row in rows.all():
            yield kind, row


class PackKitForm(ShopForm):
    """One choice of lot for each line of a kit; the first to expire is proposed."""

    def __init__(self, *args: Any, choices: Sequence[PlaceChoice], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.places = choices
        for choice in choices:
            proposed = choice.proposed
            only = choice.required and len(choice.options) == 1
            for line in _lines(choice):
                self.fields[_name(line.line)] = _lot_field(line, proposed.get(line.line), required=only)
        self.fields["lot_reason"] = lot_reason_field()

    @property
    def field_groups(self) -> list[FieldGroup]:
        """Draw the fields of one place under its name."""
        places = [
            FieldGroup(
                f"{choice.place}{'' if choice.required else ' (if wanted)'}",
                [self[_name(line.line)] for line in _lines(choice)],
            )
            for choice in self.places
        ]
        return [*places, FieldGroup("Another lot than the first to expire", [self["lot_reason"]])]

    @property
    def lots(self) -> dict[KitLine, Lot]:
        """Lines and lots as chosen; call on a valid form."""
        lines = [line.line for choice in self.places for line in _lines(choice)]
        return {line: lot for line in lines if (lot := self.cleaned_data[_name(line)])}


def _lines(choice: PlaceChoice) -> list[LineChoice]:
    return [line for option in choice.options for line in option.lines]


def _name(line: KitLine) -> str:
    return f"line_{line.pk}"


def _lot_field(choice: LineChoice, proposed: Lot | None, *, required: bool) -> forms.Field:
    line = choice.line
    lots = {str(lot.pk): lot for lot in choice.lots}
    empty = ("Choose a lot" if required else "Not this one") if lots else "No usable lot holds enough"
    return forms.TypedChoiceField(
        label=f"{line.quantity} x {line.part}",
        choices=[("", empty), *((key, _lot_words(lot)) for key, lot in lots.items())],
        coerce=lots.__getitem__,
        empty_value=None,
        required=required,
        initial=str(proposed.pk) if proposed else "",
        help_text=line.reason,
    )


def _lot_words(lot: Any) -> str:
    shelf = ", ".join(f"{row.quantity} at {row.place}" for row in lot.shelf)
    until = f", use by {lot.use_by:%d %b %Y}" if lot.use_by else ""
    return f"{lot.number} ({shelf}{until})"
