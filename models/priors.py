"""Works out what each fixed phrase scores on silence and noise: `python models/priors.py`.

To be run again whenever `companion/speech/language/phrases/en.yaml`, `ear.npz` or the weights change;
a test tells.
"""

import json
from pathlib import Path

import companion.speech
from companion.job.facts.commands import Command
from companion.speech.language.phrases import phrases_for
from companion.speech.network.whisper import Whisper
from companion.speech.recognisers.scorer import Scorer


def main() -> None:
    """Write `companion/speech/recognisers/priors.json`."""
    phrases = (
        *phrases_for(list(Command), durations=True),
        *(p for n in range(1, 21, 3) for p in phrases_for([], number=n)),
    )
    found = {
        name: Scorer(Whisper(adapt=adapt)).priors(phrases)
        for name, adapt in (("plain", False), ("hardened", True))
    }
    path = Path(companion.speech.__file__).parent / "recognisers" / "priors.json"
    path.write_text(json.dumps(found, indent=0, sort_keys=True) + "\n")


if __name__ == "__main__":
    main()
