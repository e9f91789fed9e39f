"""Makers' numbers: how they are compared, and which misreadings are found."""

import string

import pytest
from hypothesis import given
from hypothesis import strategies as st

from shop.calc.maker_number import (
    bare_number,
    edits_between,
    maker_number_match,
    matched,
    one_edit_apart,
    split_numbers,
)
from shop.calc.parameters import InputError

NUMBERS = st.text("ABC01", max_size=7)


def edits1(word):
    """All texts one edit away, as Peter Norvig defines them in "How to Write a Spelling Corrector"."""
    letters = string.ascii_lowercase
    splits = [(word[:i], word[i:]) for i in range(len(word) + 1)]
    deletes = [left + right[1:] for left, right in splits if right]
    transposes = [left + right[1] + right[0] + right[2:] for left, right in splits if len(right) > 1]
    replaces = [left + c + right[1:] for left, right in splits if right for c in letters]
    inserts = [left + c + right for left, right in splits for c in letters]
    return set(deletes + transposes + replaces + inserts)


def test_every_single_edit_of_a_published_example_is_one_apart():
    # Norvig prints 442 for this word; the word itself is among them, by a letter replaced by itself.
    found = edits1("somthing")
    assert len(found) == 442
    assert all(one_edit_apart(one="somthing", other=each) for each in found - {"somthing"})
    assert not one_edit_apart(one="somthing", other="somthing")


def test_two_edits_of_the_published_example_are_not_one_apart():
    near = edits1("somth")
    further = {two for one in list(near)[:40] for two in edits1(one)} - near
    assert further
    assert not any(one_edit_apart(one="somth", other=each) for each in further)


@pytest.mark.parametrize(
    ("one", "other", "edits"),
    [
        ("kitten", "sitting", 3),  # the usual worked example of Levenshtein's distance
        ("CA", "ABC", 3),  # with no part edited twice; 2 where that is allowed
        ("4410", "4401", 1),
        ("", "ABC", 3),
    ],
)
def test_edits_of_worked_examples(one, other, edits):
    assert edits_between(one=one, other=other) == edits_between(one=other, other=one) == edits


@given(NUMBERS, NUMBERS)
def test_the_quick_rule_says_what_counting_says(one, other):
    assert (
        one_edit_apart(one=one, other=other)
        == one_edit_apart(one=other, other=one)
        == (edits_between(one=one, other=other) == 1)
    )


@given(NUMBERS, NUMBERS)
def test_a_match_is_the_same_both_ways_and_near_has_a_cause(one, other):
    found = matched(read=one, known=other)
    assert found == matched(read=other, known=one)
    if found == "near":
        fold = str.maketrans("OIB", "018")
        long_enough = min(len(one), len(other)) >= 4
        assert one.translate(fold) == other.translate(fold) or (
            long_enough and edits_between(one=one, other=other) == 1
        )
    elif found == "apart" and min(len(one), len(other)) >= 4:
        assert edits_between(one=one, other=other) != 1


@pytest.mark.parametrize(
    ("written", "bare"),
    [
        ("bd 4410-1", "BD44101"),
        ("BD.4410/1", "BD44101"),
        ("BD–4410\\1", "BD44101"),
        ("\uff22\uff24 4410", "BD4410"),
        ("4410#A", "4410#A"),
        (" -/. ", ""),
    ],
)
def test_signs_between_do_not_count(written, bare):
    assert bare_number(written) == bare
    assert bare_number(bare) == bare


def test_a_text_is_split_into_numbers_each_once():
    assert split_numbers("BD-4410, bd 4410; FL 77/220\n , -\nX") == ["BD-4410", "FL 77/220", "X"]


@pytest.mark.parametrize(
    ("read", "match"),
    [
        ("BD 4410", "same"),
        ("BD-441O", "near"),  # O for 0
        ("8D-44I0", "near"),  # two characters taken for others
        ("BD-4411", "near"),  # one other character
        ("BD-440", "near"),  # one missing
        ("BD-44210", "near"),  # one too many
        ("BD-4140", "near"),  # neighbours swapped
        ("BD-4421", "apart"),
        ("BD-44", "apart"),
    ],
)
def test_misread_numbers_are_near(read, match):
    assert maker_number_match(read=read, known="BD-4410").match == match


@pytest.mark.parametrize(("read", "known", "match"), [("712", "713", "apart"), ("71O", "710", "near")])
def test_a_short_number_is_near_only_by_characters_taken_for_each_other(read, known, match):
    assert matched(read=read, known=known) == match


# Crockford's base 32 decodes O as 0 and I and L as 1; each of his pairs must be found.
@pytest.mark.parametrize(("read", "known"), [("O", "0"), ("I", "1"), ("L", "1")])
def test_the_pairs_of_base_32_are_near_at_any_length(read, known):
    assert matched(read=f"7{read}", known=f"7{known}") == "near"


@pytest.mark.parametrize("text", ["", "   ", "A" * 61])
def test_a_number_that_is_none_is_refused(text):
    with pytest.raises(InputError, match="read must be a text of 1 to 60 characters"):
        maker_number_match(read=text, known="A")
