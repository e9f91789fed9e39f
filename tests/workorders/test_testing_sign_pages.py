"""Pages of the test bench: signing, nothing edited afterwards, setting aside."""

import pytest

from shop.services.writing import Act
from tests import factories
from tests.workorders import bench as at_bench
from tests.workorders.bench_pages import send, step_data, text, url
from workorders.models import PressureTest, Rebuild, Signature
from workorders.services import testing

pytestmark = pytest.mark.django_db


@pytest.fixture
def rebuild():
    return at_bench.ready_rebuild()


@pytest.fixture
def test(bench, rebuild):
    return at_bench.started(bench, rebuild)


@pytest.fixture
def complete(bench, test):
    at_bench.record_all(bench, test)
    return test


@pytest.fixture
def signed(bench, complete):
    act = Act(by=bench, at=at_bench.AT)
    return testing.sign_test(act=act, test=complete, fluid_left=complete.rig_fluid)


# -- sign


@pytest.mark.record_row("R37")
def test_signing_needs_the_right_password(client, bench, complete):
    client.force_login(bench)
    answer = send(client, url("test_sign", complete.pk), fluid_left=complete.rig_fluid_id, password="guess")
    assert answer.status_code == 422
    assert "not your password" in text(answer)
    assert "guess" not in text(answer)
    complete.refresh_from_db()
    assert complete.state == "running"


def test_guessing_at_the_signing_password_is_slowed_like_a_sign_in(client, bench, complete):
    client.force_login(bench)
    for _ in range(5):
        answer = send(
            client, url("test_sign", complete.pk), fluid_left=complete.rig_fluid_id, password="guess"
        )
    assert answer.status_code == 429
    data = {"fluid_left": complete.rig_fluid_id, "password": factories.PASSWORD}
    assert send(client, url("test_sign", complete.pk), **data).status_code == 429
    complete.refresh_from_db()
    assert complete.state == "running"


def test_the_signing_page_says_what_is_missing(client, bench, test):
    client.force_login(bench)
    page = text(client.get(url("test_sign", test.pk)))
    assert "Every step needs its result first" in page
    answer = send(
        client, url("test_sign", test.pk), fluid_left=test.rig_fluid_id, password=factories.PASSWORD
    )
    assert answer.status_code == 422
    assert not Signature.objects.filter(meaning="tested").exists()


def test_no_page_edits_a_signed_test(client, lead, signed):
    client.force_login(lead)
    before = testing.signed_content(PressureTest.objects.get(pk=signed.pk))
    assert client.get(url("test_step", signed.pk, 1)).url == signed.get_absolute_url()
    for place, step in enumerate(at_bench.steps_of(signed), start=1):
        answer = send(client, url("test_step", signed.pk, place), **step_data(step, why="typing error"))
        assert answer.status_code == 422
        assert "is never changed" in text(answer)
    hold = at_bench.steps_of(signed)[2]
    limit = at_bench.limits_of(hold)["decay"]
    answer = send(
        client,
        url("logger_file_new", signed.pk, 3, limit.pk),
        **{
            f"r{limit.pk}-file": at_bench.upload("hold_tight.csv"),
            f"r{limit.pk}-instrument": at_bench.transducer().pk,
        },
    )
    assert answer.status_code == 422
    answer = send(
        client, url("test_sign", signed.pk), fluid_left=signed.rig_fluid_id, password=factories.PASSWORD
    )
    assert answer.status_code == 422
    assert testing.signed_content(PressureTest.objects.get(pk=signed.pk)) == before


# -- set aside


def test_a_signed_test_is_set_aside_and_both_stay_visible(client, bench, signed):
    client.force_login(bench)
    answer = send(client, url("test_supersede", signed.pk), reason="gauge was swapped")
    assert answer.url == signed.get_absolute_url()
    page = text(client.get(signed.get_absolute_url()))
    assert "Set aside: this test does not count" in page
    assert "gauge was swapped" in page
    assert "Start a new test" in page
    fluid = signed.rebuild.revision.service_fluid_id
    new = send(client, url("test_start", signed.rebuild.pk), rig_fluid=fluid, follow=True)
    assert "Test 1" in text(new)
    assert "Pressure test 2" in text(new)
    assert "Test 2 took its place" in text(client.get(signed.get_absolute_url()))


def test_the_test_of_a_shipped_unit_offers_no_setting_aside(client, lead, signed):
    Rebuild.objects.get(pk=signed.rebuild.pk)
    rebuild = signed.rebuild
    rebuild.stage = Rebuild.Stage.SHIPPED
    rebuild.save()
    client.force_login(lead)
    assert url("test_supersede", signed.pk) not in text(client.get(signed.get_absolute_url()))
    assert "The unit has left" in text(client.get(url("test_supersede", signed.pk)))
    answer = send(client, url("test_supersede", signed.pk), reason="late doubt")
    assert answer.status_code == 422
    signed.refresh_from_db()
    assert signed.state == "signed"
