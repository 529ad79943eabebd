"""Tell which limits that rest on memory alone have an attested one beside them.

    python tests/benchmarks/attested_beside_memory.py

A limit rests on memory alone where nobody else, scores left out, states one about the same thing:
the same kind, technique, holder and topic. An attested limit stands beside it where it is about the
same thing, for the same level if one is named. Some kinds are seen in another only: the frame of
the hand in how far fingers stand apart in the easiest fingering of chords, length and speed of the
bow in how long slurs last on an instrument and at a dynamic.
"""

from collections import Counter

import orchq
from orchq.knowledge import Limit
from orchq.terms import oq, slug_of

MEASURED_AS = {
    "HandFrame": "HandSpan",
    "BowSpeed": "DurationLimit",
    "BowLength": "DurationLimit",
}
TOPICS = ("changesFrom", "changesTo", "limitsDynamic", "forRole", "spansFingers")
Key = tuple[str | None, ...]


def subject_of(limit: Limit) -> Key:
    """What a limit is about, whoever states it."""
    kind = MEASURED_AS.get(limit.kind, limit.kind)
    slur = oq("legato").value if limit.kind.startswith("Bow") else None
    topics = (str(limit.values[name]) if name in limit.values else None for name in TOPICS)
    return kind, limit.technique or slur, limit.instrument or limit.family, *topics


def main() -> None:
    """Compare and print."""
    limits = orchq.load().limits
    known = {subject_of(each) for each in limits if each.basis not in ("memory", "attested")}
    attested = {subject_of(each) for each in limits if each.basis == "attested"}
    leveled = {(subject_of(each), each.level) for each in limits if each.basis == "attested"}
    alone = {
        each.iri: each
        for each in limits
        if each.basis == "memory" and subject_of(each) not in known
    }
    without, total = Counter[str](), Counter(each.kind for each in alone.values())
    print("Without an attested limit beside them:")
    for limit in alone.values():
        subject = subject_of(limit)
        if subject in attested if limit.level is None else (subject, limit.level) in leveled:
            continue
        without[limit.kind] += 1
        print(f"  {slug_of(limit.iri)}: {limit.statement}")
    print("with   of  kind")
    for kind, count in sorted(total.items()):
        print(f"{count - without[kind]:>4} {count:>4}  {kind}")
    beside = total.total() - without.total()
    print(f"{beside} of {total.total()} limits from memory alone ({beside / total.total():.1%})")


if __name__ == "__main__":
    main()
