"""Hand models and harmonic limits from the graph."""

from pathlib import Path

import pytest
from msgspec.structs import fields, replace

from orchq.derive.hand import EffortWeights, Frame, HandModel, hand_model, hand_weights
from orchq.derive.harmonic_limits import HarmonicLimits, harmonic_limits, judged_limits
from orchq.errors import OrchqError
from orchq.knowledge import Instrument, Knowledge, load
from orchq.terms import OQ

KINDS = ["HandFrame", "SecureHeight", "FingerStep", "FingerboardEnd", "HarmonicLimit"]
FIDDLE = (
    "@prefix oq: <https://w3id.org/orchq/> .\n"
    "@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .\n"
    + "".join(f"oq:{kind} rdfs:subClassOf oq:Limit .\n" for kind in KINDS)
    + """
oq:test-fiddle a oq:Instrument ; oq:hasStandardTuning oq:test-tuning .
oq:test-tuning a oq:Tuning ; oq:hasString oq:test-string-1 , oq:test-string-2 .
oq:test-string-1 a oq:String ; oq:stringNumber 1 ; oq:openPitch "E5" .
oq:test-string-2 a oq:String ; oq:stringNumber 2 ; oq:openPitch "A4" .
oq:test-frame a oq:HandFrame ; oq:onInstrument oq:test-fiddle ; oq:spansFingers "1-4" ;
    oq:relaxedMillimetres 70.0 ; oq:stretchedMillimetres 80.5 ; oq:widestMillimetres 90.0 ;
    oq:fromSemitone 2 ; oq:hasBasis oq:memory .
oq:test-length a oq:StringLength ; oq:onInstrument oq:test-fiddle ;
    oq:shortestMillimetres 300.0 ; oq:longestMillimetres 310.0 ; oq:hasBasis oq:published .
oq:test-end a oq:FingerboardEnd ; oq:onInstrument oq:test-fiddle ; oq:highestSemitone 20 ;
    oq:hasBasis oq:memory .
oq:test-secure a oq:SecureHeight ; oq:onInstrument oq:test-fiddle ; oq:highestSemitone 9 ;
    oq:forLevel oq:student ; oq:hasBasis oq:memory .
oq:test-step a oq:FingerStep ; oq:onInstrument oq:test-fiddle ; oq:semitonesPerFinger 2 ;
    oq:hasBasis oq:derived .
oq:test-count a oq:StopCount ; oq:onInstrument oq:test-fiddle ; oq:mostNotes 2 ;
    oq:mostStopped 1 ; oq:hasBasis oq:published .
oq:test-bowed a oq:StopCount ; oq:onInstrument oq:test-fiddle ; oq:limitsTechnique oq:arco ;
    oq:mostSustained 1 ; oq:forteFromNotes 2 ; oq:hasBasis oq:published .
oq:test-natural-1 a oq:HarmonicLimit ; oq:onInstrument oq:test-fiddle ;
    oq:limitsTechnique oq:natural-harmonic ; oq:highestPartial 4 ; oq:hasBasis oq:memory .
oq:test-natural-2 a oq:HarmonicLimit ; oq:onInstrument oq:test-fiddle ;
    oq:limitsTechnique oq:natural-harmonic ; oq:highestPartial 7 ; oq:hasBasis oq:published .
oq:test-stopped a oq:HarmonicLimit ; oq:onInstrument oq:test-fiddle ;
    oq:limitsTechnique oq:artificial-harmonic ; oq:highestPartial 3 ; oq:hasBasis oq:published .
oq:test-refused a oq:Availability ; oq:onInstrument oq:test-fiddle ;
    oq:limitsTechnique oq:artificial-harmonic ; oq:isAvailable false ; oq:hasBasis oq:published .
"""
)


def _with_fiddle(directory: Path, turtle: str) -> tuple[Knowledge, Instrument]:
    file = directory / "fiddle.ttl"
    file.write_text(turtle, encoding="utf-8")
    knowledge = load([file], allow_override=True)
    return knowledge, knowledge.instruments[OQ + "test-fiddle"]


def test_a_hand_model_holds_what_the_graph_says(tmp_path: Path) -> None:
    knowledge, fiddle = _with_fiddle(tmp_path, FIDDLE)
    model = hand_model(knowledge, fiddle, level="student")
    assert model == HandModel(
        strings=(76, 69),
        length_mm=305,
        highest_stop=20,
        frames=(Frame("1", "4", 70, 80.5, 90, 2, OQ + "test-frame"),),
        secure_semitone=9,
        step_semitones=2,
        level="student",
        most_notes=2,
        most_stopped=1,
        most_sustained=1,
        forte_from=2,
        weights=hand_weights(knowledge),
        limits=model.limits,
    )
    assert model.resting_on("most_stopped") == (OQ + "test-count",)
    assert model.resting_on("forte_from") == (OQ + "test-bowed",)
    retuned = hand_model(knowledge, fiddle, (75, 68), OQ + "student")
    assert retuned == replace(model, strings=(75, 68))


def test_harmonic_limits_hold_what_the_graph_says(tmp_path: Path) -> None:
    limits = harmonic_limits(*_with_fiddle(tmp_path, FIDDLE))
    assert limits == HarmonicLimits(4, 7, 3, "refused", limits=limits.limits)
    assert limits.resting_on("highest_partial") == (OQ + "test-natural-2",)


@pytest.mark.parametrize(
    ("old", "new", "complaint"),
    [
        ("a oq:HandFrame ;", "a oq:Availability ;", "no hand frame"),
        ("a oq:SecureHeight ;", "a oq:Availability ;", "no secure height"),
        ('"1-4"', '"1-5"', "does not name two fingers"),
        ("oq:widestMillimetres 90.0", "oq:widestMillimetres 60.0", "must ascend"),
        ("oq:stretchedMillimetres 80.5 ;", "", "lacks a number for oq:stretchedMillimetres"),
    ],
)
def test_what_the_graph_lacks_is_said(tmp_path: Path, old: str, new: str, complaint: str) -> None:
    knowledge, fiddle = _with_fiddle(tmp_path, FIDDLE.replace(old, new))
    with pytest.raises(OrchqError, match=complaint):
        hand_model(knowledge, fiddle, level="student")


def test_every_judged_number_of_the_hand_is_a_weight_and_rests_on_judgement() -> None:
    knowledge = load()
    prefix = OQ + "judged-hand-"
    about_hands = {
        quad.subject.value.removeprefix(prefix): quad.object.value
        for quad in knowledge.quads
        if quad.subject.value.startswith(prefix) and quad.predicate.value == OQ + "judgedAs"
    }
    weights = hand_weights(knowledge)
    assert about_hands.keys() == {field.name.replace("_", "-") for field in fields(EffortWeights)}
    for name, value in about_hands.items():
        assert getattr(weights, name.replace("-", "_")) == float(value)


def test_a_number_that_nobody_judged_is_missed() -> None:
    with pytest.raises(OrchqError, match="no judged number 'narrowest-reap'"):
        load().judged("narrowest-reap")


def test_an_unknown_level_is_refused(tmp_path: Path) -> None:
    knowledge, fiddle = _with_fiddle(tmp_path, FIDDLE)
    with pytest.raises(OrchqError, match="not a level"):
        hand_model(knowledge, fiddle, level="beginner")


def test_no_harmonics_in_the_graph(tmp_path: Path) -> None:
    silent = FIDDLE.replace("oq:highestPartial 4 ;", "").replace("oq:highestPartial 7 ;", "")
    knowledge, fiddle = _with_fiddle(tmp_path, silent)
    with pytest.raises(OrchqError, match="no limit of harmonics"):
        harmonic_limits(knowledge, fiddle)
    assert judged_limits(knowledge, fiddle, "orchestral", None) is None


def test_natural_harmonics_alone_in_the_graph(tmp_path: Path) -> None:
    knowledge, fiddle = _with_fiddle(tmp_path, FIDDLE.replace("oq:highestPartial 3 ;", ""))
    assert harmonic_limits(knowledge, fiddle).artificial_partial == 0
    # Harmonics in parts are not judged by half of what is to be known.
    assert judged_limits(knowledge, fiddle, "orchestral", None) is None


@pytest.mark.parametrize("name", ["violin", "viola", "cello", "double-bass"])
def test_the_graph_and_these_tests_state_the_same_hands(
    models: dict[str, HandModel], grants: dict[str, HarmonicLimits], name: str
) -> None:
    knowledge = load()
    if not any(limit.kind == "HandFrame" for limit in knowledge.limits):
        pytest.skip("the graph holds no hand frames yet")
    instrument = knowledge.instruments[OQ + name]
    built = hand_model(knowledge, instrument)
    frames = {replace(frame, limit="") for frame in built.frames}
    assert frames == set(models[name].frames)
    assert replace(built, frames=(), limits=()) == replace(models[name], frames=())
    granted = harmonic_limits(knowledge, instrument)
    assert replace(granted, limits=()) == grants[name]
