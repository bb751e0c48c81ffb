import pytest

from tests.spotting.saying import lexicon


@pytest.fixture(scope="session")
def words():
    return lexicon()
