"""Check characters of ISO 7064 against the printed values of python-stdnum and hand arithmetic."""

import string

import pytest
from stdnum.iso7064 import mod_11_2, mod_11_10, mod_37_2, mod_37_36, mod_97_10

from shop.calc.check_character import check_character

LETTERS_TOO = string.digits + string.ascii_uppercase

# Values printed in the documentation of python-stdnum 2.2, stdnum.iso7064.
PRINTED = [
    ("mod_11_2", "0794", "0"),
    ("mod_11_2", "079", "X"),
    ("mod_11_10", "79462", "3"),
    ("mod_11_10", "00200667308", "5"),
    ("mod_37_2", "G123489654321", "Y"),
    ("mod_37_36", "A12425GABC1234002", "M"),
    ("mod_97_10", "4354111611551114", "31"),
]


@pytest.mark.parametrize(("scheme", "text", "character"), PRINTED)
def test_printed_values(scheme, text, character):
    found = check_character(text=text, scheme=scheme)
    assert (found.character, found.complete) == (character, text + character)


def is_valid(text):
    return check_character(text=text[:-1], scheme="mod_37_36").complete == text


def test_every_wrong_character_is_found():
    """630 = 18 places × 35 other characters of the printed A12425GABC1234002M."""
    mark = "A12425GABC1234002M"
    wrong = [
        mark[:at] + sign + mark[at + 1 :]
        for at in range(len(mark))
        for sign in LETTERS_TOO
        if sign != mark[at]
    ]
    assert len(set(wrong)) == 630
    assert is_valid(mark)
    assert not any(map(is_valid, wrong))


def test_every_swap_of_neighbours_in_the_printed_mark_is_found():
    mark = "A12425GABC1234002M"
    swaps = {mark[:at] + mark[at + 1] + mark[at] + mark[at + 2 :] for at in range(len(mark) - 1)} - {mark}
    assert len(swaps) == 16
    assert not any(map(is_valid, swaps))


@pytest.mark.parametrize("text", ["7", "079", "123456789012345678"])
def test_pure_systems_agree_with_their_congruence(text):
    """ISO 7064: the sum of value times 2 (or 10) to the place is 1 modulo 11, 37 or 97."""
    eleven = check_character(text=text, scheme="mod_11_2").complete
    values = [10 if sign == "X" else int(sign) for sign in eleven]
    assert sum(value * 2**place for place, value in enumerate(reversed(values))) % 11 == 1
    assert int(check_character(text=text, scheme="mod_97_10").complete) % 97 == 1
    thirty_seven = check_character(text=text, scheme="mod_37_2").complete
    values = [(LETTERS_TOO + "*").index(sign) for sign in thirty_seven]
    assert sum(value * 2**place for place, value in enumerate(reversed(values))) % 37 == 1


MODULES = {
    "mod_11_2": mod_11_2,
    "mod_37_2": mod_37_2,
    "mod_97_10": mod_97_10,
    "mod_11_10": mod_11_10,
    "mod_37_36": mod_37_36,
}


@pytest.mark.parametrize("scheme", MODULES)
def test_a_completed_text_is_valid_for_its_own_library(scheme):
    for number in range(200):
        assert MODULES[scheme].is_valid(check_character(text=str(number), scheme=scheme).complete)


@pytest.mark.parametrize(
    ("scheme", "text", "message"),
    [
        ("mod_11_2", "079X", "text must be of digits for mod_11_2; got 'X' in '079X'"),
        ("mod_97_10", "43A", "text must be of digits for mod_97_10"),
        ("mod_11_10", "7 9", "got ' ' in '7 9'"),
        ("mod_37_2", "G12*", "digits and capital letters for mod_37_2; got '[*]'"),
        ("mod_37_36", "a12", "got 'a' in 'a12'"),
        ("mod_37_36", "É12", "got 'É'"),
        ("mod_11_2", "٣", "text must be of digits"),
        ("mod_37_36", "", "text must be a text of 1 to 200 characters; got ''"),
        ("mod_37_36", "1" * 201, "got 201 characters"),
        ("mod_10", "1", "scheme must be one of mod_11_2, mod_37_2, mod_97_10, mod_11_10, mod_37_36; got"),
    ],
)
def test_what_a_system_does_not_take_is_refused(scheme, text, message):
    with pytest.raises(ValueError, match=message):
        check_character(text=text, scheme=scheme)


def test_the_longest_text_is_allowed():
    assert len(check_character(text="1" * 200, scheme="mod_37_36").complete) == 201
