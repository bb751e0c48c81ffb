import pytest

from episode.errors import UnusableInput
from episode.models import Stance
from episode.spotting import patterns
from episode.spotting.patterns import ByWord, compiled, rows


@pytest.mark.parametrize(
    ("pattern", "text", "fits"),
    [
        ("no (sign_of) ~ TERM", " no sign of any decent <0o>", True),
        ("no (sign_of) ~ TERM", " no sign | of it but <0o>", False),
        ("no ~1 TERM", " no big old <0o>", False),
        ("TERMS were", " <0os> were", True),
        ("TERMS were", " <0o> were", False),
        ("OBJECT", " <0x>", False),
        ("a/the hop* $", " the hoping .", True),
        ("a/the hop* $", " the hoping man", False),
        ("^ a TERM", " well | a <0o>", True),
        ("^ a TERM", " such a <0o>", False),
        ("TERM BE missing !its", " <0o> BE missing its", False),
        ("-these TERMS were", " these <0os> were", False),
        ("-these TERMS were", " old <0os> were", True),
        ("last_week ?", " last week ?", True),
    ],
)
def test_the_pattern_language(pattern, text, fits):
    assert bool(compiled(pattern).search(text)) is fits


def test_every_row_of_the_tables_is_usable():
    stances = {str(s) for s in Stance} | {"break", "block", "ends", "likened"}
    for row in rows("stance.csv"):
        assert row["stance"] in stances, row
        assert row["scope"] in ("", "term", "clause", "after", "before", "sentence", "onward", "recap"), row
        assert (row["scope"] == "term") == bool(compiled(row["pattern"]).groupindex), row
    for row in rows("everyday.csv"):
        assert row["sense"] in ("everyday", "find"), row
        assert row["name"] and row["why"], row
        assert (row["sense"] == "everyday") == bool(compiled(row["pattern"]).groupindex), row


def test_a_pattern_that_fits_anything_is_refused(tmp_path, monkeypatch):
    (tmp_path / "spotting").mkdir()
    (tmp_path / "spotting" / "x.csv").write_text("stance,pattern\nfound,(a) (b)\n", encoding="utf-8")
    monkeypatch.setattr(patterns, "vocab_root", lambda: tmp_path)
    with pytest.raises(UnusableInput, match="row 2"):
        rows("x.csv")
    with pytest.raises(UnusableInput, match="cannot be read"):
        rows("absent.csv")


@pytest.mark.parametrize("file", ["stance.csv", "everyday.csv"])
@pytest.mark.parametrize("choice", [0, 1, -1])
def test_no_pattern_that_fits_is_passed_over_for_its_words(file, choice):
    listed = [row["pattern"] for row in rows(file)]
    by_word, fitting = ByWord((pattern, pattern) for pattern in listed), 0
    for pattern in listed:
        text = said_by(pattern, choice)
        asked = set(by_word.among(set(text.split())))
        fits = {other for other in listed if compiled(other).search(text)}
        assert fits <= asked, (text, fits - asked)
        fitting += pattern in fits
    assert fitting > 0.8 * len(listed)


def said_by(pattern: str, choice: int) -> str:
    """A text that the pattern fits: of every piece one of its choices."""
    said = ""
    for piece in pattern.split():
        if piece[0] in "(^$!~" or (piece[0] == "-" and len(piece) > 1):
            continue
        choices = piece.split("/")
        word = choices[choice if choice < len(choices) else 0].replace("_", " ").replace("*", "")
        marks = {"TERM": "<0o>", "TERMS": "<0os>", "OBJECT": "<0o>", "OBJECTS": "<0os>"}
        said += " " + marks.get(word, word)
    return said
