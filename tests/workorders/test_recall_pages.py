"""The pages of recalls, and the banner on every page about a unit that carries one."""

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import Lot
from shop.services.writing import Act
from tests import factories, writes
from tests.asking import send
from tests.workorders.journey import Journey
from workorders.models import Recall, RecallLot
from workorders.services import claims, recall_papers, recalls

pytestmark = pytest.mark.django_db
WORDS = {"advice": "stop", "reason": "Lips crack within months.", "instructions": "Call us."}


def made_once():
    """A recall of one lot: a unit that left, with its letter, and one on the bench."""
    journey = Journey().tested().release().ship()
    journey.left = journey.rebuild
    journey.receive().find().close_teardown().go_ahead().fit()
    journey.lot = journey.left.parts_used.get(position__code="S1").lot
    journey.recall = recalls.open_recall(act=journey.act("stores"), lots=[journey.lot], **WORDS)
    (journey.letter,) = recall_papers.issue_letters(act=journey.act("warranty desk"), recall=journey.recall)
    journey.customer = journey.left.warranty.holder
    return journey


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def shop(kept):
    return kept()


def write_of(shop, name):
    """One page that writes, with what the common checks ask for."""
    number, unknown = shop.recall.number, "R99-9999"
    why = {"why": "the supplier answered"}
    other = factories.LotFactory(supplier_batch="88-1")
    lead = {"role": "lead", "refused_role": "bench", "bad": {"why": ""}}
    table = {
        "new": writes.Write(
            url=reverse("workorders:recall_new") + f"?lot={other.number}",
            data={"lots": [other.pk], **WORDS},
            role="stores",
            refused_role="bench",
            unknown=reverse("workorders:recall", args=[unknown]),
            bad={"reason": ""},
            broken={"lots": [other.pk, shop.lot.pk]},
            history=Recall.history,
        ),
        "lots": writes.Write(
            url=reverse("workorders:recall_lots", args=[number]) + f"?q={other.supplier_batch}",
            data={"lots": [other.pk], **why},
            role="stores",
            refused_role="warranty desk",
            unknown=reverse("workorders:recall_lots", args=[unknown]),
            bad={"lots": []},
        ),
        "change": writes.Write(
            url=reverse("workorders:recall_change", args=[number]),
            data={**WORDS, "advice": "look", **why},
            role="stores",
            refused_role="receiving",
            unknown=reverse("workorders:recall_change", args=[unknown]),
            bad={"why": ""},
            history=Recall.history,
            why="the supplier answered",
        ),
        "call": writes.Write(
            url=reverse("workorders:recall_call", args=[number, shop.customer.pk]),
            data={"outcome": "reached", "note": "R. Holm"},
            role="warranty desk",
            refused_role="bench",
            unknown=reverse("workorders:recall_call", args=[number, 0]),
            bad={"outcome": ""},
            broken={"outcome": "scrapped"},
        ),
        "decide": writes.Write(
            url=reverse("workorders:recall_decide", args=[number, shop.rebuild.pk]),
            data={"may_go": "yes", **why},
            unknown=reverse("workorders:recall_decide", args=[number, 0]),
            **lead,
        ),
        "close": writes.Write(
            url=reverse("workorders:recall_close", args=[number]),
            data={"accept_open": "on", **why},
            unknown=reverse("workorders:recall_close", args=[unknown]),
            broken={"accept_open": ""},
            history=Recall.history,
            why="the supplier answered",
            **lead,
        ),
        "withdraw": writes.Write(
            url=reverse("workorders:recall_withdraw", args=[number]),
            data=why,
            unknown=reverse("workorders:recall_withdraw", args=[unknown]),
            history=Recall.history,
            why="the supplier answered",
            **lead,
        ),
        "reissue": writes.Write(
            url=reverse("workorders:recall_letter_reissue", args=[shop.letter.pk]),
            data=why,
            role="warranty desk",
            refused_role="stores",
            unknown=reverse("workorders:recall_letter_reissue", args=[0]),
            bad={"why": ""},
        ),
    }
    return table[name]


NAMES = ["new", "lots", "change", "call", "decide", "close", "withdraw", "reissue"]


@pytest.mark.parametrize("name", NAMES)
def test_the_write_is_made_once(client, shop, name):
    writes.check_works(client, write_of(shop, name))


@pytest.mark.parametrize("name", NAMES)
def test_the_same_form_twice_makes_one_record(client, shop, name):
    writes.check_twice(client, write_of(shop, name))


@pytest.mark.parametrize("name", NAMES)
def test_others_are_refused_and_nothing_changes(client, shop, name):
    write = write_of(shop, name)
    writes.check_signed_out(client, write)
    writes.check_wrong_role(client, write)
    writes.check_unknown(client, write) if name != "new" else None
    writes.check_get(client, write)


@pytest.mark.parametrize("name", NAMES)
def test_a_bad_form_comes_back(client, shop, name):
    write = write_of(shop, name)
    writes.check_refused(client, write, write.bad)
    if write.broken is not None:
        writes.check_refused(client, write, write.broken)


def test_a_closed_recall_is_opened_again(client, shop, lead):
    client.force_login(lead)
    recalls.close_recall(act=Act(by=lead, at=shop.now, why="done"), recall=shop.recall, accept_open=True)
    page = client.get(shop.recall.get_absolute_url()).content.decode()
    assert "The lot stays bad" in page
    send(client, reverse("workorders:recall_reopen", args=[shop.recall.number]), {"why": "one came up"})
    shop.recall.refresh_from_db()
    assert shop.recall.state == "open"


def test_letters_and_units_found_since_are_one_button_each(client, shop, warranty_desk):
    client.force_login(warranty_desk)
    late = Journey(people=shop.people, now=shop.now).tested().release().ship()
    lot = late.rebuild.parts_used.get(position__code="S1").lot
    recalls.add_lots(act=late.act("stores", "same batch"), recall=shop.recall, lots=[lot])
    answer = send(client, reverse("workorders:recall_letters_issue", args=[shop.recall.number]), follow=True)
    assert "1 letter issued." in answer.content.decode()
    answer = send(client, reverse("workorders:recall_units", args=[shop.recall.number]), follow=True)
    assert "0 added to the list." in answer.content.decode()
    archive = client.get(reverse("workorders:recall_letters", args=[shop.recall.number]))
    assert archive["Content-Type"] == "application/zip"


def test_units_found_since_stand_in_red_on_the_page_the_list_and_the_desk(client, shop, warranty_desk):
    # A recall without its list, past the services.
    recalls.withdraw_recall(act=shop.act("lead", "worded anew"), recall=shop.recall)
    told = {"number": "R26-0002", "opened_at": shop.now, "opened_by": warranty_desk, **WORDS}
    (recall,) = Recall.objects.bulk_create([Recall(**told)])
    RecallLot.objects.bulk_create([RecallLot(recall=recall, lot=shop.lot, by=warranty_desk, at=shop.now)])
    client.force_login(warranty_desk)
    page = client.get(recall.get_absolute_url()).content.decode()
    assert "2 units found since the list was made" in page
    assert "They hold the lot too." in page
    assert page.count("<span>found since</span>") == 2
    assert "2 found since" in client.get(reverse("workorders:recalls")).content.decode()
    assert "2 units not on the list" in client.get(reverse("workorders:home")).content.decode()
    files = client.get(recall.get_absolute_url() + "?format=csv").content.decode()
    assert files.count("found since the list was made") == 2
    answer = send(client, reverse("workorders:recall_units", args=[recall.number]), follow=True)
    page = answer.content.decode()
    assert "2 added to the list." in page
    assert "found since" not in page
    home = client.get(reverse("workorders:home")).content.decode()
    assert "not on the list" not in home
    assert "Recalls <b>1 open</b>" in home


def test_the_desk_line_is_for_who_recalls_or_calls(client, shop, bench):
    client.force_login(bench)
    assert "<b>1 open</b>" not in client.get(reverse("workorders:home")).content.decode()


def test_the_page_tells_progress_calls_and_letters_and_gives_files(client, shop, bench):
    client.force_login(bench)
    page = client.get(shop.recall.get_absolute_url()).content.decode()
    for words in (
        "1 of 2 units accounted for",
        str(shop.customer),
        shop.customer.phone,
        shop.letter.number,
        shop.rebuild.unit.serial,
        "<progress",
    ):
        assert words in page
    file = client.get(shop.recall.get_absolute_url() + "?format=csv").content.decode()
    assert shop.left.unit.serial in file
    assert client.get(shop.recall.get_absolute_url() + "?format=xlsx").status_code == 200
    sheet = client.get(reverse("workorders:recall_call_sheet", args=[shop.recall.number]))
    assert sheet.content.startswith(b"%PDF-")
    for query in ("", "?show=open", "?show=closed", "?show=nonsense&sort=-units", f"?q={shop.lot.number}"):
        listed = client.get(reverse("workorders:recalls") + query).content.decode()
        assert (shop.recall.number in listed) == (query != "?show=closed")


def test_lots_of_one_batch_are_proposed_together(client, stores):
    supplier = factories.SupplierFactory()
    one, two = (factories.LotFactory(supplier=supplier, supplier_batch="41-2111") for _ in range(2))
    other = factories.LotFactory(supplier_batch="41-2111")
    client.force_login(stores)
    page = client.get(reverse("workorders:recall_new") + f"?lot={one.number}").content.decode()
    assert all(f"{lot} {lot.part}" in page for lot in (one, two))
    assert f"{other} {other.part}" not in page
    found = client.get(reverse("workorders:recall_new") + "?q=41-2111").content.decode()
    assert f"{other} {other.part}" in found
    assert "No such lot" in client.get(reverse("workorders:recall_new") + "?q=none").content.decode()


def pages_of(shop):
    """Every kind of page about the unit that left, and about the one on the bench."""
    claim = claims.open_claim(
        act=shop.act("warranty desk"),
        warranty=shop.left.warranty,
        claimant=shop.customer,
        reported="wet at the rod",
    )
    order = shop.rebuild.work_order.number
    here = [shop.rebuild.pk]
    return [
        shop.left.unit.get_absolute_url(),
        shop.left.get_absolute_url(),
        claim.get_absolute_url(),
        reverse("workorders:claim_open", args=[shop.left.warranty.pk]),
        reverse("workorders:claims"),
        reverse("workorders:add_known", args=[order, shop.left.unit.serial]),
        reverse("workorders:rebuild", args=here),
        reverse("workorders:teardown", args=here),
        reverse("workorders:build", args=here),
        reverse("workorders:close_build", args=here),
        reverse("workorders:test_start", args=here),
        reverse("workorders:release_rebuild", args=here),
        reverse("workorders:work_order", args=[order]),
        reverse("workorders:pack", args=[order]),
        reverse("workorders:home"),
        reverse("workorders:unit_lots", args=[shop.left.unit.serial]),
        shop.lot.get_absolute_url(),
    ]


def test_every_page_about_the_unit_shows_it_and_none_once_it_is_withdrawn(client, shop, lead):
    client.force_login(lead)
    pages = pages_of(shop)
    shown = {url: "recall" in client.get(url).content.decode().split("<main")[1].lower() for url in pages}
    assert [url for url, seen in shown.items() if not seen] == []
    recalls.withdraw_recall(act=shop.act("lead", "another batch"), recall=shop.recall)
    for url in pages[:-1]:
        text = client.get(url).content.decode().split("<main")[1]
        assert "Recalled" not in text
        assert "recall: stopped" not in text


def test_search_results_carry_the_mark(client, shop, receiving):
    client.force_login(receiving)
    shop.left.unit.maker_serial, shop.rebuild.unit.maker_serial = "HC-771", "HC-772"
    for unit in (shop.left.unit, shop.rebuild.unit):
        unit.save()
    page = client.get(reverse("workorders:find") + "?q=HC-77").content.decode()
    assert "recalled" in page
    assert "recall: stopped" in page


def test_the_page_of_a_customer_marks_the_units_that_carry_one(client, shop, lead):
    client.force_login(lead)
    fine = Journey(revision=shop.revision).receive(order=shop.left.work_order)
    page = client.get(shop.left.work_order.customer.get_absolute_url()).content.decode()
    units = page.split('id="units-heading"')[1].split("</section>")[0]
    marked = [row for row in units.split("<tr>") if "recalled" in row]
    assert fine.unit.get_absolute_url() in units
    assert marked
    assert not any(fine.unit.get_absolute_url() in row for row in marked)
    assert any(shop.left.unit.get_absolute_url() in row for row in marked)


def test_a_stranger_with_the_label_is_told_what_to_do_and_no_more(client, shop, lead):
    page = client.get(shop.left.unit.get_absolute_url()).content.decode()
    for words in (
        "This unit is recalled: stop using it",
        "Call us.",
        "01632 960100",
        "never feel for a leak",
    ):
        assert words in page
    assert shop.lot.number not in page
    assert str(shop.customer) not in page
    fine = Journey(revision=shop.revision).receive()
    assert "recalled" not in client.get(fine.unit.get_absolute_url()).content.decode()


def test_the_word_of_the_lead_shows_on_the_banner_and_hides_it_from_strangers(client, shop, lead):
    recalls.decide(act=shop.act("lead", "tried"), recall=shop.recall, rebuild=shop.rebuild, may_go=True)
    assert "recalled" not in client.get(shop.rebuild.unit.get_absolute_url()).content.decode()
    client.force_login(lead)
    page = client.get(shop.rebuild.get_absolute_url()).content.decode()
    assert "let go by the lead" in page
    assert "tried" in page


def test_lists_and_searches_add_no_query_per_unit(client, shop, lead):
    client.force_login(lead)
    urls = [reverse("workorders:home"), reverse("workorders:claims"), reverse("workorders:find") + "?q=HC-77"]
    order = shop.rebuild.work_order
    counts = []
    for turn in range(2):
        Lot.objects.filter(pk=shop.lot.pk).update(state="accepted", hold_reason="")
        for place in range(5):
            shop.receive(order=order).find().close_teardown().go_ahead().fit()
            shop.unit.maker_serial = f"HC-77{turn}{place}"
            shop.unit.save()
        with CaptureQueriesContext(connection) as seen:
            for url in (*urls, order.get_absolute_url()):
                assert "recall: stopped" in client.get(url).content.decode() or "claims" in url
        counts.append(len(seen))
    assert counts[0] == counts[1]
