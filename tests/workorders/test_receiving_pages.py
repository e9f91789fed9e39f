"""The pages of the receiving clerk, as a browser without JavaScript meets them."""

import uuid

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.urls import reverse

from shop.models import Application, Customer, MountingPlace, TypeRevision
from tests.asking import picture, rows, send
from tests.factories import (
    CustomerFactory,
    HoseFactory,
    MakerNumberFactory,
    PortFactory,
    RebuildFactory,
    TypeRevisionFactory,
    UnitFactory,
    UnitTypeFactory,
    WorkOrderFactory,
    person,
)
from workorders.calc.serial import draw_serial, grouped
from workorders.models import Photo, Rebuild, Unit, WorkOrder

pytestmark = pytest.mark.django_db
RECEIVE = reverse("workorders:receive")
ENTRY = {"name": "Harrow Lift Hire", "kind": "trade", "phone": "01632 960017", "seen": ""}
INTAKE = {
    "maker_serial": "MX 77",
    "opened_before": "not_before",
    "arrival_condition": "oily, rod scored",
    "reported": "drifts down",
    "hoses": ["3"],
    "other_hoses": "9",
    "missing": "clip\nscrew, M5",
    "extra": "",
    "destination": "customer",
    "shelf": "B2",
}


@pytest.fixture
def clerk(client, receiving):
    client.force_login(receiving)
    return client


@pytest.fixture
def order():
    return WorkOrderFactory()


@pytest.fixture
def revision():
    revision = TypeRevisionFactory(unit_type__maker="Ostrow")
    for number in ("HC-2512-160", "HC-2512-161"):
        MakerNumberFactory(unit_type=revision.unit_type, number=number)
    HoseFactory(port=PortFactory(revision=revision, code="P1"), code="3")
    HoseFactory(port=PortFactory(revision=revision, code="P2"), code="4")
    return revision


def add_new_url(order, revision):
    return reverse("workorders:add_new", args=[order.number, revision.unit_type_id])


def add_known_url(order, unit):
    return reverse("workorders:add_known", args=[order.number, unit.serial])


def text_of(answer):
    return answer.content.decode()


# ---------- who sent it ----------


def test_the_clerk_finds_the_customer_by_telephone_digits(clerk):
    row = CustomerFactory(phone="01632 960017", phone_digits="01632960017")
    CustomerFactory(phone="01632 960018", phone_digits="01632960018")
    page = text_of(clerk.get(RECEIVE, {"q": "960 017"}))
    assert f'href="{reverse("workorders:receive_for", args=[row.pk])}"' in page
    assert "1 in the books" in page


def test_a_scanned_unit_finds_who_sent_it_last(clerk):
    rebuild = RebuildFactory()
    address = f"HTTPS://SVC.EXAMPLE/U/{rebuild.unit.serial}\t"
    page = text_of(clerk.get(RECEIVE, {"q": address}))
    assert f'href="{reverse("workorders:receive_for", args=[rebuild.work_order.customer_id])}"' in page
    assert "was sent last by" in page


@pytest.mark.parametrize(
    ("typed", "field"), [("Harrow", "name"), ("01632 960017", "phone"), ("yard@example.com", "email")]
)
def test_a_search_without_result_opens_the_form_with_what_was_typed(clerk, typed, field):
    page = text_of(clerk.get(RECEIVE, {"q": typed}))
    assert "Nobody in the books matches" in page
    assert '<details class="panel" id="new-customer" open>' in page
    assert f'name="{field}" value="{typed}"' in page


def test_a_new_customer_is_entered_in_place_and_leads_to_the_work_order(clerk):
    answer = send(clerk, RECEIVE, ENTRY)
    row = Customer.objects.get()
    assert answer["Location"] == reverse("workorders:receive_for", args=[row.pk])


def test_a_likely_double_is_offered_first(clerk):
    there = CustomerFactory(phone="+44 1632 960017", phone_digits="441632960017")
    before = rows()
    answer = send(clerk, RECEIVE, ENTRY)
    assert answer.status_code == 422
    assert f'href="{reverse("workorders:receive_for", args=[there.pk])}"' in text_of(answer)
    assert rows() == before
    assert send(clerk, RECEIVE, {**ENTRY, "seen": str(there.pk)}).status_code == 302


def test_a_wrong_entry_is_shown_again_with_its_form_open(clerk):
    before = rows()
    answer = send(clerk, RECEIVE, {**ENTRY, "name": ""})
    assert answer.status_code == 422
    assert '<details class="panel" id="new-customer" open>' in text_of(answer)
    assert rows() == before


@pytest.mark.parametrize("asked", ["²", "x"])
def test_a_list_of_nobody_who_is_a_number_is_the_list_of_all(client, receiving, asked):
    order = WorkOrderFactory()
    client.force_login(receiving)
    answer = client.get(reverse("workorders:work_orders"), {"customer": asked, "show": "all"})
    assert answer.status_code == 200
    assert order.number in answer.content.decode()


def test_a_work_order_is_opened_once_for_a_double_tap(clerk, receiving):
    customer = CustomerFactory()
    url, token = reverse("workorders:receive_for", args=[customer.pk]), uuid.uuid4().hex
    first, second = (send(clerk, url, {"customer_order": "PO 7", "note": ""}, token=token) for _ in range(2))
    order = WorkOrder.objects.get()
    assert first["Location"] == second["Location"] == order.get_absolute_url()
    assert (order.customer, order.customer_order, order.opened_by) == (customer, "PO 7", receiving)


def test_an_open_work_order_of_the_customer_is_offered_first(clerk):
    customer = CustomerFactory()
    url = reverse("workorders:receive_for", args=[customer.pk])
    assert "Open already for this customer" not in text_of(clerk.get(url))
    empty = WorkOrderFactory(customer=customer)
    here = RebuildFactory(work_order__customer=customer).work_order
    gone = RebuildFactory(work_order__customer=customer, stage=Rebuild.Stage.SHIPPED).work_order
    page = text_of(clerk.get(url))
    assert empty.get_absolute_url() in page
    assert here.get_absolute_url() in page
    assert gone.get_absolute_url() not in page


def test_an_order_number_that_is_too_long_is_refused(clerk):
    before = Customer.objects.count(), WorkOrder.objects.count()
    url = reverse("workorders:receive_for", args=[CustomerFactory().pk])
    assert send(clerk, url, {"customer_order": "x" * 61, "note": ""}).status_code == 422
    assert (Customer.objects.count() - 1, WorkOrder.objects.count()) == before


# ---------- the field that adds a unit ----------


@pytest.mark.parametrize("write", [str, str.lower, grouped, "HTTPS://SVC.EXAMPLE/U/{}\r\n".format])
def test_a_shop_serial_however_written_leads_to_the_known_unit(clerk, order, write):
    unit = UnitFactory()
    answer = clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": write(unit.serial)})
    assert (answer.status_code, answer["Location"]) == (302, add_known_url(order, unit))


def test_a_mistyped_serial_is_refused_with_a_sentence_that_says_so(clerk, order):
    # Without Y and Z: a keyboard that swaps the two could have sent another serial that is right.
    serial = next(s for s in iter(draw_serial, "") if not s.isdigit() and not set(s) & set("YZ"))
    wrong = serial[:-1] + ("7" if serial[-1] != "7" else "8")
    answer = clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": grouped(wrong)})
    assert answer.status_code == 422
    assert "is mistyped: its check character does not match" in text_of(answer)


def test_a_serial_that_nobody_carries_is_said_to_be_unknown(clerk, order):
    serial = next(s for s in iter(draw_serial, "") if not s.isdigit())
    answer = clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": serial})
    assert answer.status_code == 422
    assert f"No unit carries the shop serial {grouped(serial)}" in text_of(answer)


@pytest.mark.parametrize("text", ["{code}", "LIFT CYL", "hc-2512-161", "ostrow lift"])
def test_a_unit_type_is_found_by_code_name_maker_and_makers_number(clerk, order, revision, text):
    TypeRevisionFactory(unit_type__name="Pump set", unit_type__code="PX9")
    wanted = text.format(code=revision.unit_type.code)
    page = text_of(clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": wanted}))
    assert add_new_url(order, revision) in page
    assert "Pump set" not in page


def test_a_makers_serial_seen_before_leads_to_its_unit(clerk, order):
    unit = UnitFactory(maker_serial="MX 77")
    page = text_of(clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": "mx 77"}))
    assert add_known_url(order, unit) in page


def test_a_type_without_approved_revision_is_shown_but_not_offered(clerk, order):
    draft = TypeRevisionFactory(state=TypeRevision.State.DRAFT, unit_type__code="DR1")
    page = text_of(clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": "DR1"}))
    assert "no approved revision yet" in page
    assert add_new_url(order, draft) not in page


def test_the_empty_field_offers_the_types_that_come_most(clerk, order, revision):
    often = UnitFactory().unit_type
    UnitTypeFactory(code="BARE")
    page = text_of(clerk.get(reverse("workorders:add_unit", args=[order.number])))
    assert page.index(f"<b>{often.code}</b>") < page.index(f"<b>{revision.unit_type.code}</b>")
    assert "BARE" not in page


def test_what_finds_nothing_says_what_to_try(clerk, order):
    page = text_of(clerk.get(reverse("workorders:add_unit", args=[order.number]), {"q": "zzz"}))
    assert "No unit and no unit type matches" in page


def test_typing_swaps_only_the_choices(clerk, order, revision):
    url = reverse("workorders:add_unit", args=[order.number])
    part = text_of(clerk.get(url, {"q": "lift"}, headers={"HX-Request": "true"}))
    assert "<html" not in part
    assert part.strip() in text_of(clerk.get(url, {"q": "lift"}))
    unit = UnitFactory()
    live = clerk.get(url, {"q": unit.serial}, headers={"HX-Request": "true"})
    assert live.status_code == 200
    assert add_known_url(order, unit) in text_of(live)


def test_the_search_costs_the_same_for_few_and_many_types(clerk, order, django_assert_max_num_queries):
    url = reverse("workorders:add_unit", args=[order.number])
    for _ in range(10):
        TypeRevisionFactory()
    with django_assert_max_num_queries(30) as few:
        clerk.get(url, {"q": "lift"})
    for _ in range(10):
        TypeRevisionFactory()
    with django_assert_max_num_queries(len(few)):
        clerk.get(url, {"q": "lift"})


# ---------- a new unit ----------


def test_a_new_unit_is_received_from_the_page(clerk, receiving, order, revision):
    url = add_new_url(order, revision)
    page = text_of(clerk.get(url))
    assert "3 (port P1)" in page
    assert 'capture="environment"' in page
    photos = {"photo": [picture("a.png"), picture("b.png")], "camera": picture("c.png")}
    answer = send(clerk, url, {**INTAKE, **photos})
    rebuild = Rebuild.objects.get()
    assert answer["Location"] == reverse("workorders:intake", args=[rebuild.pk])
    assert (rebuild.unit.maker_serial, rebuild.reported, rebuild.shelf) == ("MX 77", "drifts down", "B2")
    assert [str(item) for item in rebuild.arrival_items.all()] == [
        "hose attached: 3",
        "hose attached: 9",
        "missing part: clip",
        "missing part: screw, M5",
    ]
    assert rebuild.photos.filter(moment=Photo.Moment.RECEIVING).count() == 3
    assert rebuild.history.get().history_user == receiving
    shown = text_of(clerk.get(answer["Location"]))
    for wanted in (
        "Received: unit",
        "Print its label",
        "Wired tag",
        "Add the next unit",
        "drifts down",
        "3, 9",
    ):
        assert wanted in shown
    assert shown.count('loading="lazy"') == 3
    photo = rebuild.photos.first()
    assert clerk.get(photo.file.get_absolute_url())["Content-Type"] == "image/jpeg"


def test_a_double_tap_receives_one_unit_and_gives_the_same_answer(clerk, order, revision):
    token = uuid.uuid4().hex
    first, second = (send(clerk, add_new_url(order, revision), INTAKE, token=token) for _ in range(2))
    assert (first.status_code, first["Location"]) == (second.status_code, second["Location"])
    assert (Unit.objects.count(), Rebuild.objects.count()) == (1, 1)


@pytest.mark.parametrize(
    ("field", "value", "sentence"),
    [
        ("arrival_condition", " ", "This is still empty"),
        ("opened_before", "", "Nothing is chosen yet"),
        ("hoses", ["17"], "Select a valid choice"),
        ("missing", "x" * 61, "is longer than 60 characters"),
        ("maker_serial", "x" * 61, "at most 60 characters"),
    ],
)
def test_a_wrong_intake_is_named_and_nothing_is_received(clerk, order, revision, field, value, sentence):
    before = rows()
    answer = send(clerk, add_new_url(order, revision), {**INTAKE, field: value})
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert rows() == before


def test_a_refused_form_says_that_photos_must_be_chosen_again(clerk, order, revision):
    answer = send(clerk, add_new_url(order, revision), {**INTAKE, "opened_before": "", "photo": picture()})
    assert "choose those that are missing" in text_of(answer)


def test_a_file_that_is_no_photo_is_refused_beside_its_field(clerk, order, revision):
    before = rows()
    answer = send(clerk, add_new_url(order, revision), {**INTAKE, "photo": picture("x.gif", kind="GIF")})
    assert answer.status_code == 422
    assert "x.gif: This file is not a photo" in text_of(answer)
    assert rows() == before


def test_a_photo_in_heic_is_refused_with_the_way_out(clerk, order, revision):
    # The first box of such a file (ISO/IEC 14496-12 ftyp; brand "heic" of ISO/IEC 23008-12).
    heic = SimpleUploadedFile("shot.heic", b"\0\0\0\x18ftypheic\0\0\0\0mif1heic" + bytes(64))
    answer = send(clerk, add_new_url(order, revision), {**INTAKE, "photo": heic})
    assert answer.status_code == 422
    assert "shot.heic: A photo in HEIC cannot be read here. Set the camera to JPEG" in text_of(answer)


def test_a_makers_serial_seen_before_offers_the_known_unit(clerk, order, revision):
    unit = UnitFactory(unit_type=revision.unit_type, maker_serial="MX 77")
    before = rows()
    answer = send(clerk, add_new_url(order, revision), INTAKE)
    assert answer.status_code == 422
    assert f'href="{add_known_url(order, unit)}"' in text_of(answer)
    assert rows() == before


def test_a_type_without_approved_revision_is_refused_with_a_sentence(clerk, order):
    draft = TypeRevisionFactory(state=TypeRevision.State.DRAFT)
    before = rows()
    for answer in (clerk.get(add_new_url(order, draft)), send(clerk, add_new_url(order, draft), INTAKE)):
        assert answer.status_code == 422
        assert "has no approved revision yet" in text_of(answer)
    assert rows() == before


@pytest.fixture
def lifts(revision):
    """The left and the right place of one ramp."""
    ramp = Application.objects.create(name="Access ramp AR")
    made = MountingPlace.objects.create
    left = made(application=ramp, unit_type=revision.unit_type, name="left lift")
    return left, made(application=ramp, unit_type=revision.unit_type, name="right lift", twin_of=left)


def test_only_the_places_of_the_type_are_offered_and_twins_are_warned_about(clerk, order, revision, lifts):
    made = MountingPlace.objects.create
    made(application=lifts[0].application, unit_type=TypeRevisionFactory().unit_type, name="steps")
    page = text_of(clerk.get(add_new_url(order, revision)))
    assert "Access ramp AR: left lift and Access ramp AR: right lift" in page
    assert "steps" not in page
    answer = send(clerk, add_new_url(order, revision), {**INTAKE, "mounting_place": lifts[0].pk}, follow=True)
    assert "has a twin, Access ramp AR: right lift: mark this unit" in text_of(answer)


def test_twins_in_one_work_order_are_shown_on_its_page(clerk, order, revision, lifts):
    for place, stamp in zip(lifts, ("MX 1", "MX 2"), strict=True):
        assert "keep their parts apart" not in text_of(clerk.get(order.get_absolute_url()))
        send(
            clerk, add_new_url(order, revision), {**INTAKE, "maker_serial": stamp, "mounting_place": place.pk}
        )
        clerk.get(reverse("workorders:intake", args=[Rebuild.objects.latest("pk").pk]))  # reads the messages
    assert "keep their parts apart" in text_of(clerk.get(order.get_absolute_url()))


# ---------- a known unit ----------


def test_the_history_of_a_known_unit_stands_above_the_form(clerk, order):
    gone = RebuildFactory(stage=Rebuild.Stage.RETURNED_AS_FOUND, exit_reason="not worth it")
    page = text_of(clerk.get(add_known_url(order, gone.unit)))
    for wanted in (gone.work_order.number, "not worth it", "No warranty from this shop", "Earlier rebuilds"):
        assert wanted in page


def test_a_known_unit_is_received_from_the_page(clerk, order):
    gone = RebuildFactory(stage=Rebuild.Stage.SHIPPED)
    answer = send(clerk, add_known_url(order, gone.unit), {**INTAKE, "hoses": []})
    rebuild = gone.unit.rebuilds.get(number=2)
    assert answer["Location"] == reverse("workorders:intake", args=[rebuild.pk])
    assert rebuild.work_order == order


def test_a_unit_that_is_here_is_said_to_be_here_and_not_received(clerk, order):
    here = RebuildFactory()
    page = text_of(clerk.get(add_known_url(order, here.unit)))
    assert "This unit is in the shop already" in page
    assert "Receive this unit" not in page
    before = rows()
    answer = send(clerk, add_known_url(order, here.unit), {**INTAKE, "hoses": []})
    assert answer.status_code == 422
    assert rows() == before


# ---------- the intake afterwards ----------


@pytest.fixture
def received(clerk, order, revision):
    send(clerk, add_new_url(order, revision), INTAKE)
    rebuild = Rebuild.objects.get()
    clerk.get(reverse("workorders:intake", args=[rebuild.pk]))
    return rebuild


def test_a_correction_shows_what_stood_before_with_person_and_reason(clerk, receiving, received):
    url = reverse("workorders:intake_change", args=[received.pk])
    page = text_of(clerk.get(url))
    for wanted in ("oily, rod scored", 'value="MX 77"', "screw, M5"):
        assert wanted in page
    told = {**INTAKE, "arrival_condition": "rod bent", "other_hoses": "", "why": "seen in daylight"}
    answer = send(clerk, url, told)
    assert answer["Location"] == reverse("workorders:intake", args=[received.pk])
    shown = text_of(clerk.get(answer["Location"]))
    for wanted in (
        "Condition on arrival: was “oily, rod scored”, now “rod bent”",
        "hose attached: 9: removed",
        "Seen in daylight",
        str(receiving),
    ):
        assert wanted in shown


def test_a_form_saved_as_it_came_changes_nothing_but_the_signature(clerk, received):
    url = reverse("workorders:intake_change", args=[received.pk])
    form = clerk.get(url).context["form"]
    told = {name: form.get_initial_for_field(field, name) for name, field in form.fields.items()}
    told = {name: value for name, value in told.items() if value is not None}
    items = list(received.arrival_items.values_list("pk", "label"))
    send(clerk, url, {**told, "why": "looked again"})
    assert list(received.arrival_items.values_list("pk", "label")) == items
    assert received.signatures.count() == 2
    assert "Nothing was corrected." in text_of(clerk.get(reverse("workorders:intake", args=[received.pk])))


@pytest.mark.parametrize(("field", "value"), [("why", ""), ("arrival_condition", "")])
def test_a_wrong_correction_is_refused(clerk, received, field, value):
    before = rows()
    told = {**INTAKE, "why": "seen in daylight", field: value}
    assert send(clerk, reverse("workorders:intake_change", args=[received.pk]), told).status_code == 422
    assert rows() == before


def test_a_closed_intake_is_not_corrected_by_its_address_either(clerk):
    gone = RebuildFactory(stage=Rebuild.Stage.SHIPPED)
    before = rows()
    told = {**INTAKE, "hoses": [], "why": "late"}
    answer = send(clerk, reverse("workorders:intake_change", args=[gone.pk]), told)
    assert answer.status_code == 422
    assert "closed" in text_of(answer)
    assert rows() == before
    page = text_of(clerk.get(reverse("workorders:intake", args=[gone.pk])))
    assert "can no longer be corrected" in page
    assert reverse("workorders:intake_change", args=[gone.pk]) not in page


def test_a_double_tap_corrects_once(clerk, received):
    url, token = reverse("workorders:intake_change", args=[received.pk]), uuid.uuid4().hex
    told = {**INTAKE, "shelf": "C1", "why": "moved"}
    first, second = (send(clerk, url, told, token=token) for _ in range(2))
    assert first["Location"] == second["Location"]
    assert received.signatures.count() == 2


def test_the_bench_moves_a_unit_but_does_not_correct_its_intake(client, received):
    client.force_login(person("bench"))
    answer = send(client, reverse("workorders:shelf", args=[received.pk]), {"shelf": "wash"})
    assert answer.status_code == 302
    received.refresh_from_db()
    assert received.shelf == "wash"
    page = text_of(client.get(reverse("workorders:intake", args=[received.pk])))
    assert "Correct the intake" not in page
    assert "Ask somebody from: receiving or lead" in page


def test_a_shelf_that_is_too_long_or_a_unit_that_left_is_refused(clerk, received):
    url = reverse("workorders:shelf", args=[received.pk])
    gone = RebuildFactory(stage=Rebuild.Stage.SHIPPED)
    before = rows()
    assert send(clerk, url, {"shelf": "x" * 41}).status_code == 422
    answer = send(clerk, reverse("workorders:shelf", args=[gone.pk]), {"shelf": "wash"})
    assert answer.status_code == 422
    assert "has left the shop" in text_of(answer)
    assert rows() == before


def test_the_shelf_is_changed_by_post_only(clerk, received):
    assert clerk.get(reverse("workorders:shelf", args=[received.pk])).status_code == 405


def test_photos_are_added_later_with_what_they_show(client, received):
    client.force_login(person("bench"))
    url, token = reverse("workorders:photos", args=[received.pk]), uuid.uuid4().hex
    told = {"moment": "teardown", "caption": "rod end"}
    for _ in range(2):
        answer = send(client, url, {**told, "photo": [picture("a.png"), picture("b.png")]}, token=token)
        assert answer["Location"] == url
    assert received.photos.filter(moment="teardown", caption="rod end").count() == 2
    assert text_of(client.get(url)).count('loading="lazy"') == 2


def test_photos_and_items_cost_the_same_for_few_and_many(
    clerk, order, revision, django_assert_max_num_queries
):
    told = [
        {**INTAKE, "maker_serial": f"MX {n}", "extra": "\n".join(f"part {n}" for n in range(n))}
        for n in (2, 6)
    ]
    few, many = (
        send(
            clerk, add_new_url(order, revision), {**row, "photo": [picture(f"{n}.png") for n in range(count)]}
        )
        for row, count in zip(told, (1, 4), strict=True)
    )
    for page in (few["Location"], few["Location"].replace("intake", "photos")):
        clerk.get(page)
        with django_assert_max_num_queries(40) as asked:
            clerk.get(page)
        with django_assert_max_num_queries(len(asked)):
            clerk.get(page.replace(few["Location"].split("/")[2], many["Location"].split("/")[2]))


@pytest.mark.parametrize(
    ("told", "sentence"),
    [
        ({"moment": "teardown"}, "Choose at least one photo"),
        ({"moment": "dawn", "photo": True}, "Select a valid choice"),
        ({"moment": "teardown", "photo": False}, "This file is not a photo"),
    ],
)
def test_wrong_photos_are_refused(clerk, received, told, sentence):
    if "photo" in told:
        told = {**told, "photo": picture(kind="PNG" if told["photo"] else "GIF")}
    before = rows()
    answer = send(clerk, reverse("workorders:photos", args=[received.pk]), told)
    assert answer.status_code == 422
    assert sentence in text_of(answer)
    assert rows() == before


# ---------- the same questions for every page ----------


def addresses():
    """Each page with rows that exist."""
    order, rebuild, customer = WorkOrderFactory(), RebuildFactory(), CustomerFactory()
    return {
        "receive": [],
        "receive_for": [customer.pk],
        "add_unit": [order.number],
        "add_new": [order.number, rebuild.unit.unit_type_id],
        "add_known": [order.number, rebuild.unit.serial],
        "intake": [rebuild.pk],
        "intake_change": [rebuild.pk],
        "shelf": [rebuild.pk],
        "photos": [rebuild.pk],
    }


PAGES = (
    "receive",
    "receive_for",
    "add_unit",
    "add_new",
    "add_known",
    "intake",
    "intake_change",
    "shelf",
    "photos",
)
FOR_RECEIVING = tuple(name for name in PAGES if name not in ("intake", "shelf", "photos"))


@pytest.mark.parametrize("name", PAGES)
def test_signed_out_visitors_are_sent_to_sign_in(client, name):
    url = reverse(f"workorders:{name}", args=addresses()[name])
    before = rows()
    for answer in (client.get(url), send(client, url)):
        assert answer.status_code == 302
        assert answer["Location"].startswith(reverse("shop:sign_in"))
    assert rows() == before


@pytest.mark.parametrize("role", ["bench", "warranty desk", "stores"])
@pytest.mark.parametrize("name", FOR_RECEIVING)
def test_other_roles_are_told_who_may(client, role, name):
    client.force_login(person(role))
    url = reverse(f"workorders:{name}", args=addresses()[name])
    before = rows()
    for answer in (client.get(url), send(client, url, INTAKE)):
        if answer.status_code == 405:
            continue
        assert answer.status_code == 403
        assert "receiving or lead" in text_of(answer)
    assert rows() == before


@pytest.mark.parametrize("name", [name for name in PAGES if name != "receive"])
def test_an_unknown_row_is_not_found(clerk, name):
    args = [4711 if isinstance(arg, int) else "NONE" for arg in addresses()[name]]
    url = reverse(f"workorders:{name}", args=args)
    assert (send(clerk, url) if name == "shelf" else clerk.get(url)).status_code == 404


def test_a_form_without_its_token_is_refused(clerk, order, revision):
    before = rows()
    assert clerk.post(add_new_url(order, revision), INTAKE).status_code == 400
    assert rows() == before
