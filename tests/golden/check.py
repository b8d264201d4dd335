"""Check committed values against the scripts that make them, several at a time.

A script is left out while nothing has changed that its result depends on: itself, what it wrote,
the files it names in ``DEPENDS`` and the versions of the packages that it imports, all as noted in
``checked.json``. Scripts that ask the package itself are always run.

    python tests/golden/check.py          # what has changed
    python tests/golden/check.py --all    # everything, and whether the notes are up to date
    python tests/golden/check.py --note   # everything, and note it
"""

import ast
import hashlib
import json
import os
import subprocess
import sys
import tempfile
from concurrent.futures import ThreadPoolExecutor
from importlib import metadata
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
NOTES = Path(__file__).with_name("checked.json")
SHARED = ROOT / "tests/golden/generate/_committed.py"
SCRIPTS = [
    *sorted((ROOT / "tests/golden/generate").glob("[a-z]*.py")),
    ROOT / "notebooks/demo/make_readings.py",
    ROOT / "notebooks/demo/make_verification.py",
]


def name_of(script):
    return script.relative_to(ROOT).as_posix()


def read(script):
    """Packages that a script imports, and files below the root that it depends on."""
    packages, depends = set(), []
    for node in ast.walk(ast.parse(script.read_text())):
        if isinstance(node, ast.Import):
            packages.update(alias.name.partition(".")[0] for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            packages.add(node.module.partition(".")[0])
        elif isinstance(node, ast.Assign) and getattr(node.targets[0], "id", "") == "DEPENDS":
            depends = ast.literal_eval(node.value)
    beside = {path.stem for path in script.parent.glob("*.py")}
    return packages - set(sys.stdlib_module_names) - beside, depends


def versions_of(packages):
    names = metadata.packages_distributions()
    return {p: metadata.version(names[p][0]) for p in sorted(packages)}


def digest_of(script, outputs, depends):
    """One digest over a script and all files that its result depends on."""
    digest = hashlib.sha256()
    patterns = [f for pattern in depends for f in sorted(ROOT.glob(pattern))]
    for path in [script, SHARED, *(ROOT / output for output in outputs), *patterns]:
        digest.update(path.read_bytes())
    return digest.hexdigest()


def run(script):
    """Run a script under ``--check``: whether it agrees, what it says, what it writes."""
    with tempfile.NamedTemporaryFile("r", suffix=".txt") as said:
        environment = {**os.environ, "GOLDEN_OUTPUTS": said.name, "OMP_NUM_THREADS": "1"}
        command = [sys.executable, str(script), "--check"]
        ran = subprocess.run(command, env=environment, capture_output=True, text=True, cwd=ROOT)
        outputs = sorted(Path(line).relative_to(ROOT).as_posix() for line in said.read().split())
    return ran.returncode == 0, ran.stdout + ran.stderr, outputs


def is_noted(script, note):
    packages, depends = read(script)
    return (
        note is not None
        and "flowdoubt" not in packages
        and note["packages"] == versions_of(packages)
        and note["digest"] == digest_of(script, note["outputs"], depends)
    )


def note_of(script, outputs):
    packages, depends = read(script)
    return {
        "outputs": outputs,
        "packages": versions_of(packages - {"flowdoubt"}),
        "digest": digest_of(script, outputs, depends),
    }


def main(mode):
    notes = json.loads(NOTES.read_text()) if NOTES.exists() else {}
    due = [s for s in SCRIPTS if mode or not is_noted(s, notes.get(name_of(s)))]
    with ThreadPoolExecutor(os.cpu_count()) as pool:
        results = dict(zip(due, pool.map(run, due), strict=True))
    for script, (agrees, words, _) in results.items():
        print(f"{name_of(script)}: {'agrees' if agrees else 'DIFFERS'}", words.strip(), sep="  ")
    print(f"{len(due)} scripts run, {len(SCRIPTS) - len(due)} unchanged since they were checked")
    if not all(agrees for agrees, _, _ in results.values()):
        return 1
    fresh = {name_of(s): note_of(s, outputs) for s, (_, _, outputs) in results.items()}
    if mode == "--note":
        NOTES.write_text(json.dumps(fresh, indent=1, sort_keys=True) + "\n")
    stale = [n for n in fresh if notes.get(n, {}).get("digest") != fresh[n]["digest"]]
    if mode == "--all" and stale:
        print("not noted as checked (python tests/golden/check.py --note):", *stale)
        return 1
    return 0


if __name__ == "__main__":
    sys.exit(main(next(iter(sys.argv[1:]), "")))
