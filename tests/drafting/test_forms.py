"""Templates: what a person may change, what a template may not reach, and that data stays data."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.day.templates import NAMES, read_templates
from episode.drafting.description import draft, size
from episode.drafting.forms import built_in, fill
from episode.errors import UnusableInput
from episode.models import Correction
from tests.drafting.invented import SETTINGS, day


def with_settings(**changes):
    return day(settings=SETTINGS.model_copy(update=changes))


def test_every_form_has_a_built_in_template():
    wordings = draft(day()).wordings
    assert set(wordings) | {"description.txt"} == set(NAMES)
    assert all(text.strip() for name, text in wordings.items() if name != "comment.txt")


def test_the_short_form_is_within_its_limit_and_keeps_the_disclosures():
    short = draft(with_settings(short_limit=400)).wordings["short.txt"]
    assert size(short) <= 400
    assert "Skelby Sands" in short and "Given to us free of charge" in short


def test_the_comment_asks_and_corrects():
    correction = Correction(clip="", start=0, quote="it was 1540", text="it was about 1660", reference="Oswald 1975")
    comment = draft(day(corrections=(correction,))).wordings["comment.txt"]
    assert comment.startswith("A correction:\nWe said: “it was 1540”. It was about 1660 [1].\n")
    assert "Can you tell us more?" in comment and "[1] Oswald 1975" in comment
    assert "Finds\n" not in comment


def test_a_limit_counts_bytes_as_the_strictest_host_does():
    # vocab/rules/host_rules.csv: the host's interface takes 5,000 bytes of UTF-8.
    wide = draft(with_settings(presenter="Ægir Þórðarson " * 4, description_limit=600))
    assert len(wide.text.encode()) <= 600


def test_a_person_words_it_themselves():
    own = "{{ title|upper }}: {{ finds|length }} finds\n{% for line in finds[:2] %}\n* {{ line }}\n{% endfor %}\nBye!\n"
    drafted = draft(day(), {"description.txt": own})
    assert drafted.text.startswith(SETTINGS.title.upper()) and drafted.text.endswith("Bye!\n")
    assert not drafted.problems


def test_what_a_template_says_is_blurred_too():
    told = with_settings(private_places=("Eel Gut",))
    assert "Eel Gut" not in draft(told, {"description.txt": "{{ opening }}\nBelow Eel Gut, at low water.\n"}).text


@pytest.mark.parametrize(
    "wicked",
    [
        "{{ ''.__class__.__mro__[1].__subclasses__() }}",
        "{{ opening.__init__.__globals__ }}",
        "{{ self.__dict__ }}",
        "{{ self._TemplateReference__context }}",
        "{{ cycler.__init__.__globals__.os.popen('id').read() }}",
        "{{ lipsum.__globals__ }}",
        "{{ namespace() }}",
        "{{ range(10) }}",
        "{{ opening|attr('__class__') }}",
        "{{ '%s' % opening }}",
        "{{ 'a' * 1000000000 }}",
        "{{ 9 ** 9 ** 9 }}",
        "{{ [0] * 1000000000 }}",
        "{{ '{0.__class__}'.format(opening) }}",
        "{% include '/etc/passwd' %}",
        "{% import 'x' as y %}",
        "{% extends 'x' %}",
        "{% macro f() %}{{ f() }}{% endmacro %}{{ f() }}",
        "{% for a in finds recursive %}{{ loop(finds) }}{% endfor %}",
        "{% for a in finds %}{% for b in finds %}{% for c in finds %}{% endfor %}{% endfor %}{% endfor %}",
        "{{ finds.append('x') }}",
        "{{ nothing.here }}",
        "{% if %}",
        "{{ 1 / 0 }}",
    ],
)
def test_a_template_reaches_nothing_and_the_draft_goes_on(wicked):
    plain = draft(day())
    drafted = draft(day(), {"description.txt": wicked, "short.txt": wicked})
    assert drafted.text == plain.text and drafted.wordings == plain.wordings
    assert [p.where.split(",")[0] for p in drafted.problems if p.level == "error"] == [
        "templates/description.txt", "templates/short.txt",
    ]  # fmt: skip


def test_a_template_cannot_write_without_end():
    lines = ["x" * 1000] * 100
    with pytest.raises(UnusableInput, match="more than"):
        fill("short.txt", "{% for a in finds %}{% for b in finds %}{{ b }}{% endfor %}{% endfor %}", {"finds": lines})


@given(st.text(max_size=60))
def test_data_is_never_a_template(words):
    assert fill("short.txt", "{{ opening }}", {"opening": words + "{{ 7 * 7 }}"}).rstrip("\n").endswith("{{ 7 * 7 }}")


@pytest.mark.parametrize(
    ("value", "expected"),
    [
        # CommonMark 0.31.2, "Backslash escapes": any of these behind a backslash is itself.
        ("*not emphasised*", "\\*not emphasised\\*"),
        ("[not a link](/foo)", "\\[not a link\\](/foo)"),
        ("1. not a list", "1\\. not a list"),
        ("# not a heading", "\\# not a heading"),
        ("- not an item", "\\- not an item"),
        ("`not code`", "\\`not code\\`"),
    ],
)
def test_markdown_shows_what_was_said(value, expected):
    assert fill("description.md", "{{ opening }}", {"opening": value}) == expected + "\n"


def test_every_line_but_headings_says_what_it_rests_on():
    drafted = draft(day())
    traced = {rest.line for rest in drafted.rests}
    start = drafted.text.index("\nFinds\n")
    for line in drafted.text[start : drafted.text.index("\n\n", start)].splitlines()[2:]:
        assert line in traced, line
    known_claims, known_moments = {c.id for c in day().claims}, {m.id for m in day().moments}
    for rest in drafted.rests:
        assert rest.claims or rest.moments or rest.finds or rest.promises or rest.settings, rest.line
        assert set(rest.claims) <= known_claims and set(rest.moments) <= known_moments


def test_templates_are_read_from_the_day_folder(tmp_path):
    folder = tmp_path / "templates"
    folder.mkdir()
    (folder / "short.txt").write_text("\ufeffMine: {{ opening }}", encoding="utf-8")
    (folder / "description.md").write_bytes(b"\xff\xfe\x00")
    (folder / "comment.txt").write_bytes(b"x" * 200_000)
    (folder / "other.txt").write_text("not asked for", encoding="utf-8")
    found, problems = read_templates(tmp_path)
    assert found == {"short.txt": "Mine: {{ opening }}"}
    assert [p.where for p in problems] == ["templates/description.md", "templates/comment.txt"]


def test_the_built_in_templates_use_only_what_is_given():
    for name in NAMES:
        assert "{{" in built_in(name)


def test_thanks_are_spelled_as_the_credits_have_them():
    made = with_settings(credits=("Dilys, for the lift",))
    owed = made.promises[0].model_copy(
        update={"id": "p9", "kind": "thanks", "quote": "Thanks to Dileys for the lift", "text": "Dileys for the lift"}
    )
    made = made.model_copy(update={"promises": (*made.promises, owed)})
    assert "Dilys, for the lift." in draft(made).wordings["comment.txt"]
    assert "Dileys" not in draft(made).wordings["comment.txt"]


def test_a_form_cites_nothing_for_what_it_does_not_show():
    short = draft(day(), {"short.txt": "{{ opening }}\n{% for line in references %}\n{{ line }}\n{% endfor %}"})
    assert "[1]" not in short.wordings["short.txt"]
