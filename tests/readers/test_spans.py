"""Slurs and wedges."""

from fractions import Fraction


def slurred(*ends: tuple[str, int]) -> str:
    signs = "".join(f'<slur type="{kind}" number="{number}"/>' for kind, number in ends)
    return f"<notations>{signs}</notations>"


def spans(part):
    names = {event.iri: place for place, event in enumerate(part.events)}
    return [(names[slur.first], names[slur.last]) for slur in part.slurs]


def test_slur_across_the_barline(part, note):
    read = part(
        note("A4", 8) + note("B4", 8, slurred(("start", 1))),
        note("C5", 8) + note("D5", 8, slurred(("stop", 1))),
    )
    assert spans(read) == [(1, 3)]


def test_slur_without_a_number(part, note):
    read = part(
        note("A4", 8, '<notations><slur type="start"/></notations>')
        + note("B4", 8, '<notations><slur type="stop"/></notations>')
    )
    assert spans(read) == [(0, 1)]


def test_end_and_new_start_at_one_note_in_either_order(part, note):
    read = part(
        note("A4", 4, slurred(("start", 1)))
        + note("B4", 4, slurred(("start", 1), ("stop", 1)))
        + note("C5", 4, slurred(("stop", 1), ("start", 1)))
        + note("D5", 4, slurred(("stop", 1)))
    )
    assert spans(read) == [(0, 1), (1, 2), (2, 3)]


def test_nested_slurs(part, note):
    read = part(
        note("A4", 4, slurred(("start", 1)))
        + note("B4", 4, slurred(("start", 2)))
        + note("C5", 4, slurred(("stop", 2)))
        + note("D5", 4, slurred(("stop", 1)))
    )
    assert spans(read) == [(1, 2), (0, 3)]


def test_voices_may_use_one_number_at_once(part, note):
    def voice(number: int, pitch: str) -> str:
        tag = f"<voice>{number}</voice>"
        return note(pitch, 8, tag + slurred(("start", 1))) + note(
            pitch, 8, tag + slurred(("stop", 1))
        )

    read = part(voice(1, "A4") + "<backup><duration>16</duration></backup>" + voice(2, "D4"))
    assert spans(read) == [(0, 2), (1, 3)]


def test_stop_that_stands_in_the_file_before_its_start(part, note):
    read = part(
        note("A4", 8) + note("B4", 8, "<voice>1</voice>" + slurred(("stop", 1)))
        + "<backup><duration>16</duration></backup>"
        + note("D4", 16, "<voice>2</voice>" + slurred(("start", 1)))
    )  # fmt: skip
    assert spans(read) == [(1, 2)]


def test_slurs_of_chords_and_graces(part, note):
    read = part(
        note("B4", None, slurred(("start", 1)), first="<grace/>")
        + note("A4", 8, slurred(("stop", 1)))
        + note("D4", 8, slurred(("start", 2)))
        + note("A4", 8, slurred(("start", 3)), first="<chord/>"),
        note("E4", 16, slurred(("stop", 2))) + note("B4", 16, slurred(("stop", 3)), "<chord/>"),
    )
    assert spans(read) == [(0, 1), (2, 3), (2, 3)]


def test_slurs_without_their_other_end_are_left_out_and_counted(read, document, note):
    music = (
        '<measure number="1">'
        + note("A4", 4, slurred(("stop", 1)))
        + note("A4", 4, slurred(("start", 2)))
        + note("A4", 4, slurred(("start", 2)))
        + note("A4", 4, slurred(("stop", 2)))
        + note("A4", 4, slurred(("start", 3)))
        + "</measure>"
    )
    score = read(document(("Violin", music)))
    assert spans(score.parts[0]) == [(2, 3)]
    assert sum("slurs" in remark and "3 times" in remark for remark in score.remarks) == 1


# ------------------------------------------------------------------------------ wedges


def wedge(kind: str, number: int = 1, offset: int = 0, staff: int | None = None) -> str:
    where = (f"<offset>{offset}</offset>" if offset else "") + (
        f"<staff>{staff}</staff>" if staff else ""
    )
    return (
        f'<direction><direction-type><wedge type="{kind}" number="{number}"/></direction-type>'
        f"{where}</direction>"
    )


def hairpins(part):
    return [(h.grows, h.onset, h.end) for h in part.hairpins]


def test_wedges_over_several_measures(part, note):
    read = part(
        note("A4", 8) + wedge("crescendo") + note("A4", 8),
        note("A4", 8) + wedge("stop") + wedge("diminuendo") + note("A4", 8),
        note("A4", 16) + wedge("stop"),
    )
    assert hairpins(read) == [(True, 2, 6), (False, 6, 12)]
    assert [h.iri for h in read.hairpins] == [f"{read.iri}.h1", f"{read.iri}.h2"]


def test_wedges_with_numbers_overlap_and_keep_their_staff(part, note):
    read = part(
        wedge("crescendo", 1, staff=1) + wedge("diminuendo", 2, staff=2) + note("A4", 8)
        + wedge("stop", 1, staff=1) + note("A4", 8) + wedge("stop", 2, staff=2)
    )  # fmt: skip
    assert [(h.grows, h.end, h.staff) for h in read.hairpins] == [(True, 2, 1), (False, 4, 2)]


def test_wedge_that_begins_anew_ends_the_one_before(part, note):
    read = part(
        wedge("crescendo") + note("A4", 8) + wedge("diminuendo") + note("A4", 8) + wedge("stop")
    )
    assert hairpins(read) == [(True, 0, 2), (False, 2, 4)]


def test_wedge_within_one_note(part, note):
    read = part(
        note("A4", 4) + note("A4", 8) + wedge("crescendo", offset=-7)
        + wedge("stop", offset=-3) + note("A4", 4)
    )  # fmt: skip
    assert hairpins(read) == [(True, 1, Fraction(9, 4))]


def test_short_wedge_on_a_short_note_is_not_lost(part, note):
    read = part(note("A4", 4) + wedge("crescendo") + wedge("stop", offset=1) + note("A4", 4))
    assert hairpins(read) == [(True, 1, Fraction(5, 4))]


def test_wedges_without_their_other_end_are_left_out_and_counted(read, document, note):
    music = f'<measure number="1">{wedge("stop")}{note("A4", 4)}{wedge("crescendo")}</measure>'
    score = read(document(("Violin", music)))
    assert score.parts[0].hairpins == ()
    assert sum("wedges" in remark and "2 times" in remark for remark in score.remarks) == 1
