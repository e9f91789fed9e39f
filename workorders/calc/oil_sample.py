"""The verdict on an oil sample: each scale number of its code against the one of the limit."""

from workorders.calc.verdict import FAILS, NOT_DECIDED, PASSES, Verdict

CLEANLINESS_RULE = (
    "passes when no scale number is above the one of the limit; a number that rests on fewer than 20 "
    "particles must lie one below it"
)


def judge_cleanliness(
    *, numbers: tuple[int, int, int], few: tuple[bool, bool, bool], limit: tuple[int, int, int], code: str
) -> Verdict:
    """Judge the code of an oil sample against the code at most.

    Parameters
    ----------
    numbers : tuple of int
        Scale numbers of ISO 4406 at 4, 6 and 14 µm(c) [-].
    few : tuple of bool
        Whether a number rests on fewer than 20 particles, as ``>=`` before it says [-].
    limit : tuple of int
        The scale numbers at most [-].
    code : str
        The code as the sentence says it.

    Returns
    -------
    Verdict
        The value is the most by which a number lies above its limit, below 0 where none reaches it. A
        number that rests on few particles may be one higher: at its limit it is not decided (common
        practice, no source).

    Raises
    ------
    ValueError
        None of its own.

    Examples
    --------
    >>> judge_cleanliness(numbers=(18, 16, 13), few=(False,) * 3, limit=(18, 16, 12), code="18/16/13").word
    'fails'
    """
    sizes = ("4", "6", "14")
    each = tuple(zip(sizes, numbers, few, limit, strict=True))
    above = [f"{number} at {size} µm(c), at most {most}" for size, number, _, most in each if number > most]
    open_ = [size for size, number, marked, most in each if marked and number == most]
    asked = f"{code}, at most {'/'.join(map(str, limit))}"
    if above:
        word, sentence = FAILS, f"{asked}: {FAILS}: {', '.join(above)}"
    elif open_:
        words = f"fewer than 20 particles were counted at {' and '.join(open_)} µm(c)"
        word, sentence = NOT_DECIDED, f"{asked}: {NOT_DECIDED}: {words}; a larger sample would decide it"
    else:
        word, sentence = PASSES, f"{asked}: {PASSES}"
    return Verdict(
        word=word,
        sentence=sentence,
        value=float(max(number - most for _, number, _, most in each)),
        lower=None,
        upper=0.0,
        uncertainty=0.0,
        unit="",
        rule=CLEANLINESS_RULE,
    )
