"""Large numerals for a screen that is read from two metres: five rows high, made of blocks."""

from companion.work.views.rows import cells

HIGH = 5
_ROWS = {
    "0": ("███", "█ █", "█ █", "█ █", "███"),
    "1": (" █ ", "██ ", " █ ", " █ ", "███"),
    "2": ("███", "  █", "███", "█  ", "███"),
    "3": ("███", "  █", "███", "  █", "███"),
    "4": ("█ █", "█ █", "███", "  █", "  █"),
    "5": ("███", "█  ", "███", "  █", "███"),
    "6": ("███", "█  ", "███", "█ █", "███"),
    "7": ("███", "  █", "  █", "  █", "  █"),
    "8": ("███", "█ █", "███", "█ █", "███"),
    "9": ("███", "█ █", "███", "  █", "███"),
    "T": ("███", " █ ", " █ ", " █ ", " █ "),
    "E": ("███", "█  ", "██ ", "█  ", "███"),
    "°": ("███", "█ █", "███", "   ", "   "),
    "/": ("  █", "  █", " █ ", "█  ", "█  "),
    "-": ("   ", "   ", "███", "   ", "   "),
    ".": (" ", " ", " ", " ", "█"),
    ":": (" ", "█", " ", "█", " "),
}


def large(text: str) -> list[str] | None:
    """The text in five rows, each cell twice as wide, since terminal cells are narrow; None where a sign of
    it has no large form."""
    if not all(sign in _ROWS for sign in text):
        return None
    return ["  ".join(_twice(_ROWS[sign][row]) for sign in text) for row in range(HIGH)]


def _twice(row: str) -> str:
    return "".join(cell * 2 for cell in row)


def side_by_side(shown: list[tuple[list[str], str]], gap: int = 4) -> list[str]:
    """Numerals beside each other, each with its caption beneath."""
    rows = [""] * (HIGH + 1)
    for numeral, caption in shown:
        block = [*numeral, caption]
        wide = max(map(cells, block))
        rows = [
            f"{row}{' ' * gap if row else ''}{cell}{' ' * (wide - cells(cell))}"
            for row, cell in zip(rows, block, strict=True)
        ]
    return [row.rstrip() for row in rows]
