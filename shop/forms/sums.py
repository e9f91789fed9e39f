"""The form of one calculation, made from what the registry says that it asks for."""

from collections.abc import Mapping
from typing import Any

from django import forms

from shop.calc.parameters import Choice, Flag, InputError, Number, Numbers
from shop.calc.registry import REQUIRED, Asked, Calculation
from shop.calc.units import metric, shown, unit_name
from shop.forms import ShopForm, number_field
from shop.models import LimitSetting

YES_NO = [("yes", "yes"), ("no", "no")]


class SumForm(ShopForm):
    """Inputs of a calculation; ``inputs`` holds them in metric once the form is valid."""

    refused = "Not worked out"

    def __init__(
        self,
        *args: Any,
        calculation: Calculation,
        inch: bool,
        limits: Mapping[str, LimitSetting],
        told: Mapping[str, str],
        **kwargs: Any,
    ) -> None:
        self.inch, self.calculation = inch, calculation
        self.inputs: dict[str, Any] = {}
        self.base_fields = {  # type: ignore[misc]
            asked.name: _field(asked, inch, limits, told.get(asked.name, "")) for asked in calculation.asked
        }
        of_shop = [asked.name for asked in calculation.asked if asked.parameter.setting in limits]
        self.groups = [("Limits, as this shop has set them", of_shop)]  # type: ignore[misc]
        super().__init__(*args, auto_id="sum_%s", **kwargs)

    def clean(self) -> dict[str, Any]:
        """Check each input as the calculation does, in metric."""
        data = self.cleaned_data
        for asked in self.calculation.asked:
            value = data.get(asked.name)
            if value is None or value == "":
                continue
            try:
                self.inputs[asked.name] = self._metric(asked, value)
            except InputError as error:
                self.refuse(error)
        return data

    def refuse(self, error: InputError) -> None:
        """Put the sentence of a refused input beside its field."""
        name = error.name if error.name in self.fields else None
        sentence = str(error).removeprefix(f"{name} ")
        self.add_error(name, sentence[:1].upper() + sentence[1:] + ".")

    def _metric(self, asked: Asked, value: Any) -> Any:
        if isinstance(asked.parameter, Number):
            entered = metric(value=float(value), unit=asked.parameter.unit, inch=self.inch)
            return asked.parameter.parse(asked.name, str(value)) if asked.parameter.whole else entered
        if isinstance(asked.parameter, Numbers):
            return self._list(asked.name, asked.parameter, str(value))
        return asked.parameter.parse(asked.name, str(value))

    def _list(self, name: str, parameter: Numbers, text: str) -> tuple[float, ...]:
        """Read a list as typed, and check it in metric."""
        typed = Numbers(title=parameter.title, each=Number(title=parameter.title), fewest=0)
        return parameter.check(
            name,
            [metric(value=one, unit=parameter.unit, inch=self.inch) for one in typed.parse(name, text)],
        )


def _field(asked: Asked, inch: bool, limits: Mapping[str, LimitSetting], told: str) -> forms.Field:
    parameter = asked.parameter
    limit = limits.get(parameter.setting)
    default = limit.value if limit else None if asked.default is REQUIRED else asked.default
    told = told.replace(" [-]", "")  # no unit to tell
    hint = f"{told} ({parameter.help})" if parameter.help else told
    help_text = f"{limit.get_source_display().capitalize()}: {limit.basis}" if limit else hint
    common: dict[str, Any] = {"required": asked.default is not None, "help_text": help_text}
    if isinstance(parameter, Number):
        unit = unit_name(unit=parameter.unit, inch=inch)
        initial = None if default is None else initial_text(default, parameter.unit, inch)
        return number_field(parameter.title, unit=unit, initial=initial, **common)
    if isinstance(parameter, Choice):
        options = [(word, word) for word in parameter.options]
        blank = [("", "not given")] if asked.default is None else []
        if len(options) <= 4:
            return forms.ChoiceField(
                label=parameter.title,
                choices=[*blank, *options],
                initial=default,
                widget=forms.RadioSelect,
                **common,
            )
        return forms.ChoiceField(
            label=parameter.title, choices=[("", "choose"), *options], initial=default, **common
        )
    if isinstance(parameter, Flag):
        return forms.ChoiceField(
            label=parameter.title,
            choices=YES_NO,
            initial="yes" if default else "no",
            widget=forms.RadioSelect,
            **common,
        )
    widget = forms.Textarea(attrs={"rows": 4}) if isinstance(parameter, Numbers) else forms.TextInput()
    return forms.CharField(label=parameter.title, widget=widget, initial=default, **common)


def initial_text(value: Any, unit: str, inch: bool) -> str:
    """Write a metric value as the form takes it, in the units that it is filled in with."""
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, list | tuple):
        return "\n".join(initial_text(one, unit, inch) for one in value)
    if not isinstance(value, int | float):
        return str(value)
    return f"{shown(value=value, unit=unit, inch=inch):.10g}"
