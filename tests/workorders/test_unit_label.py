"""A unit's label says what receiving knows, and its symbol leads to the unit's page."""

import random
from datetime import date

import pytest

from shop.documents.label import LABEL_STOCKS, PRINTER_DPI, WIRED_TAG, label_png, tag_png
from tests.shop.scanning import decode, opened
from workorders.calc.serial import draw_serial, grouped, read_scan
from workorders.documents.unit_label import UnitLabel, unit_address


def make(serial, **changes):
    facts = {
        "address": unit_address("https://svc.example", serial),
        "unit_type": "Platform lift cylinder 40/22 × 180",
        "work_order": "WO-2041",
        "received": date(2025, 3, 4),
    } | changes
    return UnitLabel(serial=serial, **facts)


def test_a_label_has_address_serial_type_work_order_and_date():
    label = make("7F3K9QXM2").as_label()
    assert label.address == "HTTPS://SVC.EXAMPLE/U/7F3K9QXM2"
    assert label.big == "7F3 K9Q XM2"
    assert label.lines == ("Platform lift cylinder 40/22 × 180", "WO-2041", "received 2025-03-04")


def test_twins_are_told_apart_by_where_they_were_mounted():
    sides = [make("7F3K9QXM2", place=f"Platform: lift, {side} side") for side in ("port", "starboard")]
    assert [label.as_label().lines[1] for label in sides] == [
        "Platform: lift, port side",
        "Platform: lift, starboard side",
    ]
    one, other = (label_png(label.as_label(), LABEL_STOCKS["50x25"], dpi=203) for label in sides)
    assert one != other
    assert decode(opened(one)) == decode(opened(other)) == {"HTTPS://SVC.EXAMPLE/U/7F3K9QXM2"}


def test_a_label_without_work_order_or_date_leaves_them_out():
    label = make("7F3K9QXM2", work_order="", received=None).as_label()
    assert [line for line in label.lines if line] == ["Platform lift cylinder 40/22 × 180"]
    assert label_png(label, LABEL_STOCKS["50x25"], dpi=203)


@pytest.mark.parametrize("dpi", PRINTER_DPI)
def test_a_scan_of_a_label_or_tag_gives_the_serial_of_the_unit(dpi):
    for seed in range(25):
        serial = draw_serial(random.Random(seed).choice)
        label = make(serial).as_label()
        assert label.big == grouped(serial)
        for picture in (
            *(label_png(label, stock, dpi=dpi) for stock in LABEL_STOCKS.values()),
            tag_png(label, WIRED_TAG, dpi=dpi),
        ):
            (text,) = decode(opened(picture))
            assert read_scan(text) == serial
