"""Trains the verifier: whether a phrase, and nothing else, was said. Needs a GPU; see models/RECIPE.md.

    python models/train_verifier.py CARRIED OUT MINUTES...    # one stage of training for each figure

It reads what the two frozen encoders of the ear make of the clip, beside the letters of the phrase.
"""

import json
import sys
import time
from concurrent.futures import ProcessPoolExecutor
from pathlib import Path

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812

sys.path.insert(0, str(Path(__file__).parent))
import synthesise
from batches import Speech, batch
from natural_voices import speak_meanwhile, spoken_naturally
from synthesise import render_share
from train_ear import LETTERS
from training_sounds import RATE, decoded, noise, recordings
from verifier import Verifier, code
from vocoder import poor_synthesis
from whisper import GPU, encode, filters, log_mel

EACH = 4
"""Phrases asked of a clip: what was said, where it has words, and others."""
synthesise.FLITE = ("kal", "awb")
PEOPLE_SHARE, SPEEDS = 0.08, (0.82, 1.22)
"""As in `train_ear.py`."""


# --- What is asked ---
class Questions:
    def __init__(self, info, rng):
        self.rng, self.info = rng, info
        self.phrases = info["phrases"]
        self.index = {p: i for i, p in enumerate(self.phrases)}
        rows = [[1 + LETTERS.index(c) for c in p if c in LETTERS] for p in self.phrases]
        self.lengths = torch.tensor([len(r) for r in rows], device=GPU)
        self.spelling = torch.tensor([r + [0] * (40 - len(r)) for r in rows], device=GPU)

    def hardest(self, letters, frames, many):
        """For each clip the phrases that the speller finds likeliest."""
        clips = letters.shape[0]
        found = []
        for part in range(0, len(self.phrases), 44):
            spelling, lengths = self.spelling[part : part + 44], self.lengths[part : part + 44]
            n = len(spelling)
            logs = letters.permute(1, 0, 2).repeat_interleave(n, 1)
            loss = F.ctc_loss(
                logs,
                spelling.repeat(clips, 1),
                frames.repeat_interleave(n),
                lengths.repeat(clips),
                reduction="none",
            )
            found.append(loss.view(clips, n))
        score = -torch.cat(found, 1)
        score = score + 3.0 * -torch.log(-torch.log(torch.rand_like(score).clamp(1e-9, 1 - 1e-7)))
        return score.topk(many, 1).indices.tolist()

    def others(self, text, hard):
        """Phrases that were not said: those that fit best, and those that share words with what was."""
        rng, made = self.rng, []
        want = EACH - (text is not None)
        taken = {text}
        for i in hard:
            if self.phrases[i] not in taken and len(made) < max(1, want - (0 if text is None else 1)):
                made.append(self.phrases[i])
                taken.add(self.phrases[i])
        while len(made) < want:
            kind, words = rng.random(), (text or "").split()
            other = self.phrases[rng.integers(len(self.phrases))]
            if text in self.info["beside"] and kind < 0.6 and self.info["beside"][text]:
                near = self.info["beside"][text]
                other = near[rng.integers(len(near))]
            elif len(words) > 1 and kind < 0.85:
                first = rng.integers(len(words))
                last = rng.integers(first + 1, len(words) + 1)
                other = " ".join(words[first:last])
            elif words and kind < 0.93:
                other = " ".join([*words, self.info["common"][rng.integers(len(self.info["common"]))]])
            if other != text:
                made.append(other)
        return made


class Examination:
    """Clips as the ear cuts them, of the fitting voices, each asked about every phrase of a step."""

    def __init__(self, path, hear):
        stored = np.load(path, allow_pickle=False)
        self.said, self.kinds, self.phrases = (
            stored["said"].tolist(),
            stored["kinds"].tolist(),
            stored["phrases"].tolist(),
        )
        self.codes = torch.tensor([code(p) for p in self.phrases], device=GPU)
        self.heard, self.frames = [], []
        for part in np.split(stored["sound"], stored["ends"][:-1]):
            loud = decoded(part)
            n = max(len(loud) + RATE // 2, 2 * RATE)
            n -= n % 320
            sound = torch.zeros(1, n, device=GPU)
            sound[0, : len(loud)] = torch.tensor(loud, device=GPU)
            self.heard.append(hear(sound)[0])
            self.frames.append(torch.tensor([len(loud) / 320], device=GPU).ceil())

    @torch.no_grad()
    def marks(self, verifier):
        verifier.eval()
        scores = []
        for heard, frames in zip(self.heard, self.frames, strict=True):
            which = torch.zeros(len(self.codes), dtype=torch.long, device=GPU)
            scores.append(verifier(heard[None], frames, self.codes, which).float().cpu().numpy())
        verifier.train()
        scores = np.stack(scores)
        kinds, best = np.array(self.kinds), scores.argmax(1)
        right = np.array([self.phrases[b] == s for b, s in zip(best, self.said, strict=True)])
        none = np.sort(scores.max(1)[np.char.startswith(kinds, "neg")])[::-1]
        found = {}
        for kind in sorted(set(self.kinds)):
            here = kinds == kind
            if not kind.startswith("neg"):
                top = scores.max(1)[here]
                found[kind] = [
                    round(float(x), 3)
                    for x in (
                        right[here].mean(),
                        *((right[here] & (top > none[k])).mean() for k in (2, 5, 12)),
                    )
                ]
        return {
            "choice, and accepted at 2, 5, 12 false": found,
            "none": len(none),
            "bar": [round(float(none[k]), 1) for k in (2, 5, 12)],
        }


def main():
    carried, out = Path(sys.argv[1]), Path(sys.argv[2])
    began = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.manual_seed(6)
    rng = np.random.default_rng(6)
    aloud = Path("/tmp/aloud")
    if (carried / "kokoro").exists() and not aloud.exists():
        speak_meanwhile(carried, aloud, 13)
    plain = {
        k: torch.tensor(v.astype(np.float32), device=GPU) for k, v in np.load(carried / "encoder.npz").items()
    }
    ear = {k: torch.tensor(v.astype(np.float32), device=GPU) for k, v in np.load(carried / "ear.npz").items()}
    hardened = {
        n: w + (ear[f"{n}|b"] @ ear[f"{n}|a"]).view_as(w) if f"{n}|b" in ear else w for n, w in plain.items()
    }
    bank, window = filters(), torch.hann_window(400, device=GPU)

    def spell(x):
        h = F.gelu(F.conv1d(x.transpose(1, 2), ear["head/0.weight"], ear["head/0.bias"]))
        h = F.gelu(F.conv1d(h, ear["head/2.weight"], ear["head/2.bias"], padding=2))
        return F.conv1d(h, ear["head/4.weight"], ear["head/4.bias"]).transpose(1, 2)

    @torch.no_grad()
    def hear(sound):
        with torch.autocast(GPU, torch.bfloat16):
            mel = log_mel(sound, bank, window)
            return torch.cat([encode(mel, plain), encode(mel, hardened)], -1)

    info = json.loads((carried / "texts.json").read_text())
    kept = Path("/tmp/made.npz")
    if not kept.exists():
        with ProcessPoolExecutor(16) as pool:
            shares = list(pool.map(render_share, [(i, 64, str(carried), info["lines"]) for i in range(64)]))
            noises = np.stack(list(pool.map(noise, range(700), chunksize=8)))
        made = [item for share in shares for item in share]
        np.savez(
            kept,
            noises=noises,
            texts=[t for t, _ in made],
            sound=np.concatenate([s for _, s in made]),
            ends=np.cumsum([len(s) for _, s in made]),
        )
    else:
        data = np.load(kept)
        noises, made = (
            data["noises"],
            list(zip(data["texts"].tolist(), np.split(data["sound"], data["ends"][:-1]), strict=True)),
        )
    people = recordings(carried / "people.npz")
    noises = torch.tensor(noises, device=GPU)
    judge = Examination(carried / "dev.npz", hear)
    print(len(made), "utterances", len(people), "of people,", round(time.time() - began), "s", flush=True)
    verifier = Verifier().to(GPU)
    before = carried / "before.npz"
    if before.exists():
        verifier.load_state_dict({n: torch.tensor(a.astype(np.float32)) for n, a in np.load(before).items()})
    print(sum(p.numel() for p in verifier.parameters()), "numbers", flush=True)
    questions = Questions(info, rng)
    for minutes in map(float, sys.argv[3:]):
        human = spoken_naturally(aloud)
        weight = min(4, max(1, round(0.6 * len(made) / max(1, len(human)))))
        print(len(human), "natural, each", weight, "times", flush=True)
        speech = Speech(made + human * weight, people, {})
        train(verifier, speech, noises, hear, spell, questions, rng, minutes, judge)
        half = {n: p.detach().half().cpu().numpy() for n, p in verifier.state_dict().items()}
        out.mkdir(exist_ok=True, parents=True)
        np.savez(out / "verifier.npz", **half)


def train(verifier, speech, noises, hear, spell, questions, rng, minutes, judge):
    optimiser = torch.optim.AdamW(verifier.parameters(), lr=1e-3, weight_decay=0.02)
    step, started, count, sums = 0, time.time(), 384, np.zeros(4)
    while (done := (time.time() - started) / (60 * minutes)) < 1:
        for group in optimiser.param_groups:
            group["lr"] = 1e-3 * min(1, (step + 1) / 300) * (1 - done) + 1e-6
        which, _, noisy, ends = batch(speech, noises, count, rng, PEOPLE_SHARE, SPEEDS, poor_synthesis)
        texts = [speech.texts[i] for i in which.tolist()]
        heard = hear(noisy)
        frames = (ends / 320).ceil().long().clamp_max(heard.shape[1])
        with torch.no_grad():
            letters = spell(heard[..., 384:].float()).log_softmax(-1)
            hard = questions.hardest(letters, frames, EACH + 1)
        asked, answers = [], []
        for text, found in zip(texts, hard, strict=True):
            asked += ([text] if text is not None else []) + questions.others(text, found)
            answers += [float(text is not None)] + [0.0] * (EACH - 1)
        codes = torch.tensor([code(p) for p in asked], device=GPU)
        answers = torch.tensor(answers, device=GPU)
        with torch.autocast(GPU, torch.bfloat16):
            logits = verifier(heard, frames, codes, torch.arange(count, device=GPU).repeat_interleave(EACH))
        logits = logits.float()
        alone = F.binary_cross_entropy_with_logits(logits, answers)
        told = answers.view(count, EACH)[:, 0] > 0
        chosen = F.cross_entropy(
            logits.view(count, EACH)[told], torch.zeros(int(told.sum()), dtype=torch.long, device=GPU)
        )
        loss = alone + 0.3 * chosen
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_(verifier.parameters(), 1.0)
        optimiser.step()
        sums += [float(alone), float(chosen), float(((logits > 0) == (answers > 0)).float().mean()), 1]
        step += 1
        if step % 200 == 0:
            print(step, f"{time.time() - started:.0f} s", (sums[:3] / sums[3]).round(4), flush=True)
            sums[:] = 0
        if step % 1500 == 0:
            print(judge.marks(verifier), flush=True)
    print("steps", step, judge.marks(verifier), flush=True)


if __name__ == "__main__":
    main()
