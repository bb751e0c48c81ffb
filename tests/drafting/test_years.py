from __future__ import annotations

import pytest

from episode.drafting.years import say_years


@pytest.mark.parametrize(
    ("first", "last", "about", "words"),
    [
        (1784, 1784, False, "1784"),
        (1784, 1784, True, "about 1784"),
        (1840, 1849, False, "the 1840s"),
        (1800, 1809, False, "1800 to 1809"),  # "the 1800s" is a century to one reader and a decade to another
        (1600, 1699, False, "the 17th century"),
        (1601, 1700, False, "the 17th century"),
        (1762, 1820, False, "1762 to 1820"),
        (43, 43, False, "AD 43"),
        (43, 410, False, "AD 43 to 410"),
        (850, 1066, False, "AD 850 to 1066"),
        (-54, -54, False, "55 BC"),
        (-54, -42, False, "55 to 43 BC"),
        (-54, 43, False, "55 BC to AD 43"),
        (0, 0, False, "1 BC"),
        (None, 1660, False, "before 1660"),
        (1871, None, False, "1871 or later"),
        (None, None, True, ""),
    ],
)
def test_years_in_words(first, last, about, words):
    assert say_years(first, last, about=about) == words
