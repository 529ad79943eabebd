"""A score that writes markup, quotes and reversed writing wherever text may stand."""

from html import escape

BIDI = "\u202e\u2066\u200f"
PAYLOADS = (
    "<script>window.caught=1</script>",
    '"><img src=x onerror="window.caught=1">',
    "]]><svg onload='window.caught=1'>",
    "</text></svg><script>window.caught=1</script>",
    "</style></title><script>window.caught=1</script><!--",
    "{{ 7 * 7 }} {% raw %}",
    "javascript:window.caught=1",
    f"url(https://example.org/x) {BIDI}abc",
)
TEXT = escape(" ".join(PAYLOADS))
COLOUR = escape('url(https://example.org/c)" onload="window.caught=1')


def score() -> str:
    """A violin part with one note that is too low, and the payloads everywhere."""
    words = f'<words font-family="{TEXT}" color="{COLOUR}" xml:lang="{TEXT}">{TEXT}</words>'
    kinds = "".join(
        f"<direction placement='above'><direction-type>{kind}</direction-type></direction>"
        for kind in (
            words,
            f"<rehearsal>{TEXT}</rehearsal>",
            f"<dynamics><other-dynamics>{TEXT}</other-dynamics></dynamics>",
            f"<metronome><beat-unit>quarter</beat-unit><per-minute>{TEXT}</per-minute></metronome>",
            f"<symbol>{TEXT}</symbol>",
            f'<dashes type="start" color="{COLOUR}"/>',
            f"<other-direction>{TEXT}</other-direction>",
        )
    )
    technical = (
        f"<fingering>{TEXT}</fingering><string>{TEXT}</string><pluck>{TEXT}</pluck>"
        f'<other-technical smufl="{TEXT}">{TEXT}</other-technical><fret>{TEXT}</fret>'
    )
    note = (
        f'<note id="{TEXT}" color="{COLOUR}"><pitch><step>F</step>'
        "<octave>3</octave></pitch><duration>4</duration><type>whole</type>"
        f'<notehead color="{COLOUR}" smufl="{TEXT}">normal</notehead>'
        f"<notations><technical>{technical}</technical><ornaments><other-ornament>{TEXT}"
        f"</other-ornament></ornaments></notations><lyric><text color='{COLOUR}'>{TEXT}</text>"
        "</lyric></note>"
    )
    harmony = (
        f"<harmony><root><root-step text='{TEXT}'>C</root-step></root>"
        f"<kind text='{TEXT}'>major</kind></harmony>"
        f"<figured-bass><figure><prefix>{TEXT}</prefix><figure-number>{TEXT}</figure-number>"
        "</figure></figured-bass>"
    )
    return (
        f"<score-partwise><work><work-title>{TEXT}</work-title></work>"
        f"<movement-title>{TEXT}</movement-title><identification>"
        f"<creator type='composer'>{TEXT}</creator><rights>{TEXT}</rights></identification>"
        f"<credit page='1'><credit-words>{TEXT}</credit-words></credit>"
        f"<part-list><part-group type='start' number='1'><group-name>{TEXT}</group-name>"
        f"<group-symbol color='{COLOUR}'>bracket</group-symbol></part-group>"
        f"<score-part id='P1'><part-name>Violin {TEXT}</part-name>"
        f"<part-abbreviation>{TEXT}</part-abbreviation><score-instrument id='I1'>"
        "<instrument-name>Violin</instrument-name><instrument-sound>strings.violin"
        "</instrument-sound></score-instrument></score-part></part-list>"
        f"<part id='P1'><measure number='{TEXT}'><attributes><divisions>1</divisions>"
        "<clef><sign>G</sign><line>2</line></clef></attributes>"
        f"{kinds}{harmony}{note}<barline><ending number='1' type='start'>{TEXT}</ending></barline>"
        "</measure></part></score-partwise>"
    )
