"""Good input made bad: a plain random mutator that knows a little of what it spoils."""

import json
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random
from typing import Any

LONGEST = 20_000
"""Bytes; what is longer is cut, so that one input costs little."""
NASTY = (
    b"", b"\x00", b"\xff\xfe", b"\r\n", b"\x1b[2J", b"\xe2\x80\xae", b"9" * 40, b"9" * 400, b"-1", b"1e400",
    b"nan", b"0", b"\xed\xa0\x80", b"{", b"}", b"[", b"]", b":", b"- ", b"'", b'"', b"&a ", b"*a", b"!!set ",
    b"|", b">", b"%", b"#", b"\t", b"null", b"true", b"\xc2\xb2", b"\xd9\xa3", b"\xf0\x9f\x94\xa7", b"=cmd",
    b"a" * 300, b"<script>", b"2031-13-45", b"9999-12-31",
)  # fmt: skip
"""What has broken a parser somewhere; from memory."""
ODD: tuple[Any, ...] = (
    None, True, -1, 0, 0.5, 2**70, 1e300, float("nan"), "", "x", "\u00b2", "\ud800", [], {}, [[]], {"a": "b"},
    "2031-01-01T00:00:00", "9999-12-31T23:59:59Z", "0001-01-01T00:00:00+14:00", "x" * 3000, "\x1b[2J\u202e",
)  # fmt: skip
"""What may stand in a log in place of anything else."""


@dataclass(frozen=True)
class Mutator:
    """Spoils bytes: by the bit, by the word and by the line."""

    words: Sequence[bytes] = ()
    """What belongs into such input, in the wrong place."""
    others: Sequence[bytes] = ()
    """Good input, to take lines from."""

    def __call__(self, data: bytes, rng: Random) -> bytes:
        """The same, spoilt in one to four ways."""
        for _ in range(rng.randint(1, 4)):
            data = self._once(data, rng)
        return data[:LONGEST]

    def _once(self, data: bytes, rng: Random) -> bytes:
        at = rng.randrange(len(data) + 1)
        to = min(len(data), at + rng.choice((1, 1, 2, 4, 20)))
        match rng.randrange(8):
            case 0:
                return data[:at] + bytes([rng.randrange(256)]) + data[to:]
            case 1:
                return data[:at] + data[to:]
            case 2:
                return data[:at] + rng.choice((*NASTY, *self.words)) + data[rng.choice((at, to)) :]
            case 3:
                return data[:at]
            case 4:
                flipped = bytearray(data or b"\0")
                flipped[rng.randrange(len(flipped))] ^= 1 << rng.randrange(8)
                return bytes(flipped)
            case 5:
                return data[:at] + data[at:to] * rng.choice((2, 2, 50)) + data[to:]
            case _:
                return self._by_line(data, rng)

    def _by_line(self, data: bytes, rng: Random) -> bytes:
        lines = data.split(b"\n")
        at, other = rng.randrange(len(lines)), rng.randrange(len(lines))
        match rng.randrange(4):
            case 0:
                lines[at], lines[other] = lines[other], lines[at]
            case 1:
                lines.insert(at, lines[other])
            case 2:
                del lines[at]
            case _:
                donor = rng.choice(self.others or (data,)).split(b"\n")
                lines[at] = donor[rng.randrange(len(donor))]
        return b"\n".join(lines)


class OfLogs(Mutator):
    """Spoils a log so that it is one still: its lines are JSON, and mostly numbered one by one."""

    def __call__(self, data: bytes, rng: Random) -> bytes:
        if rng.random() < 0.3:
            return super().__call__(data, rng)
        try:
            lines = [json.loads(line) for line in data.splitlines()]
        except ValueError:
            lines = []
        if not all(isinstance(line, dict) and line for line in lines) or not lines:
            return super().__call__(data, rng)
        for _ in range(rng.randint(1, 4)):
            self._alter(lines, rng)
        if rng.random() < 0.9:
            for number, line in enumerate(lines, start=1):
                line["seq"] = number
        return "".join(f"{json.dumps(line)}\n" for line in lines).encode()

    @staticmethod
    def _alter(lines: list[dict[str, Any]], rng: Random) -> None:
        at, donor = rng.randrange(len(lines)), rng.choice(lines)
        line = lines[at]
        key = rng.choice(sorted(line) or ["event"])
        match rng.randrange(7):
            case 0 | 1:
                line[key] = rng.choice(ODD)
            case 2:
                line[key] = donor.get(key, donor.get("event"))
            case 3:
                line.pop(key, None)
            case 4:
                lines.insert(at, dict(donor))
            case 5 if len(lines) > 1:
                del lines[at]
            case _:
                inner = [name for name, value in line.items() if isinstance(value, dict)]
                if inner:
                    line[inner[0]] = {rng.choice(("number", "minutes", "text", "step", "x")): rng.choice(ODD)}
                else:
                    line["event"] = donor.get("event")
