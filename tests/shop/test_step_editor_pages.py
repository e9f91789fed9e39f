"""The editor of a step: of every kind, filled in as a browser would, with the fields in sight alone."""

import pytest
from django.urls import reverse

from shop.models import LimitSetting
from shop.step_kinds import KINDS
from tests.asking import send
from tests.factories import TestPlanFactory as PlanFactory
from tests.factories import TypeRevisionFactory

pytestmark = pytest.mark.django_db
# Numbers to type; invented, none of them is an oracle.
STATED = {
    "pressure_bar": 160, "hold_s": 60, "time_limit_s": 2, "voltage_v": 500, "load_n": 900,
    "fixture": "carrier", "relief_bar": 200,
}  # fmt: skip
NUMBERS = {
    "lower": 1, "upper": 5, "code_at_most": "18/16/13",
    "displacement_cm3": 0.25, "displacement_error_pct": 2, "basis": "trials",
}  # fmt: skip
OPEN = ("witness", "recorded")


@pytest.fixture
def plan():
    revision = TypeRevisionFactory(
        state="draft", proof_pressure_bar=160, proof_hold_s=60, proof_basis="trials"
    )
    return PlanFactory(revision=revision, state="draft")


def typed(page):
    """What a browser would send of a page once a person typed into every field in sight."""
    form, limits = page.context["form"], page.context["limits"]
    data = {name: form[name].value() or "" for name in form.fields}
    data |= {name: value for name, value in STATED.items() if name in form.fields}
    data |= {"limits-TOTAL_FORMS": limits.total_form_count(), "limits-INITIAL_FORMS": 0}
    for row in limits:
        data |= {field.html_name: "" if field.value() is None else field.value() for field in row}
        if row.asked:
            gone = ("lower", "upper") if row["judged"].value() in OPEN else ()
            seen = {field.name: field.html_name for field in row.visible_fields()}
            data |= {
                seen[name]: value for name, value in NUMBERS.items() if name in seen and name not in gone
            }
    return data


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.code)
def test_a_step_of_every_kind_can_be_filled_in_with_what_is_in_sight(client, lead, plan, kind):
    client.force_login(lead)
    url = f"{reverse('shop:step_new', args=[plan.pk])}?kind={kind.code}"
    answer = send(client, url, typed(client.get(url)))
    assert answer.status_code == 302, answer.context["form"].error_lines
    step = plan.steps.get()
    assert [limit.reading for limit in step.limits.all()] == [ask.name for ask in kind.readings]
    assert [limit.judged for limit in step.limits.all()] == [ask.judged[0] for ask in kind.readings]


@pytest.mark.parametrize("kind", KINDS.values(), ids=lambda kind: kind.code)
def test_nothing_is_lost_where_a_step_is_opened_and_saved_again(client, lead, plan, kind):
    client.force_login(lead)
    url = f"{reverse('shop:step_new', args=[plan.pk])}?kind={kind.code}"
    send(client, url, typed(client.get(url)))
    step = plan.steps.get()
    before = list(step.limits.values())
    change = reverse("shop:step_change", args=[plan.pk, step.pk])
    page = client.get(change)
    form, limits = page.context["form"], page.context["limits"]
    data = {name: form[name].value() or "" for name in form.fields}
    data |= {"limits-TOTAL_FORMS": len(before), "limits-INITIAL_FORMS": len(before)}
    for row in limits.initial_forms:
        data |= {field.html_name: "" if field.value() in (None, False) else field.value() for field in row}
    assert send(client, change, data).status_code == 302
    assert list(step.limits.values()) == before


def test_a_needed_figure_is_not_offered_as_if_any(client, lead, plan):
    client.force_login(lead)
    text = client.get(reverse("shop:step_new", args=[plan.pk]), {"kind": "shaft_seal"}).content.decode()
    label = text.split('for="id_pressure_bar"')[1].split("</label>")[0]
    assert "Apply" in label
    assert "if any" not in label


def test_the_figures_to_lean_on_are_those_of_the_kind():
    keys = {key for kind in KINDS.values() for key in kind.settings}
    assert keys == set(LimitSetting.objects.filter(key__in=keys).values_list("key", flat=True))
    assert "drift-under-load" in KINDS["drift"].settings
