"""Any inputs inside the declared ranges give finite figures that follow their formulas, or a sentence."""

import json
import math

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from shop.calc import registry
from shop.calc.parameters import Choice, Flag, InputError, Number, Numbers
from tests.guards.registry import figure_faults

ALL = registry.calculations()


def values_of(asked, example):
    """Values inside the range of a parameter; texts are varied from the example."""
    parameter = asked.parameter
    optional = [st.none()] if asked.default is None else []
    if isinstance(parameter, Choice):
        return st.one_of(*optional, st.sampled_from(list(parameter.options)))
    if isinstance(parameter, Flag):
        return st.one_of(*optional, st.booleans())
    if isinstance(parameter, Number):
        return st.one_of(*optional, numbers(parameter))
    if isinstance(parameter, Numbers):
        return st.lists(numbers(parameter.each), min_size=parameter.fewest, max_size=20)
    return st.one_of(st.just(example.get(asked.name, "3Q24")), st.text(min_size=1, max_size=12))


def numbers(parameter):
    low = next((bound for bound in (parameter.above, parameter.at_least) if bound is not None), -1e6)
    high = next(
        (bound for bound in (parameter.below, parameter.at_most) if bound is not None), max(low, 1) * 1e6
    )
    if parameter.whole:
        return st.integers(math.ceil(low), math.floor(high)).filter(lambda value: inside(parameter, value))
    return st.floats(low, high, allow_nan=False).filter(lambda value: inside(parameter, value))


def inside(parameter, value):
    return (parameter.above is None or value > parameter.above) and (
        parameter.below is None or value < parameter.below
    )


def answer_or_refusal(one, values):
    try:
        return one.answer(values), None
    except InputError as error:
        return None, error


@pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])
def test_any_input_in_range_gives_figures_or_a_sentence(one):
    inputs = st.fixed_dictionaries({asked.name: values_of(asked, one.example) for asked in one.asked})

    @settings(
        max_examples=40,
        deadline=None,
        database=None,
        derandomize=True,
        suppress_health_check=list(HealthCheck),
    )
    @given(inputs)
    def check(values):
        answer, refused = answer_or_refusal(one, values)
        if refused:
            assert refused.name in values or refused.name == "inputs"
            assert "must " in str(refused) or "is needed" in str(refused)
            assert "; got " in str(refused)
            return
        json.dumps(answer.as_json(), allow_nan=False)
        assert figure_faults(one, answer) == []

    check()
