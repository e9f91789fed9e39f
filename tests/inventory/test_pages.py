"""The pages of the stores that only show: what they say, to whom, and at what cost."""

import datetime as dt

import pytest
from django.db import connection
from django.test.utils import CaptureQueriesContext
from django.urls import reverse
from pypdf import PdfReader

from inventory.models import Balance, Kit, KitLine
from inventory.services import kits, lot_state, stock
from inventory.views import columns
from shop import panels
from tests.asking import rows
from tests.factories import (
    LotFactory,
    PartFactory,
    PositionFactory,
    SupplierFactory,
    TypeRevisionFactory,
    person,
)

pytestmark = pytest.mark.django_db


def page(client, name, *args, **query):
    answer = client.get(reverse(f"inventory:{name}", args=args), query)
    assert answer.status_code == 200, answer.status_code
    return answer.content.decode()


@pytest.fixture
def kit():
    kit = Kit.objects.create(revision=TypeRevisionFactory(), name="seal set")
    kit.line = KitLine.objects.create(
        kit=kit, position=PositionFactory(revision=kit.revision, name="rod seal"), part=PartFactory()
    )
    return kit


LISTS = ["parts", "suppliers", "lots", "found_in_bin", "kits", "packed_kits"]


@pytest.mark.parametrize("name", LISTS)
def test_an_empty_list_says_what_it_is_for(client, bench, name):
    client.force_login(bench)
    assert 'class="empty"' in page(client, name)


@pytest.mark.parametrize("name", LISTS)
def test_signed_out_people_see_no_stores(client, name):
    answer = client.get(reverse(f"inventory:{name}"))
    assert (answer.status_code, answer.url.startswith("/sign-in/")) == (302, True)


@pytest.mark.parametrize(
    ("name", "args"),
    [("part", [10**6]), ("lot", ["L-none"]), ("kit", [10**6]), ("packed_kit", ["K00-0000"])],
)
def test_what_does_not_exist_is_not_found(client, bench, name, args):
    client.force_login(bench)
    assert client.get(reverse(f"inventory:{name}", args=args)).status_code == 404


def full(act):
    """Add one of everything that the lists show."""
    bench = act(person("bench"))
    kit = Kit.objects.create(revision=TypeRevisionFactory(), name="seal set")
    line = KitLine.objects.create(
        kit=kit, position=PositionFactory(revision=kit.revision), part=PartFactory()
    )
    kits.pack_kit(act=bench, kit=kit, lots={line: LotFactory(part=line.part)})
    gone = LotFactory(quantity_received=1)
    stock.take(act=bench, lot=gone, quantity=1, document="W")
    stock.take(act=bench, lot=gone, quantity=1, document="W", found_in_bin=True)


@pytest.mark.parametrize("name", LISTS)
def test_a_list_costs_the_same_for_10_and_for_20_rows(client, act, bench, name):
    client.force_login(bench)
    costs = []
    for _ in range(2):
        for _ in range(10):
            full(act)
        with CaptureQueriesContext(connection) as queries:
            page(client, name)
        costs.append(len(queries))
    assert costs[0] == costs[1]


def test_parts_count_only_what_may_be_used_from_the_shelf(client, bench):
    client.force_login(bench)
    part = PartFactory(number="PN-7")
    usable = LotFactory(part=part, quantity_received=30)
    LotFactory(part=part, quantity_received=40, use_by=dt.date(2020, 1, 1))
    LotFactory(part=part, quantity_received=50, state="on_hold", hold_reason="x")
    Balance.objects.create(lot=usable, place="kit K26-0001", quantity=60)
    Balance.objects.create(lot=usable, place="B2", quantity=7)
    text = page(client, "parts", q="PN-7")
    assert '<td data-label="Usable today" class="num">37</td>' in text


@pytest.mark.parametrize(
    ("query", "found"),
    [
        ({"q": "wiper"}, {"PN-2"}),
        ({"q": "12x20 nbr"}, {"PN-1"}),
        ({"q": "fkm"}, {"PN-2"}),
        ({"kind": "lip_seal"}, {"PN-1"}),
        ({"kind": "nonsense"}, {"PN-1", "PN-2"}),
        ({"q": "brush"}, set()),
    ],
)
def test_parts_are_found_by_words_and_kind(client, bench, query, found):
    client.force_login(bench)
    PartFactory(number="PN-1", size_designation="12x20x5")
    PartFactory(number="PN-2", name="wiper", kind="wiper", polymer="FKM")
    text = page(client, "parts", **query)
    assert {number for number in ("PN-1", "PN-2") if number in text} == found


def test_a_part_shows_its_lots_places_and_fluids(client, bench, kit):
    client.force_login(bench)
    lot = LotFactory(part=kit.line.part)
    text = page(client, "part", kit.line.part.pk)
    assert lot.number in text
    assert str(kit.line.place) in text
    assert "from memory, not verified" in text.lower()
    assert "not suitable" in text  # NBR in HFDR and in brake fluid, READ
    assert "You may not receive, hold and settle lots" in text


def test_a_clip_has_no_table_of_fluids(client, bench):
    client.force_login(bench)
    assert "fluids-heading" not in page(client, "part", PartFactory(kind="clip", polymer="").pk)


@pytest.mark.parametrize(
    ("show", "found"),
    [
        ("", {"fresh", "soon", "late", "held"}),
        ("stock", {"fresh", "soon", "late", "held"}),
        ("usable", {"fresh", "soon"}),
        ("expiring", {"soon"}),
        ("expired", {"late"}),
        ("hold", {"held"}),
        ("all", {"fresh", "soon", "late", "held", "gone"}),
    ],
)
def test_lots_are_shown_by_state(client, bench, show, found):
    client.force_login(bench)
    today = dt.date.today()
    LotFactory(number="fresh", use_by=today + dt.timedelta(days=91))
    LotFactory(number="soon", use_by=today + dt.timedelta(days=90))
    LotFactory(number="late", use_by=today - dt.timedelta(days=1))
    LotFactory(number="held", state="on_hold", hold_reason="swollen")
    gone = LotFactory(number="gone", use_by=today - dt.timedelta(days=1))
    gone.balances.update(quantity=0)
    text = page(client, "lots", show=show)
    every = ("fresh", "soon", "late", "held", "gone")
    assert {number for number in every if f'/lots/{number}/"' in text} == found


@pytest.mark.parametrize(
    "text",
    ["l-77", "B-9", "PN-5", "Skerry", "skerry b-9", "HTTPS://SVC.EXAMPLE/L/L-77", "]Q1https://a/l/L-77"],
)
def test_lots_are_found_by_number_batch_part_and_supplier(client, bench, text):
    client.force_login(bench)
    LotFactory(
        number="L-77",
        supplier_batch="B-9",
        part=PartFactory(number="PN-5"),
        supplier=SupplierFactory(name="Skerry Seals"),
    )
    LotFactory(number="L-88", part=PartFactory(number="PN-6"))
    found = page(client, "lots", q=text)
    assert "/lots/L-77/" in found
    assert "/lots/L-88/" not in found


@pytest.mark.parametrize(
    ("fields", "words"),
    [
        ({"use_by": None}, "Usable"),
        ({"use_by": dt.date(2020, 1, 31)}, "Past its use-by date: do not use"),
        ({"state": "on_hold", "hold_reason": "swollen samples"}, "On hold: do not use"),
    ],
)
def test_a_lot_says_on_top_whether_it_may_be_used(client, bench, fields, words):
    client.force_login(bench)
    text = page(client, "lot", LotFactory(**fields).number)
    assert f"<strong>{words}" in text
    assert fields.get("hold_reason", "") in text


def test_a_lot_shows_its_ledger_and_what_waits_to_be_settled(client, act, bench):
    client.force_login(bench)
    lot = LotFactory(quantity_received=1)
    stock.take(act=act(bench), lot=lot, quantity=1, document="W26-0001")
    stock.take(act=act(bench), lot=lot, quantity=1, document="W26-0002", found_in_bin=True)
    text = page(client, "lot", lot.number)
    assert "None left" in text
    assert "W26-0002" in text
    assert "to settle" in text
    assert "/hold/" not in text  # the bench may not
    client.force_login(person("stores"))
    assert "/hold/" in page(client, "lot", lot.number)


def test_later_apps_put_their_panels_on_a_lot(client, bench, monkeypatch):
    client.force_login(bench)
    monkeypatch.setattr(panels, "_panels", {"inventory:lot": [_panel]})
    assert "This revision has no kit" in page(client, "lot", LotFactory().number)


def _panel(_request, _lot):
    return "inventory/_revision_kit.html", {"kit": None}


def test_the_part_in_the_address_is_chosen_already(client, stores):
    client.force_login(stores)
    part = PartFactory()
    assert f'<option value="{part.pk}" selected>' in page(client, "lot_receive", part=part.pk)
    page(client, "lot_receive", part="x")


def test_a_kit_shows_what_is_short(client, bench, kit):
    client.force_login(bench)
    assert "The stores cannot give a part for" in page(client, "kit", kit.pk)
    lot = LotFactory(part=kit.line.part)
    text = page(client, "kit", kit.pk)
    assert "The stores cannot give" not in text
    assert lot.number in text
    assert "Add a part" not in text
    client.force_login(person("lead"))
    assert "Add a part" in page(client, "kit", kit.pk)


def test_superseded_kits_are_listed_on_request(client, bench):
    client.force_login(bench)
    Kit.objects.create(revision=TypeRevisionFactory(state="superseded"), name="old set")
    assert "old set" not in page(client, "kits")
    assert "old set" in page(client, "kits", old="1")


def test_packing_proposes_the_lot_that_expires_first(client, bench, kit):
    client.force_login(bench)
    LotFactory(part=kit.line.part, use_by=dt.date(2040, 1, 1))
    soon = LotFactory(part=kit.line.part, use_by=dt.date(2039, 1, 1))
    assert f'<option value="{soon.pk}" selected>' in page(client, "kit_pack", kit.pk)


def test_a_packed_kit_warns_of_a_lot_on_hold(client, act, stores, kit):
    client.force_login(stores)
    lot = LotFactory(part=kit.line.part)
    packed = kits.pack_kit(act=act(stores), kit=kit, lots={kit.line: lot})
    assert "cannot be used" not in page(client, "packed_kit", packed.code)
    lot_state.hold_lot(act=act(stores), lot=lot, reason="swollen")
    assert "is on hold" in page(client, "packed_kit", packed.code)


def test_the_label_of_a_packed_kit_carries_its_code(client, act, stores, kit, tmp_path):
    client.force_login(stores)
    packed = kits.pack_kit(act=act(stores), kit=kit, lots={kit.line: LotFactory(part=kit.line.part)})
    before = rows()
    answer = client.get(reverse("inventory:packed_kit_label", args=[packed.code, "62x29", 300]))
    assert answer["Content-Type"] == "application/pdf"
    path = tmp_path / "label.pdf"
    path.write_bytes(answer.content)
    assert packed.code in PdfReader(path).pages[0].extract_text().replace(" ", "")
    assert rows() == before
    for wrong in (["99x99", 300], ["62x29", 150]):
        url = reverse("inventory:packed_kit_label", args=[packed.code, *wrong])
        assert client.get(url).status_code == 404
    client.force_login(person("receiving"))
    url = reverse("inventory:packed_kit_label", args=[packed.code, "62x29", 300])
    assert client.get(url).status_code == 403


SORTED = [
    (name, column.key)
    for name, table in (
        ("parts", columns.PARTS),
        ("suppliers", columns.SUPPLIERS),
        ("lots", columns.LOTS),
        ("found_in_bin", columns.FOUND),
        ("kits", columns.KITS),
        ("packed_kits", columns.PACKED_KITS),
    )
    for column in table.columns
    if column.sort is not None
]


@pytest.mark.parametrize(("name", "key"), SORTED)
def test_a_list_is_sorted_both_ways_and_its_file_too(client, act, bench, name, key):
    client.force_login(bench)
    for _ in range(3):
        full(act)
    for sort in (key, f"-{key}"):
        assert f'<option value="{sort}" selected>' in page(client, name, sort=sort)
    rising, falling = (
        client.get(reverse(f"inventory:{name}"), {"sort": sort, "format": "csv"}).content.decode()
        for sort in (key, f"-{key}")
    )
    assert sorted(rising.splitlines()) == sorted(falling.splitlines())
    assert rising.splitlines()[0] == falling.splitlines()[0]


def test_lots_are_sorted_by_what_is_left_of_them(client, bench):
    client.force_login(bench)
    for number, pieces in (("L-few", 2), ("L-many", 50), ("L-some", 9)):
        Balance.objects.create(
            lot=LotFactory(number=number, quantity_received=pieces), place="B2", quantity=1
        )
    text = page(client, "lots", sort="-pieces-left")
    assert text.index("/L-many/") < text.index("/L-some/") < text.index("/L-few/")


def test_suppliers_and_finds_are_narrowed_by_words(client, act, bench):
    client.force_login(bench)
    full(act)
    SupplierFactory(name="Skerry Seals")
    assert "Skerry" in page(client, "suppliers", q="skerry")
    assert "No supplier matches" in page(client, "suppliers", q="skerry nowhere")
    assert "No entry matches" in page(client, "found_in_bin", q="nowhere")
    assert "1 to settle" in page(client, "found_in_bin", q="A1")
