"""What a step does, apart from how it is worded: the identity under which its times are compared."""

import hashlib
import json

from companion.procedure.model import Step

_WORK = {"id", "act", "fasteners", "opens", "closes", "isolates", "proves", "restores", "disturbs", "renews",
         "applies", "assembles", "measure", "count"}  # fmt: skip


def work_digest(step: Step) -> str:
    """Twelve hex digits: the same while only the words change, another when the work changes."""
    data = step.model_dump(mode="json", include=_WORK, exclude_defaults=True)
    return hashlib.sha256(json.dumps(data, sort_keys=True).encode()).hexdigest()[:12]
