#!/usr/bin/env bash
# Passes all tests: format, lints, documentation, Rust, Python, types, notebooks.
# Makes its own Python environment in target/test-env.
#
# With --thorough nothing is left out because it was checked before: all scripts of golden values run,
# properties take eight times as many cases, hostile input a minute instead of seconds, the crate is
# linted with each of its features alone, and the few unit tests of private parts, for which the library is
# compiled once more, run.
set -euo pipefail
cd "$(dirname "$0")/.."
case "${1:-}" in
    "") thorough="" ;;
    --thorough) thorough=yes ;;
    *) echo "usage: bash tests/all.sh [--thorough]" >&2; exit 2 ;;
esac

# Everything is built once here: state for later builds and variables for a debugger would
# only fill the disk. Backtraces keep their lines.
export CARGO_INCREMENTAL=0 CARGO_PROFILE_DEV_DEBUG=line-tables-only
# bits do not depend on it, and it halves the work of the compiler
export CARGO_PROFILE_DEV_LTO=off
fuzzed=5 called=5
[ -z "$thorough" ] || export PROPTEST_CASES=2048 fuzzed=60 called=15
# the same cases for the same commit, so that it passes or fails for what it is; other seeds search on
export PROPTEST_RNG_SEED="${PROPTEST_RNG_SEED:-20261130}"

say() { printf '\n== %s (%s s)\n' "$*" "$SECONDS"; }

say "environment"
python="target/test-env/bin/python"
[ -x "$python" ] || python3 -m venv target/test-env
"$python" -m pip install --quiet --upgrade pip
# the profile of the Rust tests, so that both share what the crate depends on; bits stay the same
MATURIN_PEP517_ARGS="--profile dev" "$python" -m pip install --quiet ".[test]"

say "format"
cargo fmt --all --check
"$python" -m ruff format --check --quiet .

say "lints"
export CLIPPY_CONF_DIR=.ci
cargo clippy --quiet --all-targets --features python -- -D warnings
if [ -n "$thorough" ]; then
    # every feature alone: sites without Python, the engine without sites
    cargo clippy --quiet --all-targets -- -D warnings
    cargo clippy --quiet --all-targets --no-default-features -- -D warnings
fi
"$python" -m ruff check --quiet .

say "documentation"
RUSTDOCFLAGS="-D warnings" cargo doc --quiet --no-deps

say "Rust tests"
cargo test --quiet
if [ -n "$thorough" ]; then
    cargo test --quiet --lib
    # what the documentation of the engine shows, by the engine alone
    cargo test --quiet --doc --no-default-features
fi

say "hostile input"
cargo run --quiet --example fuzz -- --seconds "$fuzzed"

say "types"
"$python" -m mypy
"$python" -m mypy.stubtest flowdoubt._core

say "golden values and demonstration data against their scripts"
"$python" tests/golden/check.py ${thorough:+--all}

say "hostile calls from Python"
"$python" tests/fuzz/calls.py --seconds "$called"

say "Python tests, examples and notebooks"
"$python" -m pytest --numprocesses=auto --import-mode=importlib --pyargs tests/python tests/scenarios flowdoubt

say "all passed"
