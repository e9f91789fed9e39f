"""What the checks at start refuse, and that they let a good address through."""

import pytest
from django.core.checks import ERROR, run_checks
from django.core.management import CommandError, call_command

from shop.checks import SERIAL_LENGTH, UNIT_PATH, label_address_check
from shop.documents.label import LABEL_STOCKS, Label, LabelError, label_png
from workorders.calc.serial import LENGTH
from workorders.documents.unit_label import unit_address


def address_of(length):
    return "https://" + "a" * (length - len("https://"))


def found(settings, address, stocks=("62x29", "50x25")):
    settings.PUBLIC_ADDRESS, settings.LABEL_STOCKS = address, list(stocks)
    return label_address_check()


@pytest.mark.parametrize(
    "address",
    [
        "http://127.0.0.1:8000",
        "https://shop.example.org",
        "https://shop.example.org/SHOP-2",
        "HTTPS://SHOP.EXAMPLE",
    ],
)
def test_a_good_address_is_let_through(settings, address):
    assert found(settings, address) == []


def test_the_check_knows_how_long_a_units_address_is():
    assert SERIAL_LENGTH == LENGTH
    assert unit_address("", "7F3K9QXM2") == UNIT_PATH + "7F3K9QXM2"


@pytest.mark.parametrize("names", [["50x25"], ["62x29"]])
def test_an_address_too_long_for_the_stock_is_refused_with_the_longest_that_fits(settings, names):
    limit = next(n for n in range(20, 200) if found(settings, address_of(n), names)) - 1
    (error,) = found(settings, address_of(limit + 1), names)
    assert (error.id, error.level) == ("shop.E105", ERROR)
    assert f"has {limit + 1} characters" in error.msg
    assert f"the longest that fits a {names[0]} mm label is {limit}" in error.msg
    assert "4 printer dots per module" in error.msg
    assert error.hint
    # The limit is the true one: such a label prints, a longer one does not.
    label_png(
        Label(address=unit_address(address_of(limit), "7F3K9QXM2"), big="X"), LABEL_STOCKS[names[0]], dpi=203
    )
    with pytest.raises(LabelError):
        label_png(
            Label(address=unit_address(address_of(limit + 1), "7F3K9QXM2"), big="X"),
            LABEL_STOCKS[names[0]],
            dpi=203,
        )


def test_only_the_stocks_that_the_shop_uses_count(settings):
    address = address_of(60)
    assert [error.id for error in found(settings, address)] == ["shop.E105"]
    assert found(settings, address, ["62x29"]) == []


@pytest.mark.parametrize(
    ("address", "identity", "words"),
    [
        ("https://tern_quay.example", "shop.E103", "no label can carry: _"),
        ("http://[2001:db8::1]:8000", "shop.E103", "no label can carry: [ ]"),
        ("https://hafenstraße.example?x=1", "shop.E103", "= ?"),
        ("https://shop.example.org/rebuild", "shop.E104", "small letters: /rebuild"),
        ("shop.example.org", "shop.E102", "is no web address"),
        ("ftp://shop.example.org", "shop.E102", "is no web address"),
        ("", "shop.E102", "is no web address"),
        ("https://", "shop.E102", "is no web address"),
    ],
)
def test_an_address_that_a_label_cannot_carry_is_refused(settings, address, identity, words):
    (error,) = found(settings, address)
    assert (error.id, error.level) == (identity, ERROR)
    assert words in error.msg
    assert error.hint


@pytest.mark.parametrize("names", [["100x50"], [""], []])
def test_an_unknown_stock_is_refused_with_those_that_are_known(settings, names):
    (error,) = found(settings, "https://shop.example.org", names)
    assert error.id == "shop.E101"
    assert "62x29, 50x25" in error.hint


def test_the_check_runs_at_every_start(settings):
    settings.PUBLIC_ADDRESS = "https://tern_quay.example"
    assert "shop.E103" in {message.id for message in run_checks()}
    with pytest.raises(CommandError, match=r"shop\.E103"):
        call_command("check")
