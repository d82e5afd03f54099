"""Voices as a poor parametric synthesiser or a bad line makes them: smooth spectra on a train of pulses.

Speech is taken apart into an envelope and an excitation, the envelope is smoothed over frequency and time and
its movement made smaller, and it is put on pulses of another pitch. For training; tensors on the GPU.
"""

import torch
import torch.nn.functional as F  # noqa: N812

RATE, SIZE, WINDOW, HOP = 16000, 512, 400, 80


def poor_synthesis(sound, rng, share=0.3):
    """That share of the rows of `sound` (rows, samples) made anew; the others stay."""
    rows = len(sound)
    chosen = torch.rand(rows, device=sound.device) < share
    if not chosen.any():
        return sound
    made = resynthesised(sound[chosen], rng)
    changed = sound.clone()
    changed[chosen] = made * (sound[chosen] != 0)
    return changed


def resynthesised(sound, rng):
    """Every row of (rows, samples)."""
    rows, n = sound.shape
    device = sound.device
    window = torch.hann_window(WINDOW, device=device)

    def spectrum(x):
        return torch.stft(x, SIZE, HOP, WINDOW, window, return_complex=True)

    logs = (spectrum(sound).abs() + 1e-5).log()
    cepstra = torch.fft.irfft(logs, dim=1)
    mean = cepstra.mean(2, keepdim=True)
    less = torch.empty(rows, 1, 1, device=device).uniform_(0.8, 1.0).expand(-1, SIZE, -1).clone()
    less[:, 0] = 1.0
    cepstra = mean + less * (cepstra - mean)
    wide = int(rng.choice((1, 1, 3, 3, 5)))
    cepstra = F.avg_pool1d(cepstra, wide, 1, wide // 2, count_include_pad=False)
    kept = torch.randint(20, 34, (rows, 1, 1), device=device)
    place = torch.arange(SIZE, device=device)[None, :, None]
    lift = (place < kept) | (place > SIZE - kept)
    envelope = torch.fft.rfft(cepstra * lift, dim=1).real.exp()

    base = torch.empty(rows, 1, device=device).uniform_(80, 260)
    steps = torch.randn(rows, 1, n // 800 + 2, device=device).cumsum(2) * 0.05
    pitch = base * F.interpolate(steps, n, mode="linear")[:, 0].clamp(-0.4, 0.4).exp()
    turns = (pitch / RATE).cumsum(1).floor()
    pulses = F.pad(turns[:, 1:] - turns[:, :-1], (1, 0)) * (RATE / base).sqrt()
    low, high = logs[:, 2:32].mean(1, keepdim=True), logs[:, 96:].mean(1, keepdim=True)
    voiced = torch.sigmoid(3 * (low - high - 1.5))
    f = torch.linspace(0, 1, SIZE // 2 + 1, device=device)[None, :, None]
    buzz = voiced * torch.sigmoid(20 * (torch.empty(rows, 1, 1, device=device).uniform_(0.4, 0.7) - f))
    excitation = buzz * spectrum(pulses) + (1 - buzz) * spectrum(torch.randn_like(sound))
    made = torch.istft(envelope * excitation, SIZE, HOP, WINDOW, window, length=n)
    power = sound.pow(2).sum(1, keepdim=True) / made.pow(2).sum(1, keepdim=True).clamp_min(1e-9)
    return made * power.sqrt()
