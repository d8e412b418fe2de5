"""Record what PyTorch says of the artifact's own weights: the fixture of tests/judge.

python models/judge/reference.py ARTIFACT_FOLDER tests/judge/reference.json
"""

from __future__ import annotations

import json
import sys
from pathlib import Path

import numpy as np
import torch
from network import Network

from rwtools import artifact
from rwtools.judge import engine

TEXTS = [
    "The harbour was quiet.",
    "However, the old map showed no road; Mira Tolen went on foot.",
    "“I don’t know,” said Oskar, “whether the bridge — or what is left of it — will hold.”",
    "In 1894, the town of Velden had 312 houses, two mills and a school for 40 children.",
    "Because the soil holds little water, farmers in the valley "
    "plant millet, which needs less rain "
    "than wheat. The harvest is small but certain, and the straw "
    "feeds the goats through the winter.",
    "The committee have went home early and nobody were told why.",
    "Photosynthesis turns light into chemical energy. Plants use this energy to build sugars from "
    "carbon dioxide and water; in doing so, they set oxygen "
    "free. Without this process, most life on "
    "the surface of the planet would end, since nearly every food chain begins with a green plant.",
    "Dear Ana,\nthe boat leaves on Friday. Bring the blue coat, "
    "the letters and my brother's watch.",
]  # fmt: skip


def plain_weights(place: Path) -> Network:
    """The artifact's weights as the floats that they stand for."""
    description = artifact.describe(place, "judge")
    config = description["config"]
    arrays = artifact.weights(place, description)
    matrices, gains = {}, {}
    for name, array in arrays.items():
        if name.endswith(".symbols"):
            base = name.removesuffix(".symbols")
            steps = arrays[f"{base}.scales"][:, None]
            matrices[base] = array.T.astype(np.float32) * steps
        elif not name.endswith(".scales"):
            gains[name] = array
    undo = gains.pop("embed.undo")
    network = Network(config, matrices, gains).requires_grad_(False)
    network.undo = torch.tensor(undo)
    return network


def main(folder: str, out: str) -> None:
    place = Path(folder)
    network = plain_weights(place)
    model = engine.Engine(place)
    rows, errors, apart = [], [], []
    for text in TEXTS:
        ids, _ = model.encode(text)
        (values,) = network.logprobs([ids])
        (job,) = model.run([engine.Job([model.start], [ids])])
        errors.append(abs(float(job[0].sum()) - float(values.sum())) / len(ids))
        apart += (job[0] - values.numpy()).tolist()
        rows.append({"text": text, "tokens": len(ids), "logprob": round(float(values.sum()), 4)})
    print("nats per token off:", [round(e, 5) for e in errors])
    files = artifact.describe(place, "judge")["files"]
    fixture = {
        "note": "natural-log probabilities by PyTorch in 32-bit floats from the same weights; "
        "written by models/judge/reference.py",
        "weights": {n: f["sha256"] for n, f in files.items() if n.startswith("weights")},
        # Eight-bit activations are the difference; tolerated is about three times what was seen.
        "tolerance": {
            "worst_nats_per_token": round(max(3 * max(errors), 0.01), 4),
            "mean_nats_per_token": round(max(2 * sum(errors) / len(errors), 0.005), 4),
            # Some twenty tokens count in the places of the tests. Their errors add up by chance,
            # and differently on each kind of processor: three standard deviations are tolerated.
            "compare_nats": round(max(3 * float(np.std(apart)) * 20**0.5, 0.25), 2),
        },
        "texts": rows,
    }
    Path(out).write_text(json.dumps(fixture, indent=1, ensure_ascii=False) + "\n", encoding="utf-8")


if __name__ == "__main__":
    main(*sys.argv[1:])
