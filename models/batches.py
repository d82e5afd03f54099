"""Batches of speech to train on, in rooms and noise: tensors on the GPU."""

import numpy as np
import torch
from training_sounds import RATE
from whisper import GPU


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


def batch(speech, bank, count, rng, people_share, speeds, change=None):
    """Clips in rooms and noise.

    `people_share` is the share that people speak; each is played at a speed between the two of `speeds`;
    `change`, if given, alters the clean sounds before the room and the noise.
    """
    window = rng.choice((2.0, 2.0, 2.5, 3.6))
    people = max(1, round(people_share * count))
    wanted = ((False, count - people), (True, people))
    parts = [rng.choice(speech.buckets[window, kind], many) for kind, many in wanted]
    which = torch.tensor(np.concatenate(parts), device=GPU)
    n = int(window * RATE)
    speed = torch.empty(count, 1, device=GPU).uniform_(*speeds)
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
