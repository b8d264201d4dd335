"""Records of version 1 of the demonstration site, and the JSON Schema of a record.

Records stay as they were first written, since those of every version are read for ever. That of the
present measurement model is compared with what is computed now under --check: first order within
1e-7, Monte Carlo within its own scatter, words exactly. Those of older models are read, and refused
where they are to be reproduced. The schema is written anew and must not change within a
version but by additions.
"""

import json
import sys
from pathlib import Path

from _committed import write_or_check

import flowdoubt as fd

ROOT = Path(__file__).parents[3]
OLDER = [ROOT / "tests/golden/record_v1.json"]
RECORD = ROOT / "tests/golden/record_v1_model_2.json"
SCHEMA = ROOT / "python/flowdoubt/record.schema.json"


def demo_record():
    site = fd.Site.load(ROOT / "notebooks/demo/site.toml")
    evaluation = site.evaluate(str(ROOT / "notebooks/demo/readings.csv"))
    trials = evaluation.monte_carlo(trials=20_000, seed=1)
    zero = {"time_difference_ns": [0.1, 0.2, 0.15, 0.4]}
    return evaluation.record(trials, at_no_flow=zero)


def differs(name, recorded, recomputed):
    try:
        old, new = float(recorded), float(recomputed)
    except ValueError:
        return True
    relative = 0.05 if name.startswith("results.monte_carlo") else 1e-7
    return abs(old - new) > relative * abs(old)


def main():
    schema = json.dumps(fd.Record.schema(), indent=2, ensure_ascii=False) + "\n"
    write_or_check(SCHEMA, schema, relative=0)
    if not RECORD.exists():
        demo_record().save(RECORD)
    far = [d for d in fd.reproduce(RECORD).differences if differs(*d)]
    if far:
        sys.exit(f"{RECORD} differs from what is computed now, first {far[0]}")
    for older in OLDER:
        try:
            fd.reproduce(older)
        except fd.RecordError as error:
            if error.code == "other-model":
                continue
        sys.exit(f"{older} is not refused as one of another model")


if __name__ == "__main__":
    main()
