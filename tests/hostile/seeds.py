"""Good input of every kind, to be spoilt, and words that belong into it."""

import json
from dataclasses import asdict
from functools import cache
from itertools import islice
from pathlib import Path
from tempfile import TemporaryDirectory

from companion.procedure.model import Procedure
from companion.speech.hearing.profile import Profile
from companion.speech.language.phrases import language
from tests.helpers.sounds import pause, write_wav
from tests.procedure.conftest import SMALL

ROOT = Path(__file__).parents[2]
GOLDEN = ROOT / "logs" / "golden"


@cache
def of_procedures() -> tuple[bytes, ...]:
    short = (ROOT / "tests" / "rehearsal" / "short-job.yaml").read_bytes()
    return SMALL.encode(), short


@cache
def of_logs() -> tuple[bytes, ...]:
    return tuple(
        b"".join(islice(path.read_bytes().splitlines(keepends=True), some))
        for path in sorted(GOLDEN.glob("*.jsonl"))
        for some in (12, 45)
    )


@cache
def of_lines() -> tuple[bytes, ...]:
    kinds: dict[str, bytes] = {}
    for path in sorted(GOLDEN.glob("*.jsonl")):
        for line in path.read_bytes().splitlines(keepends=True):
            kinds.setdefault(json.loads(line)["event"], line)
    return tuple(kinds.values())


@cache
def of_words() -> tuple[bytes, ...]:
    said = [*(text for texts in language().commands.values() for text in texts)]
    more = (
        "note the clip is cracked", "twelve point six volts", "24.8 mm", "an hour and a half", "six",
        "waiting for the pump, back in three days", "step nine", "leave the cover out", "minus 0.5",
        "timer for 90 s", "skip because it is new", "start a timer for ten minutes", "twenty newton metres",
        "1 h 30 min",
        "25 N·m", "90°", "PT1H30M", "Mon-Fri 08:00-12:00 13:00-17:00; Sat 8:00-12:00", "call {job} 'now'",
    )  # fmt: skip
    return tuple(b"%c" % (7 * n % 256) + text.encode() for n, text in enumerate((*more, *said)))


@cache
def of_outlines() -> tuple[bytes, ...]:
    """Outlines as people write them."""
    return tuple(
        path.read_bytes()[:1500] for path in sorted((ROOT / "tests" / "outline" / "corpus").glob("*.txt"))
    )


@cache
def of_sounds() -> tuple[bytes, ...]:
    made = []
    for width, channels, rate in ((2, 1, 16_000), (1, 2, 8_000), (3, 1, 44_100), (4, 3, 48_000)):
        with TemporaryDirectory() as folder:
            made.append(write_wav(Path(folder) / "seed.wav", pause(0.02), rate, width, channels).read_bytes())
    plain = made[0]
    wide = plain[:16] + (40).to_bytes(4, "little") + b"\xfe\xff" + plain[22:36] + b"\x16\x00" + plain[34:36]
    made.append(wide + b"\x03\0\0\0\x01\0" + b"\0\0\0\0\x10\0\x80\0\0\xaa\0\x38\x9b\x71" + plain[36:])
    return tuple(made)


@cache
def of_files() -> tuple[bytes, ...]:
    profile = Profile(0.1, "headset", "2031-03-04", -20.0, -50.0)
    script = b"- at: wipe\n  say: what size\n- at: look\n  away: 16 h\n"
    shop = b"name: Lindenhof\nhours: Mon-Fri 08:00-17:00\nclosed: [2031-04-14]\nrate: 75\ntax: sales tax 19\n"
    return json.dumps(asdict(profile)).encode(), script, shop


@cache
def keys() -> tuple[bytes, ...]:
    """Every key of a procedure, and every word of a closed list in it."""
    found: set[str] = set()

    def gather(schema: object) -> None:
        if isinstance(schema, dict):
            found.update(schema.get("properties", {}))
            found.update(filter(lambda word: isinstance(word, str), schema.get("enum", ())))
        for inner in (
            schema.values() if isinstance(schema, dict) else schema if isinstance(schema, list) else ()
        ):
            gather(inner)

    gather(Procedure.model_json_schema())
    return tuple(word.encode() for word in sorted(found))


NUMBERS = (
    b"hundred", b"thousand", b"and a half", b"point", b"minus", b"volts", b"mm", b"minutes", b"days", b"oh",
    b"nan", b"inf", b"1e400", b"-1", b"\xd9\xa3", b"\xc2\xbd", b"9" * 350, b"9" * 350 + b"th",
    b"1/" + b"9" * 350,
)  # fmt: skip
