#!/usr/bin/env bash
# Passes all tests: format, lints, documentation, Rust, Python, types, notebooks.
# Makes its own Python environment in target/test-env.
set -euo pipefail
cd "$(dirname "$0")/.."

# Everything is built once here: state for later builds and variables for a debugger would
# only fill the disk. Backtraces keep their lines.
export CARGO_INCREMENTAL=0 CARGO_PROFILE_DEV_DEBUG=line-tables-only

say() { printf '\n== %s\n' "$*"; }

say "environment"
python="target/test-env/bin/python"
[ -x "$python" ] || python3 -m venv target/test-env
"$python" -m pip install --quiet --upgrade pip
# results have the same bits however it is compiled; this takes half the time
CARGO_PROFILE_RELEASE_LTO=off CARGO_PROFILE_RELEASE_CODEGEN_UNITS=16 \
    "$python" -m pip install --quiet ".[test]"

say "format"
cargo fmt --all --check
"$python" -m ruff format --check --quiet .

say "lints"
export CLIPPY_CONF_DIR=.ci
cargo clippy --quiet --all-targets -- -D warnings
cargo clippy --quiet --all-targets --features python -- -D warnings
"$python" -m ruff check --quiet .

say "documentation"
RUSTDOCFLAGS="-D warnings" cargo doc --quiet --no-deps

say "Rust tests"
cargo test --quiet

say "types"
"$python" -m mypy
"$python" -m mypy.stubtest flowdoubt._flowdoubt

say "golden values and demonstration data against their scripts"
for script in tests/golden/generate/[a-z]*.py notebooks/demo/make_readings.py \
    notebooks/demo/make_verification.py; do
    "$python" "$script" --check
done

say "Python tests, examples and notebooks"
"$python" -m pytest --import-mode=importlib --pyargs tests/python flowdoubt

say "all passed"
