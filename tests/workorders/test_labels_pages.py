"""Labels from the pages: read back by a decoder that the project does not use (zxing-cpp)."""

from io import BytesIO

import pypdf
import pytest
from django.urls import reverse
from PIL import Image

from tests.asking import rows
from tests.factories import RebuildFactory, TypeRevisionFactory, UnitFactory, WorkOrderFactory, person
from tests.shop.scanning import decode, opened, rendered
from workorders.calc.serial import grouped, read_scan

pytestmark = pytest.mark.django_db
MM = 72 / 25.4
# Sizes of the stocks in mm, as written on their boxes; A4 by ISO 216, Letter by ANSI/ASME Y14.1.
PAPERS_MM = {
    "62x29": (62, 29),
    "50x25": (50, 25),
    "tag": (120, 60),
    "A4": (210, 297),
    "Letter": (215.9, 279.4),
}
PLACES = {"A4": 21, "Letter": 30}


@pytest.fixture
def clerk(client, receiving):
    client.force_login(receiving)
    return client


@pytest.fixture
def rebuild():
    return RebuildFactory()


def address_of(unit):
    return f"HTTPS://SVC.EXAMPLE/U/{unit.serial}"


def file(client, unit, paper, kind, **query):
    return client.get(reverse("workorders:label_file", args=[unit.serial, paper, kind]), query)


def order_file(client, order, paper, **query):
    return client.get(reverse("workorders:work_order_label_file", args=[order.number, paper]), query)


def sizes_mm(pdf):
    """Width and height of every page."""
    pages = pypdf.PdfReader(BytesIO(pdf)).pages
    return [(float(page.mediabox.width) / MM, float(page.mediabox.height) / MM) for page in pages]


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("paper", ["62x29", "50x25", "tag"])
def test_a_label_and_a_tag_as_pdf_have_exact_size_and_lead_to_the_unit(clerk, rebuild, paper, dpi):
    answer = file(clerk, rebuild.unit, paper, "pdf", dpi=dpi)
    assert answer["Content-Type"] == "application/pdf"
    assert answer["Content-Disposition"] == f'attachment; filename="{rebuild.unit.serial}-{paper}.pdf"'
    assert sizes_mm(answer.content) == [pytest.approx(PAPERS_MM[paper], abs=0.01)]
    assert decode(rendered(answer.content, dpi)) == {address_of(rebuild.unit)}


@pytest.mark.parametrize("dpi", [203, 300])
@pytest.mark.parametrize("paper", ["62x29", "50x25", "tag"])
def test_a_label_and_a_tag_as_png_have_the_printers_dots_and_lead_to_the_unit(clerk, rebuild, paper, dpi):
    answer = file(clerk, rebuild.unit, paper, "png", dpi=dpi)
    assert answer["Content-Type"] == "image/png"
    image = opened(answer.content)
    assert image.size == tuple(round(side * dpi / 25.4) for side in PAPERS_MM[paper])
    assert image.info["dpi"] == pytest.approx((dpi, dpi), abs=0.1)
    (found,) = decode(image)
    assert found == address_of(rebuild.unit)
    assert read_scan(found) == rebuild.unit.serial


def test_the_scanned_address_opens_the_unit(clerk, rebuild):
    (found,) = decode(opened(file(clerk, rebuild.unit, "62x29", "png").content))
    path = found.removeprefix("HTTPS://SVC.EXAMPLE")
    assert clerk.get(path).status_code == 200


@pytest.mark.parametrize("paper", ["A4", "Letter"])
def test_a_sheet_begins_at_the_place_asked_for(clerk, rebuild, paper):
    places = {}
    for start in (1, PLACES[paper]):
        pdf = file(clerk, rebuild.unit, paper, "pdf", start=start).content
        assert sizes_mm(pdf) == [pytest.approx(PAPERS_MM[paper], abs=0.01)]
        page = rendered(pdf, 300)
        assert decode(page) == {address_of(rebuild.unit)}
        ink = (page < 128).nonzero()
        places[start] = (ink[0].mean() / page.shape[0], ink[1].mean() / page.shape[1])
    assert max(places[1]) < 0.5  # the middle of the ink, as a share of the page: top left ...
    assert min(places[PLACES[paper]]) > 0.5  # ... and bottom right


@pytest.mark.parametrize(
    ("start", "sentence"),
    [
        ("22", "has places 1 to 21; 22 is not one"),
        ("0", "0 is not one"),
        ("two", "is a whole number"),
        ("", "whole"),
    ],
)
def test_a_place_that_the_sheet_lacks_is_refused_with_a_sentence(clerk, rebuild, start, sentence):
    answer = file(clerk, rebuild.unit, "A4", "pdf", start=start)
    assert answer.status_code == 422
    assert sentence in answer.content.decode()


def test_a_work_order_prints_a_label_and_a_tag_for_each_of_its_units(clerk):
    order = WorkOrderFactory()
    units = [rebuild.unit for rebuild in RebuildFactory.create_batch(3, work_order=order)]
    RebuildFactory()
    for paper in ("62x29", "50x25", "tag"):
        pdf = order_file(clerk, order, paper).content
        assert sizes_mm(pdf) == [pytest.approx(PAPERS_MM[paper], abs=0.01)] * 3
        read = [decode(rendered(pdf, 300, page=page)) for page in range(3)]
        assert read == [{address_of(unit)} for unit in units]
    sheet = order_file(clerk, order, "A4", start=20).content  # two places left, so a second page
    assert [len(decode(rendered(sheet, 300, page=page))) for page in range(2)] == [2, 1]


def test_a_work_order_without_units_has_no_labels(clerk):
    order = WorkOrderFactory()
    assert "No unit, no label" in page_of(clerk, "work_order_labels", order.number)
    answer = order_file(clerk, order, "62x29")
    assert answer.status_code == 422
    assert "nothing to print" in answer.content.decode()


def page_of(client, name, key, **query):
    return client.get(reverse(f"workorders:{name}", args=[key]), query).content.decode()


def test_the_page_offers_every_paper_at_the_chosen_resolution(clerk, rebuild):
    serial = rebuild.unit.serial
    page = page_of(clerk, "labels", serial, dpi=203)
    for paper, kind in [("62x29", "pdf"), ("62x29", "png"), ("50x25", "pdf"), ("tag", "pdf"), ("tag", "png")]:
        assert f'href="{reverse("workorders:label_file", args=[serial, paper, kind])}?dpi=203"' in page
    for paper in ("A4", "Letter"):
        assert f'action="{reverse("workorders:label_file", args=[serial, paper, "pdf"])}"' in page
    assert "?dpi=300" in page_of(clerk, "labels", serial)
    assert page.count("<h1") == 1


def test_the_page_of_a_work_order_offers_them_all_too(clerk, rebuild):
    number = rebuild.work_order.number
    page = page_of(clerk, "work_order_labels", number)
    for paper in ("62x29", "50x25", "tag", "A4", "Letter"):
        assert reverse("workorders:work_order_label_file", args=[number, paper]) in page
    assert reverse("workorders:labels", args=[rebuild.unit.serial]) in page


def test_a_stock_that_the_shop_does_not_use_is_not_offered(clerk, rebuild, settings):
    settings.LABEL_STOCKS = ["62x29"]
    assert "50x25" not in page_of(clerk, "labels", rebuild.unit.serial)
    assert file(clerk, rebuild.unit, "50x25", "pdf").status_code == 404


def test_a_unit_keeps_its_label_in_its_next_rebuild(clerk, rebuild):
    later = RebuildFactory(
        unit=rebuild.unit, number=2, received_at=rebuild.received_at.replace(year=2027), stage="shipped"
    )
    text = pypdf.PdfReader(BytesIO(file(clerk, rebuild.unit, "62x29", "pdf").content)).pages[0].extract_text()
    assert grouped(rebuild.unit.serial) in text
    assert later.work_order.number in text  # the work order that it is here for


def test_a_long_address_is_refused_with_the_reason(clerk, rebuild, settings):
    settings.PUBLIC_ADDRESS = "https://" + "a" * 60 + ".example"
    answer = file(clerk, rebuild.unit, "50x25", "pdf", dpi=203)
    assert answer.status_code == 422
    assert "characters" in answer.content.decode()


def test_a_long_type_name_does_not_hide_the_serial(clerk):
    unit = UnitFactory(
        unit_type=TypeRevisionFactory(unit_type__name="Left rear stabiliser cylinder " * 3).unit_type
    )
    for paper in ("62x29", "50x25"):
        answer = file(clerk, unit, paper, "png", dpi=203)
        assert decode(Image.open(BytesIO(answer.content))) == {address_of(unit)}


@pytest.mark.parametrize(
    ("paper", "kind", "query"),
    [("99x99", "pdf", {}), ("62x29", "gif", {}), ("A4", "png", {}), ("62x29", "pdf", {"dpi": "72"})],
)
def test_what_is_not_printed_here_is_not_found(clerk, rebuild, paper, kind, query):
    assert file(clerk, rebuild.unit, paper, kind, **query).status_code == 404


def test_printing_changes_nothing_and_is_done_by_get_only(clerk, rebuild):
    before = rows()
    urls = [
        reverse("workorders:labels", args=[rebuild.unit.serial]),
        reverse("workorders:work_order_labels", args=[rebuild.work_order.number]),
        reverse("workorders:label_file", args=[rebuild.unit.serial, "tag", "pdf"]),
        reverse("workorders:work_order_label_file", args=[rebuild.work_order.number, "A4"]),
    ]
    for url in urls:
        assert clerk.get(url).status_code == 200
        assert clerk.post(url).status_code == 405
    assert rows() == before


def test_labels_are_for_receiving_and_the_bench(client, rebuild):
    names = {
        "labels": [rebuild.unit.serial],
        "work_order_labels": [rebuild.work_order.number],
        "label_file": [rebuild.unit.serial, "tag", "pdf"],
        "work_order_label_file": [rebuild.work_order.number, "A4"],
    }
    urls = [reverse(f"workorders:{name}", args=args) for name, args in names.items()]
    for url in urls:
        assert client.get(url)["Location"].startswith(reverse("shop:sign_in"))
    client.force_login(person("bench"))
    assert {client.get(url).status_code for url in urls} == {200}
    for role in ("warranty desk", "stores"):
        client.force_login(person(role))
        for url in urls:
            answer = client.get(url)
            assert answer.status_code == 403
            assert "print labels and tags" in answer.content.decode()


def test_labels_of_unknown_rows_are_not_found(clerk):
    for name, args in {
        "labels": ["ABC123DEF"],
        "label_file": ["ABC123DEF", "tag", "pdf"],
        "work_order_labels": ["W99-9999"],
        "work_order_label_file": ["W99-9999", "A4"],
    }.items():
        assert clerk.get(reverse(f"workorders:{name}", args=args)).status_code == 404


def test_the_labels_of_a_work_order_cost_the_same_for_few_and_many(clerk, django_assert_max_num_queries):
    order = WorkOrderFactory()
    RebuildFactory.create_batch(2, work_order=order)
    order_file(clerk, order, "A4")
    with django_assert_max_num_queries(20) as few:
        order_file(clerk, order, "A4")
    RebuildFactory.create_batch(4, work_order=order)
    with django_assert_max_num_queries(len(few)):
        order_file(clerk, order, "A4")
