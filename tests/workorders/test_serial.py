"""Shop serials: drawn, read aloud, typed and scanned."""

import random
import re
import secrets
from itertools import product

import pytest
from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10

from workorders.calc.serial import (
    ALPHABET,
    SerialError,
    draw_serial,
    grouped,
    parse_serial,
    read_scan,
)

SERIALS = [draw_serial(random.Random(seed).choice) for seed in range(200)]
# Y, Z, A, Q, W and M sit elsewhere on German and French keyboards.
SERIAL = next(
    serial
    for serial in (draw_serial(random.Random(seed).choice) for seed in range(20_000))
    if {"Y", "Q", "M"} <= set(serial) and sum(map(str.isdigit, serial)) > 2
)
ADDRESS = f"HTTPS://TERNQUAY.EXAMPLE/U/{SERIAL}"


def neighbours_swapped(text):
    return {text[:i] + text[i + 1] + text[i] + text[i + 2 :] for i in range(len(text) - 1)} - {text}


def is_read(text):
    try:
        return bool(parse_serial(text))
    except SerialError:
        return False


@pytest.mark.parametrize(
    ("calculate", "body", "check"),
    # Printed in the docstrings of python-stdnum 2.2, stdnum.iso7064.
    [
        (mod_11_2.calc_check_digit, "0794", "0"),
        (mod_11_2.calc_check_digit, "079", "X"),
        (mod_11_10.calc_check_digit, "79462", "3"),
        (mod_11_10.calc_check_digit, "00200667308", "5"),
        (mod_37_2.calc_check_digit, "G123489654321", "Y"),
        (mod_37_36.calc_check_digit, "A12425GABC1234002", "M"),
        (mod_97_10.calc_check_digits, "4354111611551114", "31"),
    ],
)
def test_the_library_gives_the_printed_check_characters(calculate, body, check):
    assert calculate(body) == check


def test_the_printed_example_shows_what_mod_37_36_catches():
    printed = "A12425GABC1234002M"  # same source
    signs = "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"
    wrong = [
        printed[:i] + sign + printed[i + 1 :] for i, sign in product(range(18), signs) if sign != printed[i]
    ]
    assert len(wrong) == 630
    assert not any(map(mod_37_36.is_valid, wrong))
    assert len(neighbours_swapped(printed)) == 16
    assert not any(map(mod_37_36.is_valid, neighbours_swapped(printed)))


def test_mod_37_36_alone_lets_some_swapped_neighbours_through():
    """The reason why a drawn serial is tried against its own swaps: 28 of 17,856 cases."""
    pairs = [(a, b) for a, b in product(ALPHABET, ALPHABET) if a < b]
    starts = {mod_37_36.checksum(sign): sign for sign in "0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ"}
    assert len(starts) == 36
    missed = [
        (start, a, b)
        for start, (a, b) in product(starts.values(), pairs)
        if mod_37_36.checksum(start + a + b) == mod_37_36.checksum(start + b + a)
    ]
    assert (len(missed), len(starts) * len(pairs)) == (28, 17_856)


def test_a_drawn_serial_has_nine_characters_of_the_alphabet_and_the_iso_check_character():
    assert "".join(sorted(set("0123456789ABCDEFGHIJKLMNOPQRSTUVWXYZ") - set("ILOU"))) == ALPHABET
    for serial in SERIALS:
        assert re.fullmatch(f"[{ALPHABET}]{{9}}", serial)
        assert mod_37_36.calc_check_digit(serial[:8]) == serial[8]
    assert len(set(SERIALS)) == len(SERIALS)
    assert set("".join(SERIALS)) == set(ALPHABET)


def test_a_draw_is_repeated_by_its_seed_and_secret_without_one(monkeypatch):
    assert draw_serial(random.Random(5).choice) == draw_serial(random.Random(5).choice)
    asked = []
    monkeypatch.setattr(secrets.SystemRandom, "_randbelow", lambda self, n: asked.append(n) or len(asked) % n)
    draw_serial()
    assert set(asked) == {32}


@pytest.mark.parametrize("check", "ILOU")
def test_a_serial_whose_check_character_could_be_confused_is_drawn_again(check):
    rng = random.Random(check)
    bodies = ("".join(rng.choice(ALPHABET) for _ in range(8)) for _ in range(10_000))
    refused = next(body for body in bodies if mod_37_36.calc_check_digit(body) == check)
    signs = iter(refused + SERIAL[:8])
    assert draw_serial(lambda _: next(signs)) == SERIAL


def test_a_serial_that_a_swap_would_turn_into_another_is_drawn_again():
    rng = random.Random(3)
    weak = next(
        serial
        for body in ("".join(rng.choice(ALPHABET) for _ in range(8)) for _ in range(10_000))
        if (serial := body + mod_37_36.calc_check_digit(body))[8] in ALPHABET
        and any(map(mod_37_36.is_valid, neighbours_swapped(serial)))
    )
    signs = iter(weak[:8] + SERIAL[:8])
    assert draw_serial(lambda _: next(signs)) == SERIAL


def test_every_single_substitution_of_a_drawn_serial_is_refused():
    for serial in SERIALS:
        for i, sign in product(range(9), ALPHABET):
            if sign != serial[i]:
                assert not is_read(serial[:i] + sign + serial[i + 1 :])


def test_every_swap_of_neighbours_in_a_drawn_serial_is_refused():
    swapped = [(serial, wrong) for serial in SERIALS for wrong in neighbours_swapped(serial)]
    assert len(swapped) > 1500
    assert [pair for pair in swapped if is_read(pair[1])] == []


@pytest.mark.parametrize("write", [str, str.lower, grouped, lambda s: f" {s[:4]}-{s[4:8]}-{s[8]} "])
def test_a_serial_is_read_however_it_is_written(write):
    assert [parse_serial(write(serial)) for serial in SERIALS] == SERIALS


def test_i_and_l_are_read_as_1_and_o_as_0_even_as_check_character():
    ends = [next(s for s in SERIALS if s[8] == sign) for sign in "01"]
    for serial in [*SERIALS, *ends]:
        for one in "IiLl":
            assert parse_serial(serial.replace("1", one).replace("0", "o")) == serial


def test_a_serial_is_grouped_in_threes_for_reading_aloud():
    assert grouped("7F3K9QXM2") == "7F3 K9Q XM2"


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (SERIAL[:8], "has 9 characters; this one has 8"),
        (SERIAL + "7", "has 9 characters; this one has 10"),
        ("", "has 9 characters; this one has 0"),
        ("U" + SERIAL[1:], "“U” is never part"),
        (SERIAL[:8] + "ß", "“ß” is never part"),
        (SERIAL[:8] + "٣", "“٣” is never part"),
        (min(neighbours_swapped(SERIAL)), "is mistyped: its check character does not match"),
    ],
)
def test_a_wrong_serial_is_refused_with_a_sentence_that_says_what_is_wrong(text, sentence):
    with pytest.raises(SerialError, match=re.escape(sentence)):
        parse_serial(text)


# What a US scanner's keys give on a foreign keyboard, from xkeyboard-config 2.35 (symbols/us, de,
# fr): the same key in the same row and column. Unshifted | shifted.
KEYS = {
    "us": "1234567890-="
    + "qwertyuiop[]"
    + "asdfghjkl;'"
    + "zxcvbnm,./"
    + '!@#$%^&*()_+QWERTYUIOP{}ASDFGHJKL:"ZXCVBNM<>?',
    "de": "1234567890ß´"
    + "qwertzuiopü+"
    + "asdfghjklöä"
    + "yxcvbnm,.-"
    + '!"§$%&/()=?`QWERTZUIOPÜ*ASDFGHJKLÖÄYXCVBNM;:_',
    "fr": "&é\"'(-è_çà)="
    + "azertyuiop^$"
    + "qsdfghjklmù"
    + "wxcvbn,;:!"
    + "1234567890°+AZERTYUIOP¨£QSDFGHJKLM%WXCVBN?./§",
}


def keyed(text, layout):
    return text.translate(str.maketrans(KEYS["us"], KEYS[layout]))


WEDGE = {
    "bare serial": SERIAL,
    "bare serial in small letters, line end": SERIAL.lower() + "\r\n",
    "whole address": ADDRESS,
    "whole address with case flipped by Caps Lock": ADDRESS.swapcase(),
    "symbology prefix and tab": "]Q1" + ADDRESS + "\t",
    "symbology prefix before a bare serial": "]Q1" + SERIAL + "\r",
    "query and slash at the end": ADDRESS + "/?utm=label",
    "another base address": f"http://192.0.2.7:8000/u/{SERIAL}",
    "address scanned twice": ADDRESS * 2,
    "bare serial scanned twice, each with a line end": (SERIAL + "\r\n") * 2,
    "German keyboard, address": keyed(ADDRESS, "de"),
    "German keyboard, small letters, prefix": keyed("]Q1" + ADDRESS.lower(), "de") + "\n",
    "German keyboard, bare serial": keyed(SERIAL, "de"),
    "French keyboard, address": keyed(ADDRESS, "fr"),
    "French keyboard, small letters, prefix": keyed("]Q1" + ADDRESS.lower(), "fr") + "\t",
    "French keyboard, scanned twice": keyed(ADDRESS, "fr") * 2,
    "read over the telephone": grouped(SERIAL).lower(),
    "prefix and address twice": ("]Q1" + ADDRESS) * 2,
    "with and without a query": ADDRESS + "?a=1\n" + ADDRESS,
    "control characters of a framing scanner": f"\x02{SERIAL}\x03",
}


@pytest.mark.parametrize("text", WEDGE.values(), ids=WEDGE)
def test_every_way_of_scanning_lands_on_the_right_unit(text):
    assert read_scan(text) == SERIAL


@pytest.mark.parametrize("layout", ["us", "de", "fr"])
def test_every_serial_is_read_from_an_address_on_every_keyboard(layout):
    for serial in SERIALS:
        for address in (f"HTTPS://TERN-QUAY.EXAMPLE/U/{serial}", f"http://127.0.0.1:8000/u/{serial.lower()}"):
            assert read_scan(keyed(address, layout)) == serial


def test_swapped_y_and_z_are_taken_only_where_the_check_character_proves_them():
    assert read_scan(SERIAL.replace("Y", "Z")) == SERIAL
    wrong = SERIAL.replace("Y", "Z").translate(str.maketrans("Q", "R"))
    with pytest.raises(SerialError, match="mistyped"):
        read_scan(wrong)
    for serial in SERIALS:
        assert read_scan(serial) == serial


@pytest.mark.parametrize(
    "text",
    [
        "",
        "  \t",
        "Ferry",
        "Henderson",  # nine letters that Crockford's rules would read, all but the check character
        "Van Derby",
        "555010199",  # digits alone are a telephone number or a maker's serial
        "+44 1632 960 001",
        SERIAL[:6],
        SERIAL[:8],
        SERIAL + "7",
        "WO-2041",
        "W-2024-0013",
        "https://ternquay.example/l/LOT-7",
        "été d'hiver",
        "Öl für die Presse",
    ],
)
def test_what_is_no_serial_is_left_to_the_search(text):
    assert read_scan(text) is None


@pytest.mark.parametrize(
    ("text", "sentence"),
    [
        (SERIAL[:-1] + ("7" if SERIAL[-1] != "7" else "8"), "mistyped"),
        (grouped(SERIAL)[:-1] + "U", "“U” is never part"),
        (f"HTTPS://TERNQUAY.EXAMPLE/U/{SERIAL[:8]}", "this one has 8"),
        (f"HTTPS://TERNQUAY.EXAMPLE/U/{SERIAL[1]}{SERIAL[0]}{SERIAL[2:]}", "mistyped"),
        (keyed(f"HTTPS://TERNQUAY.EXAMPLE/U/{SERIAL[:8]}", "de"), "this one has 8"),
        (keyed(f"HTTPS://TERNQUAY.EXAMPLE/U/{SERIAL[:8]}", "fr"), "this one has 8"),
        (f"{ADDRESS}HTTPS://TERNQUAY.EXAMPLE/U/{SERIALS[0]}", "Two different serials"),
    ],
)
def test_what_clearly_is_a_serial_but_wrong_is_refused_with_a_sentence(text, sentence):
    with pytest.raises(SerialError, match=re.escape(sentence)):
        read_scan(text)
