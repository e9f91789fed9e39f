"""The label of a lot: what it says, where its symbol leads, and that a scan of it is understood."""

import datetime as dt

import pytest
from django.conf import settings
from django.urls import reverse

from inventory.documents.lot_label import LotLabel, lot_address, read_lot_scan
from shop.documents.label import LABEL_STOCKS, PRINTER_DPI, label_png
from tests.asking import rows
from tests.factories import LotFactory, PartFactory, person
from tests.shop.scanning import decode, opened, rendered

BASE = "https://svc.example"


def label(number="L26-0001", **told):
    facts = {
        "number": number,
        "address": lot_address(BASE, number),
        "part": "RS-12-HN rod seal 12 mm",
        "cure_date": "3Q24",
        "use_by": dt.date(2031, 9, 30),
        "pieces": 50,
        "place": "B3",
    }
    return LotLabel(**{**facts, **told}).as_label()


def test_a_label_says_part_age_pieces_and_place():
    told = label()
    assert (told.address, told.big) == ("HTTPS://SVC.EXAMPLE/L/L26-0001", "L26-0001")
    assert told.lines == (
        "RS-12-HN rod seal 12 mm",
        "cured 3Q24, use by 2031-09-30",
        "50 pieces, B3",
    )
    assert label(cure_date="", use_by=None, pieces=1).lines[1:] == ("no use-by date", "1 piece, B3")


@pytest.mark.parametrize("number", ["L26-0001", "l-7.b", "A_17", "4471", "Zürich 3"])
@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_a_scan_of_a_label_gives_the_number(number, dpi):
    for stock in LABEL_STOCKS.values():
        (text,) = decode(opened(label_png(label(number), stock, dpi=dpi)))
        assert read_lot_scan(text) == number.upper()
        assert read_lot_scan(f"]Q1{text}\r\n") == number.upper()


@pytest.mark.parametrize(
    "text",
    [
        "",
        "L26-0001",
        "https://svc.example/u/7F3K9QXM2",
        "https://svc.example/L/",
        "https://svc.example/L/L1 https://svc.example/L/L2",
        "https://l/example",
    ],
)
def test_what_is_no_label_of_a_lot_is_none(text):
    assert read_lot_scan(text) is None


@pytest.fixture
def lot(db):
    return LotFactory(number="L-7b_x", part=PartFactory(number="RS-12", name="rod seal"))


def file(client, lot, paper, kind="pdf", **query):
    return client.get(reverse("inventory:lot_label_file", args=[lot.number, paper, kind]), query)


def test_a_sheet_holds_as_many_labels_as_asked(client, lot, stores):
    client.force_login(stores)
    before = rows()
    answer = file(client, lot, "A4", copies=5, start=3)
    assert (answer.status_code, answer["Content-Type"]) == (200, "application/pdf")
    picture = rendered(answer.content, 300)
    from zxingcpp import read_barcodes

    texts = [code.text for code in read_barcodes(picture)]
    assert texts == [lot_address(settings.PUBLIC_ADDRESS, lot.number)] * 5
    assert rows() == before


@pytest.mark.parametrize(
    ("paper", "kind", "query", "status"),
    [
        ("62x29", "pdf", {"copies": "0"}, 422),
        ("62x29", "pdf", {"copies": "999"}, 422),
        ("62x29", "pdf", {"copies": "x"}, 422),
        ("A4", "pdf", {"start": "22"}, 422),
        ("A4", "png", {}, 404),
        ("99x99", "pdf", {}, 404),
        ("62x29", "pdf", {"dpi": "72"}, 404),
    ],
)
def test_what_cannot_be_printed_is_refused(client, lot, stores, paper, kind, query, status):
    client.force_login(stores)
    assert file(client, lot, paper, kind, **query).status_code == status


def test_only_stores_and_the_lead_print(client, lot, bench):
    client.force_login(bench)
    assert file(client, lot, "A4").status_code == 403
    assert client.get(reverse("inventory:lot_labels", args=[lot.number])).status_code == 403


@pytest.mark.parametrize("case", [str.upper, str.lower])
def test_the_short_address_leads_to_the_lot(client, lot, bench, case):
    address = lot_address("", lot.number)
    assert client.get(address).url.startswith("/sign-in/")
    client.force_login(bench)
    assert client.get(case(address)).url == lot.get_absolute_url()
    assert client.get("/L/NONE").status_code == 404


def test_the_search_opens_a_lot_by_its_label_or_number(client, lot):
    client.force_login(person("bench"))
    for text in (lot_address(BASE, lot.number), "l-7B_X", "HTTPSÖ--SVC.EXAMPLE-L-Lß7B%5FX"):
        assert client.get(reverse("workorders:find"), {"q": text}).url == lot.get_absolute_url(), text
    page = client.get(reverse("workorders:find"), {"q": lot_address(BASE, "L-none")})
    assert "No lot has the number L-NONE" in page.content.decode()
