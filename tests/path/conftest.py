import pytest

from orchq.derive.hand import hand_model
from orchq.derive.path import PathSearch, path_weights
from orchq.knowledge import load
from orchq.terms import OQ


@pytest.fixture(scope="session")
def knowledge():
    return load()


@pytest.fixture(scope="session")
def search_on(knowledge):
    """The search of an instrument by its slug."""
    made = {}

    def search(slug):
        if slug not in made:
            instrument = knowledge.instruments[OQ + slug]
            model = hand_model(knowledge, instrument)
            made[slug] = PathSearch(model, path_weights(knowledge, instrument))
        return made[slug]

    return search
