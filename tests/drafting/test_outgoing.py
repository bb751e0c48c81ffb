"""The last gate for strings: one line, and nothing in it that cannot be seen."""

from __future__ import annotations

import unicodedata

from hypothesis import given
from hypothesis import strategies as st

from episode.drafting.outgoing import one_line

HIDDEN = "\u00ad\u200b\u200e\u2060\ufeff\u202e\u2066\x00\x1b\ud800"
SPACES = " \t\r\n\x85\u00a0\u2003\u2028\u2029\u3000"


@given(st.text(st.one_of(st.sampled_from(HIDDEN + SPACES), st.characters()), max_size=40))
def test_it_is_one_line_of_what_can_be_seen(text: str):
    told = one_line(text)
    assert told == told.strip() and "  " not in told
    assert not any(c in HIDDEN or unicodedata.category(c) in {"Cc", "Zl", "Zp"} for c in told)
    seen = "".join(c for c in text if not c.isspace() and c not in HIDDEN)
    kept = "".join(c for c in told if c != " ")
    assert set(seen) >= set(kept) and [c for c in seen if c.isprintable()] == [c for c in kept if c.isprintable()]


def test_spaces_run_together_and_hidden_marks_go():
    assert one_line("  a\tpipe\u00a0\u00a0stem  ") == "a pipe stem"
    assert one_line("pipe\u200b stem\u202e") == "pipe stem"
    assert one_line("plain words") == "plain words"
