"""The build pages: scans, proposals, parts, rework and the signature, as a browser meets them."""

import re
import uuid

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse

from inventory.models import KitLine, Lot, Movement, PackedKit, Part
from inventory.services.kits import pack_kit
from inventory.services.lot_state import hold_lot
from shop.models import SealPosition
from tests import factories
from tests.asking import rows, send
from tests.factories import person
from tests.workorders.journey import Journey
from workorders.models import Operation, PartTakenBack, PartUsed, Rebuild
from workorders.services import build, teardown

pytestmark = pytest.mark.django_db


def made_once():
    way = Journey().receive().find().close_teardown().go_ahead()
    Lot.objects.update(use_by="2090-01-01")  # pages ask the real clock
    return way


@pytest.fixture(scope="module")
def kept(keep):
    return keep(made_once)


@pytest.fixture
def way(kept):
    return kept()


@pytest.fixture
def tech(client, way):
    client.force_login(way.people["bench"])
    return client


def url(way, name="build", *args):
    return reverse(f"workorders:{name}", args=[way.rebuild.pk, *args])


def place(way, code):
    for kind in ("positions", "components", "ports", "hoses"):
        if found := getattr(way.revision, kind).filter(code=code).first():
            return found
    raise LookupError(code)


def part_url(way, code="S1"):
    kind = {"S": "position", "K": "component", "P": "port", "H": "hose"}[code[0]]
    return url(way, "use_part", kind, place(way, code).pk)


def lot_for(way, code="S1"):
    line = KitLine.objects.filter(kit__revision=way.revision, position__code=code).earliest("pk")
    return line.part.lots.earliest("pk")


def fitted(way, code="S1", **said):
    told = {"lot": lot_for(way, code).number, "quantity": "1", "use": "fitted"}
    return {**told, **said}


def use(way, code="S1", **said):
    return build.use_part(
        act=way.act("bench"),
        rebuild=way.rebuild,
        place=place(way, code),
        lot=lot_for(way, code),
        quantity=1,
        **said,
    )


def page_of(answer):
    return answer.content.decode()


def open_places(page):
    section = page.split("Waiting for parts")[1].split("</section>")[0]
    return re.findall(r"<h3>(\w+) ", section)


def open_acts(way, page):
    """Return which acts of building the page offers; what is missing at the end leads to a place as well."""
    page = page.split("Before it can be signed")[0]
    acts = {part_url(way, "S1"), url(way, "operation"), url(way, "send_out")}
    return {address for address in acts if f'"{address}"' in page}


# --- the page ---


def test_the_page_proposes_the_lot_that_expires_first_for_every_open_place(tech, way):
    soon = factories.LotFactory(part=lot_for(way).part, use_by="2089-01-01")
    page = page_of(tech.get(url(way)))
    assert open_places(page) == ["S1", "S2", "S3", "S4"]
    assert f'name="lot" value="{soon.number}"' in page
    assert f'name="lot" value="{lot_for(way).number}"' not in page


def test_one_tap_on_a_proposal_fits_it(tech, way):
    page = page_of(tech.get(url(way)))
    form = re.search(rf'<form method="post" action="{part_url(way)}">(.*?)</form>', page, re.S).group(1)
    assert "data-primary" in form
    sent = dict(re.findall(r'name="(\w+)" value="([^"]*)"', form))
    assert send(tech, part_url(way), sent, token=sent["form_token"]).url == url(way)
    assert [(row.place.code, row.quantity) for row in PartUsed.objects.all()] == [("S1", 1)]
    assert open_places(page_of(tech.get(url(way)))) == ["S2", "S3", "S4"]


def test_a_proposal_that_needs_a_reason_leads_to_the_form(tech, way):
    SealPosition.objects.filter(pk=place(way, "S3").pk).update(motion="rotary")
    page = page_of(tech.get(url(way)))
    assert f'href="{part_url(way, "S3")}?lot={lot_for(way, "S3").number}"' in page
    assert f'action="{part_url(way, "S3")}"' not in page


def test_a_proposal_unsuitable_for_the_fluid_cannot_be_tapped(tech, way):
    Part.objects.filter(pk=lot_for(way).part_id).update(polymer="EPDM")
    page = page_of(tech.get(url(way)))
    assert "not suitable for the service fluid" in page
    assert f'name="lot" value="{lot_for(way).number}"' not in page


def test_what_no_source_clears_is_warned_of_before_and_stays_after(tech, way):
    Part.objects.filter(pk=lot_for(way).part_id).update(polymer="AU")
    assert "AU in HM 32" in page_of(tech.get(url(way)))
    answer = send(tech, part_url(way), fitted(way), follow=True)
    page = page_of(answer)
    assert "from memory, not verified" in page.split("Parts used")[1]
    assert re.search(r'class="message warn".*?AU in HM 32', page, re.S)


def test_before_teardown_and_go_ahead_the_page_says_what_comes_first(client):
    way = Journey().receive()
    client.force_login(person("bench"))
    page = page_of(client.get(url(way)))
    assert "The teardown is not signed yet" in page
    assert "No go-ahead is recorded yet" in page
    assert 'name="code"' not in page
    assert not open_acts(way, page)
    way.find()
    answer = send(client, part_url(way), fitted(way))
    assert answer.status_code == 422
    assert "The teardown is not signed yet" in page_of(answer)
    assert not PartUsed.objects.exists()


def test_what_cannot_be_recorded_yet_is_not_offered(client):
    way = Journey().receive().find().close_teardown()
    Lot.objects.update(use_by="2090-01-01")  # pages ask the real clock
    client.force_login(way.people["bench"])
    page = page_of(client.get(url(way)))
    assert f"lot {lot_for(way).number}" in page
    assert not open_acts(way, page)
    scanned = page_of(client.get(url(way), {"lot": lot_for(way).number}))
    assert "where does it go?" not in scanned
    way.go_ahead()
    page = page_of(client.get(url(way)))
    assert open_acts(way, page) == {part_url(way, "S1"), url(way, "operation"), url(way, "send_out")}
    assert "where does it go?" in page_of(client.get(url(way), {"lot": lot_for(way).number}))


def test_a_test_that_stands_leaves_nothing_to_record(client):
    way = Journey().receive().find().close_teardown().go_ahead().fit().close_build().start_test()
    client.force_login(way.people["bench"])
    page = page_of(client.get(url(way)))
    assert "It is superseded with a reason before anything" in page
    assert not open_acts(way, page)


def test_others_may_look_and_are_told_who_records(client, way):
    use(way, "S1")
    client.force_login(person("stores"))
    page = page_of(client.get(url(way)))
    assert "Bench or lead records parts and rework" in page
    assert "<form" not in page.split("<main")[1]
    assert "Take back" not in page


def test_the_page_costs_the_same_for_twenty_places_as_for_ten(tech, way):
    def count():
        with CaptureQueriesContext(connection) as asked:
            tech.get(url(way))
        return len(asked)

    use(way, "S1")
    count()
    few = count()
    for number in range(10):
        position = factories.PositionFactory(revision=way.revision, code=f"T{number}")
        line = KitLine.objects.create(kit=way.revision.kit, position=position, part=factories.PartFactory())
        factories.LotFactory(part=line.part, use_by="2090-01-01")
        teardown.record_finding(
            act=way.act("bench", "added later"),
            rebuild=way.rebuild,
            place=position,
            condition="worn",
            cause="wear",
            action="renewed",
        )
        build.use_part(
            act=way.act("bench"), rebuild=way.rebuild, place=position, lot=line.part.lots.get(), quantity=1
        )
    assert count() == few


# --- scans ---


def scan(client, way, code, **kwargs):
    return send(client, url(way, "scan_part"), {"code": code}, **kwargs)


@pytest.mark.parametrize("shape", ["{}", " {} ", "https://svc.example/lots/{}/"])
def test_scanning_a_lot_fills_the_one_place_that_waits_for_it(tech, way, shape):
    lot = lot_for(way, "S2")
    assert scan(tech, way, shape.format(lot.number.lower())).url == url(way)
    row = PartUsed.objects.get()
    assert (row.place, row.lot) == (place(way, "S2"), lot)
    assert "S2 piston seal: 1 of lot" in page_of(tech.get(url(way)))


def test_a_lot_that_fits_two_open_places_asks_which(tech, way):
    line = KitLine.objects.get(position=place(way, "S2"))
    line.part = lot_for(way, "S1").part
    line.save()
    answer = scan(tech, way, lot_for(way).number)
    assert answer.url == f"{url(way)}?lot={lot_for(way).number}"
    page = page_of(tech.get(answer.url))
    assert f'href="{part_url(way, "S1")}?lot={lot_for(way).number}"' in page
    assert f'href="{part_url(way, "S2")}?lot={lot_for(way).number}"' in page
    assert not PartUsed.objects.exists()


def test_a_lot_that_no_open_place_takes_asks_where_it_goes(tech, way):
    stray = factories.LotFactory()
    assert scan(tech, way, stray.number).url == f"{url(way)}?lot={stray.number}"
    form = page_of(tech.get(f"{part_url(way)}?lot={stray.number}"))
    assert f'value="{stray.number}"' in form


def test_a_scanned_static_profile_for_a_moving_place_leads_to_the_reason(tech, way):
    SealPosition.objects.filter(pk=place(way, "S3").pk).update(motion="reciprocating")
    lot = lot_for(way, "S3")
    answer = scan(tech, way, lot.number)
    assert answer.url == f"{part_url(way, 'S3')}?lot={lot.number}"
    refused = send(tech, part_url(way, "S3"), fitted(way, "S3"))
    assert refused.status_code == 422
    assert "rolls and wears" in page_of(refused)
    done = send(tech, part_url(way, "S3"), fitted(way, "S3", fit_reason="travel under 1 mm"))
    assert done.url == url(way)
    assert "travel under 1 mm" in page_of(tech.get(url(way)))


def test_one_scan_of_a_packed_kit_fills_all(tech, way):
    lots = {line: line.part.lots.get() for line in way.revision.kit.lines.all()}
    kit = pack_kit(act=way.act("stores"), kit=way.revision.kit, lots=lots, code="PK-7")
    token = uuid.uuid4().hex
    for _ in range(2):
        assert scan(tech, way, "pk-7", token=token).url == url(way)
    assert PartUsed.objects.count() == 4
    kit.refresh_from_db()
    assert kit.state == PackedKit.State.USED
    page = page_of(tech.get(url(way)))
    assert "Kit PK-7 fills" in page
    assert "no place waits for a part" in page


@pytest.mark.parametrize(
    ("code", "words"), [("NOPE-1", "No lot and no packed kit is called NOPE-1"), ("", "still empty")]
)
def test_a_scan_that_is_nothing_is_refused_and_kept(tech, way, code, words):
    before = rows()
    answer = scan(tech, way, code)
    assert answer.status_code == 422
    page = page_of(answer)
    assert words in page
    assert f'value="{code}"' in page if code else True
    assert rows() == before


def test_scanning_a_lot_on_hold_is_refused_with_the_reason(tech, way):
    hold_lot(act=way.act("stores"), lot=lot_for(way), reason="cracked pieces")
    before = rows()
    answer = scan(tech, way, lot_for(way).number)
    assert answer.status_code == 422
    assert "cracked pieces" in page_of(answer)
    assert rows() == before


# --- the form of one part ---


def test_the_form_starts_with_the_pieces_that_are_still_wanted(tech, way):
    way.revision.kit.lines.filter(position=place(way, "S1")).update(quantity=3)
    page = page_of(tech.get(f"{part_url(way)}?lot={lot_for(way).number}"))
    assert re.search(r'name="quantity" value="3"', page)


def test_spoiled_pieces_are_recorded(tech, way):
    send(tech, part_url(way), fitted(way, use="spoiled", quantity="2"))
    row = PartUsed.objects.get()
    assert (row.use, row.quantity) == ("spoiled", 2)
    assert open_places(page_of(tech.get(url(way))))[0] == "S1"


def test_a_piece_found_in_the_bin_goes_in_as_such(tech, way):
    empty = factories.LotFactory(part=lot_for(way).part, quantity_received=1, use_by="2090-01-01")
    told = fitted(way, lot=empty.number)
    send(tech, part_url(way), told)
    refused = send(tech, part_url(way), told)
    assert refused.status_code == 422
    assert "does not hold 1 of lot" in page_of(refused)
    send(tech, part_url(way), {**told, "found_in_bin": "on"})
    assert PartUsed.objects.filter(found_in_bin=True).count() == 1
    assert Movement.objects.filter(lot=empty, kind="found").count() == 1
    assert "found in bin" in page_of(tech.get(url(way)))


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"lot": "NOPE-1"}, "No lot has the number NOPE-1"),
        ({"lot": ""}, "still empty"),
        ({"quantity": "0"}, "at least 1"),
        ({"quantity": "99"}, "does not hold 99"),
        ({"use": "eaten"}, "Select a valid choice"),
    ],
)
def test_a_refused_part_keeps_its_form_and_changes_nothing(tech, way, said, words):
    before = rows()
    answer = send(tech, part_url(way), fitted(way, **said))
    assert answer.status_code == 422
    assert words in page_of(answer)
    assert "Nothing was saved" in page_of(answer)
    assert rows() == before


def test_a_lot_past_its_date_is_refused_with_the_date(tech, way):
    Lot.objects.filter(pk=lot_for(way).pk).update(use_by="2026-01-31")
    answer = send(tech, part_url(way), fitted(way))
    assert answer.status_code == 422
    assert "past its use-by date of 31 Jan 2026" in page_of(answer)
    assert not PartUsed.objects.exists()


def test_a_double_tap_takes_one_piece_and_gives_the_same_answer(tech, way):
    token = uuid.uuid4().hex
    first, second = (send(tech, part_url(way), fitted(way), token=token) for _ in range(2))
    assert (first.status_code, first.url) == (second.status_code, second.url)
    assert PartUsed.objects.count() == 1
    assert Movement.objects.filter(kind="used").count() == 1


# --- taken back ---


def back_url(row):
    return reverse("workorders:take_back_part", args=[row.pk])


def test_a_wrong_entry_is_taken_back_once_and_both_stay_on_the_page(tech, way):
    row = use(way)
    assert f"{row.quantity} × {row.lot.part}" in page_of(tech.get(back_url(row)))
    token = uuid.uuid4().hex
    answers = {send(tech, back_url(row), {"why": "wrong bag"}, token=token).url for _ in range(2)}
    assert answers == {url(way)}
    assert PartTakenBack.objects.get().why == "wrong bag"
    page = page_of(tech.get(url(way)))
    assert "taken back" in page
    assert "wrong bag" in page
    assert open_places(page)[0] == "S1"
    again = send(tech, back_url(row), {"why": "once more"})
    assert again.status_code == 422
    assert "taken back already" in page_of(again)


def test_after_the_signature_taking_back_asks_for_the_reason(tech, way):
    for code in ("S1", "S2", "S3", "S4"):
        use(way, code)
    way.close_build()
    row = PartUsed.objects.first()
    before = rows()
    assert send(tech, back_url(row), {"why": ""}).status_code == 422
    assert rows() == before
    assert send(tech, back_url(row), {"why": "nicked lip"}).url == url(way)
    page = page_of(tech.get(url(way)))
    assert "signed before, changed since" in page


# --- rework ---

REWORK = {"kind": "hose_clipped", "tool": "clip pliers", "note": "", "lot_1": "", "lot_2": ""}


def rework_form(way, code="P1", **said):
    kind = {"S": "position", "K": "component", "P": "port", "H": "hose"}[code[0]]
    return {**REWORK, "place": f"{kind}-{place(way, code).pk}", **said}


def test_rework_is_recorded_with_its_parts(tech, way):
    clip = factories.LotFactory(part__kind="clip", part__polymer="", use_by=None)
    form = rework_form(way, lot_1=clip.number, quantity_1="2")
    token = uuid.uuid4().hex
    answers = {send(tech, url(way, "operation"), form, token=token).url for _ in range(2)}
    assert answers == {url(way) + "#operations"}
    row = Operation.objects.get()
    assert (row.kind, row.place, row.tool, row.done_by) == (
        "hose_clipped",
        place(way, "P1"),
        "clip pliers",
        way.people["bench"],
    )
    part = row.parts_used.get()
    assert (part.lot, part.quantity) == (clip, 2)
    page = page_of(tech.get(url(way)))
    assert "hose held by screwed clip" in page
    assert "clip pliers" in page


def test_rework_starts_at_the_place_it_was_asked_for(tech, way):
    value = rework_form(way)["place"]
    page = page_of(tech.get(url(way, "operation") + f"?kind=hose_clipped&place={value}"))
    assert re.search(rf'name="place" value="{value}"[^>]*checked', page)


@pytest.mark.parametrize(
    ("said", "words"),
    [
        ({"tool": ""}, "still empty"),
        ({"kind": ""}, "Nothing is chosen"),
        ({"place": "port-99999"}, "Select a valid choice"),
        ({"lot_1": "NOPE-1", "quantity_1": "1"}, "No lot has the number"),
        ({"lot_1": "REAL"}, "How many pieces"),
        ({"lot_1": "REAL", "quantity_1": "99"}, "does not hold 99"),
    ],
)
def test_refused_rework_changes_nothing(tech, way, said, words):
    if said.get("lot_1") == "REAL":
        said = {**said, "lot_1": lot_for(way).number}
    before = rows()
    answer = send(tech, url(way, "operation"), rework_form(way, **said))
    assert answer.status_code == 422
    assert words in page_of(answer)
    assert rows() == before


def test_rework_is_corrected_with_a_reason(tech, way):
    send(tech, url(way, "operation"), rework_form(way))
    row = Operation.objects.get()
    address = reverse("workorders:correct_operation", args=[row.pk])
    page = page_of(tech.get(address))
    assert 'value="clip pliers"' in page
    form = rework_form(way, "K1", kind="honed", tool="hone 320")
    assert send(tech, address, form).status_code == 422
    assert send(tech, address, {**form, "why": "wrong place"}).url == url(way) + "#operations"
    row.refresh_from_db()
    assert (row.kind, row.place) == ("honed", place(way, "K1"))
    assert row.history.latest().history_change_reason == "wrong place"


# --- signing ---


def test_the_signing_page_names_what_is_missing(tech, way):
    use(way, "S1")
    page = page_of(tech.get(url(way, "close_build")))
    for code in ("S2", "S3", "S4"):
        assert f'href="{part_url(way, code)}"' in page
    assert "Your signature" not in page
    before = rows()
    answer = send(tech, url(way, "close_build"), {})
    assert answer.status_code == 422
    assert "S2 piston seal: to be renewed, but no part is fitted" in page_of(answer)
    assert rows() == before


def test_a_complete_build_is_signed_once(tech, way):
    for code in ("S1", "S2", "S3", "S4"):
        use(way, code)
    token = uuid.uuid4().hex
    answers = {send(tech, url(way, "close_build"), {}, token=token).url for _ in range(2)}
    assert answers == {way.rebuild.get_absolute_url()}
    assert way.rebuild.signatures.filter(meaning="built").count() == 1
    assert (
        "repaired as necessary and reassembled" in page_of(tech.get(way.rebuild.get_absolute_url())).lower()
    )


def test_the_reason_for_left_out_parts_is_asked_of_the_lead_only(client, way):
    asked = {}
    for role in ("bench", "lead"):
        client.force_login(person(role))
        asked[role] = 'name="why"' in page_of(client.get(url(way, "close_build")))
    assert asked == {"bench": False, "lead": True}


# --- who and where ---


def writes(way):
    row = use(way, "S4")
    operation = build.record_operation(
        act=way.act("bench"), rebuild=way.rebuild, kind="cleaned", place=None, tool="washer"
    )
    return [
        (part_url(way), fitted(way)),
        (url(way, "scan_part"), {"code": lot_for(way).number}),
        (back_url(row), {"why": "wrong"}),
        (url(way, "operation"), rework_form(way)),
        (reverse("workorders:correct_operation", args=[operation.pk]), rework_form(way, why="wrong")),
        (url(way, "close_build"), {}),
    ]


@pytest.mark.record_row("R34")
def test_strangers_sign_in_and_other_roles_are_told_whom_to_ask(client, way):
    addresses = writes(way)
    people = [person(role) for role in ("receiving", "warranty desk", "stores")]
    before = {table: number for table, number in rows().items() if table != "HistoricalUser"}
    for address, form in addresses:
        client.logout()
        answer = send(client, address, form)
        assert answer.status_code == 302
        assert answer.url.startswith(reverse("shop:sign_in"))
        for somebody in people:
            client.force_login(somebody)
            answer = send(client, address, form)
            assert answer.status_code == 403
            assert "bench or lead" in page_of(answer)
    assert before.items() <= rows().items()


def test_a_scan_is_only_ever_posted(tech, way):
    assert tech.get(url(way, "scan_part")).status_code == 405


@pytest.mark.parametrize(
    "path",
    [
        "/rebuilds/99999/build/",
        "/rebuilds/99999/build/position/1/",
        "/rebuilds/{pk}/build/position/99999/",
        "/rebuilds/{pk}/build/hinge/1/",
        "/rebuilds/99999/build/operation/",
        "/rebuilds/99999/build/sign/",
        "/operations/99999/",
        "/parts-used/99999/take-back/",
    ],
)
def test_what_is_not_there_is_404(tech, way, path):
    assert tech.get(path.format(pk=way.rebuild.pk)).status_code == 404


def test_a_released_rebuild_takes_no_part_through_any_page(tech, way):
    for code in ("S1", "S2", "S3", "S4"):
        use(way, code)
    way.close_build().start_test().run_steps().sign_test().release()
    addresses = [
        (part_url(way), fitted(way, why="one more")),
        (url(way, "scan_part"), {"code": lot_for(way).number}),
        (back_url(PartUsed.objects.first()), {"why": "wrong"}),
        (url(way, "operation"), rework_form(way, why="one more")),
        (url(way, "close_build"), {}),
    ]
    before = rows()
    for address, form in addresses:
        assert send(tech, address, form).status_code == 422
    assert rows() == before
    assert Rebuild.objects.get().stage == "released"
