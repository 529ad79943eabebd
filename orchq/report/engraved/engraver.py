"""verovio in a process of its own: a score that makes it crash or hang costs no report.

Run as a module. Reads one JSON object from standard input: ``xml`` is MusicXML, ``notes`` are
identifiers, ``shown`` those of them whose systems are drawn, unless ``all`` asks for every system.
``passages`` are further scores, each drawn by itself. Writes one object: ``systems`` are drawings
by the number of the system, from 1; ``places`` are the numbers by note, 0 for one that is not
drawn; ``passages`` are drawings, null where verovio cannot read one. Ends with 1 when it cannot
read the score.
"""

import json
import sys

import verovio

from orchq.bounded import bind

_OPTIONS = {
    "breaks": "auto",
    # Lower than any system, so that each stands on a page of its own, cut to its height.
    "pageHeight": 100,
    "adjustPageHeight": True,
    "pageWidth": 2200,
    "header": "none",
    "footer": "none",
    "svgRemoveXlink": True,
    "svgFormatRaw": True,
    "smuflTextFont": "none",
    "xmlIdSeed": 1,  # the same drawing for the same score
}

_PASSAGE = {"breaks": "none", "adjustPageWidth": True, "pageHeight": 60000}
"""A passage is one system, as wide as it is."""


def main() -> None:
    """Engrave what standard input asks for."""
    bind()
    asked = json.load(sys.stdin)
    verovio.enableLog(verovio.LOG_OFF)
    toolkit = verovio.toolkit()
    toolkit.setOptions(_OPTIONS)
    toolkit.setInputFrom("musicxml")
    if not toolkit.loadData(asked["xml"]):
        sys.exit(1)
    places = {note: toolkit.getPageWithElement(note) for note in asked["notes"]}
    every = range(1, toolkit.getPageCount() + 1)
    shown = {places[note] for note in asked["shown"] if places[note]}
    systems = {
        system: toolkit.renderToSVG(system) for system in (every if asked["all"] else sorted(shown))
    }
    toolkit.setOptions(_OPTIONS | _PASSAGE)
    passages = [
        toolkit.renderToSVG(1) if toolkit.loadData(xml) else None for xml in asked["passages"]
    ]
    json.dump({"places": places, "systems": systems, "passages": passages}, sys.stdout)


if __name__ == "__main__":
    main()
