"""Competency questions about players and words, each against a source outside the project."""


def test_who_plays_a5_pp_as_a_harmonic(ask):
    found = {
        (answer.instrument, answer.technique): answer
        for answer in ask.players(pitch="A5", at="pp", technique="harmonic")
    }
    # The table of nodes (Wolfe): an octave on A strings, two octaves on the cello's.
    assert found["violin", "natural harmonic"].verdict == "allowed"
    assert found["viola", "natural harmonic"].verdict == "allowed"
    assert found["cello", "natural harmonic"].how == "touch D4 on the A string"
    assert found["double bass", "natural harmonic"].verdict == "not allowed"
    # Berlioz, djvu/62, against Encyclopaedia Britannica, 14th edition.
    bass = found["double bass", "artificial harmonic"]
    assert bass.verdict == "disputed"
    assert {said.source.partition(",")[0] for said in bass.evidence} >= {
        "Berlioz",
        "Encyclopaedia Britannica",
    }


def test_who_plucks_c6(ask):
    # Tavan, djvu/14, for the violin; Berlioz, djvu/49: cellos end at G5, and others go further;
    # memory for the bass, which ends at D5.
    found = {a.instrument: a.verdict for a in ask.players(pitch="C6", technique="pizz.", at="mf")}
    assert found["violin"] == "allowed"
    assert (found["cello"], found["double bass"]) == ("disputed", "not allowed")


def test_what_the_violas_take_over(ask):
    # Memory: the sections of today go to E6; the lowest string is C3.
    [answer] = ask.transfer(pitches="C4 E4 G4 C5 F6", from_="violin", to="viola")
    assert (answer.fits, answer.notes, answer.too_high) == (4, 5, ("F6",))
    [answer] = ask.transfer(pitches="B2 C3", from_="cello", to="viola")
    assert (answer.fits, answer.too_low) == (1, ("B2",))


def test_sizes_of_sections(ask):
    sizes = {a.ensemble: (a.fewest, a.most) for a in ask.section(on="viola")}
    # Gehrkens, page 97; Royal Philharmonic Orchestra.
    assert sizes["symphony orchestra of about 100 players"] == (14, 14)
    assert sizes["modern orchestra, for one concert"] == (8, 12)


def test_fourteen_players_into_three(ask):
    # Arithmetic.
    [answer] = ask.divisi(players=14, into=3)
    assert (answer.each, answer.left_over, answer.lines) == (4, 2, (5, 5, 4))
    assert answer.verdict == "allowed"
    [answer] = ask.divisi(players="3", into="4")
    assert answer.verdict == "not allowed"


def test_two_players_alone_on_a_line(ask):
    # From memory: two players beat most audibly; the note says so of two and of no other number.
    alone, three = ask.divisi(players=10, into=5), ask.divisi(players=15, into=5)
    assert alone[0].verdict == "allowed"
    assert alone[0].because.startswith("Two players alone on one line")
    assert [said.basis for said in alone[0].evidence if said.statement == alone[0].because] == [
        "memory"
    ]
    assert three[0].because == ""


def test_what_sounds_glassy_warm_and_dark(ask):
    # Common practice: words that players use.
    glassy = {answer.what for answer in ask.colours(like="glassy") if answer.fit == "same"}
    assert {"sul ponticello", "natural harmonic", "artificial harmonic"} <= glassy
    assert "sul tasto" in {answer.what for answer in ask.colours(like="warm")}
    dark = {answer.what for answer in ask.colours(like="dark", on="violin")}
    assert {"low register of the violin", "G string of the violin"} <= dark
    assert "G string of the violin" not in {a.what for a in ask.colours(like="dark", on="cello")}


def test_a_bow_on_the_tailpiece_is_no_answer_to_dark_on_the_viola(ask):
    # Common practice: the viola's dark sound is its C string.
    found = [(answer.what, answer.fit) for answer in ask.colours(like="dark", on="viola")]
    assert found[0] == ("C string of the viola", "same")
    assert "on the tailpiece" not in {what for what, _ in found}


def test_another_word_for_a_sound_and_a_wider_one_find_it(ask):
    # Berlioz, djvu/42 (the viola's melancholy) and djvu/57 (the cello's smooth, grave low strings).
    assert ask.colours(like="sombre").parameters["like"] == "dark"
    sad = {answer.what: answer.fit for answer in ask.colours(like="sad", on="viola")}
    assert sad["whole compass of the viola"] == "narrower"
    dark = {answer.what: answer.fit for answer in ask.colours(like="dark", on="cello")}
    assert dark["low strings of the cello"] == "narrower"
    assert list(dark.values()) == sorted(
        dark.values(), key=["same", "narrower", "broader", "related"].index
    )


def test_what_is_scary(ask):
    # Berlioz, on the violin: the massed tremolo on the lower strings; the rest is common practice.
    found = {answer.what: answer.fit for answer in ask.colours(like="scary", on="violin")}
    assert found["tremolo of many violins on the lower strings"] == "same"
    assert "sul ponticello" in found
    assert "vibrato espressivo" not in found


def test_what_is_only_near_a_word_and_its_opposite_too_is_no_answer(ask):
    # Sul ponticello is glassy, which is near to pure; on the bridge itself it is noise.
    near = {answer.what for answer in ask.colours(like="pure")}
    assert "sul ponticello" in near
    assert "bow on bridge" not in near


def test_sul_tasto_and_its_end_in_four_languages(ask):
    found = {answer.language: answer for answer in ask.terms(for_="sul tasto")}
    assert list(found) == ["Italian", "French", "German", "English"]
    # Berlioz, djvu/28, for the French; common practice for the others.
    assert "sur la touche" in found["French"].forms
    assert "sul tasto" in found["Italian"].forms
    assert "am Griffbrett" in found["German"].forms
    assert "on the fingerboard" in found["English"].forms
    # Common practice.
    assert {"ordinario", "naturale"} <= set(found["Italian"].cancelled_by)
    assert "gewöhnlich" in found["German"].cancelled_by
    assert all(answer.cancelled_by for answer in found.values())


def test_what_ends_plucking_and_muting(ask):
    # Tavan, djvu/14; Berlioz, djvu/32.
    pizzicato = {a.language: a.cancelled_by for a in ask.terms(for_="pizzicato")}
    assert "arco" in pizzicato["Italian"]
    muted = {a.language: a.cancelled_by for a in ask.terms(for_="con sordino")}
    assert "senza sordino" in muted["Italian"]
    assert "ôtez les sourdines" in muted["French"]


def test_names_of_the_viola(ask):
    # Common knowledge of scores.
    found = {answer.language: answer.forms for answer in ask.terms(for_="viola")}
    assert "Alto" in found["French"]
    assert "Bratsche" in found["German"]


def test_what_prints_the_mute_in_a_german_part(ask):
    # Wikipedia, Mute (music): musical directions.
    found = {answer.text for answer in ask.prints(technique="con sordino", language="German")}
    assert "mit Dämpfer" in found


def test_signs_in_the_standards(ask):
    # MusicXML 4.0, SMuFL and MEI themselves.
    found = {(answer.standard.split()[0], answer.name) for answer in ask.encoding(technique="snap")}
    assert ("MusicXML", "snap-pizzicato") in found
    assert ("SMuFL", "pluckedSnapPizzicatoAbove") in found
    assert ("MEI", "snap") in found
    # MusicXML's element spiccato is the stroke sign and not the bouncing bow.
    assert not [a for a in ask.encoding(technique="spiccato") if a.standard.startswith("Music")]


def test_who_speaks_of_string_length(ask):
    # Klanner, interview: 325 to 328 mm and so on.
    found = ask.sources(about="klanner")
    assert {answer.kind for answer in found} == {"string length"}
    assert {name for a in found for name in a.concerns} == {
        "violin",
        "viola",
        "cello",
        "double bass",
    }


def test_levels_of_player(ask):
    assert [answer.level for answer in ask.levels()] == ["student", "orchestral", "soloist"]
    # Berlioz, djvu/49: even in the orchestra cellos go to G5.
    found = {answer.level: answer for answer in ask.levels(on="cello")}
    assert found["orchestral"].highest == "G5"
