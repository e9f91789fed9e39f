"""The shop's settings: one row, a reason for every change, and limits that say how they are known."""

import pytest
from django.core.management import call_command
from django.urls import reverse

from shop.errors import NotAllowed, RuleBroken
from shop.models import LimitSetting, ShopProfile
from shop.services.profile import save_profile, set_limit
from tests import writes
from tests.asking import send
from tests.factories import ShopProfileFactory
from tests.writes import Write

pytestmark = pytest.mark.django_db
KEY = "low-pressure-bore-to-32"
FULL = {
    "name": "Tern Quay Rebuild Works",
    "street": "4 Slipway Row",
    "town": "Tern Quay",
    "phone": "01632 960100",
    "email": "desk@example.org",
    "currency": "EUR",
    "warranty_months": 24,
    "warranty_terms": "Seals and workmanship.",
    "storage_standard": "AS5316",
    "paper_size": "Letter",
    "why": "new terms",
}


def limit_of(key=KEY):
    return LimitSetting.objects.get(key=key)


def settings_write():
    return Write(
        url=reverse("shop:settings_change"),
        data=FULL,
        role="lead",
        refused_role="stores",
        bad={"email": "no address"},
        broken={"name": ""},
        history=ShopProfile.history,
        why="new terms",
    )


def limit_write():
    return Write(
        url=reverse("shop:limit_change", args=[KEY]),
        data={"value": 8, "source": "shop", "basis": "trials on our rig", "why": "read the standard"},
        role="lead",
        refused_role="bench",
        unknown=reverse("shop:limit_change", args=["no-such-limit"]),
        bad={"value": "many"},
        broken={"source": "read", "basis": limit_of().basis},
        history=LimitSetting.history,
        why="read the standard",
    )


@pytest.fixture(params=[settings_write, limit_write])
def write(request):
    ShopProfileFactory()
    return request.param()


def test_it_works_and_names_who_and_why(client, write):
    writes.check_works(client, write)


def test_asking_writes_nothing(client, write):
    writes.check_get(client, write)


def test_signed_out_people_sign_in_first(client, write):
    writes.check_signed_out(client, write)


def test_another_role_is_refused(client, write):
    writes.check_wrong_role(client, write)


def test_a_wrong_form_is_refused(client, write):
    writes.check_refused(client, write, write.bad)


def test_a_broken_rule_is_refused(client, write):
    writes.check_refused(client, write, write.broken)


def test_a_form_sent_twice_is_written_once(client, write):
    writes.check_twice(client, write)


def test_an_unknown_limit_is_not_found(client):
    writes.check_unknown(client, limit_write())


def test_the_first_settings_need_no_reason(act, lead):
    row = save_profile(act=act(lead), name="Tern Quay Rebuild Works")
    assert (row.pk, row.history.get().history_user) == (1, lead)
    with pytest.raises(RuleBroken, match="Say why"):
        save_profile(act=act(lead), name="x")
    save_profile(act=act(lead, why="moved"), town="Southhaven")
    assert ShopProfile.objects.get().town == "Southhaven"


def test_only_the_lead_changes_settings_and_limits(act, warranty_desk):
    with pytest.raises(NotAllowed, match="lead"):
        save_profile(act=act(warranty_desk), name="x")
    with pytest.raises(NotAllowed, match="lead"):
        set_limit(act=act(warranty_desk, why="x"), setting=limit_of(), value=1, source="shop", basis="x")


def test_a_limit_changes_with_reason_and_basis(act, lead):
    with pytest.raises(RuleBroken, match="Say why"):
        set_limit(act=act(lead), setting=limit_of(), value=8, source="shop", basis="trials")
    with pytest.raises(RuleBroken, match="Name the source"):
        set_limit(act=act(lead, why="x"), setting=limit_of(), value=8, source="read", basis=limit_of().basis)
    with pytest.raises(RuleBroken):
        set_limit(act=act(lead, why="x"), setting=limit_of(), value=8, source="shop", basis="")
    set_limit(act=act(lead, why="x"), setting=limit_of(), value=8, source="shop", basis="trials")
    assert (limit_of().value, limit_of().source) == (8, "shop")


def test_every_database_has_the_limits_and_keeps_what_the_lead_set(act, lead):
    set_limit(act=act(lead, why="x"), setting=limit_of(), value=8, source="shop", basis="trials")
    limit_of("rod-run-out").delete()
    call_command("migrate", verbosity=0)
    assert limit_of().value == 8
    assert limit_of("rod-run-out").value == 0.5  # maintenanceworld.com: 0.5 mm for each metre


def test_the_limits_of_iso_10100_are_marked_as_memory():
    """The pages of ISO 10100 that could be read end before its figures."""
    rows = LimitSetting.objects.filter(basis__startswith="ISO 10100")
    assert {row.source for row in rows} == {"memory"}
    assert not LimitSetting.objects.filter(key__contains="proof").exists()
    assert not LimitSetting.objects.filter(key__contains="hold").exists()


def test_the_page_says_in_words_what_is_only_memory(client, bench):
    client.force_login(bench)
    text = client.get(reverse("shop:settings")).content.decode()
    assert "from memory, not verified" in text
    assert "The shop has no name yet" in text
    assert "Ask somebody from: lead" in text
    assert "/shop/limits/" not in text


def test_a_limit_about_money_is_in_the_shops_currency(client, lead):
    ShopProfileFactory(currency="SEK")
    client.force_login(lead)
    page = client.get(reverse("shop:settings")).content.decode()
    assert (
        page.count('<span class="unit">SEK</span>')
        == LimitSetting.objects.filter(unit__in=["money", "currency"]).count()
    )
    form = client.get(reverse("shop:limit_change", args=["count-second-person-above"])).context["form"]
    assert form.fields["value"].widget.attrs["data-unit"] == "SEK"


def test_the_page_lists_what_was_changed(client, lead):
    ShopProfileFactory()
    client.force_login(lead)
    send(client, reverse("shop:settings_change"), FULL)
    text = client.get(reverse("shop:settings")).content.decode()
    assert "New terms" in text
    assert "was “ISO 2230”, now “AS5316”" in text


def test_signed_out_people_see_no_settings(client):
    assert client.get(reverse("shop:settings")).url.startswith("/sign-in/")
