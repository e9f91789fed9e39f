"""The look: colours that can be read, marks, serials, forms, header and error pages."""

import re
import socket
from html.parser import HTMLParser
from itertools import combinations
from pathlib import Path

import pytest
from django import forms
from django.conf import settings
from django.contrib.auth.models import AnonymousUser
from django.core.exceptions import ValidationError
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db.models import fields as models
from django.template import Context, Template
from django.template.loader import get_template, render_to_string
from django.test import RequestFactory
from django.urls import get_resolver
from django.utils.datastructures import MultiValueDict

from shop import navigation, roles
from shop.context import page
from shop.forms import PhotosField, ShopForm, number_field
from shop.models import Fluid
from shop.templatetags import shop_tags

CSS = Path(settings.BASE_DIR, "shop/static/shop/shop.css").read_text()
TOKEN = re.compile(r"--([\w-]+):\s*(#[0-9a-f]{3,6});")


class Page(HTMLParser):
    """Every start tag of a fragment as (tag, attributes)."""

    def __init__(self, html):
        super().__init__()
        self.tags = []
        self.words = []
        self.feed(str(html))

    def handle_starttag(self, tag, attrs):
        self.tags.append((tag, dict(attrs)))

    def handle_data(self, data):
        self.words.append(data)

    @property
    def text(self):
        return " ".join("".join(self.words).split())

    @property
    def ids(self):
        return {attrs["id"] for _tag, attrs in self.tags if "id" in attrs}

    def with_attr(self, name):
        return [(tag, attrs) for tag, attrs in self.tags if name in attrs]

    def one(self, **wanted):
        found = [attrs for _tag, attrs in self.tags if all(attrs.get(k) == v for k, v in wanted.items())]
        assert len(found) == 1, found
        return found[0]


def drawn(source, **context):
    return Page(Template("{% load shop_tags %}" + source).render(Context(context)))


# ---------- colours ----------


def tokens(theme):
    """Colour tokens of a theme: each theme overrides the light one."""
    light, dark, printed = CSS.split(":root {")[1], CSS.split(":root {")[2], CSS.split(":root {")[-1]
    found = dict(TOKEN.findall(light[: light.index("}")]))
    if theme != "light":
        block = {"dark": dark, "print": printed}[theme]
        found |= dict(TOKEN.findall(block[: block.index("}")]))
    return found


def luminance(colour):
    """Relative luminance as WCAG 2.2 defines it (w3.org/TR/WCAG22, "relative luminance")."""
    digits = colour.lstrip("#")
    if len(digits) == 3:
        digits = "".join(2 * digit for digit in digits)
    parts = [int(digits[i : i + 2], 16) / 255 for i in (0, 2, 4)]
    red, green, blue = (
        part / 12.92 if part <= 0.04045 else ((part + 0.055) / 1.055) ** 2.4 for part in parts
    )
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one, other):
    """Contrast ratio as WCAG 2.2 defines it (w3.org/TR/WCAG22, "contrast ratio")."""
    high, low = sorted((luminance(one), luminance(other)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_contrast_formula_gives_the_ends_of_the_scale_that_wcag_names():
    assert contrast("#000", "#fff") == pytest.approx(21)
    assert contrast("#abcdef", "#abcdef") == pytest.approx(1)


GROUNDS = ("paper", "sheet", "sunk")
TEXT = [
    *[(text, ground) for text in ("ink", "ink-2", "link") for ground in GROUNDS],
    *[(text, ground) for text in ("good", "bad", "warn", "wait") for ground in GROUNDS],
    *[("ink", f"{tone}-tint") for tone in ("act", "warn")],
    *[(text, "act-tint") for text in ("ink-2", "good", "bad", "warn", "wait", "link")],
    ("on-act", "act"),
    ("on-hull", "hull"),
    ("on-hull", "hull-deep"),
    ("paper", "ink"),
]
SHAPES = [
    *[(edge, ground) for edge in ("rule-strong", "act", "focus", "ink") for ground in GROUNDS],
    ("focus", "act-tint"),
    ("hull-rule", "hull"),
    ("boot-top", "hull"),
    ("boot-top", "hull-deep"),
    ("sheet", "good"),
    ("sheet", "bad"),
    ("sheet", "warn"),
    ("sheet", "wait"),
]


@pytest.mark.parametrize("theme", ["light", "dark", "print"])
@pytest.mark.parametrize(("pairs", "least"), [(TEXT, 4.5), (SHAPES, 3.0)], ids=["text", "shapes"])
def test_every_pair_of_colours_keeps_its_contrast(theme, pairs, least):
    """WCAG 2.2: 1.4.3 asks 4.5:1 for text, 1.4.11 asks 3:1 for controls and graphics."""
    colours = tokens(theme)
    poor = {
        pair: round(contrast(colours[pair[0]], colours[pair[1]]), 2)
        for pair in pairs
        if contrast(colours[pair[0]], colours[pair[1]]) < least
    }
    assert poor == {}


def test_the_contrast_check_sees_a_grey_that_is_too_light():
    assert contrast("#999999", tokens("light")["sheet"]) < 4.5


# ---------- templates ----------

INLINE = re.compile(
    r"""<style[\s>]|<script(?![^>]*\bsrc=)|\s(?:style|on[a-z]+)\s*=\s*["']|javascript:""", re.IGNORECASE
)


def test_no_template_has_inline_style_or_script():
    found = {
        str(path): INLINE.search(path.read_text()).group()
        for path in Path(settings.BASE_DIR).glob("*/templates/**/*.html")
        if INLINE.search(path.read_text())
    }
    assert found == {}


@pytest.mark.parametrize(
    "fault",
    [
        '<p style="color:red">',
        "<script>alert(1)</script>",
        '<a onclick="x()">',
        "<style>p{}</style>",
        "<a href='javascript:x'>",
    ],
)
def test_the_search_for_inline_code_sees_it(fault):
    assert INLINE.search(fault)


# A day of a month that no year follows, in a template or in Python.
NO_YEAR = re.compile(r'date:"d M(?! [Yy])|%d %b(?! %Y)')


def test_no_day_is_written_without_its_year():
    root = Path(settings.BASE_DIR)
    apps = [root / name for name in ("shop", "inventory", "workorders")]
    files = [path for app in apps for kind in ("*.html", "*.py") for path in app.rglob(kind)]
    assert [str(path) for path in files if NO_YEAR.search(path.read_text())] == []


@pytest.mark.parametrize("fault", ['{{ at|date:"d M, H:i" }}', '{{ at|date:"d M" }}', "{at:%d %b, %H:%M}"])
def test_the_search_for_a_day_without_its_year_sees_it(fault):
    assert NO_YEAR.search(fault)


def test_nothing_in_the_look_comes_from_another_host():
    files = [CSS, *[path.read_text() for path in Path(settings.BASE_DIR, "shop/static/shop").glob("*.js")]]
    assert not [found for text in files for found in re.findall(r"https?://[^\s\"')]+|@import|url\(", text)]


@pytest.mark.parametrize("name", ["500.html", "400.html"])
def test_the_pages_for_a_broken_program_stand_alone(name, monkeypatch, settings):
    """Without context, without the database (not marked for it) and without any connection."""
    settings.STORAGES = {"staticfiles": {"BACKEND": "no.such.Storage"}}
    monkeypatch.setattr(socket, "socket", None)
    shown = Page(get_template(name).render())
    assert [tag for tag, _attrs in shown.tags].count("h1") == 1
    assert "Was anything saved?" in shown.text
    assert "What to do next" in shown.text


@pytest.mark.django_db
@pytest.mark.parametrize("name", ["403.html", "403_csrf.html", "404.html", "shop/locked_out.html"])
def test_error_pages_say_what_happened_what_was_saved_and_what_to_do(name):
    request = RequestFactory().get("/somewhere/")
    request.user = AnonymousUser()
    shown = Page(render_to_string(name, {}, request=request))
    for question in ("What happened", "Was anything saved?", "What to do next"):
        assert question in shown.text
    assert [tag for tag, _attrs in shown.tags].count("h1") == 1


# ---------- marks ----------


def test_every_verdict_has_a_word_and_an_outline_of_its_own():
    verdicts = ("passes", "fails", "not_decided", "not_tested", "invalid")
    pictures = [str(shop_tags.verdict(value)) for value in verdicts]
    shapes = [re.search("<svg.*</svg>", picture).group() for picture in pictures]
    assert all(one != other for one, other in combinations(shapes, 2))
    assert [Page(picture).text for picture in pictures] == [
        "passes",
        "fails",
        "not decided",
        "not yet tested",
        "invalid",
    ]


@pytest.mark.parametrize("value", ["", None])
def test_no_verdict_reads_as_not_yet_tested(value):
    assert Page(shop_tags.verdict(value)).text == "not yet tested"


def test_a_verdict_nobody_drew_never_looks_like_a_pass():
    shown = str(shop_tags.verdict("perhaps"))
    assert "perhaps" in shown
    assert "good" not in shown
    assert shop_tags.SHAPES["good"] not in shown


def test_marks_escape_what_people_typed():
    assert "<b>" not in str(shop_tags.mark("<b>", "good"))


@pytest.mark.parametrize(
    ("value", "place"), [("received", 0), ("go_ahead", 3), ("on_test", 5), ("shipped", 7)]
)
def test_a_stage_is_drawn_at_its_place_on_the_route(value, place):
    circles = [attrs for tag, attrs in Page(shop_tags.stage(value)).tags if tag == "circle"]
    assert [index for index, attrs in enumerate(circles) if attrs["class"] == "here"] == [place]
    assert [attrs["fill"] != "none" for attrs in circles] == [index <= place for index in range(8)]


def test_a_side_exit_is_not_drawn_on_the_route():
    shown = Page(shop_tags.stage("exchange_core"))
    assert "circle" not in [tag for tag, _attrs in shown.tags]
    assert shown.text == "kept as exchange core"


def test_the_route_marks_the_stage_reached_and_shows_its_note():
    shown = drawn("{% route 'building' notes=notes %}", notes={"building": "since 7 March"})
    stops = [attrs for tag, attrs in shown.tags if tag == "li"]
    assert [stop["class"] for stop in stops] == ["done"] * 4 + ["here"] + ["to-come"] * 3
    assert [stop.get("aria-current") for stop in stops].index("step") == 4
    assert "since 7 March" in shown.text


def test_the_route_ends_at_a_side_exit():
    shown = drawn("{% route 'torn_down' exit='scrapped' %}")
    assert [attrs["class"] for tag, attrs in shown.tags if tag == "li"] == ["done", "done", "exit"]


def test_a_serial_is_grouped_for_reading_and_copied_whole():
    shown = Page(shop_tags.serial("7F3K9QXM2", href="/u/7F3K9QXM2"))
    assert shown.one(**{"data-serial": "7F3K9QXM2"})["href"] == "/u/7F3K9QXM2"
    assert shown.words == ["7 F 3, K 9 Q, X M 2", "7F3", "K9Q", "XM2"]


def test_a_serial_with_dashes_keeps_its_own_groups():
    assert shop_tags.serial_groups("AB-12-C") == ["AB", "12", "C"]
    assert shop_tags.serial_groups("") == []


def test_a_number_stays_with_its_unit_and_a_missing_one_is_told():
    assert drawn("{% quantity value 'mm' places=2 %}", value=24.937).text == "24.94 mm"
    assert drawn("{% quantity value 'mm' %}", value=0).text == "0 mm"
    assert "none" in drawn("{% quantity value 'mm' %}", value=None).text


# ---------- forms ----------


class Sample(ShopForm):
    groups = [("Seen", ["state", "parts"])]

    name = forms.CharField(label="Customer", help_text="As on the delivery note.")
    rod_mm = number_field("Rod diameter", unit="mm", places=2, min_value=0, max_value=40)
    state = forms.ChoiceField(
        label="State", choices=[("a", "as new"), ("b", "worn")], widget=forms.RadioSelect
    )
    parts = forms.MultipleChoiceField(
        label="Missing", choices=[("1", "hose")], widget=forms.CheckboxSelectMultiple
    )
    agreed = forms.BooleanField(label="Agreed")
    photos = PhotosField(label="Photos", required=False)


GOOD = {"name": "Heron", "rod_mm": "14.00", "state": "a", "parts": ["1"], "agreed": "on"}


def form_page(form, **context):
    request = RequestFactory().post("/", {"form_token": "a" * 32})
    given = Context({"form": form, "submit": "Save", "request": request, **context})
    return Page(get_template("shop/_form.html").template.render(given))


def test_a_list_with_nothing_chosen_says_so_in_words():
    class Lists(ShopForm):
        must = forms.ChoiceField(choices=[*models.BLANK_CHOICE_DASH, ("a", "as new")])
        may = forms.ChoiceField(choices=[*models.BLANK_CHOICE_DASH, ("a", "as new")], required=False)
        row = forms.ModelChoiceField(Fluid.objects.none())
        own = forms.ModelChoiceField(Fluid.objects.none(), empty_label="no fluid", required=False)

    form = Lists()
    assert [next(iter(field.choices)) for field in form.fields.values()] == [
        ("", "Choose"),
        ("", "not chosen"),
        ("", "Choose"),
        ("", "no fluid"),
    ]


def every_form(of=ShopForm):
    for form in of.__subclasses__():
        yield form
        yield from every_form(form)


def test_a_day_that_is_known_stands_in_the_form_as_browsers_read_it():
    assert get_resolver().url_patterns  # loads every form
    days = [
        field
        for form in every_form()
        for field in form.base_fields.values()
        if isinstance(field, forms.DateField) and field.widget.input_type == "date"
    ]
    assert len(days) > 5
    assert all(field.widget.format == "%Y-%m-%d" for field in days)


def test_every_line_of_the_error_summary_leads_to_a_control():
    shown = form_page(Sample({}))
    targets = [attrs["href"][1:] for tag, attrs in shown.tags if tag == "a"]
    assert targets == ["id_name", "id_rod_mm", "id_agreed", "id_state_0", "id_parts_0"]
    assert set(targets) <= shown.ids


def test_help_and_error_are_tied_to_the_control():
    shown = form_page(Sample({}))
    control = shown.one(name="name")
    assert control["aria-invalid"] == "true"
    assert control["aria-describedby"].split() == ["id_name_helptext", "id_name_error"]
    described = {
        one
        for _tag, attrs in shown.with_attr("aria-describedby")
        for one in attrs["aria-describedby"].split()
    }
    assert described <= shown.ids
    assert "id_state_error" in described


def test_one_wrong_field_takes_the_focus_itself():
    shown = form_page(Sample({**GOOD, "name": ""}))
    assert [attrs["name"] for _tag, attrs in shown.with_attr("data-focus")] == ["name"]


def test_one_wrong_choice_takes_the_focus_as_a_group():
    shown = form_page(Sample({**GOOD, "state": ""}))
    assert [attrs["id"] for _tag, attrs in shown.with_attr("data-focus")] == ["id_state_field"]


def test_several_errors_or_one_of_the_whole_form_put_the_focus_on_the_summary():
    whole = Sample(GOOD)
    whole.add_error(None, "The lot is on hold.")
    for form in (Sample({}), whole):
        shown = form_page(form)
        assert [attrs["class"] for _tag, attrs in shown.with_attr("data-focus")] == ["error-summary"]


def test_a_form_without_errors_has_no_summary():
    assert "error-summary" not in [attrs.get("class") for _tag, attrs in form_page(Sample()).tags]


def test_fields_without_a_group_come_first():
    assert [(group.legend, [field.name for field in group.fields]) for group in Sample().field_groups] == [
        ("", ["name", "rod_mm", "agreed", "photos"]),
        ("Seen", ["state", "parts"]),
    ]


def test_bench_forms_mark_their_primary_controls():
    class Bench(Sample):
        bench = True

    marked = [tag for tag, _attrs in form_page(Bench()).with_attr("data-primary")]
    assert marked == ["label"] * 4 + ["button"]
    assert form_page(Sample()).with_attr("data-primary") == []
    assert [tag for tag, _attrs in form_page(Sample(), bench=True).with_attr("data-primary")] == ["button"]


def test_a_number_is_refused_in_words_that_name_the_unit():
    form = Sample({**GOOD, "rod_mm": "-1"})
    assert form.errors["rod_mm"] == ["Must be at least 0 mm."]
    assert Sample({**GOOD, "rod_mm": "41"}).errors["rod_mm"] == ["Must be at most 40 mm."]
    assert "Rod diameter in mm" in form_page(Sample()).text


@pytest.mark.parametrize(
    ("value", "told"), [("-1", "Must be at least 0 %."), ("101", "Must be at most 100 %.")]
)
def test_a_percentage_outside_its_limits_is_told_as_one(value, told):
    field = number_field("Swollen by", unit="%", min_value=0, max_value=100)
    with pytest.raises(ValidationError) as refused:
        field.clean(value)
    assert refused.value.messages == [told]


def test_a_form_with_a_file_field_can_carry_files():
    assert form_page(Sample()).one(method="post")["enctype"] == "multipart/form-data"


def test_photos_come_as_a_list_and_none_is_an_empty_list():
    files = MultiValueDict({"photos": [SimpleUploadedFile("a.jpg", b"a"), SimpleUploadedFile("b.jpg", b"b")]})
    form = Sample(GOOD, files)
    assert form.is_valid(), form.errors
    assert [upload.name for upload in form.cleaned_data["photos"]] == ["a.jpg", "b.jpg"]
    bare = Sample(GOOD)
    assert bare.is_valid(), bare.errors
    assert bare.cleaned_data["photos"] == []


# ---------- tokens of forms ----------


def token(request, form=None):
    source = "{% form_token form %}" if form is not None else "{% form_token %}"
    return drawn(source, request=request, form=form).one(name="form_token")["value"]


def test_every_rendering_gives_a_fresh_token():
    request = RequestFactory().get("/")
    assert re.fullmatch("[0-9a-f]{32}", token(request))
    assert token(request) != token(request)


def test_a_refused_form_keeps_its_token_and_its_neighbour_gets_another():
    posted = "0123456789abcdef" * 2
    request = RequestFactory().post("/", {"form_token": posted})
    assert token(request, Sample({})) == posted
    assert token(request, Sample()) != posted
    assert token(request) != posted


def test_a_token_that_no_page_made_is_replaced():
    request = RequestFactory().post("/", {"form_token": '"><script>'})
    assert re.fullmatch("[0-9a-f]{32}", token(request, Sample({})))


# ---------- header ----------


class Person:
    is_authenticated = is_active = True

    def __init__(self, *names):
        self._roles = frozenset(names)


@pytest.fixture
def registry(monkeypatch):
    monkeypatch.setattr(navigation, "_items", {})
    monkeypatch.setattr(navigation, "_search", [])


@pytest.mark.usefixtures("registry")
def test_the_navigation_shows_what_a_role_may_do_in_order():
    navigation.register("Sign in again", "shop:sign_in", order=90)
    navigation.register("Stores", "shop:sign_out", action="stores", order=10)
    assert [item.label for item in navigation.items_for(Person(roles.STORES))] == ["Stores", "Sign in again"]
    assert [item.label for item in navigation.items_for(Person(roles.BENCH))] == ["Sign in again"]
    assert list(navigation.items_for(AnonymousUser())) == []


@pytest.mark.django_db
@pytest.mark.usefixtures("registry")
def test_a_group_of_several_folds_and_one_alone_stands_by_itself():
    navigation.register("Alone", "shop:sign_in", order=1, group="Desk")
    navigation.register("Late", "shop:sign_out", order=1, group="Stores")
    navigation.register("Bins", "shop:people", order=2, group="Stores")
    navigation.register("First", "shop:sums", order=99)
    nav = page(_request("/people/"))["nav"]
    assert [link["label"] for link in nav] == ["First", "Alone", "Late", "Bins"]
    text = " ".join(render_to_string("shop/_nav.html", {"nav": nav}).split())
    assert text.count("<details") == 1
    folded = text[text.index("<details") : text.index("</details>")]
    assert "<summary>Stores</summary>" in folded
    assert "Alone" not in folded
    assert 'aria-current="page">Bins</a>' in folded
    with pytest.raises(KeyError, match="Loft"):
        navigation.register("Bins", "shop:people", group="Loft")


@pytest.mark.usefixtures("registry")
def test_an_entry_for_an_unknown_action_is_refused_at_start():
    with pytest.raises(KeyError, match="polish"):
        navigation.register("Polish", "shop:sign_in", action="polish")


@pytest.mark.django_db
@pytest.mark.usefixtures("registry")
def test_signed_out_visitors_get_no_navigation_and_no_search():
    navigation.register("Sign in", "shop:sign_in")
    navigation.register_search("shop:sign_in")
    request = RequestFactory().get("/")
    request.user = AnonymousUser()
    given = page(request)
    assert given["nav"] == []
    assert given["search_url"] is None
    assert given["user_roles"] == []


@pytest.mark.django_db
@pytest.mark.usefixtures("registry")
def test_the_entry_nearest_to_the_page_is_marked_as_current():
    navigation.register("Sign in", "shop:sign_in", order=1)
    navigation.register("Sign out", "shop:sign_out", order=2)
    (first, _second) = navigation.items_for(Person(roles.LEAD))
    assert first.label == "Sign in"
    request = RequestFactory().get(page(_request("/"))["nav"][0]["url"] + "more/")
    request.user = Person(roles.LEAD)
    assert [link.get("current", False) for link in page(request)["nav"]] == [True, False]


def _request(path):
    request = RequestFactory().get(path)
    request.user = Person(roles.LEAD)
    return request
