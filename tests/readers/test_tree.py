"""The tree in which notes are numbered is the same score as the file."""

import zipfile

import pytest
from lxml import etree

import orchq
from orchq.errors import ReadError
from orchq.readers.musicxml import read_musicxml_bytes
from orchq.readers.tree import numbered_tree

ENTITY = '<!DOCTYPE score-partwise [<!ENTITY x "Violin">]>'


def reread(path, knowledge):
    return read_musicxml_bytes(etree.tostring(numbered_tree(path)), path, knowledge)


def test_the_tree_reads_as_the_file_does(knowledge):
    path = orchq.demo_path()
    assert reread(path, knowledge) == orchq.read(path, knowledge)


def test_every_note_has_its_own_identifier_in_the_order_of_the_file(knowledge):
    root = numbered_tree(orchq.demo_path())
    names = [note.get("id") for note in root.iter("note")]
    assert names == [f"n{number}" for number in range(1, len(names) + 1)]
    score = read_musicxml_bytes(etree.tostring(root), orchq.demo_path(), knowledge)
    read = [n.xml_id for part in score.parts for event in part.events for n in event.notes]
    assert len(read) == len(set(read)) == score.note_count
    assert set(read) <= set(names)


def test_identifiers_of_the_file_give_way(tmp_path, document, note):
    path = tmp_path / "score.musicxml"
    named = note("A4").replace("<note>", '<note id="n7">')
    music = f'<measure number="1" id="n1">{named}</measure>'
    path.write_text(document(("Violin", music)), encoding="utf-8")
    root = numbered_tree(path)
    assert [(e.tag, e.get("id")) for e in root.iter() if e.get("id")] == [
        ("score-part", "P1"),
        ("part", "P1"),
        ("note", "n1"),
    ]


def test_a_timewise_score_becomes_partwise(tmp_path, knowledge, note):
    path = tmp_path / "score.musicxml"
    parts = "".join(
        f'<score-part id="{n}"><part-name>Violin</part-name></score-part>' for n in "AB"
    )
    measures = "".join(
        f'<measure number="{number}"><part id="A">{note("A4")}</part>'
        f'<part id="B">{note("E5")}</part></measure>'
        for number in (1, 2)
    )
    path.write_text(
        f"<score-timewise><part-list>{parts}</part-list>{measures}</score-timewise>",
        encoding="utf-8",
    )
    assert reread(path, knowledge) == orchq.read(path, knowledge)
    assert [len(part) for part in numbered_tree(path).findall("part")] == [2, 2]


def test_a_compressed_score_is_unpacked_within_bounds(tmp_path, document, knowledge, note):
    path = tmp_path / "score.mxl"
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("score.xml", document(("Violin", f"<measure>{note('A4')}</measure>")))
    assert reread(path, knowledge) == orchq.read(path, knowledge)
    with zipfile.ZipFile(path, "a", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("META-INF/container.xml", '<c><rootfile full-path="gone.xml"/></c>')
    with pytest.raises(ReadError, match=r"gone\.xml"):
        numbered_tree(path)


@pytest.mark.parametrize("before", [ENTITY, "<not"])
def test_what_the_reader_refuses_is_refused(tmp_path, document, before):
    path = tmp_path / "score.musicxml"
    path.write_text(before + document(("Violin", "<measure/>")), encoding="utf-8")
    with pytest.raises(ReadError, match=r"score\.musicxml:1: "):
        numbered_tree(path)
