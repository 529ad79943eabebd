"""Accepted places are taken out of a settings file, and nothing else is."""

import tomllib

import pytest

from orchq.errors import OrchqError
from orchq.settings import AcceptedPlace, read_settings
from orchq.settings.accepted_places import accept_places, withdraw_places

ONE = AcceptedPlace("stop-hard", "Violin I", "3", "agreed", 2.5, "a.mxl")
OTHER = AcceptedPlace("stop-hard", "Viola", "[[4]]", "[[accepted]] # no table", None, None)


@pytest.mark.parametrize(
    ("name", "text"),
    [
        ("orchq.toml", '# ours\nlevel = "student"\n\n[players]\nViola = 4\n'),
        ("orchq.toml", ""),
        ("pyproject.toml", '[project]\nname = "ours"\n\n[tool.orchq]\nlevel = "student"\n'),
    ],
)
@pytest.mark.parametrize("going", [(ONE,), (OTHER,), (ONE, OTHER), ()])
def test_what_was_added_goes_and_the_rest_stays(tmp_path, name, text, going):
    path = tmp_path / name
    path.write_text(text)
    accept_places(path, [ONE, OTHER, ONE])
    count = withdraw_places(path, lambda place: place in going)
    assert count == [ONE, OTHER, ONE].count(ONE) * (ONE in going) + (OTHER in going)
    kept = [place for place in (ONE, OTHER, ONE) if place not in going]
    assert path.read_text().startswith(text)
    assert list(read_settings(path).accepted) == kept


def test_comments_stay(tmp_path):
    path = tmp_path / "orchq.toml"
    accept_places(path, [ONE])
    path.write_text(path.read_text() + "# the viola asked for this\n[players]\nViola = 4\n")
    withdraw_places(path, lambda _: True)
    assert path.read_text() == "# the viola asked for this\n[players]\nViola = 4\n"


def test_a_list_on_one_line_is_left_alone(tmp_path):
    path = tmp_path / "orchq.toml"
    inline = 'accepted = [{rule = "stop-hard", part = "Viola", measure = "4", reason = "agreed"}]\n'
    path.write_text(inline)
    assert len(tomllib.loads(inline)["accepted"]) == 1
    with pytest.raises(OrchqError, match="edit it by hand"):
        withdraw_places(path, lambda _: True)
    assert path.read_text() == inline
