"""The pages of outside work: each act as a browser meets it, the list, the rebuild's panel and the slip."""

import datetime as dt

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse
from django.utils import timezone

from inventory.models import Lot
from tests import factories, writes
from tests.asking import rows, send
from tests.factories import person
from tests.workorders.journey import Journey, make_type
from tests.workorders.pdf_reading import text_of
from tests.workorders.test_outside_work import NOT_NEEDED
from workorders.models import OutsideWork
from workorders.services import outside_work

pytestmark = pytest.mark.django_db
FAR = "2090-01-31"


def url(name, *args):
    return reverse(f"workorders:{name}", args=args)


def made_once():
    revision = make_type()
    factories.ComponentFactory(revision=revision, code="K2", name="rod", kind="rod", order=2)
    way = Journey(revision=revision).receive().find().close_teardown().go_ahead()
    Lot.objects.update(use_by="2090-01-01")  # pages ask the real clock
    return way


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def way(kept):
    return kept()


def out(way, kind="rechroming", component="K2", due=None, **supplier):
    return outside_work.send_out(
        act=way.act("bench"),
        rebuild=way.rebuild,
        component=way.revision.components.filter(code=component).first(),
        kind=kind,
        supplier=factories.SupplierFactory(**supplier),
        asked="Strip, chrome and grind to 12 mm.",
        due=due or dt.date(2090, 1, 31),
    )


def back(way, **told):
    work = out(way, kind="other", **told)
    return outside_work.record_return(act=way.act("bench"), work=work)


def write_of(way, name):
    """One act of outside work, ready to be sent."""
    common = {"role": "bench", "refused_role": "stores", "history": OutsideWork.history}
    if name == "send_out":
        rod = way.revision.components.get(code="K2")
        data = {
            "component": rod.pk,
            "kind": "rechroming",
            "supplier": factories.SupplierFactory().pk,
            "asked": "Chrome it.",
            "due": FAR,
            "note": "",
        }
        broken = {"due": "2001-01-01"}
        return writes.Write(
            url=url(name, way.rebuild.pk),
            unknown=url(name, 9999),
            data=data,
            bad={"asked": ""},
            broken=broken,
            **common,
        )
    work = back(way) if name == "outside_work_inspect" else out(way)
    told = {
        "outside_work_due": ({"due": FAR, "why": "bath broken"}, {"why": ""}, {"due": "2001-01-01"}),
        "outside_work_cancel": ({"why": "never left"}, {"why": ""}, None),
        "outside_work_return": (
            {"bake": "not_needed", "bake_basis": "drawing 4410", "note": ""},
            {"bake": "perhaps"},
            {"bake_basis": ""},
        ),
        "outside_work_inspect": (
            {"verdict": "rejected", "reject_reason": "pitted"},
            {"verdict": ""},
            {"reject_reason": ""},
        ),
    }
    data, bad, broken = told[name]
    return writes.Write(
        url=url(name, work.pk),
        unknown=url(name, 9999),
        data=data,
        bad=bad,
        broken=broken,
        why=data.get("why"),
        **common,
    )


ACTS = ["send_out", "outside_work_due", "outside_work_cancel", "outside_work_return", "outside_work_inspect"]
BREAKS = [name for name in ACTS if name != "outside_work_cancel"]


@pytest.fixture(params=ACTS)
def write(request, way):
    return write_of(way, request.param)


def test_each_act_is_written(client, write):
    writes.check_works(client, write)


def test_each_act_shows_its_form(client, write):
    writes.check_get(client, write)


def test_nobody_signed_out_writes(client, write):
    writes.check_signed_out(client, write)


def test_another_role_writes_nothing(client, write):
    writes.check_wrong_role(client, write)


def test_what_is_not_there_is_not_found(client, write):
    writes.check_unknown(client, write)


def test_a_wrong_form_comes_back(client, write):
    writes.check_refused(client, write, write.bad)


@pytest.mark.parametrize("name", BREAKS)
def test_a_broken_rule_comes_back(client, way, name):
    write = write_of(way, name)
    writes.check_refused(client, write, write.broken)


def test_each_act_is_written_once(client, write):
    writes.check_twice(client, write)


@pytest.mark.parametrize(
    ("name", "works"), [("outside_works", False), ("outside_work", True), ("outside_work_slip", True)]
)
def test_pages_to_read_take_no_post_and_no_stranger(client, way, name, works):
    args = [out(way).pk] if works else []
    address = url(name, *args)
    answer = client.get(address)
    assert answer.status_code == 302
    assert answer.url.startswith("/sign-in/")
    client.force_login(person("stores"))
    before = rows()
    assert client.post(address).status_code == 405
    assert client.get(address).status_code == 200
    assert rows() == before
    if works:
        assert client.get(url(name, 9999)).status_code == 404


# --- one sending ---


def test_the_form_of_chrome_offers_no_way_round_the_bake(client, way):
    client.force_login(person("bench"))
    work = out(way)
    page = client.get(url("outside_work_return", work.pk)).content.decode()
    assert 'value="baked"' in page
    assert 'value="not_plating"' not in page
    assert "for the plater and the drawing to say" in page
    coating = out(way, kind="coating", component="K1")
    assert 'value="not_plating"' in client.get(url("outside_work_return", coating.pk)).content.decode()


def test_grinding_is_asked_nothing_about_a_bake(client, way):
    client.force_login(person("bench"))
    page = client.get(url("outside_work_return", out(way, kind="grinding").pk)).content.decode()
    assert "bake" not in page.lower()


def test_a_certificate_is_sent_with_the_return_and_opens_from_the_page(
    client, way, django_capture_on_commit_callbacks
):
    client.force_login(person("bench"))
    work = out(way)
    data = {
        "bake": "baked",
        "bake_h": "4",
        "bake_temperature_c": "190",
        "bake_basis": "plater, report 77",
        "note": "",
        "certificate": SimpleUploadedFile("report.pdf", b"%PDF-1.4 report 77"),
    }
    with django_capture_on_commit_callbacks(execute=True):
        answer = send(client, url("outside_work_return", work.pk), data)
    work.refresh_from_db()
    assert answer.url == work.get_absolute_url()
    page = client.get(answer.url).content.decode()
    assert "baked 4 h at 190 °C: plater, report 77" in page
    assert f'href="{work.certificate.get_absolute_url()}"' in page
    assert client.get(work.certificate.get_absolute_url()).content == b"%PDF-1.4 report 77"


def test_the_inspection_names_the_dimension_that_was_not_read(client, way):
    client.force_login(person("bench"))
    work = out(way)
    outside_work.record_return(act=way.act("bench"), work=work, papers=NOT_NEEDED)
    address = url("outside_work_inspect", work.pk)
    limit = way.revision.dimension_limits.get()
    page = client.get(address).content.decode()
    assert f'href="{url("measurement", way.rebuild.pk, limit.pk, "after")}?inspect={work.pk}"' in page
    data = {"verdict": "accepted", "reject_reason": "", "bake": "not_needed", "bake_basis": "drawing"}
    answer = send(client, address, data)
    assert answer.status_code == 422
    assert "not read after the return" in answer.content.decode()


def test_reading_what_is_missing_leads_back_to_the_inspection(client, way):
    client.force_login(person("bench"))
    work = out(way)
    outside_work.record_return(act=way.act("bench"), work=work, papers=NOT_NEEDED)
    limit = way.revision.dimension_limits.get()
    reading = url("measurement", way.rebuild.pk, limit.pk, "after")
    inspection = url("outside_work_inspect", work.pk)
    data = {"instrument": way.micrometer.pk, "reading_1": "11.97", "reading_2": "11.97"}
    way.micrometer.calibrations.update(due_on="2090-01-01")  # pages ask the real clock
    assert f'href="{inspection}"' in client.get(f"{reading}?inspect={work.pk}").content.decode()
    assert send(client, f"{reading}?inspect={work.pk}", data).url == inspection
    for named in ("0", "x", "9" * 30):
        answer = send(client, f"{reading}?inspect={named}", data)
        assert answer.url == url("build", way.rebuild.pk) + "#dimensions"


def test_the_shop_itself_is_no_supplier_to_send_out_to(client, way):
    factories.SupplierFactory(name="This Shop", is_shop=True)
    factories.SupplierFactory(name="Low Light Plating")
    client.force_login(person("bench"))
    choices = client.get(url("send_out", way.rebuild.pk)).context["form"]["supplier"]
    offered = [str(each.choice_label) for each in choices]
    assert "Low Light Plating" in offered
    assert "This Shop" not in offered


def test_the_page_shows_the_sizes_before_and_after_and_only_open_acts(client, way):
    client.force_login(person("bench"))
    work = out(way)
    page = client.get(work.get_absolute_url()).content.decode()
    assert "D1 rod diameter" in page
    assert "11.98" in page
    assert url("outside_work_return", work.pk) in page
    assert url("outside_work_inspect", work.pk) not in page
    client.force_login(person("stores"))
    assert url("outside_work_return", work.pk) not in client.get(work.get_absolute_url()).content.decode()


# --- the list ---


def overdue(way, **told):
    """A sending whose day is past by the real clock, as pages see it."""
    work = out(way, due=way.now.date(), **told)
    OutsideWork.objects.filter(pk=work.pk).update(due=timezone.localdate() - dt.timedelta(days=3))
    return work


def listed(client, query=""):
    answer = client.get(url("outside_works") + query)
    return [row.work.pk for row in answer.context["shown"]], answer.content.decode()


def test_the_list_puts_overdue_first_with_the_telephone(client, way):
    client.force_login(person("lead"))
    soon = out(way, kind="grinding", component="K1")
    late = overdue(way, name="Low Light Plating", phone="+44 1632 960111")
    found, page = listed(client)
    assert found == [late.pk, soon.pk]
    assert "overdue by 3 days" in page
    assert "+44 1632 960111" in page


def test_the_list_is_narrowed_by_state_and_text(client, way):
    client.force_login(person("bench"))
    late, waits = overdue(way), back(way, component="K1", name="Copper Coil Rewinds")
    gone = out(way, component="")
    outside_work.cancel_outside_work(act=way.act("bench", "never left"), work=gone)
    assert listed(client, "?show=overdue")[0] == [late.pk]
    assert listed(client, "?show=inspect")[0] == [waits.pk]
    assert listed(client)[0] == [late.pk, waits.pk]
    assert listed(client, "?show=all")[0] == [late.pk, waits.pk, gone.pk]
    assert listed(client, "?q=copper")[0] == [waits.pk]
    assert listed(client, f"?q={way.unit.serial}&show=overdue")[0] == [late.pk]
    assert "Nothing found" in listed(client, "?q=nobody")[1]
    assert listed(client, "?show=nonsense")[0] == [late.pk, waits.pk]


def test_the_list_is_a_file_too(client, way):
    client.force_login(person("lead"))
    out(way, name="Low Light Plating")
    answer = client.get(url("outside_works") + "?format=csv")
    assert "Low Light Plating" in answer.content.decode("utf-8-sig")


def test_an_empty_list_says_how_a_part_is_sent_out(client):
    factories.ShopProfileFactory()
    client.force_login(person("lead"))
    assert "sent out from the page of its rebuild" in listed(client)[1]


def test_the_board_leads_to_the_list_and_says_what_is_overdue(client, way):
    client.force_login(person("lead"))
    assert f'href="{url("outside_works")}"' in client.get(url("home")).content.decode()
    overdue(way)
    assert "1 overdue" in client.get(url("home")).content.decode()


@pytest.mark.parametrize("page", ["rebuild", "build"])
def test_rebuild_and_build_show_what_is_out(client, way, page):
    client.force_login(person("bench"))
    work = out(way)
    shown = client.get(url(page, way.rebuild.pk)).content.decode()
    assert f'href="{work.get_absolute_url()}"' in shown
    assert f'href="{url("send_out", way.rebuild.pk)}"' in shown


def test_the_changes_of_a_rebuild_tell_of_outside_work(client, way):
    client.force_login(person("bench"))
    work = out(way)
    outside_work.change_due(act=way.act("bench", "bath broken"), work=work, due=dt.date(2090, 2, 1))
    assert "Bath broken" in client.get(url("rebuild_changes", way.rebuild.pk)).content.decode()


# --- the slip ---


def test_the_slip_says_what_is_asked_until_when_and_the_sizes(client, way):
    client.force_login(person("bench"))
    work = out(way, name="Low Light Plating", phone="+44 1632 960111")
    answer = client.get(url("outside_work_slip", work.pk))
    assert answer["Content-Type"] == "application/pdf"
    text = text_of(answer.content)
    for words in (
        "Low Light Plating",
        "Strip, chrome and grind",
        "31 Jan 2090",
        "11.95 to 12 mm",
        "11.98 mm",
    ):
        assert words in text
    assert "____________" in text  # room for the sizes after the work
    assert "the plater's process and the drawing decide" in text
    assert answer.content == client.get(url("outside_work_slip", work.pk)).content


def test_the_slip_asks_about_a_bake_only_where_there_may_be_plating(client, way):
    client.force_login(person("bench"))
    text = text_of(client.get(url("outside_work_slip", out(way, kind="grinding").pk)).content)
    assert "Bake" not in text
