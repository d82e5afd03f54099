"""Pictures in SVG as a part of a page: they take its colours, and say what they show.

A picture has its name from its title. Its shapes are hidden from screen readers, since the table beside it
tells the same.
"""

from companion.pages.html import Html, Picture, text


def number(value: float) -> str:
    """A coordinate, short."""
    return f"{value:.1f}".rstrip("0").rstrip(".")


class Svg:
    """A picture being drawn. Coordinates are pixels at full width; kinds are classes of the page's style."""

    def __init__(self, name: str, width: float, height: float, title: str, told: str) -> None:
        """Begin a picture.

        Whoever does not see it gets the title and what is told. Shapes and labels are hidden from a screen
        reader: without their places they say nothing, and the table beside the chart tells their figures.

        Args:
            name: makes ids that no other picture of the page has.
            told: what the picture shows, in words.
        """
        self._title = title
        self.width = width
        self.height = height
        title_id, told_id = f"{text(name)}-t", f"{text(name)}-d"
        box = f"0 0 {number(width)} {number(height)}"
        self._head = (
            f'<svg viewBox="{box}" role="img" aria-labelledby="{title_id}" aria-describedby="{told_id}">'
            f'<title id="{title_id}">{text(title)}</title><desc id="{told_id}">{text(told)}</desc>'
            '<g aria-hidden="true">'
        )
        self._parts: list[str] = []

    def line(self, x1: float, y1: float, x2: float, y2: float, kind: str) -> None:
        """A straight line."""
        ends = f'x1="{number(x1)}" y1="{number(y1)}" x2="{number(x2)}" y2="{number(y2)}"'
        self._parts.append(f'<line {ends} class="{kind}"/>')

    def bar(
        self, x: float, y: float, width: float, height: float, kind: str, told: str = "", corner: float = 2
    ) -> None:
        """A rectangle. What is told shows when it is pointed at."""
        size = f'x="{number(x)}" y="{number(y)}" width="{number(max(width, 0))}" height="{number(height)}"'
        self._add(f'<rect {size} rx="{number(corner)}" class="{kind}"', "rect", told)

    def mark(self, shape: int, x: float, y: float, kind: str, told: str = "", size: float = 5) -> None:
        """A point. Shape 0 is a circle, 1 a square, 2 a triangle, 3 a diamond, and then again."""
        s = size
        if shape % 4 == 0:
            self._add(
                f'<circle cx="{number(x)}" cy="{number(y)}" r="{number(s)}" class="{kind}"', "circle", told
            )
            return
        corners = (
            ((-s, -s), (s, -s), (s, s), (-s, s)),
            ((0, -s * 1.2), (s * 1.1, s * 0.9), (-s * 1.1, s * 0.9)),
            ((0, -s * 1.3), (s * 1.3, 0), (0, s * 1.3), (-s * 1.3, 0)),
        )[shape % 4 - 1]
        points = " ".join(f"{number(x + dx)},{number(y + dy)}" for dx, dy in corners)
        self._add(f'<polygon points="{points}" class="{kind}"', "polygon", told)

    def path(self, points: list[tuple[float, float]], kind: str) -> None:
        """A line through points."""
        if points:
            steps = " ".join(f"{number(x)},{number(y)}" for x, y in points)
            self._parts.append(f'<polyline points="{steps}" class="{kind}"/>')

    def label(self, x: float, y: float, words: str, kind: str = "", room: float = 0) -> None:
        """Words on the line y, cut to about `room` pixels. All of them show when they are pointed at."""
        most = max(4, int(room / 7)) if room else len(words)
        if len(words) <= most:
            shown, told = text(words), ""
        else:
            shown, told = text(words[: most - 1].rstrip() + "…"), f"<title>{text(words)}</title>"
        self._parts.append(f'<text x="{number(x)}" y="{number(y)}" class="{kind}">{told}{shown}</text>')

    def _add(self, opening: str, tag: str, told: str) -> None:
        self._parts.append(f"{opening}><title>{text(told)}</title></{tag}>" if told else f"{opening}/>")

    def done(self) -> Picture:
        """The finished picture, named by its title."""
        return Picture(self._title, Html(self._head + "".join(self._parts) + "</g></svg>"))
