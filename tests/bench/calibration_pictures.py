"""Plain SVG for docs: lines against ballots, and bars. Black, blue and grey on white."""

from collections.abc import Mapping, Sequence
from html import escape

WIDTH, HEIGHT, LEFT, TOP, BOTTOM = 680, 340, 52, 44, 44
STROKES = ("#1d4f91", "#1f1f1f", "#6f93bf", "#8a8a8a")
HALO = 'stroke="#ffffff" stroke-width="4" paint-order="stroke"'
DASHES = ("", "6 3", "", "6 3")


def _frame(title: str, height: int, body: Sequence[str]) -> str:
    return "\n".join(
        (
            f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {WIDTH} {height}" '
            f'font-family="sans-serif" font-size="13" fill="#1f1f1f">',
            f"<title>{escape(title)}</title>",
            f'<rect width="{WIDTH}" height="{height}" fill="#ffffff"/>',
            f'<text x="12" y="24" font-size="15" font-weight="600">{escape(title)}</text>',
            *body,
            "</svg>",
            "",
        )
    )


def curves(title: str, lines: Mapping[str, Sequence[float]]) -> str:
    """Probabilities against the number of ballots; a legend beside the lines' ends."""
    longest = max(map(len, lines.values()))
    highest = max(max(line) for line in lines.values())
    top = 1.0 if highest > 0.5 else 0.3
    across, up = WIDTH - LEFT - 28, HEIGHT - TOP - BOTTOM - 18 * len(lines)
    floor = HEIGHT - BOTTOM

    def at(n: float, share: float) -> str:
        return f"{LEFT + across * n / longest:.1f},{floor - up * share / top:.1f}"

    body = []
    for tick in range(6):
        share = top * tick / 5
        _, y = at(0, share).split(",")
        body.append(f'<path d="M{LEFT} {y}H{LEFT + across}" stroke="#dddddd"/>')
        label = f"{100 * share:.0f}"
        body.append(f'<text x="{LEFT - 8}" y="{float(y) + 4:.1f}" text-anchor="end">{label}</text>')
        n = longest * tick // 5
        x, _ = at(n, 0).split(",")
        body.append(f'<text x="{x}" y="{floor + 18}" text-anchor="middle">{n}</text>')
    body.append(
        f'<text x="{LEFT + across / 2}" y="{HEIGHT - 8}" text-anchor="middle">ballots</text>'
    )
    for place, (name, line) in enumerate(lines.items()):
        pen = f'stroke="{STROKES[place]}" stroke-width="2" stroke-dasharray="{DASHES[place]}"'
        points = " ".join(at(n, share) for n, share in enumerate(line, start=1))
        body.append(f'<polyline points="{points}" fill="none" {pen}/>')
        y = TOP + 18 * place
        body.append(f'<path d="M{LEFT} {y}h28" {pen}/>')
        body.append(f'<text x="{LEFT + 36}" y="{y + 4}">{escape(name)}, in 100</text>')
    return _frame(title, HEIGHT, body)


def bars(title: str, values: Sequence[tuple[str, float]], promised: float = 5.0) -> str:
    """A bar a practice, its value at its end, and a dashed line at what was promised."""
    start, row = 330, 30
    longest = max(value for _, value in values)
    unit = (WIDTH - start - 60) / longest
    height = TOP + row * len(values) + 12
    x = start + unit * promised
    dashed = 'stroke="#8a8a8a" stroke-dasharray="4 3"'
    body = [f'<path d="M{x:.1f} {TOP - 6}V{height - 8}" {dashed}/>']
    for place, (name, value) in enumerate(values):
        y = TOP + row * place
        body.append(f'<text x="{start - 10}" y="{y + 15}" text-anchor="end">{escape(name)}</text>')
        body.append(
            f'<rect x="{start}" y="{y}" width="{unit * value:.1f}" height="20" fill="#1d4f91"/>'
        )
        body.append(
            f'<text x="{start + unit * value + 6:.1f}" y="{y + 15}" {HALO}>{value:.1f}</text>'
        )
    return _frame(title, height, body)
