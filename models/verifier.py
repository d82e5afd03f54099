"""The verifier as it is trained: letters of a phrase and frames of a clip, read together."""

import torch
import torch.nn.functional as F  # noqa: N812
from train_ear import LETTERS
from whisper import GPU

WIDTH, LAYERS, PARTS, INNER = 128, 3, 4, 384
"""Numbers for a letter or frame; layers; heads; width of the inner layer."""
LONGEST = 34
"""Letters of a phrase that are read."""


class Layer(torch.nn.Module):
    def __init__(self):
        super().__init__()
        self.before, self.between = torch.nn.LayerNorm(WIDTH), torch.nn.LayerNorm(WIDTH)
        self.mixed, self.out = torch.nn.Linear(WIDTH, 3 * WIDTH), torch.nn.Linear(WIDTH, WIDTH)
        self.up, self.down = torch.nn.Linear(WIDTH, INNER), torch.nn.Linear(INNER, WIDTH)

    def forward(self, x, mask):
        q, k, v = (
            y.unflatten(-1, (PARTS, -1)).transpose(1, 2) for y in self.mixed(self.before(x)).chunk(3, -1)
        )
        y = F.scaled_dot_product_attention(q, k, v, attn_mask=mask[:, None, None])
        x = x + self.out(y.transpose(1, 2).flatten(2))
        return x + self.down(F.relu(self.up(self.between(x))))


class Verifier(torch.nn.Module):
    """Letters and frames in one row, read by a small transformer; a logit from the first place."""

    def __init__(self):
        super().__init__()
        self.letters = torch.nn.Embedding(len(LETTERS) + 2, WIDTH)
        self.beside = torch.nn.Linear(3 * WIDTH, WIDTH)
        self.frames = torch.nn.Linear(4 * 384, WIDTH)
        self.norm = torch.nn.LayerNorm(4 * 384)
        self.place = torch.nn.Parameter(0.1 * torch.randn(LONGEST, WIDTH))
        self.moment = torch.nn.Parameter(0.1 * torch.randn(120, WIDTH))
        self.layers = torch.nn.ModuleList(Layer() for _ in range(LAYERS))
        self.last, self.logit = torch.nn.LayerNorm(WIDTH), torch.nn.Linear(WIDTH, 1)

    def forward(self, heard, frames, codes, which):
        """Log-odds of (phrases,).

        `heard` (clips, frames, 768); `frames` that hold each clip; `codes` (phrases, LONGEST), 0 beyond the
        end; `which` clip each phrase is asked of.
        """
        heard = heard[:, : heard.shape[1] // 2 * 2].unflatten(1, (-1, 2)).flatten(2)
        sound = self.frames(self.norm(heard)) + self.moment[: heard.shape[1]]
        there = torch.arange(heard.shape[1], device=GPU)[None] < (frames[:, None] / 2)
        x = self.letters(codes)
        wide = F.pad(x, (0, 0, 1, 1))
        x = x + F.relu(self.beside(torch.cat([wide[:, :-2], x, wide[:, 2:]], -1))) + self.place
        row = torch.cat([x, sound[which]], 1)
        mask = torch.cat([codes > 0, there[which]], 1)
        for layer in self.layers:
            row = layer(row, mask)
        return self.logit(self.last(row[:, 0]))[:, 0]


def code(text):
    """The first place stands for the whole phrase; then the letters."""
    known = [1 + len(LETTERS), *[1 + LETTERS.index(c) for c in text if c in LETTERS][: LONGEST - 1]]
    return known + [0] * (LONGEST - len(known))
