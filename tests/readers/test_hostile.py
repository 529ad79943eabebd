"""Files made to do harm are refused; conftest makes any attempt to reach a network an error."""

import io
import zipfile

import pytest

from orchq.errors import ReadError

SCORE = (
    "<score-partwise><part-list><score-part id='P1'><part-name>{}</part-name></score-part>"
    "</part-list><part id='P1'><measure number='1'/></part></score-partwise>"
)
MEASURE = '<measure number="1"/>'


def doctype(subset: str) -> str:
    return f"<!DOCTYPE score-partwise [{subset}]>"


LAUGHS = doctype(
    '<!ENTITY l0 "ha">' + "".join(f'<!ENTITY l{n} "{f"&l{n - 1};" * 10}">' for n in range(1, 10))
)


@pytest.mark.parametrize(
    "content",
    [
        LAUGHS + SCORE.format("&l9;"),
        LAUGHS + SCORE.format("x").replace("number='1'", "number='&l9;'"),
        doctype('<!ENTITY x SYSTEM "file:///etc/passwd">') + SCORE.format("&x;"),
        doctype('<!ENTITY x SYSTEM "http://192.0.2.1/x">') + SCORE.format("&x;"),
        doctype('<!ENTITY % x SYSTEM "http://192.0.2.1/x.dtd"> %x;') + SCORE.format("x"),
        doctype('<!ENTITY harmless "Violin">') + SCORE.format("&harmless;"),
    ],
)
def test_entities_are_refused(read, content):
    with pytest.raises(ReadError, match=r"score\.musicxml:1: "):
        read(content)


@pytest.mark.parametrize(
    "identifier",
    [
        'SYSTEM "http://192.0.2.1/partwise.dtd"',
        'SYSTEM "file:///etc/passwd"',
        'PUBLIC "-//Recordare//DTD MusicXML 2.0 Partwise//EN" "http://192.0.2.1/partwise.dtd"',
    ],
)
def test_document_type_is_never_loaded(read, identifier):
    declared = f"<!DOCTYPE score-partwise {identifier}>"
    assert read(declared + SCORE.format("Violin")).parts[0].name == "Violin"


def test_xinclude_and_instructions_are_not_followed(read):
    include = (
        '<xi:include xmlns:xi="http://www.w3.org/2001/XInclude" href="file:///etc/passwd"'
        ' parse="text"/>'
    )
    instruction = '<?xml-stylesheet href="http://192.0.2.1/x.xsl"?>'
    assert read(instruction + SCORE.format("Violin" + include)).parts[0].name == "Violin"


@pytest.mark.parametrize("depth", [60, 300, 100_000])
def test_deep_nesting_is_refused(read, document, depth):
    deep = '<measure number="1">' + "<note>" * depth + "</note>" * depth + "</measure>"
    with pytest.raises(ReadError, match=r"(?i)depth|deeper"):
        read(document(("Violin", deep)))


def test_depth_can_be_raised(read, document):
    deep = '<measure number="1">' + "<x>" * 60 + "</x>" * 60 + "</measure>"
    assert read(document(("Violin", deep)), max_depth=100).parts


def bomb(size: int, members: int = 1) -> bytes:
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("score.xml", SCORE.format("Violin") + " " * size)
        for number in range(1, members):
            archive.writestr(f"{number}.txt", "")
    return memory.getvalue()


def test_compression_ratio_is_bounded(read):
    with pytest.raises(ReadError, match="max_ratio"):
        read(bomb(5_000_000), name="score.mxl")
    assert read(bomb(5_000_000), name="score.mxl", max_ratio=2_000).parts


def test_size_is_bounded_packed_or_not(read):
    for content, name in ((bomb(50_000), "score.mxl"), (SCORE + " " * 50_000, "score.xml")):
        with pytest.raises(ReadError, match="max_bytes"):
            read(content, name=name, max_bytes=40_000)


def test_a_size_that_lies_is_found_out(read):
    """The archive's directory claims a hundred bytes; what counts is what comes out."""
    content = bytearray(bomb(5_000_000))
    place = content.index(b"PK\x01\x02")
    content[place + 24 : place + 28] = (100).to_bytes(4, "little")
    with pytest.raises(ReadError):
        read(bytes(content), name="score.mxl")


def test_members_are_counted(read):
    assert read(bomb(0, members=50), name="score.mxl").parts
    with pytest.raises(ReadError, match="max_members"):
        read(bomb(0, members=50), name="score.mxl", max_members=40)


def test_paths_of_members_are_never_written(read, tmp_path):
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w") as archive:
        archive.writestr("../escaped.xml", SCORE.format("Violin"))
    assert read(memory.getvalue(), name="score.mxl").parts
    assert not list(tmp_path.parent.glob("escaped.xml"))
    assert {path.name for path in tmp_path.iterdir()} == {"score.mxl"}


def test_encrypted_and_oddly_packed_members_are_refused(read):
    content = bytearray(bomb(0))
    for place in (content.index(b"PK\x03\x04") + 6, content.index(b"PK\x01\x02") + 8):
        content[place] |= 1
    with pytest.raises(ReadError, match="encrypted"):
        read(bytes(content), name="score.mxl")
    memory = io.BytesIO()
    with zipfile.ZipFile(memory, "w", zipfile.ZIP_LZMA) as archive:
        archive.writestr("score.xml", SCORE.format("Violin"))
    with pytest.raises(ReadError, match="compression method"):
        read(memory.getvalue(), name="score.mxl")


def test_measures_and_notes_are_counted_over_all_parts(read, document, note):
    parts = [("Violin", MEASURE.replace("/>", f">{note('A4')}</measure>") * 3)] * 2
    assert read(document(*parts), max_measures=6, max_notes=6).note_count == 6
    with pytest.raises(ReadError, match="max_measures"):
        read(document(*parts), max_measures=5)
    with pytest.raises(ReadError, match="max_notes"):
        read(document(*parts), max_notes=5)
