"""How hard parts are, for people and programs: a table, a chart over the measures, JSON."""

import json
from collections.abc import Sequence

from orchq.derive.path import MeasureDifficulty, PartDifficulty

_HARDEST = 5
_STEPS = "▁▂▃▄▅▆▇█"
_PLAIN_STEPS = ".:-=+*#@"
_IN_A_ROW = 60
_REASONS = 3


def difficulty_json(parts: Sequence[PartDifficulty]) -> str:
    """Return the difficulty as JSON: for each part grade, score and every measure with reasons."""
    written = [
        {
            "name": part.name,
            "index": part.index,
            "grade": part.grade.label,
            "rank": part.grade.rank,
            "score": part.score,
            "measures": [
                {
                    "measure": each.number,
                    "measure_index": each.index,
                    "score": each.score,
                    "grade": each.grade.label,
                    "demands": {name: round(share, 3) for name, share in each.demands},
                }
                for each in part.measures
            ],
        }
        for part in parts
    ]
    return json.dumps({"parts": written}, ensure_ascii=False, indent=1) + "\n"


def difficulty_text(parts: Sequence[PartDifficulty], *, unicode: bool = True) -> str:
    """Return a table by part, the hardest measures with their reasons, and a chart of each part.

    In the chart one sign stands for a measure with notes, on one scale for all parts.
    """
    if not parts:
        return "no part has notes for a hand that the graph describes\n"
    width = max(len(part.name) for part in parts)
    lines = [f"{'part':{width}}  score  grade"]
    lines += [f"{part.name:{width}}  {part.score:5.1f}  {part.grade.label}" for part in parts]
    highest = max(part.score for part in parts)
    for part in parts:
        lines += ["", part.name]
        lines += [
            f"  measure {each.number:>4}  {_summary(each)}" for each in part.hardest(_HARDEST)
        ]
        lines += ["", *_chart(part, highest, _STEPS if unicode else _PLAIN_STEPS)]
    lines += ["", "A first guess: the player's and the teacher's word comes before it."]
    return "\n".join(lines) + "\n"


def _summary(measure: MeasureDifficulty) -> str:
    reasons = ", ".join(f"{name} {share:.0%}" for name, share in measure.demands[:_REASONS])
    return f"{measure.score:5.1f}  {measure.grade.label}: {reasons or 'nothing'}"


def _chart(part: PartDifficulty, highest: float, steps: str) -> list[str]:
    rows = []
    for start in range(0, len(part.measures), _IN_A_ROW):
        row = part.measures[start : start + _IN_A_ROW]
        signs = (min(int(len(steps) * each.score / (highest or 1)), len(steps) - 1) for each in row)
        rows.append(f"  {row[0].number:>5} {''.join(steps[sign] for sign in signs)}")
    return rows
