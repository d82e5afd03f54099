"""Trains what the ear adds to Whisper tiny.en: low-rank changes that make its encoder bear noise, and a
spotter of letters on top of it. Needs a GPU for some minutes; see models/RECIPE.md.

    python models/train_ear.py CARRIED OUT MINUTES SHARE_OF_SAYING
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
from batches import Speech, batch
from synthesise import render_share
from training_sounds import RATE, noise, recordings
from whisper import GPU, decode, encode, filters, log_mel

RANK = 12
PEOPLE_SHARE = 0.006
"""Share of a batch that people speak. 0.5 in the later trainings."""
SPEEDS = (1.0, 1.0)
"""Speech is played at a speed drawn from here. 0.87 to 1.18 in the later trainings."""
SPELLER_REACHES_ENCODER = True
"""Whether the speller's error changes the encoder. Not in the later trainings."""
LEARNING = 1.5e-3
"""Highest learning rate of the changes. 8e-4 in the later trainings."""
LETTERS = " abcdefghijklmnopqrstuvwxyz'"
HIDDEN = 128


class Examination:
    """People saying short English prompts, clean and in noise: which of 60 was it?"""

    def __init__(self, carried, fixed, bank, window, info, noises):
        said = json.loads((carried / "english.json").read_text())
        stored = np.load(carried / "english.npz")
        self.words, self.tokens, self.info = said["words"], said["tokens"], info
        self.fixed, self.bank, self.window = fixed, bank, window
        n = int(2.8 * RATE)
        clean = np.zeros((len(self.words), n), np.float32)
        for row, part in zip(clean, np.split(stored["sound"], stored["ends"][:-1]), strict=True):
            twice = np.fft.irfft(np.fft.rfft(part.astype(np.float32)), 2 * len(part)) * 2 / 254
            row[3200 : 3200 + len(twice)] = twice[: n - 3200]
        clean = torch.tensor(clean, device=GPU)
        generator = torch.Generator(GPU).manual_seed(9)
        power = clean.pow(2).sum(1, keepdim=True) / (clean.abs() > 0.01).sum(1, keepdim=True)
        self.sounds = {"clean": clean}
        f = torch.arange(n // 2 + 1, device=GPU).clamp_min(1)
        pink = torch.fft.irfft(
            torch.fft.rfft(torch.randn(clean.shape, device=GPU, generator=generator)) / f.sqrt(), n
        )
        banked = noises[torch.arange(len(clean)) * 7 % len(noises), :n].float()
        for name, noise_, snr in (("pink 10", pink, 10), ("pink 5", pink, 5), ("bank 5", banked, 5)):
            unit = noise_ / noise_.pow(2).mean(1, keepdim=True).sqrt().clamp_min(1e-4)
            self.sounds[name] = clean + unit * power.sqrt() * 10 ** (-snr / 20)

    @torch.no_grad()
    def marks(self, weights, head):
        longest = max(map(len, self.tokens)) + 3
        tokens = torch.full((len(self.tokens), longest), self.info["end"])
        mask = torch.zeros(tokens.shape)
        for i, row in enumerate(self.tokens):
            tokens[i, : len(row) + 2] = torch.tensor(self.info["start"] + row)
            mask[i, 2 : len(row) + 2] = 1
        tokens, mask = tokens.to(GPU), mask.to(GPU)
        blank = encode(
            log_mel(0.01 * torch.randn(1, int(2.8 * RATE), device=GPU), self.bank, self.window), weights
        )
        prior = self.score(blank, tokens, mask)
        found = {}
        for name, sounds in self.sounds.items():
            encoded = encode(log_mel(sounds, self.bank, self.window), weights)
            totals = torch.stack([self.score(one[None], tokens, mask) for one in encoded]) - 0.6 * prior
            right = torch.arange(len(totals), device=GPU)
            found[name] = [
                round(float((totals.argmax(1) == right).float().mean()), 3),
                round(float(totals.diag().median()), 2),
            ]
            if head is not None:
                letters = head(encoded.transpose(1, 2)).log_softmax(1).permute(2, 0, 1)
                codes = [
                    torch.tensor([1 + LETTERS.index(c) for c in w if c in LETTERS], device=GPU)
                    for w in self.words
                ]
                each = []
                for code in codes:
                    each.append(
                        -F.ctc_loss(
                            letters,
                            code[None].expand(len(totals), -1),
                            torch.full((len(totals),), letters.shape[0]),
                            torch.full((len(totals),), len(code)),
                            reduction="none",
                        )
                    )
                spelt = torch.stack(each, 1)
                both = totals + spelt
                found[name] += [
                    round(float((spelt.argmax(1) == right).float().mean()), 3),
                    round(float((both.argmax(1) == right).float().mean()), 3),
                ]
        return found

    def score(self, encoded, tokens, mask):
        logits = decode(tokens[:, :-1], encoded.expand(len(tokens), -1, -1), self.fixed).log_softmax(-1)
        return (logits.gather(2, tokens[:, 1:, None])[..., 0] * mask[:, 1:]).sum(1)


def main():
    carried, out = Path(sys.argv[1]), Path(sys.argv[2])
    began = time.time()
    torch.backends.cuda.matmul.allow_tf32 = True
    torch.manual_seed(5)
    rng = np.random.default_rng(5)
    fixed = {
        k: torch.tensor(v.astype(np.float32), device=GPU) for k, v in np.load(carried / "weights.npz").items()
    }
    bank, window = filters(), torch.hann_window(400, device=GPU)

    reference = np.load(carried / "reference.npz")
    sound = torch.zeros(1, 32000, device=GPU)
    sound[0, : min(32000, len(reference["wave"]))] = torch.tensor(reference["wave"][:32000], device=GPU)
    info = json.loads((carried / "lines.json").read_text())
    with torch.no_grad():
        mel = log_mel(sound, bank, window)
        encoded = encode(mel, fixed)
        tokens = torch.tensor([info["start"] + list(reference["tokens"])], device=GPU)
        chances = decode(tokens, encoded, fixed).softmax(-1)[0, 1:-1].gather(1, tokens[0, 2:, None])[:, 0]
    print("mel differs by", float((mel[0].cpu() - torch.tensor(reference["mel"])).abs().max()))
    print("encoder differs by", float((encoded[0].cpu() - torch.tensor(reference["encoded"])).abs().max()))
    print(
        "token probabilities", chances.tolist(), "expected", reference["probabilities"].tolist(), flush=True
    )

    with ProcessPoolExecutor(16) as pool:
        shares = list(pool.map(render_share, [(i, 48, str(carried), info["lines"]) for i in range(48)]))
        noises = np.stack(list(pool.map(noise, range(900), chunksize=8)))
    made = [item for share in shares for item in share]
    people = recordings(carried / "human.npz")
    speech = Speech(made, people, info["tokens"])
    noises = torch.tensor(noises, device=GPU)
    print(len(made), "utterances", len(people), "of people,", round(time.time() - began), "s", flush=True)

    judge = Examination(carried, fixed, bank, window, info, noises)
    print("untrained", judge.marks(fixed, None), flush=True)
    for minutes, share in zip(sys.argv[3::2], sys.argv[4::2], strict=True):
        train(speech, noises, fixed, bank, window, info, rng, float(minutes), float(share), judge, out)


def train(speech, noises, fixed, bank, window, info, rng, minutes, share, judge, out):  # noqa: PLR0915
    changes = {}
    for name, weight in fixed.items():
        if name.startswith("encoder") and name.endswith("weight"):
            rows, columns = weight.shape[0], weight[0].numel()
            rank = RANK if "layer" in name else 8
            changes[name] = (torch.nn.Parameter(torch.randn(rank, columns, device=GPU) / columns**0.5),
                             torch.nn.Parameter(torch.zeros(rows, rank, device=GPU)))  # fmt: skip
    head = torch.nn.Sequential(
        torch.nn.Conv1d(384, HIDDEN, 1), torch.nn.GELU(), torch.nn.Conv1d(HIDDEN, HIDDEN, 5, padding=2),
        torch.nn.GELU(), torch.nn.Conv1d(HIDDEN, 1 + len(LETTERS), 1)).to(GPU)  # fmt: skip
    low_rank = [p for pair in changes.values() for p in pair]
    optimiser = torch.optim.AdamW(
        [{"params": low_rank, "lr": LEARNING}, {"params": head.parameters(), "lr": 2e-3}], weight_decay=0.01
    )
    peak = [group["lr"] for group in optimiser.param_groups]
    spelt = {t: torch.tensor([1 + LETTERS.index(c) for c in t]) for t in set(speech.texts) if t}
    longest = max(len(t) for t in speech.tokens.values()) + 3
    step, started, count = 0, time.time(), 384
    sums = np.zeros(4)
    while True:
        done = (time.time() - started) / (60 * minutes)
        if done >= 1:
            break
        for group, lr in zip(optimiser.param_groups, peak, strict=True):
            group["lr"] = lr * min(1, (step + 1) / 300) * (1 - done)
        which, clean, noisy, ends = batch(speech, noises, count, rng, PEOPLE_SHARE, SPEEDS)
        numbers = which.tolist()
        texts = [speech.texts[i] for i in numbers]
        with torch.no_grad(), torch.autocast(GPU, torch.bfloat16):
            target = encode(log_mel(clean, bank, window), fixed).float()
        weights = {**fixed, **{n: fixed[n] + (b @ a).view_as(fixed[n]) for n, (a, b) in changes.items()}}
        with torch.autocast(GPU, torch.bfloat16):
            encoded = encode(log_mel(noisy, bank, window), weights)
            read = encoded if SPELLER_REACHES_ENCODER else encoded.detach()
            letters = head(read.transpose(1, 2)).float().log_softmax(1)
        frames = (ends / 320).ceil().long()
        told = torch.tensor([t is not None for t in texts], device=GPU)
        inside = (torch.arange(encoded.shape[1], device=GPU)[None] < frames[:, None]).float() + 0.1
        away = ((encoded.float() - target) ** 2).mean(-1) / target.pow(2).mean()
        apart = (away * inside).sum() / inside.sum()
        rows = [info["start"] + speech.tokens[t] + [info["end"]] if t else info["start"] for t in texts]
        tokens = torch.full((count, longest), info["end"])
        mask = torch.zeros(count, longest)
        for i, row in enumerate(rows):
            tokens[i, : len(row)] = torch.tensor(row)
            mask[i, 2 : len(row)] = texts[i] is not None
        tokens, mask = tokens.to(GPU), mask.to(GPU)
        with torch.autocast(GPU, torch.bfloat16):
            logits = decode(tokens[:, :-1], encoded, fixed)
        losses = F.cross_entropy(
            logits.float().flatten(0, 1), tokens[:, 1:].flatten(), reduction="none"
        ).view(count, -1)
        said = (losses * mask[:, 1:]).sum() / mask.sum()
        spelling = [spelt[t] for t in texts if t]
        lengths = torch.tensor([len(code) for code in spelling], device=GPU)
        read = letters.permute(2, 0, 1)[:, told]
        ctc = F.ctc_loss(read, torch.cat(spelling).to(GPU), frames[told], lengths, zero_infinity=True)
        loss = apart + share * said + 0.5 * ctc
        optimiser.zero_grad()
        loss.backward()
        torch.nn.utils.clip_grad_norm_([*low_rank, *head.parameters()], 1.0)
        optimiser.step()
        sums += [float(apart), float(said), float(ctc), 1]
        step += 1
        if step % 200 == 0:
            print(
                step,
                f"{time.time() - started:.0f} s",
                "apart, said, letters",
                (sums[:3] / sums[3]).round(4),
                flush=True,
            )
            sums[:] = 0
    print(
        "minutes",
        minutes,
        "share",
        share,
        judge.marks({k: v.detach() for k, v in weights.items()}, head),
        flush=True,
    )
    out = out / f"share-{share}"
    out.mkdir(exist_ok=True, parents=True)
    half = {
        f"{n}|{part}": p.detach().half().cpu().numpy()
        for n, pair in changes.items()
        for part, p in zip("ab", pair, strict=True)
    }
    half |= {f"head/{n}": p.detach().half().cpu().numpy() for n, p in head.state_dict().items()}
    np.savez(out / "ear.npz", **half)
    print("done", step, "steps", (out / "ear.npz").stat().st_size, "bytes")


if __name__ == "__main__":
    main()
