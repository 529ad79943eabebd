"""Files as they come: encodings, document types, compressed scores, timewise scores."""

import io
import zipfile
from pathlib import Path

import pytest
from lxml import etree

from orchq.errors import ReadError
from orchq.readers import read_musicxml, read_score

DATA = Path(__file__).parent / "data"
SMALL = (DATA / "small.musicxml").read_bytes()
CONTAINER = (
    '<?xml version="1.0"?><container><rootfiles><rootfile full-path="{}"/>'
    '<rootfile full-path="other.pdf" media-type="application/pdf"/></rootfiles></container>'
)


def packed(**members: bytes | str) -> bytes:
    """A compressed score; in names ``__`` stands for a slash, ``_xml`` for the ending."""
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in members.items():
            archive.writestr(name.replace("__", "/").replace("_xml", ".xml"), content)
    return memory.getvalue()


@pytest.fixture(scope="module")
def expected(knowledge):
    return read_musicxml(DATA / "small.musicxml", knowledge)


def same(score, expected):
    """Whether two readings agree but for the name of the file."""
    assert score.title == "A Small Score"
    assert score.remarks == expected.remarks
    assert [p.note_count for p in score.parts] == [6, 2, 0]
    for part, other in zip(score.parts, expected.parts, strict=True):
        assert [
            (e.onset, e.duration, [n.pitch for n in e.notes], e.marks) for e in part.events
        ] == [(e.onset, e.duration, [n.pitch for n in e.notes], e.marks) for e in other.events]
        assert [(m.onset, m.directives, m.tempo, m.retuned) for m in part.marks] == [
            (m.onset, m.directives, m.tempo, m.retuned) for m in other.marks
        ]
        assert len(part.slurs) == len(other.slurs)
        assert len(part.hairpins) == len(other.hairpins)
    return True


def without_declaration(text: str) -> str:
    return text.split("?>", 1)[1]


@pytest.mark.parametrize("ending", [".musicxml", ".xml", ".MXL"])
def test_plain_file_under_any_ending(read, expected, ending):
    assert same(read(SMALL, name=f"small{ending}"), expected)


@pytest.mark.parametrize("encoding", ["utf-8-sig", "utf-16", "utf-16-le", "utf-16-be"])
def test_encodings_told_by_the_first_bytes(read, expected, encoding):
    text = without_declaration(SMALL.decode("utf-8"))
    marks = {"utf-16-le": "\ufeff", "utf-16-be": "\ufeff"}
    assert same(read((marks.get(encoding, "") + text.strip()).encode(encoding)), expected)


@pytest.mark.parametrize(
    ("declared", "actual"), [("UTF-16", "utf-16"), ("ISO-8859-1", "latin-1"), ("cp1252", "cp1252")]
)
def test_encodings_told_by_the_declaration(read, declared, actual):
    text = f'<?xml version="1.0" encoding="{declared}"?>' + without_declaration(
        SMALL.decode("utf-8")
    ).replace("A Small Score", "Fl\u00fcchtig")
    assert read(text.encode(actual)).title == "Fl\u00fcchtig"


@pytest.mark.parametrize(("declared", "actual"), [("UTF-8", "latin-1"), ("UTF-16", "latin-1")])
def test_wrong_encoding_is_said(read, declared, actual):
    text = f'<?xml version="1.0" encoding="{declared}"?>' + without_declaration(
        SMALL.decode("utf-8")
    ).replace("A Small Score", "Fl\u00fcchtig")
    with pytest.raises(ReadError, match=r"score\.musicxml:\d+: .*encoding"):
        read(text.encode(actual))


@pytest.mark.parametrize("declared", ["UTF-16", "utf-16LE", "UTF-32"])
@pytest.mark.parametrize("mark", [b"", b"\xef\xbb\xbf"])
def test_utf_8_that_declares_two_bytes_a_letter_is_read(read, declared, mark):
    text = f'<?xml version="1.0" encoding="{declared}"?>' + without_declaration(
        SMALL.decode("utf-8")
    ).replace("A Small Score", "Fl\u00fcchtig")
    score = read(mark + text.encode())
    assert score.title == "Fl\u00fcchtig"
    assert any(declared in remark for remark in score.remarks)


def test_unknown_encoding_is_said(read):
    with pytest.raises(ReadError, match=r":1: .*encoding"):
        read(b'<?xml version="1.0" encoding="klingon"?><score-partwise/>')


# -------------------------------------------------------------------- compressed scores


def test_container_names_the_score(read, expected):
    content = packed(
        a_xml="<other/>", b_xml=SMALL, **{"META-INF__container_xml": CONTAINER.format("b.xml")}
    )
    assert same(read(content, name="score.mxl"), expected)


def test_container_with_a_namespace(read, expected):
    container = CONTAINER.format("b.xml").replace(
        "<container>", '<container xmlns="urn:oasis:names:tc:opendocument:xmlns:container">'
    )
    content = packed(b_xml=SMALL, **{"META-INF__container_xml": container})
    assert same(read(content, name="score.mxl"), expected)


def test_events_know_their_line_unless_the_file_is_compressed(read):
    def lines(score):
        return [event.line for part in score.parts for event in part.events]

    plain = lines(read(SMALL))
    text = SMALL.decode("utf-8").splitlines()
    assert plain
    assert all("<note" in text[line - 1] for line in plain)
    assert plain == sorted(set(plain))
    compressed = lines(read(packed(b_xml=SMALL), name="score.mxl"))
    assert compressed == [None] * len(plain)


def test_missing_container_is_tolerated(read, expected):
    assert same(read(packed(readme="hello", b_xml=SMALL), name="score.mxl"), expected)


def test_compressed_score_under_another_ending(read, expected):
    assert same(read(packed(b_xml=SMALL), name="score.xml"), expected)


@pytest.mark.parametrize(
    ("content", "reason"),
    [
        (packed(readme="hello"), "no MusicXML"),
        (packed(b_xml=SMALL, **{"META-INF__container_xml": CONTAINER.format("c.xml")}), "c.xml"),
        (packed(b_xml=SMALL, **{"META-INF__container_xml": "<container>"}), "container.xml"),
        (packed(b_xml=SMALL)[:-40], "damaged"),
        (packed(b_xml=SMALL).replace(b"PK\x01\x02", b"PK\x01\x00"), "damaged"),
        (packed(b_xml=SMALL)[:200] + b"\0" * 20 + packed(b_xml=SMALL)[220:], "damaged"),
    ],
)
def test_compressed_file_that_holds_no_score(read, content, reason):
    with pytest.raises(ReadError, match=rf"score\.mxl: .*{reason}"):
        read(content, name="score.mxl")


def test_error_in_a_compressed_score_names_its_line(read):
    with pytest.raises(ReadError, match=r"score\.mxl:3: "):
        read(packed(b_xml="<score-partwise>\n\n</oops>"), name="score.mxl")


# ------------------------------------------------------------------------------ timewise


def test_timewise_score_says_the_same_as_partwise(read, expected):
    partwise = etree.fromstring(SMALL)
    parts = partwise.findall("part")
    timewise = etree.Element("score-timewise")
    timewise.extend([partwise.find("work"), partwise.find("part-list")])
    for place, measure in enumerate(parts[0].findall("measure")):
        together = etree.SubElement(timewise, "measure", measure.attrib)
        for part in parts:
            music = etree.SubElement(together, "part", id=part.get("id"))
            music.extend(list(part.findall("measure")[place]))
    score = read(etree.tostring(timewise))
    assert same(score, expected)
    assert [[m.number for m in part.measures] for part in score.parts] == [["1", "2"]] * 2 + [[]]


# -------------------------------------------------------------------------------- faults


@pytest.mark.parametrize(
    ("content", "place"),
    [
        ("", ": is empty"),
        ("hello", ":1: not well-formed"),
        (b"\x89PNG\r\n\x1a\n" + bytes(range(256)), ":1: not well-formed"),
        (b"PK\x03\x04nothing", ": the compressed file is damaged"),
        (SMALL[: len(SMALL) // 2], r":\d+: not well-formed"),
        ("<html><body/></html>", ":1: the root element is <html>"),
        ("<opus>\n</opus>", ":1: the root element is <opus>"),
        ("<score-partwise><part-list/></score-partwise>", ":1: the score has no part"),
        ("<score-timewise><part-list/></score-timewise>", ":1: the score has no part"),
        (
            '<score-partwise><part-list/>\n<part id="P1"/>\n<part id="P1"/></score-partwise>',
            ":3: part 'P1' appears twice",
        ),
    ],
)
def test_file_that_is_no_score(read, content, place):
    with pytest.raises(ReadError, match=rf"score\.musicxml{place}"):
        read(content)


@pytest.mark.parametrize(
    "content",
    [
        "<note><pitch><step>A</step><octave>4</octave></pitch><duration>-1</duration></note>",
        "<note><rest/><duration>long</duration></note>",
        "<note><rest/><duration>1e9</duration></note>",
        "<note><pitch><step>A</step><octave>4</octave></pitch></note>",
        "<backup><duration>-1</duration></backup>",
        "<forward/>",
        "<attributes><divisions>0</divisions></attributes>",
        "<attributes><divisions>-4</divisions></attributes>",
        "<attributes><divisions>many</divisions></attributes>",
        "<forward><duration>999999999</duration></forward>",
    ],
)
def test_time_that_is_none_names_the_line(read, document, content):
    with pytest.raises(ReadError, match=r"score\.musicxml:2: "):
        read(document(("Violin", f'\n<measure number="1">{content}</measure>')))


def test_missing_file_and_folder(tmp_path, knowledge):
    for name in ("missing.musicxml", "folder.xml"):
        (tmp_path / "folder.xml").mkdir(exist_ok=True)
        with pytest.raises(ReadError, match=name):
            read_score(tmp_path / name, knowledge)


def test_unknown_ending_names_the_known_ones(read):
    with pytest.raises(ReadError, match=r"score\.doc.*\.musicxml"):
        read("", name="score.doc")
