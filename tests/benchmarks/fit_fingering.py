"""Fit the weights of the left hand's path on violinists, and say how well it agrees with others.

    ORCHQ_FINGERINGS=FOLDER python tests/benchmarks/fit_fingering.py [--write ontology/measured]

FOLDER holds seven passages of the TNUA Violin Fingering Dataset (published with "Positioning
Left-hand Movement in Violin Performance", IUI 2021), each fingered by the same ten violinists. The
table gives for each passage the agreement of the path, with weights fitted on the six others, with
a player, averaged over the ten, and of the players with each other: by string and finger, and by
string alone. The weights are those of a conditional random field over the named costs, with the
place of the hand behind open strings hidden; they are drawn towards a judgement, so that what the
passages say little about stays near it. --write writes the weights fitted on all passages.
"""

import os
import sys
from importlib.metadata import version
from pathlib import Path

import numpy as np
from fingering_field import Fit
from violinists import mutual_agreement, read_all

DEMANDS_ALONE = {"further-note", "attack-in-haste", "bow-stroke-in-haste"}
"""Costs that bear on difficulty and on no choice."""
HEAD = """@prefix dcterms: <http://purl.org/dc/terms/> .
@prefix oq: <https://w3id.org/orchq/> .
@prefix owl: <http://www.w3.org/2002/07/owl#> .
@prefix rdfs: <http://www.w3.org/2000/01/rdf-schema#> .
@prefix skos: <http://www.w3.org/2004/02/skos/core#> .

# Fitted on violinists: written by tests/benchmarks/fit_fingering.py, never edited.

<https://w3id.org/orchq/ontology/measured/{name}> a owl:Ontology ;
    rdfs:label "orchq: {label}"@en ;
    dcterms:creator <https://w3id.org/orchq/ontology/contributors> ;
    dcterms:license <https://spdx.org/licenses/MIT> ;
    owl:versionIRI <https://w3id.org/orchq/{version}/ontology/measured/{name}> ;
    owl:versionInfo "{version}" .
"""
WEIGHT = """
oq:path-weight-{cost} a oq:PathWeight ;
    skos:prefLabel "weight: {words}"@en ;
    oq:weighsCost oq:path-cost-{cost} ;
    oq:weighs {weight:.2f} ;
    oq:statement "Fitted on all seven passages, each fingered by ten violinists; that it holds for other players and instruments is assumed." ;
    oq:hasBasis oq:derived ;
    oq:accordingTo oq:tnua-violin-fingering ;
    oq:locator "seven passages, ten players" .
"""  # noqa: E501
FILES = {
    "path-weights-postures": "weights of postures",
    "path-weights-shifts": "weights of shifts",
    "path-weights-fingers": "weights of crossings and fingers",
}


def write(folder: Path, fit: Fit, weights: np.ndarray) -> None:
    """Write the weights as modules of the graph, but for costs that no passage has."""
    texts = {
        name: HEAD.format(name=name, label=label, version=version("orchq"))
        for name, label in FILES.items()
    }
    met = np.abs(fit.lattice.matrix).sum(axis=1) > 0
    for place, (cost, weight) in enumerate(zip(fit.names, weights, strict=True)):
        if met[place] and cost not in DEMANDS_ALONE:
            own = "postures" if cost in fit.lattice.own else "fingers"
            file = f"path-weights-{'shifts' if cost.startswith('shift') else own}"
            texts[file] += WEIGHT.format(cost=cost, words=cost.replace("-", " "), weight=weight)
    for name, text in texts.items():
        (folder / f"{name}.ttl").write_text(text, encoding="utf-8")


def main() -> None:
    folder = Path(os.environ["ORCHQ_FINGERINGS"])
    passages = read_all(folder)
    fit = Fit(passages)
    if "--write" in sys.argv:
        write(Path(sys.argv[sys.argv.index("--write") + 1]), fit, fit.weights(passages))
        return
    print(f"{'passage':12} {'players':>12} {'path':>12} {'share':>12}")
    shares = []
    for passage in passages:
        weights = fit.weights([other for other in passages if other is not passage])
        path, players = fit.agreement(passage, weights), mutual_agreement(passage)
        share = tuple(a / b for a, b in zip(path, players, strict=True))
        shares.append(share)
        figures = " ".join(f"{a:.3f} {b:.3f} " for a, b in (players, path, share))
        print(f"{passage.name:12} {figures}", flush=True)
    both, string = np.mean(shares, axis=0)
    print(f"{'mean share':12} {'':26} {both:.3f} {string:.3f}")


if __name__ == "__main__":
    main()
