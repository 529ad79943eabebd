"""The places of a finding as a strip over the piece."""

from orchq.rules.finding import Finding

_WIDTH, _HEIGHT = 1000, 40


def strip(finding: Finding, measures: int) -> str:
    """Return an SVG element with a tick for each measure of a finding; empty for one place.

    ``measures`` are those of the part; with fewer than the finding needs there is no strip.
    """
    indices = sorted({place.measure_index for place in finding.all_places})
    if len(indices) < 2 or indices[-1] >= measures:
        return ""
    width = max(_WIDTH // measures, 6)
    ticks = "".join(
        f"M{_WIDTH * index // measures} 4h{width}v{_HEIGHT - 8}h-{width}z" for index in indices
    )
    return (
        f'<svg class="strip" viewBox="0 0 {_WIDTH} {_HEIGHT}" preserveAspectRatio="none" role="img"'
        f' aria-label="{len(indices)} of {measures} measures">'
        f'<path class="whole" d="M0 {_HEIGHT // 2}H{_WIDTH}"/>'
        f'<path class="ticks" d="{ticks}"/></svg>'
    )
