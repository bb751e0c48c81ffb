from __future__ import annotations

import csv
import io

from episode.drafting.formats import log_check_csv
from episode.drafting.log_check import log_findings
from episode.models import LogEntry, Photos, Settings, Verdict
from tests.drafting.invented import CLAIMS, LOG, claim, day


def kinds(made, photos=Photos()):  # noqa: B008
    return [(f.kind, f.row, f.find) for f in log_findings(made, photos)]


def logged(**changes):
    """The invented log with changes by find number, and the rest of its day."""
    return day(log=tuple(row.model_copy(update=changes.get(f"f{row.find}", {})) for row in LOG))


def test_film_and_log_and_what_was_said():
    found = kinds(day())
    assert found[:2] == [("filmed, not logged", None, None), ("logged, not filmed", 15, "14")]
    assert not [kind for kind, _, _ in found if "differs" in kind or "number" in kind]


def test_a_date_that_shares_no_year_with_what_was_said_differs_and_one_that_touches_does_not():
    assert ("date differs", 2, "1") in kinds(logged(f1={"from_": 1671, "to": 1700, "period": ""}))
    assert ("date differs", 2, "1") not in kinds(logged(f1={"from_": 1670, "to": 1700, "period": ""}))
    assert ("date differs", 2, "1") not in kinds(logged(f1={"from_": None, "to": 1640, "period": ""}))


def test_of_several_dates_said_the_narrowest_counts():
    other = claim(
        9, "m001", "pipes like these were 16th century", "date", Verdict.IMPRECISE, **{"from": 1501, "to": 1600}
    )
    assert not [k for k in kinds(day(claims=(other, *CLAIMS))) if k[0] == "date differs"]
    assert ("date differs", 2, "1") in kinds(day(claims=(other,)))
    wide = claim(9, "m001", "under the Stuarts", "period", Verdict.SUPPORTED, **{"from": 1603, "to": 1714})
    assert ("date differs", 2, "1") in kinds(
        logged(
            f1={"from_": 1671, "to": 1700, "period": ""},
        ).model_copy(update={"claims": (wide, *CLAIMS)})
    )


def test_years_and_period_are_held_against_it_each_by_itself():
    found = log_findings(logged(f1={"from_": 1650, "to": 1660, "period": "19th century"}), Photos())
    (differs,) = [f for f in found if f.kind == "date differs"]
    assert "the log's period is the 19th century; said was 1640 to 1670" in differs.what
    assert (differs.clip, differs.moment) == (CLAIMS[0].clip, "m001")


def test_what_is_said_of_the_type_and_not_of_the_find_is_no_difference():
    about = claim(
        1, "m001", "patented in 1901", "date", Verdict.SUPPORTED, aspect="patent", **{"from": 1901, "to": 1901}
    )
    assert not [k for k in kinds(day(claims=(about,))) if k[0] == "date differs"]


def test_a_maker_spelled_otherwise_is_the_same_and_another_differs():
    assert not [k for k in kinds(logged(f6={"maker": "Harknes and Dole"})) if k[0] == "maker differs"]
    # As a recogniser really spelled a maker of the example day.
    heard = claim(5, "m007", "It says orm and tuddle, Thesselmeth", "maker", Verdict.UNREFERENCED)
    row = LOG[5].model_copy(update={"maker": "Orme & Tuttle"})
    assert not [k for k in kinds(day(log=(row,), claims=(heard,))) if k[0] == "maker differs"]
    assert ("maker differs", 7, "6") in kinds(logged(f6={"maker": "Orme & Tuttle"}))


def numbers(*finds: str):
    log = tuple(LogEntry(find=find, row=row, object="pin") for row, find in enumerate(finds, start=2))
    return [k for k in kinds(day(log=log, claims=())) if "number" in k[0]]


def test_numbers_missing_and_doubled():
    assert numbers(*(str(n) for n in range(1, 15) if n != 9)) == [("number missing", None, "9")]
    assert numbers("SK-06", "SK-08", "1", "3") == [("number missing", None, "SK-07"), ("number missing", None, "2")]
    assert numbers("1", "2", "2") == [("number twice", 3, "2"), ("number twice", 4, "2")]
    assert numbers("row 2", "row 3", "5") == [("no number", 2, None), ("no number", 3, None)]


def test_photographs_missing_and_not_named():
    photos = Photos(missing=((3, "gone.jpg"),), unnamed=("left.jpg",))
    assert kinds(day(), photos)[-2:] == [("photo missing", 3, "2"), ("photo not named", None, None)]


def test_the_sheet_is_safe_and_private():
    photos = Photos(missing=((3, "=cmd|calc"),), unnamed=("TA 4512 1234.jpg", "the old hard.jpg"))
    made = day(settings=Settings(private_places=("the old hard",)))
    made = made.model_copy(update={"log_check": log_findings(made, photos)})
    made = made.model_copy(
        update={"log_check": (*made.log_check, made.log_check[0].model_copy(update={"find": "=1+1"}))}
    )
    text = log_check_csv.render(made)
    rows = list(csv.DictReader(io.StringIO(text, newline="")))
    assert len(rows) == len(made.log_check)
    assert not [cell for line in rows for cell in line.values() if cell.startswith(("=", "+", "-", "@"))]
    assert "1234" not in text
    assert "old hard" not in text
    assert text.count("\r\n") == len(rows) + 1
