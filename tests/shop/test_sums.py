"""The command ``calc`` and the pages of bench sums, over every calculation of the registry."""

import json
import re
import subprocess
import sys
from io import StringIO

import pytest
from django.conf import settings
from django.core.management import CommandError, call_command
from django.urls import reverse

from shop.calc import registry
from shop.calc.units import INCH_POUND, metric, shown
from shop.forms.sums import initial_text
from shop.models import LimitSetting
from tests.factories import person

ALL = registry.calculations()
EACH = pytest.mark.parametrize("one", ALL, ids=[one.name for one in ALL])


def run(*args):
    out = StringIO()
    call_command("calc", *args, stdout=out)
    return out.getvalue()


def as_pairs(one):
    return [
        f"{name}={initial_text(value, '', False)}"
        for name, value in one.example.items()
        if not isinstance(value, list | tuple)
    ]


def lists_of(one, tmp_path):
    lists = {name: value for name, value in one.example.items() if isinstance(value, list | tuple)}
    file = tmp_path / "in.json"
    file.write_text(json.dumps(lists), encoding="utf-8")
    return ["--input", str(file)]


def test_the_list_names_every_calculation():
    told = run()
    assert all(re.search(rf"^  {one.name} ", told, re.MULTILINE) for one in ALL)
    assert [row["name"] for row in json.loads(run("--json"))] == [one.name for one in ALL]


def test_a_reader_that_stops_early_gets_no_traceback():
    command = [sys.executable, str(settings.BASE_DIR / "manage.py"), "calc"]
    with subprocess.Popen(command, stdout=subprocess.PIPE, stderr=subprocess.PIPE) as process:
        process.stdout.close()
        assert process.wait(timeout=60) == 1
        assert process.stderr.read() == b""


@EACH
def test_the_command_answers_the_example_in_json_and_in_words(one, tmp_path):
    values = [*as_pairs(one), *lists_of(one, tmp_path)]
    told = json.loads(run(one.name, *values, "--json"))
    assert told["name"] == one.name
    assert told["result"] == json.loads(json.dumps(one.answer(one.example).as_json()))["result"]
    assert list(told["inputs"]) == [asked.name for asked in one.asked]
    words = run(one.name, *values)
    assert words.startswith(one.title)
    assert all(f"{given.name} = " in words or given.figure.title in words for given in one.figures)


@pytest.mark.parametrize(
    ("args", "sentence"),
    [
        (["gland_sqeeze"], "do you mean gland_squeeze"),
        (["gland_squeeze"], "cs_mm is needed"),
        (["gland_squeeze", "cs_mm"], "an input must be key=value; got 'cs_mm'"),
        (["gland_squeeze", "cs_mm=1", "cs_mm=2"], "given once"),
        (["gland_squeeze", "cs_mm=nan"], "cs_mm must be above 0 mm and at most 50 mm; got nan mm"),
        (["gland_squeeze", "cs_mm=thick"], "cs_mm must be above 0 mm and at most 50 mm; got 'thick'"),
        (["gland_squeeze", "cs_mm=1_0"], "got '1_0'"),
        (["gland_squeeze", "cs_mm=-1"], "cs_mm must be above 0 mm and at most 50 mm; got -1 mm"),
        (["gland_squeeze", "depth=3"], "depth is not asked for"),
        (["gland_squeeze", "--input", "there-is-none.json"], "cannot|must be a file"),
    ],
)
def test_a_bad_input_gives_a_sentence_and_status_two(args, sentence):
    with pytest.raises(CommandError, match=sentence) as refused:
        run(*args)
    assert refused.value.returncode == 2


@pytest.mark.parametrize("content", ["[1]", "{", '{"cs_mm": "3"}', '{"cs_mm": true}', "\xff"])
def test_a_bad_input_file_gives_a_sentence(tmp_path, content):
    file = tmp_path / "in.json"
    file.write_bytes(content.encode("latin-1"))
    with pytest.raises(CommandError, match="must") as refused:
        run("gland_squeeze", "--input", str(file))
    assert refused.value.returncode == 2


@pytest.fixture
def tech(client, db):
    user = person("bench")
    client.force_login(user)
    return user


@EACH
@pytest.mark.parametrize("inch", [False, True], ids=["metric", "inch"])
def test_the_page_answers_the_example(one, inch, client, tech):
    query = {"units": "inch-pound" if inch else "metric"}
    query |= {
        asked.name: initial_text(one.example[asked.name], asked.parameter.unit, inch)
        for asked in one.asked
        if asked.name in one.example
    }
    page = client.get(reverse("shop:sum", args=[one.name]), query)
    assert page.status_code == 200, page.context["form"].errors
    answer = page.context["answer"]
    for name, value in one.example.items():
        if isinstance(value, float):
            assert answer.inputs[name] == pytest.approx(value, rel=1e-5)
    text = page.content.decode()
    assert all(given.figure.title in text for given, *_ in page.context["figures"])
    assert "Left out" in text
    assert "``" not in text
    assert len(page.context["figures"]) + len(page.context["tables"]) + len(page.context["checks"]) > 0


def test_the_list_page_leads_to_each(client, tech, django_assert_max_num_queries):
    with django_assert_max_num_queries(12):
        page = client.get(reverse("shop:sums")).content.decode()
    assert all(reverse("shop:sum", args=[one.name]) in page for one in ALL)


def test_figures_known_already_stand_in_a_form_that_asks_for_the_rest(client, tech):
    page = client.get(reverse("shop:sum", args=["decay_leak_rate"]), {"volume_ml": "79"})
    assert page.status_code == 200
    assert not page.context["form"].is_bound
    assert 'value="79"' in page.content.decode()


def test_an_empty_form_shows_the_shops_own_limits(client, tech):
    LimitSetting.objects.get(key="rod-run-out")
    page = client.get(reverse("shop:sum", args=["rod_runout_limit"])).content.decode()
    assert 'value="0.5"' in page
    assert "Limits, as this shop has set them" in page


def test_an_input_says_what_it_is_and_how_it_is_taken(client, tech):
    page = client.get(reverse("shop:sum", args=["rod_runout_limit"]))
    told = page.context["form"].fields["length_mm"].help_text
    assert "[mm]" in told
    assert told.endswith("(rollers or V-blocks)")


def test_a_refused_input_stays_with_its_sentence_beside_the_field(client, tech):
    page = client.get(
        reverse("shop:sum", args=["gland_squeeze"]),
        {"cs_mm": "-1", "cs_tol_mm": "0.1", "depth_min_mm": "4", "depth_max_mm": "3"},
    )
    assert page.status_code == 422
    assert page.context["form"].errors["cs_mm"] == ["Must be above 0 mm and at most 50 mm; got -1 mm."]
    crossed = client.get(
        reverse("shop:sum", args=["gland_squeeze"]),
        {"cs_mm": "3", "cs_tol_mm": "0.1", "depth_min_mm": "4", "depth_max_mm": "3"},
    )
    assert crossed.status_code == 422
    assert "depth_min_mm" in crossed.context["form"].errors


def test_the_units_follow_the_person_unless_the_address_says_otherwise(client, tech):
    tech.inch_units = True
    tech.save()
    address = reverse("shop:sum", args=["gland_squeeze"])
    assert client.get(address).context["units"] == "inch-pound"
    assert client.get(address, {"units": "metric"}).context["units"] == "metric"


def test_the_other_units_keep_what_was_entered(client, tech):
    one = registry.find(name="gland_squeeze")
    query = {"units": "metric", **{name: str(value) for name, value in one.example.items()}}
    page = client.get(reverse("shop:sum", args=[one.name]), query)
    other = client.get(page.context["other_url"])
    assert other.context["units"] == "inch-pound"
    assert other.context["answer"].inputs["cs_mm"] == pytest.approx(3.53, rel=1e-5)
    value = {given.name: (text, unit) for given, text, unit, _how in other.context["figures"]}
    assert value["squeeze_min_mm"] == ("0.0122047", "in")


def test_an_unknown_sum_is_not_found_and_the_signed_out_sign_in(client, db):
    assert client.get(reverse("shop:sums")).status_code == 302
    client.force_login(person("bench"))
    assert client.get(reverse("shop:sum", args=["nothing"])).status_code == 404
    assert client.post(reverse("shop:sums")).status_code == 405


# NIST Special Publication 811 (2008), Appendix B.8, conversion factors as printed there.
NIST = {
    "mm": (25.4, "in"),
    "bar": (6.894757e-2, "psi"),
    "mL": (16.38706, "in³"),
    "L/min": (3.785412, "gal/min"),
    "N": (4.448222, "lbf"),
    "N·m": (1.355818, "lbf·ft"),
    "W": (745.6999, "hp"),
}


@pytest.mark.parametrize("unit", NIST)
def test_the_factors_are_the_published_ones(unit):
    factor, name = NIST[unit]
    assert INCH_POUND[unit].name == name
    assert INCH_POUND[unit].metric_per == pytest.approx(factor, rel=1e-6)


@pytest.mark.parametrize("unit", INCH_POUND)
def test_there_and_back_gives_the_same(unit):
    assert metric(value=shown(value=12.5, unit=unit, inch=True), unit=unit, inch=True) == pytest.approx(12.5)


def test_water_boils_at_212_degrees():
    assert shown(value=100.0, unit="°C", inch=True) == pytest.approx(212)
    assert shown(value=1.0, unit="K", inch=True) == pytest.approx(1.8)
