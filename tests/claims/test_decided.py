"""What a person decided about claims and promises finds them again, and no other."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from episode.claims.decided import decided
from episode.models import Claim, Decision, Promise, Verdict


def claim(start: float, quote: str, kind: str = "date", about: str | None = "pin", clip: str = "a.mp4") -> Claim:
    return Claim(
        id=f"c-{clip}-{start}-{kind}", clip=clip, start=start, end=start + 3, quote=quote, about=about, find=None,
        kind=kind, edtf=None, from_=None, to=None, verdict=Verdict.UNREFERENCED,
    )  # fmt: skip


CLAIMS = (
    claim(10, "It is a Tudor pin made by Marrow of Skelby."),
    claim(10, "It is a Tudor pin made by Marrow of Skelby.", "maker", "Marrow"),
    claim(60, "That one is from the 1640s.", about="pipe bowl"),
    claim(200, "That one is from the 1640s.", about="pipe bowl"),
    claim(300, "The first ever made, they say.", "superlative", None),
)
PROMISES = (
    Promise(id="p1", clip="a.mp4", start=90, end=93, quote="I'll put a link below.", kind="link", text="a link"),
    Promise(id="p2", clip="a.mp4", start=400, end=403, quote="Thanks to Jo for the boots.", kind="thanks", text="Jo"),
)


def about(item: Claim | Promise) -> dict[str, object]:
    term = {"term": item.about} if isinstance(item, Claim) else {}
    return {"clip": item.clip, "start": item.start, "quote": item.quote, "kind": item.kind, **term}


def run(*decisions: Decision, claims=CLAIMS, promises=PROMISES):
    return decided(claims, promises, decisions)


def test_each_action_and_its_taking_back():
    here = about(CLAIMS[0])
    claims, _, problems = run(
        Decision(action="reference", value="Guide, p. 4", **here),
        Decision(action="reword", value="perhaps Tudor", **here),
        Decision(action="strike", **here),
    )
    assert (claims[0].reference, claims[0].wording, claims[0].struck) == ("Guide, p. 4", "perhaps Tudor", True)
    assert claims[0].decided == ("reference", "reword", "strike")
    assert (claims[1:], problems) == (CLAIMS[1:], ())
    back = [
        Decision(action="reference", value=None, **here),
        Decision(action="reword", value="", **here),
        Decision(action="strike", value=False, **here),
    ]
    claims, _, _ = run(Decision(action="reference", value="Guide, p. 4", **here), *back)
    assert claims[0].model_copy(update={"decided": ()}) == CLAIMS[0]


def test_only_the_claim_of_its_kind_and_place():
    claims, _, _ = run(Decision(action="strike", **about(CLAIMS[1])), Decision(action="strike", **about(CLAIMS[3])))
    assert [c.struck for c in claims] == [False, True, False, True, False]


def test_a_correction_is_of_the_whole_statement():
    claims, _, _ = run(Decision(action="correct", clip="a.mp4", start=10.0, quote=CLAIMS[0].quote, value="No."))
    assert [c.struck for c in claims] == [True, True, False, False, False]


def test_promises_kept_and_not():
    _, promises, _ = run(
        Decision(action="kept", value="in the pinned comment", **about(PROMISES[0])),
        Decision(action="kept", value=False, **about(PROMISES[1])),
    )
    assert [(p.kept, p.by, p.decided) for p in promises] == [
        (True, "in the pinned comment", ("kept",)),
        (False, None, ("kept",)),
    ]


@pytest.mark.parametrize(
    ("said", "at"),
    [("it is a tutor pin made by marrow of skelby", 10.3), ("It's a Tudor pin, made by Marrow o' Skelby.", 8.5)],
)
def test_words_heard_otherwise(said: str, at: float):
    today = (claim(at, said), claim(at, said, "maker", "Marrow"), *CLAIMS[2:])
    claims, _, problems = run(Decision(action="strike", **about(CLAIMS[0])), claims=today)
    assert [c.struck for c in claims[:2]] == [True, False]
    assert not problems


def test_gone_and_in_doubt_are_listed_with_their_lines():
    gone = Decision(action="strike", line=3, **{**about(CLAIMS[0]), "quote": "Quite other words were said then."})
    doubt = Decision(action="strike", line=4, **{**about(CLAIMS[2]), "start": 132.0})
    other_kind = Decision(action="strike", line=5, **{**about(CLAIMS[4]), "kind": "maker"})
    claims, _, problems = run(gone, doubt, other_kind)
    assert claims == CLAIMS
    assert [p.where for p in problems] == [f"decisions.jsonl, line {n}" for n in (3, 4, 5)]
    assert "more than one" in problems[1].what


@st.composite
def some_decision(draw: st.DrawFn) -> Decision:
    fields = about(draw(st.sampled_from((*CLAIMS, *PROMISES))))
    for name in draw(st.sets(st.sampled_from(["quote", "kind", "start", "clip"]))):
        fields[name] = None
    action = draw(st.sampled_from(["reference", "reword", "strike", "correct", "kept"]))
    return Decision(action=action, value=draw(st.none() | st.booleans() | st.text(max_size=5)), **fields)


@given(st.lists(some_decision(), max_size=10))
def test_any_decisions_in_any_order(decisions: list[Decision]):
    claims, promises, _ = run(*decisions)
    assert [c.id for c in claims] == [c.id for c in CLAIMS]
    assert [p.id for p in promises] == [p.id for p in PROMISES]
    assert run(*decisions)[:2] == (claims, promises)
