"""Which unit types a unit in hand may be: what was observed against what the catalogue knows."""

from collections import Counter
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from functools import lru_cache

from shop.calc.maker_number import APART, NEAR, SAME, bare_number, matched
from shop.calc.measured import AGREES, DIFFERS, UNKNOWN
from shop.calc.superseded import KnownNumber

DISPLACEMENT_SHARE = 0.05  # of the figure known: plates round; common practice, no source
SUPPLY_V = 0.5  # plates give whole volts; common practice, no source
FAMILY = "family"


@dataclass(frozen=True, kw_only=True)
class Measured:
    """A figure measured on the unit, with the largest error that is believed, in its own unit."""

    value: float
    uncertainty: float


@dataclass(frozen=True, kw_only=True)
class Observed:
    """What was seen of a unit, as far as it was looked at; lengths in mm, supply in V.

    ``threads`` and ``hoses`` are what could be read, port by port; ``year`` is that of the plate.
    """

    family: str = ""
    bore_mm: Measured | None = None
    rod_mm: Measured | None = None
    stroke_mm: Measured | None = None
    closed_length_mm: Measured | None = None
    displacement_cm3: float | None = None
    supply_v: float | None = None
    year: int | None = None
    ports: int | None = None
    threads: tuple[str, ...] = ()
    hoses: tuple[str, ...] = ()
    numbers: tuple[str, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Entry:
    """What the catalogue knows of one unit type; None and empty are not known.

    ``threads`` and ``hoses`` hold one text for each port, empty where it is not known.
    """

    key: int
    code: str
    family: str
    family_words: str = ""
    bore_mm: float | None = None
    rod_mm: float | None = None
    stroke_mm: float | None = None
    closed_length_mm: float | None = None
    displacement_cm3: float | None = None
    supply_v: float | None = None
    built_from: int | None = None
    built_to: int | None = None
    threads: tuple[str, ...] = ()
    hoses: tuple[str, ...] = ()
    numbers: tuple[KnownNumber, ...] = ()


@dataclass(frozen=True, kw_only=True)
class Fact:
    """One thing that was observed, against what the catalogue has of it.

    ``apart`` is the distance in parts of the uncertainty, 0 where a fact has none.
    """

    name: str
    title: str
    status: str
    observed: str
    known: str = ""
    sentence: str = ""
    apart: float = 0.0


@dataclass(frozen=True, kw_only=True)
class Candidate:
    """A unit type with all facts, and its place: candidates that score the same share a rank."""

    entry: Entry
    facts: tuple[Fact, ...]
    same_numbers: int
    near_numbers: int
    rank: int = 0

    @property
    def agreeing(self) -> tuple[Fact, ...]:
        """Facts that agree."""
        return tuple(fact for fact in self.facts if fact.status == AGREES)

    @property
    def differing(self) -> tuple[Fact, ...]:
        """Facts that differ."""
        return tuple(fact for fact in self.facts if fact.status == DIFFERS)

    @property
    def unknown(self) -> tuple[Fact, ...]:
        """Facts that the catalogue does not know of this type."""
        return tuple(fact for fact in self.facts if fact.status == UNKNOWN)

    @property
    def contradicts(self) -> bool:
        """Whether it is of another family than the unit."""
        return any(fact.name == FAMILY for fact in self.differing)

    @property
    def score(self) -> tuple[int, int, int, int, int]:
        """What decides the rank, the first figure first; more is better."""
        agreed, differing = len(self.agreeing), len(self.differing)
        return (self.same_numbers, -int(self.contradicts), agreed - differing, self.near_numbers, agreed)


def identify(*, observed: Observed, catalogue: Iterable[Entry]) -> list[Candidate]:
    """Compare a unit with every entry of the catalogue, and put the entries in order.

    The rank follows from five figures, the first that differs decides: how many of the numbers on
    the body are the type's (same, not near); whether the family is another one; **agreeing facts
    less differing facts**, a near number counting as one agreeing fact; near numbers; agreeing
    facts. A fact that the catalogue does not know counts nothing. Entries with the same five
    figures share a rank; among them the one whose measured figures lie closer stands first (the sum
    of distance by uncertainty), then the catalogue code.

    A share (agreeing by known) is not used: one of one would stand above five of six, and a fact
    that agrees with two types could turn their order round.

    Parameters
    ----------
    observed : Observed
        What was seen of the unit.
    catalogue : iterable of Entry
        What is known of the types.

    Returns
    -------
    list of Candidate
        Every entry, the likeliest first. The choice stays with a person.
    """
    numbers = [(number, bare) for number in observed.numbers if (bare := bare_number(number))]
    found = [_candidate(observed, entry, numbers) for entry in catalogue]
    scored = [(one.score, one) for one in found]
    scored.sort(key=lambda pair: (*(-figure for figure in pair[0]), _closeness(pair[1]), pair[1].entry.code))
    ranked, rank, before = [], 0, None
    for place, (score, one) in enumerate(scored, 1):
        if score != before:
            rank, before = place, score
        ranked.append(_ranked(one, rank))
    return ranked


def _ranked(one: Candidate, rank: int) -> Candidate:
    return Candidate(
        entry=one.entry,
        facts=one.facts,
        same_numbers=one.same_numbers,
        near_numbers=one.near_numbers,
        rank=rank,
    )


def _closeness(one: Candidate) -> float:
    return sum(fact.apart for fact in one.facts)


def _candidate(observed: Observed, entry: Entry, numbers: Sequence[tuple[str, str]]) -> Candidate:
    read = [_number(number, bare, entry.numbers) for number, bare in numbers]
    facts = [fact for fact, _match in read]
    matches = [match for _fact, match in read]
    facts += _family(observed, entry)
    facts += _figures(observed, entry)
    facts += _ports(observed, entry)
    return Candidate(
        entry=entry, facts=tuple(facts), same_numbers=matches.count(SAME), near_numbers=matches.count(NEAR)
    )


def _number(number: str, bare: str, known: Iterable[KnownNumber]) -> tuple[Fact, str]:
    """Find the known number that a read one matches best."""
    found, best = None, APART
    for one in known:
        match = matched(read=bare, known=one.bare)
        if match == SAME or (match == NEAR and best == APART):
            found, best = one, match
        if match == SAME:
            break
    if found is None:
        sentence = f"The catalogue has no number {number} for this type."
        return Fact(name="number", title="Number", status=UNKNOWN, observed=number, sentence=sentence), APART
    words = (
        f"Number {number} is a number of this type."
        if best == SAME
        else f"Number {number} is near {found.number}: look at the stamp again."
    )
    if found.remark:
        words = f"{words} {found.remark}" if best == NEAR else found.remark
    fact = Fact(
        name="number" if best == SAME else "near_number",
        title="Number",
        status=AGREES,
        observed=number,
        known=found.number,
        sentence=words,
    )
    return fact, best


def _family(observed: Observed, entry: Entry) -> list[Fact]:
    if not observed.family:
        return []
    same = observed.family == entry.family
    words = entry.family_words or entry.family
    return [
        Fact(
            name=FAMILY,
            title="Family",
            status=AGREES if same else DIFFERS,
            observed=observed.family,
            known=entry.family,
            sentence=f"It is a {words}." if same else f"Contradicts: this type is a {words}.",
        )
    ]


def _figures(observed: Observed, entry: Entry) -> list[Fact]:
    """Compare what was measured or read as a number."""
    share = DISPLACEMENT_SHARE * (entry.displacement_cm3 or observed.displacement_cm3 or 0)
    asked = (
        ("bore_mm", "Bore", "mm", observed.bore_mm, entry.bore_mm),
        ("rod_mm", "Rod", "mm", observed.rod_mm, entry.rod_mm),
        ("stroke_mm", "Stroke", "mm", observed.stroke_mm, entry.stroke_mm),
        ("closed_length_mm", "Closed length", "mm", observed.closed_length_mm, entry.closed_length_mm),
        (
            "displacement_cm3",
            "Displacement",
            "cm³/rev",
            _told(observed.displacement_cm3, share),
            entry.displacement_cm3,
        ),
        ("supply_v", "Motor supply", "V", _told(observed.supply_v, SUPPLY_V), entry.supply_v),
    )
    facts = [_figure(*one[:3], one[3], one[4]) for one in asked if one[3] is not None]
    return facts + _year(observed, entry)


def _told(value: float | None, uncertainty: float) -> Measured | None:
    return None if value is None else Measured(value=value, uncertainty=uncertainty)


def _figure(name: str, title: str, unit: str, told: Measured, known: float | None) -> Fact:
    observed = f"{told.value:.6g} {unit}"
    if known is None:
        sentence = f"{title} {observed}: the catalogue does not know it."
        return Fact(name=name, title=title, status=UNKNOWN, observed=observed, sentence=sentence)
    # Rounded, so that 25.5 against 25 is 0.5 and not a hair more.
    apart = round(abs(told.value - known), 9)
    agrees = apart <= told.uncertainty
    word = "within" if agrees else "more than"
    return Fact(
        name=name,
        title=title,
        status=AGREES if agrees else DIFFERS,
        observed=observed,
        known=f"{known:.6g} {unit}",
        sentence=f"{title} {observed}, known {known:.6g} {unit}: {apart:.3g} apart, {word} ± "
        f"{told.uncertainty:.3g} {unit}.",
        apart=apart / told.uncertainty if told.uncertainty else float(apart > 0),
    )


def _year(observed: Observed, entry: Entry) -> list[Fact]:
    if observed.year is None:
        return []
    first, last = entry.built_from, entry.built_to
    known = f"{first or '…'} to {last or '…'}" if first or last else ""
    inside = (first is None or first <= observed.year) and (last is None or observed.year <= last)
    status = (AGREES if inside else DIFFERS) if known else UNKNOWN
    words = f"built {known}" if known else "the catalogue does not know when it was built"
    sentence = f"Year {observed.year}: {words}."
    return [
        Fact(
            name="year",
            title="Year",
            status=status,
            observed=str(observed.year),
            known=known,
            sentence=sentence,
        )
    ]


def _ports(observed: Observed, entry: Entry) -> list[Fact]:
    facts = []
    if observed.ports is not None:
        count = len(entry.threads)
        status = UNKNOWN if not count else AGREES if count == observed.ports else DIFFERS
        known = str(count) if count else ""
        words = f"{count} known" if count else "the catalogue does not know them"
        facts.append(
            Fact(
                name="ports",
                title="Ports",
                status=status,
                observed=str(observed.ports),
                known=known,
                sentence=f"{observed.ports} port{'' if observed.ports == 1 else 's'}: {words}.",
            )
        )
    if observed.threads:
        facts.append(_among("threads", "Port threads", observed.threads, entry.threads))
    if observed.hoses:
        facts.append(_among("hoses", "Hoses", observed.hoses, entry.hoses))
    return facts


@lru_cache(maxsize=4096)  # the ports of a whole catalogue are the same few sets of texts
def _among(name: str, title: str, seen: tuple[str, ...], known: tuple[str, ...]) -> Fact:
    """Compare texts of ports: each one seen must be one known; a port without a text may be any."""
    left = Counter(bare_number(text) for text in seen) - Counter(bare_number(text) for text in known if text)
    open_ports = sum(not text for text in known)
    told = [text for text in known if text]
    if not left:
        status = AGREES
    elif not told or left.total() <= open_ports:
        status = UNKNOWN
    else:
        status = DIFFERS
    words = f"known {', '.join(told)}" if told else "the catalogue does not know them"
    return Fact(
        name=name,
        title=title,
        status=status,
        observed=", ".join(seen),
        known=", ".join(told),
        sentence=f"{title} {', '.join(seen)}: {words}.",
    )
