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
from mu_law import recordings
from synthesise import render_share

RATE, HEADS, RANK = 16000, 6, 12
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
GPU = "cuda"


# --- Whisper, as CTranslate2 stores it ---
def normal(x, w, name):
    return F.layer_norm(x, (384,), w[f"{name}/gamma"], w[f"{name}/beta"])


def heads(x):
    return x.unflatten(-1, (HEADS, 64)).transpose(1, 2)


def attend(q, k, v, causal=False):
    return (
        F.scaled_dot_product_attention(heads(q), heads(k), heads(v), is_causal=causal)
        .transpose(1, 2)
        .flatten(2)
    )


def linear(x, w, name):
    return F.linear(x, w[f"{name}/weight"], w[f"{name}/bias"])


def feed_forward(x, w, name):
    h = normal(x, w, f"{name}/layer_norm")
    return x + linear(F.gelu(linear(h, w, f"{name}/linear_0")), w, f"{name}/linear_1")


def encode(mel, w):
    x = F.gelu(F.conv1d(mel, w["encoder/conv1/weight"], w["encoder/conv1/bias"], padding=1))
    x = F.gelu(F.conv1d(x, w["encoder/conv2/weight"], w["encoder/conv2/bias"], stride=2, padding=1))
    x = x.transpose(1, 2)
    x = x + w["encoder/position_encodings/encodings"][: x.shape[1]]
    for layer in range(4):
        name = f"encoder/layer_{layer}/self_attention"
        q, k, v = linear(normal(x, w, f"{name}/layer_norm"), w, f"{name}/linear_0").chunk(3, -1)
        x = x + linear(attend(q, k, v), w, f"{name}/linear_1")
        x = feed_forward(x, w, f"encoder/layer_{layer}/ffn")
    return normal(x, w, "encoder/layer_norm")


def decode(tokens, encoded, w):
    x = w["decoder/embeddings/weight"][tokens] + w["decoder/position_encodings/encodings"][: tokens.shape[1]]
    for layer in range(4):
        name = f"decoder/layer_{layer}/self_attention"
        q, k, v = linear(normal(x, w, f"{name}/layer_norm"), w, f"{name}/linear_0").chunk(3, -1)
        x = x + linear(attend(q, k, v, causal=True), w, f"{name}/linear_1")
        name = f"decoder/layer_{layer}/attention"
        q = linear(normal(x, w, f"{name}/layer_norm"), w, f"{name}/linear_0")
        k, v = linear(encoded, w, f"{name}/linear_1").chunk(2, -1)
        x = x + linear(attend(q, k, v), w, f"{name}/linear_2")
        x = feed_forward(x, w, f"decoder/layer_{layer}/ffn")
    return normal(x, w, "decoder/layer_norm") @ w["decoder/embeddings/weight"].T


def filters():
    def hertz(m):
        return np.where(m < 15, m * 200 / 3, 1000 * np.exp((m - 15) * np.log(6.4) / 27))

    bins, edges = np.arange(201) * 40.0, hertz(np.linspace(0, 15 + np.log(8) * 27 / np.log(6.4), 82))
    up = (bins - edges[:-2, None]) / (edges[1:-1] - edges[:-2])[:, None]
    down = (edges[2:, None] - bins) / (edges[2:] - edges[1:-1])[:, None]
    bank = np.maximum(0, np.minimum(up, down)) * (2 / (edges[2:] - edges[:-2]))[:, None]
    return torch.tensor(bank, dtype=torch.float32, device=GPU)


def log_mel(sound, bank, window):
    power = torch.stft(sound, 400, 160, window=window, center=True, pad_mode="constant", return_complex=True)
    logs = (bank @ power[..., :-1].abs() ** 2).clamp_min(1e-10).log10()
    return (torch.maximum(logs, logs.amax((1, 2), keepdim=True) - 8) + 4) / 4


# --- Noise ---
def noise(seed):
    """Eight seconds of one made-up noise. The workshop noises of the report are not here."""
    rng = np.random.default_rng(seed)
    n = 8 * RATE

    def coloured(low=0.0, high=2.0):
        spectrum = np.fft.rfft(rng.standard_normal(n)) / np.maximum(np.arange(n // 2 + 1), 1) ** (
            rng.uniform(low, high) / 2
        )
        if rng.random() < 0.4:
            f = np.arange(n // 2 + 1) / 8
            spectrum *= (
                np.exp(
                    -(np.log(np.maximum(f, 1) / rng.uniform(200, 5000)) ** 2)
                    / (2 * rng.uniform(0.3, 1.5) ** 2)
                )
                + 0.03
            )
        sound = np.fft.irfft(spectrum, n)
        return sound / sound.std()

    def bursts():
        rate = np.exp(rng.uniform(np.log(1.5), np.log(45)))
        sound, t = np.zeros(n + RATE), 0.0
        modes = (
            rng.uniform(150, 6500, rng.integers(2, 6)),
            np.exp(rng.uniform(np.log(0.002), np.log(0.08), 6)),
        )
        length = RATE // 3
        clock = np.arange(length) / RATE
        while t < 8:
            hit = sum(
                np.exp(-clock / d) * np.sin(2 * np.pi * f * rng.normal(1, 0.02) * clock + rng.uniform(0, 6))
                for f, d in zip(*modes, strict=False)
            )
            hit = hit + rng.uniform(0, 2) * rng.standard_normal(length) * np.exp(
                -clock / rng.uniform(0.001, 0.03)
            )
            at = int(t * RATE)
            sound[at : at + length] += hit * rng.uniform(0.5, 1.2)
            t += rng.normal(1, rng.uniform(0.02, 0.3)) / rate if rate > 6 else rng.exponential(1 / rate)
            t = max(t, (at + 50) / RATE)
        sound = sound[:n]
        return sound / (sound.std() + 1e-9) + rng.uniform(0, 0.3) * coloured()

    def hum():
        clock, f0 = np.arange(n) / RATE, np.exp(rng.uniform(np.log(15), np.log(300)))
        phase = (
            2 * np.pi * np.cumsum(f0 * (1 + 0.03 * np.sin(2 * np.pi * rng.uniform(0.1, 5) * clock))) / RATE
        )
        sound = sum(
            rng.uniform(0, 1) / k ** rng.uniform(0.2, 1.2) * np.sin(k * phase + rng.uniform(0, 6))
            for k in range(1, 40)
        )
        sound = (
            sound / sound.std() * (1 + rng.uniform(0, 0.7) * np.sin(2 * np.pi * rng.uniform(0.5, 20) * clock))
        )
        return sound + rng.uniform(0.05, 0.8) * coloured()

    def music():
        sound, t = np.zeros(n + 2 * RATE), 0.0
        while t < 8:
            length = rng.uniform(0.1, 0.8)
            clock = np.arange(int(length * RATE)) / RATE
            for _ in range(rng.integers(1, 5)):
                f = 110 * 2 ** (rng.integers(0, 40) / 12)
                note = sum(np.sin(2 * np.pi * f * k * clock) / k for k in range(1, 7)) * np.exp(
                    -clock * rng.uniform(1, 8)
                )
                sound[int(t * RATE) : int(t * RATE) + len(note)] += note
            t += length * rng.uniform(0.4, 1)
        return sound[:n] / (sound.std() + 1e-9)

    makers = (coloured, bursts, bursts, hum, music)
    sound = makers[rng.integers(len(makers))]()
    if rng.random() < 0.3:
        sound = sound + rng.uniform(0.2, 1) * makers[rng.integers(len(makers))]()
    return (sound / (np.abs(sound).max() + 1e-9)).astype(np.float16)


# --- Batches ---
class Speech:
    def __init__(self, made, people, tokens):
        self.sound = torch.tensor(np.concatenate([s for _, s in made] + people), device=GPU)
        sizes = np.array([len(s) for _, s in made] + [len(p) for p in people])
        self.starts, self.sizes = (
            torch.tensor(np.cumsum(sizes) - sizes, device=GPU),
            torch.tensor(sizes, device=GPU),
        )
        self.texts = [t for t, _ in made] + [None] * len(people)
        self.tokens = tokens
        seconds = sizes / RATE
        people_from = len(made)
        self.buckets = {
            (window, kind): np.flatnonzero(
                (seconds > low) & (seconds <= high) & ((np.arange(len(sizes)) >= people_from) == kind)
            )
            for kind in (False, True)
            for window, low, high in ((2.0, 0.1, 1.25), (2.5, 0.5, 1.7), (3.6, 1.2, 2.7))
        }

    def take(self, which, size, speed=None):
        """Sounds of these numbers, each at the start of a row, played at a speed of their own."""
        offset = torch.arange(size, device=GPU)[None] * (1.0 if speed is None else speed)
        whole = offset.floor().long()
        part = offset - whole
        index = (self.starts[which][:, None] + whole).clamp_max(len(self.sound) - 2)
        inside = whole + 1 < self.sizes[which][:, None]
        mixed = self.sound[index].float() * (1 - part) + self.sound[index + 1].float() * part
        return mixed * inside / 32768


def batch(speech, bank, count, rng, change=None):
    """`change`, if given, alters the clean sounds before the room and the noise."""
    window = rng.choice((2.0, 2.0, 2.5, 3.6))
    people = max(1, round(PEOPLE_SHARE * count))
    wanted = ((False, count - people), (True, people))
    parts = [rng.choice(speech.buckets[window, kind], many) for kind, many in wanted]
    which = torch.tensor(np.concatenate(parts), device=GPU)
    n = int(window * RATE)
    speed = torch.empty(count, 1, device=GPU).uniform_(*SPEEDS)
    sizes = (speech.sizes[which] / speed[:, 0]).long()
    clean = torch.zeros(count, n, device=GPU)
    raw = speech.take(which, n, speed)
    lead = torch.randint(1600, 6400, (count,), device=GPU)
    lead = torch.minimum(lead, (n - 1600 - sizes).clamp_min(0))
    tail = torch.randint(1600, 5600, (count,), device=GPU)
    place = torch.arange(n, device=GPU)[None] - lead[:, None]
    clean = raw.gather(1, place.clamp(0, n - 1)) * ((place >= 0) & (place < sizes[:, None]))
    ends = torch.minimum(lead + sizes + tail, torch.full_like(lead, n))
    inside = torch.arange(n, device=GPU)[None] < ends[:, None]
    heard = clean if change is None else change(clean, rng)
    # the room and the microphone: an exponential tail, and a tilt of the spectrum
    size = 1 << (n + 8000 - 1).bit_length()
    decay = torch.exp(
        -torch.arange(8000, device=GPU)[None]
        / (RATE * torch.empty(count, 1, device=GPU).uniform_(0.02, 0.12))
    )
    room = torch.randn(count, 8000, device=GPU) * decay
    room = (
        room
        / room.norm(dim=1, keepdim=True)
        * torch.empty(count, 1, device=GPU).uniform_(0, 0.9)
        * (torch.rand(count, 1, device=GPU) < 0.5)
    )
    room[:, 0] += 1
    spectrum = torch.fft.rfft(heard, size) * torch.fft.rfft(room, size)
    f = torch.linspace(0, 8000, spectrum.shape[1], device=GPU)[None]
    tilt = (f / 1000).clamp_min(0.1) ** torch.empty(count, 1, device=GPU).uniform_(-0.4, 0.4)
    band = torch.where(
        torch.rand(count, 1, device=GPU) < 0.15,
        torch.sigmoid((3600 - f) / 100) * torch.sigmoid((f - 250) / 30),
        1.0,
    )
    heard = torch.fft.irfft(spectrum * tilt * band, size)[:, :n]
    # the noise: from the bank, or other people talking
    row = torch.randint(len(bank), (count,), device=GPU)
    at = torch.randint(bank.shape[1] - n, (count,), device=GPU)
    disturbance = bank[row[:, None], at[:, None] + torch.arange(n, device=GPU)].float()
    others = sum(
        speech.take(torch.randint(len(speech.sizes), (count,), device=GPU), n).roll(int(rng.integers(n)), 1)
        for _ in range(3)
    )
    disturbance = torch.where(torch.rand(count, 1, device=GPU) < 0.12, others, disturbance)
    voiced = (clean != 0).sum(1, keepdim=True).clamp_min(1)
    level = (heard.pow(2).sum(1, keepdim=True) / voiced).sqrt()
    loud = (
        (disturbance * inside)
        .pow(2)
        .sum(1, keepdim=True)
        .div(inside.sum(1, keepdim=True))
        .sqrt()
        .clamp_min(1e-6)
    )
    snr = torch.empty(count, 1, device=GPU).uniform_(-3, 22)
    snr = torch.where(torch.rand(count, 1, device=GPU) < 0.12, torch.full_like(snr, 50), snr)
    noisy = (heard + disturbance / loud * level * 10 ** (-snr / 20)) * inside
    noisy = noisy * torch.empty(count, 1, device=GPU).uniform_(0.05, 1.5)
    return which, clean, noisy.clamp(-1, 1), ends


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
        which, clean, noisy, ends = batch(speech, noises, count, rng)
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
