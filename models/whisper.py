"""Whisper tiny.en as CTranslate2 stores its weights, for training: tensors on the GPU."""

import numpy as np
import torch
import torch.nn.functional as F  # noqa: N812

GPU = "cuda"
HEADS = 6


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
