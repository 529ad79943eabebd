"""Settings are read where they lie, and what is wrong in them is told by file and key."""

import re
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

import orchq
from orchq.errors import OrchqError
from orchq.settings import AcceptedPlace, Settings, read_settings, settings_of
from orchq.settings.settings_file import KEYS, settings_from
from orchq.terms import local_name

PAGE = Path(__file__).parents[2] / "orchq" / "docs" / "use-it.md"

WHOLE = """
level = "student"
trust = "berlioz"
fail-on = "warning"
extensions = ["more/limits.ttl"]

[rules]
run = ["chord-too-soft", "stop-hard"]
leave-out = ["key-too-remote"]

[severities]
note-above-compass = "warning"
stop-hard = "off"

[players]
"Violins I" = 14
Viola = "solo"

[[accepted]]
rule = "chord-too-soft"
part = "Viola"
measure = 12
beat = 2.5
file = "quartet-*.mxl"
reason = "The player asked for it."
"""


@pytest.fixture
def write(tmp_path):
    (tmp_path / "more").mkdir()
    (tmp_path / "more" / "limits.ttl").write_text("")

    def write(text, name="orchq.toml"):
        path = tmp_path / name
        path.write_text(text, encoding="utf-8")
        return path

    return write


def test_every_setting_is_read(write, tmp_path, monkeypatch):
    monkeypatch.chdir(tmp_path)
    write(WHOLE)
    settings = read_settings(Path("orchq.toml"))
    assert settings == Settings(
        path="orchq.toml",
        level="student",
        trust="berlioz",
        fail_on="warning",
        extensions=(Path("more/limits.ttl"),),
        run=("chord-too-soft", "stop-hard"),
        leave_out=("key-too-remote", "stop-hard"),
        severities={"note-above-compass": "warning"},
        players={"Violins I": 14, "Viola": 1},
        accepted=(
            AcceptedPlace(
                rule="chord-too-soft",
                part="Viola",
                measure="12",
                reason="The player asked for it.",
                beat=2.5,
                file="quartet-*.mxl",
            ),
        ),
    )
    assert settings.chosen_rules(()) == {"chord-too-soft"}


def test_a_project_file_says_the_same_in_a_table_of_its_own(write):
    own = read_settings(write(WHOLE))
    lines = WHOLE.replace("[[accepted]]", "[[tool.orchq.accepted]]")
    for name in ("rules", "severities", "players"):
        lines = lines.replace(f"[{name}]", f"[tool.orchq.{name}]")
    project = read_settings(write(f'[project]\nname = "x"\n[tool.orchq]{lines}', "pyproject.toml"))
    assert project.path.endswith("pyproject.toml")
    assert [getattr(project, name) for name in Settings.__slots__ if name != "path"] == [
        getattr(own, name) for name in Settings.__slots__ if name != "path"
    ]


def test_the_settings_of_readme_are_read_and_name_what_exists(write):
    (shown,) = re.findall(r"```toml\n(.*?)```", PAGE.read_text(encoding="utf-8"), re.DOTALL)
    settings = read_settings(write(shown))
    assert settings.players
    assert settings.accepted
    graph = orchq.load()
    settings.check_names(
        map(local_name, graph.levels),
        map(local_name, graph.sources),
        [rule.slug for rule in orchq.catalogue(graph)],
    )


def test_an_empty_file_leaves_everything_open(write):
    settings = read_settings(write(""))
    assert settings == Settings(path=settings.path)
    assert settings.chosen_rules(["stop-hard"]) is None


# --------------------------------------------------------------------- where they lie


def level_of(folder):
    settings = settings_of(folder)
    return settings and settings.level


def test_the_nearest_file_up_to_the_root_of_the_repository(tmp_path):
    root = tmp_path / "outside" / "root"
    deep = root / "music" / "act-1"
    deep.mkdir(parents=True)
    (tmp_path / "outside" / "orchq.toml").write_text('level = "soloist"')
    assert level_of(deep) is None
    (root / ".git").mkdir()
    assert level_of(deep) is None
    (root / "orchq.toml").write_text('level = "student"')
    assert level_of(deep) == level_of(root) == "student"
    (root / "music" / "orchq.toml").write_text('level = "orchestral"')
    assert (level_of(deep), level_of(root)) == ("orchestral", "student")


def test_outside_a_repository_only_the_folder_itself(tmp_path):
    deep = tmp_path / "music"
    deep.mkdir()
    (tmp_path / "orchq.toml").write_text('level = "student"')
    assert (level_of(deep), level_of(tmp_path)) == (None, "student")


def test_a_project_file_counts_only_with_its_table_and_after_the_own_file(tmp_path):
    deep = tmp_path / "music"
    deep.mkdir()
    (tmp_path / ".git").write_text("gitdir: elsewhere")
    (tmp_path / "orchq.toml").write_text('level = "soloist"')
    project = deep / "pyproject.toml"
    project.write_text("[project]\nname = 'orchq'\n")
    assert level_of(deep) == "soloist"
    project.write_text("[tool.orchq]\nlevel = 'student'\n")
    assert level_of(deep) == "student"
    (deep / "orchq.toml").write_text('level = "orchestral"')
    assert level_of(deep) == "orchestral"


def test_a_project_file_of_others_need_not_be_well_formed(tmp_path):
    (tmp_path / "pyproject.toml").write_text("[tool.other\n")
    assert settings_of(tmp_path) is None


# --------------------------------------------------------------------- what is wrong


PLACE = '[[accepted]]\nrule = "stop-hard"\npart = "Viola"\nmeasure = 3\nreason = "asked for"\n'
WRONG = {
    'levle = "student"': ("levle", "level"),
    "level = 3": ("level",),
    'level = ""': ("level",),
    'fail-on = "warnings"': ("fail-on", "warning"),
    "fail-on = true": ("fail-on", "never"),
    "rules = ['stop-hard']": ("rules",),
    "[rules]\nleaveout = []": ("rules.", "leave-out"),
    "[rules]\nrun = 'stop-hard'": ("rules.run",),
    "[rules]\nrun = [3]": ("rules.run",),
    "[severities]\nstop-hard = 'warn'": ("severities.stop-hard", "warning"),
    "[severities]\nstop-hard = {}": ("severities.stop-hard", "off"),
    "severities = 'off'": ("severities",),
    "[players]\nViola = 0": ("players.Viola",),
    "[players]\nViola = -3": ("players.Viola",),
    "[players]\nViola = true": ("players.Viola",),
    "[players]\nViola = 2.5": ("players.Viola",),
    "[players]\nViola = 100000000000000000000": ("players.Viola",),
    "[players]\nViola = 'many'": ("players.Viola", "solo"),
    "extensions = 'limits.ttl'": ("extensions",),
    "extensions = ['none.ttl']": ("extensions", "none.ttl"),
    "extensions = ['nowhere']": ("extensions", "is not a folder"),
    "extensions = ['orchq.toml']": ("extensions", ".ttl"),
    "extensions = ['https://example.org/limits.ttl']": ("extensions", "example.org"),
    "extensions = ['more/limits.ttl\\u0000']": ("extensions",),
    "[accepted]\nrule = 'stop-hard'": ("accepted", "[[accepted]]"),
    "accepted = ['stop-hard']": ("accepted 1",),
    PLACE.replace("reason", "reson"): ("accepted 1", "reason"),
    PLACE.replace('reason = "asked for"', ""): ("accepted 1", "reason"),
    PLACE.replace("asked for", "  "): ("accepted 1", "reason"),
    PLACE.replace("measure = 3", ""): ("accepted 1", "measure"),
    PLACE.replace("measure = 3", "measure = 3.5"): ("accepted 1", "measure"),
    PLACE.replace("measure = 3", "measure = true"): ("accepted 1", "measure"),
    PLACE.replace('part = "Viola"', "part = 3"): ("accepted 1", "part"),
    PLACE + PLACE + "beat = 0.5": ("accepted 2", "beat"),
    PLACE + "beat = nan": ("accepted 1", "beat"),
    PLACE + "beat = inf": ("accepted 1", "beat"),
    PLACE + f"beat = {'9' * 400}": ("accepted 1", "beat"),
    PLACE + "beat = true": ("accepted 1", "beat"),
    PLACE + "beat = '3'": ("accepted 1", "beat"),
    PLACE + "file = ''": ("accepted 1", "file"),
    PLACE + "file = '.'": ("accepted 1", "file"),
    "level = 'a'\nlevel = 'b'": (),
    "level": (),
    "\x00": (),
    "a = " + "[" * 100_000: (),
    "level = " + "9" * 10_000: (),
    "x" * 1_000_001: (),
}


@pytest.mark.parametrize("text", WRONG, ids=lambda text: text[:40])
def test_what_is_wrong_is_one_sentence_that_names_file_and_key(write, text):
    path = write(text)
    with pytest.raises(OrchqError) as caught:
        read_settings(path)
    assert "orchq.toml: " in str(caught.value)
    for word in WRONG[text]:
        assert word in str(caught.value)


def test_bytes_that_are_no_text_are_refused(tmp_path):
    path = tmp_path / "orchq.toml"
    path.write_bytes(b"level = '\xff\xfe'")
    with pytest.raises(OrchqError, match=r"orchq\.toml"):
        read_settings(path)


@pytest.mark.parametrize("text", ["[project]\n", "tool = 'orchq'", "[tool]\norchq = 3"])
def test_a_project_file_that_is_named_must_have_the_table(write, text):
    with pytest.raises(OrchqError, match=r"tool\.orchq"):
        read_settings(write(text, "pyproject.toml"))


@pytest.mark.parametrize(
    ("text", "key"),
    [
        ("level = 'studnt'", "level"),
        ("trust = 'berliozz'", "trust"),
        ("[rules]\nrun = ['stop-hrd']", "rules.run"),
        ("[rules]\nleave-out = ['stop-hrd']", "rules.leave-out"),
        ("[severities]\nstop-hrd = 'info'", "severities"),
        ("[severities]\nstop-hrd = 'off'", "rules.leave-out"),
        (PLACE.replace("stop-hard", "stop-hrd"), "accepted"),
    ],
)
def test_names_that_the_graph_lacks_bring_the_nearest(write, text, key):
    settings = read_settings(write(text))
    with pytest.raises(OrchqError) as caught:
        settings.check_names(["student"], ["berlioz"], ["stop-hard"])
    assert f"{Path(settings.path).name}: {key}: " in str(caught.value)
    assert any(name in str(caught.value) for name in ("student", "berlioz", "stop-hard"))


VALUES = st.recursive(
    st.booleans() | st.integers() | st.floats() | st.text(max_size=8) | st.dates(),
    lambda inner: (
        st.lists(inner, max_size=3) | st.dictionaries(st.text(max_size=8), inner, max_size=3)
    ),
    max_leaves=8,
)
TEXTS = st.text(min_size=1, max_size=8) | st.sampled_from(["*.xml", "/", "//x", "[", "..", "a/**"])
PLACES = st.lists(
    st.fixed_dictionaries(
        dict.fromkeys(("rule", "part", "measure", "reason"), TEXTS | VALUES),
        optional={"beat": st.floats(0, 9) | VALUES, "file": TEXTS | VALUES},
    ),
    max_size=2,
)


@given(st.dictionaries(st.sampled_from(KEYS), VALUES) | st.builds(dict, accepted=PLACES))
def test_any_value_is_a_setting_or_one_sentence(table):
    said = ""
    places = ()
    try:
        places = settings_from(table, Path("orchq.toml")).accepted
    except OrchqError as error:
        said = str(error)
    assert not said or said.startswith("orchq.toml: ")
    for place in places:
        assert place.reason.strip()
        assert place.covers("music/piece.musicxml") in (True, False)
