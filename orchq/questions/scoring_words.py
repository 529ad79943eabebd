"""How what describes a way to score a line answers a word of the wish."""

from collections import defaultdict
from collections.abc import Sequence
from typing import Literal

from msgspec import Struct

from orchq.knowledge import Thesaurus

DescribedBy = Literal["grouping", "manner", "register", "joined"]
"""What has a word for its sound; ``joined`` is a register of an instrument that joins the first."""


class Description(Struct, frozen=True):
    """A word for the sound and the thing that it describes.

    One that is ``suggested`` can be brought out so, and need not be: it answers its own word only.
    ``partly`` is true of a register in which not all of the line surely lies.
    """

    word: str
    what: str
    iri: str
    of: DescribedBy
    suggested: bool = False
    partly: bool = False


class WordFit(Struct, frozen=True):
    """What meets a word, the names of the scoring rules that apply, and why."""

    met: frozenset[DescribedBy]
    rules: tuple[str, ...]
    why: tuple[str, ...]
    against: tuple[str, ...]
    grounds: tuple[str, ...]


def fit_of(word: str, described: Sequence[Description], thesaurus: Thesaurus) -> WordFit | None:
    """Return how descriptions answer a word; ``None`` where one of them contradicts it.

    Of a manner the more special technique decides: without vibrato a slur does not sing.
    """
    near: dict[str, list[Description]] = defaultdict(list)
    for each in described:
        near[_nearness(word, each, thesaurus)].append(each)
    exact = [*near["same"], *near["narrower"]]
    loose = [*near["broader"], *near["related"]]
    contrary = near["opposite"]
    if any(each.of == "grouping" for each in contrary):
        return None
    if any(each.of == "manner" for each in contrary):
        if not any(each.of == "manner" for each in exact):
            return None
        contrary = [each for each in contrary if each.of == "register"]
    rules, against = [], []
    if exact:
        rules.append("word" if near["same"] else "kind-of-word")
        if len({each.what for each in exact if not each.partly}) > 1:
            rules.append("second-witness")
        if all(each.suggested for each in exact):
            rules += ["near-witness"] * len({each.word for each in loose})
        if all(each.partly for each in exact):
            rules.append("partly")
            against.append(f"not all of it surely lies there: {exact[0].what}")
    elif loose:
        rules.append("near-word")
    else:
        rules.append("missing-word")
        against.append(f"nothing in it is {word}")
    if contrary:
        rules.append("contrary-register")
        against.append(f"{contrary[0].word}: {contrary[0].what}")
    witnesses = exact or loose
    return WordFit(
        frozenset(each.of for each in witnesses),
        tuple(rules),
        tuple(f"{each.word}: {each.what}" for each in witnesses),
        tuple(against),
        tuple(
            each.iri for each in witnesses if each.suggested or each.of in ("register", "joined")
        ),
    )


def _nearness(word: str, description: Description, thesaurus: Thesaurus) -> str:
    fit = thesaurus.nearness(word, description.word) or ""
    if description.suggested and fit != "same":
        return ""
    if description.of == "joined":
        return "related" if fit in ("same", "narrower") else ""
    return fit
