"""Edits: pure functions from a part to a part, made of small ones."""

from collections.abc import Callable, Iterable

from msgspec.structs import replace

from orchq.score import Event, Mark, Note, Part, Slur, State

Edit = Callable[[Part], Part]
"""Rewrites a part, or a stretch cut out of it; what it does not find it leaves alone."""


def change_events(iris: Iterable[str], change: Callable[[Event], Event]) -> Edit:
    """Change the events of these IRIs."""
    chosen = frozenset(iris)

    def apply(part: Part) -> Part:
        events = (change(each) if each.iri in chosen else each for each in part.events)
        return replace(part, events=tuple(events))

    return apply


def change_signs(iris: Iterable[str], *, off: Iterable[str] = (), on: Iterable[str] = ()) -> Edit:
    """Take signs (IRIs of directives) off events and put others on."""
    gone, new = frozenset(off), frozenset(on)
    return change_events(iris, lambda event: replace(event, marks=event.marks - gone | new))


def exchange_sign(iris: Iterable[str], old: str, new: str) -> Edit:
    """Print another sign at those of the events that have the old one."""

    def change(event: Event) -> Event:
        if old not in event.marks:
            return event
        return replace(event, marks=event.marks - {old} | {new})

    return change_events(iris, change)


def change_notes(iri: str, change: Callable[[tuple[Note, ...]], tuple[Note, ...]]) -> Edit:
    """Change the notes of one event."""
    return change_events([iri], lambda event: replace(event, notes=change(event.notes)))


def set_notes(iri: str, notes: tuple[Note, ...]) -> Edit:
    """Give one event other notes."""
    return change_notes(iri, lambda _: notes)


def take_event(iri: str) -> Edit:
    """Leave a rest in place of an event."""

    def apply(part: Part) -> Part:
        return replace(part, events=tuple(each for each in part.events if each.iri != iri))

    return apply


def add_event(event: Event) -> Edit:
    """Let another event begin, after those that begin with it."""

    def apply(part: Part) -> Part:
        events = sorted((*part.events, event), key=lambda each: each.onset)
        return replace(part, events=tuple(events))

    return apply


def print_word(at: Event, *directives: str, number: int | None = None, first: bool = False) -> Edit:
    """Print directives beside the staff at an event, after what stands there, or before it."""
    mark = Mark(
        iri=f"{at.iri}.advice.{'.'.join(d.rpartition('/')[2] for d in directives)}",
        measure_index=at.measure_index,
        measure_number=at.measure_number,
        offset=at.offset,
        onset=at.onset,
        directives=directives,
        number=number,
    )

    def apply(part: Part) -> Part:
        marks = (mark, *part.marks) if first else (*part.marks, mark)
        return replace(part, marks=tuple(sorted(marks, key=lambda each: each.onset)))

    return apply


def change_word(iri: str, old: str, *new: str, number: int | None = None) -> Edit:
    """Replace a directive of a mark by others, or by nothing; ``number`` is printed with it."""

    def change(mark: Mark) -> Mark:
        words = [word for each in mark.directives for word in (new if each == old else (each,))]
        return replace(mark, directives=tuple(words), text="", number=number or mark.number)

    def apply(part: Part) -> Part:
        marks = (change(each) if each.iri == iri else each for each in part.marks)
        return replace(part, marks=tuple(marks))

    return apply


def change_states(iris: Iterable[str], change: Callable[[State], State]) -> Edit:
    """Change the playing states that the excerpt itself asserts for these events.

    Events whose state follows from printed marks stay as they are.
    """

    def restate(event: Event) -> Event:
        if event.state is None:
            return event
        state = replace(change(event.state), iri=f"{event.state.iri}.advice")
        return replace(event, state=state)

    return change_events(iris, restate)


def exchange_techniques(
    iris: Iterable[str], *, off: Iterable[str] = (), on: Iterable[str] = ()
) -> Edit:
    """Take techniques out of asserted playing states, and put others in."""
    gone, new = frozenset(off), frozenset(on)
    return change_states(
        iris, lambda state: replace(state, techniques=state.techniques - gone | new)
    )


def take_spans(iris: Iterable[str]) -> Edit:
    """Leave out slurs and hairpins."""
    gone = frozenset(iris)

    def apply(part: Part) -> Part:
        return replace(
            part,
            slurs=tuple(each for each in part.slurs if each.iri not in gone),
            hairpins=tuple(each for each in part.hairpins if each.iri not in gone),
        )

    return apply


def add_slurs(*slurs: Slur) -> Edit:
    """Print more slurs."""
    return lambda part: replace(part, slurs=(*part.slurs, *slurs))
