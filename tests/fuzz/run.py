"""Feed a reader with mutated files: ``python -m tests.fuzz.run KIND -max_total_time=3600``.

By hand; it needs the extra ``mixlab[fuzz]``. KIND is one of tests/fuzz/readers.py. It stops at the
first file that hangs (30 s, as other work may hold it up), takes more than 1 GB or comes out as no
MixlabError, and keeps that file here.
"""

import random
import sys
from pathlib import Path

import atheris

with atheris.instrument_imports(include=["mixlab", "tomllib", "csv"]):
    from tests.fuzz.readers import READERS, fed
    from tests.fuzz.seeds import SEEDS, changed


def main():
    kind = sys.argv.pop(1)
    if kind not in READERS:
        raise SystemExit(f"one of {', '.join(READERS)}")
    folder = Path("corpus") / kind
    folder.mkdir(parents=True, exist_ok=True)
    for i, seed in enumerate(SEEDS[kind]):
        (folder / f"seed-{i}").write_bytes(seed)

    def mutated(data, most, seed):
        rng = random.Random(seed)
        if rng.random() < 0.3:
            return atheris.Mutate(data, most)
        return changed(data, rng)[:most]

    limits = ["-timeout=30", "-rss_limit_mb=1024", "-max_len=20000"]
    atheris.Setup([sys.argv[0], *limits, *sys.argv[1:], str(folder)],
                  lambda data: fed(kind, data) and None, custom_mutator=mutated)  # fmt: skip
    atheris.Fuzz()


if __name__ == "__main__":
    main()
