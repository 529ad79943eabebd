"""Scores of any size from one movement: its measures again and again, its parts several times."""

from copy import deepcopy
from pathlib import Path
from zipfile import ZipFile

from lxml import etree


def grown(movement: Path, times: int, copies: int = 1) -> bytes:
    """Return MusicXML with the measures of a compressed movement repeated, and its parts copied.

    Attributes are printed again where the movement begins anew, as the file has them.
    """
    with ZipFile(movement) as archive:
        name = next(n for n in archive.namelist() if not n.startswith("META-INF"))
        root = etree.fromstring(archive.read(name))
    listed = root.find("part-list")
    assert listed is not None
    parts, entries = root.findall("part"), listed.findall("score-part")
    for part in parts:
        measures = list(part)
        for _ in range(times - 1):
            part.extend(deepcopy(measures))
    for copy in range(1, copies):
        for part, entry in zip(parts, entries, strict=True):
            for element in (again := deepcopy(part), named := deepcopy(entry)):
                element.set("id", f"{element.get('id')}c{copy}")
            root.append(again)
            for instrument in named.iter("score-instrument", "midi-instrument"):
                instrument.set("id", f"{instrument.get('id')}c{copy}")
            listed.append(named)
            for used in again.iter("instrument"):
                used.set("id", f"{used.get('id')}c{copy}")
    return etree.tostring(root, xml_declaration=True, encoding="UTF-8")
