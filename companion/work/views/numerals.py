"""Large numerals for a screen that is read from two metres: five lines high, made of blocks."""

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
}


def large(number: int) -> str:
    """The number in five lines, each cell twice as wide, since terminal cells are narrow."""
    digits = [_ROWS[digit] for digit in str(number)]
    rows = ("  ".join(_twice(digit[row]) for digit in digits) for row in range(5))
    return "\n".join(rows)


def _twice(row: str) -> str:
    return "".join(cell * 2 for cell in row)
