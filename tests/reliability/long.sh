#!/usr/bin/env bash
# The long run of tests/reliability: 500 kills and 3000 flipped bits, a few minutes on two cores.
# docs/reliability.md states what came of it; COUNTERPANE_SEED names other moments and places.
set -euo pipefail
cd "$(dirname "$0")/../.."
export COUNTERPANE_KILLS="${COUNTERPANE_KILLS:-500}" COUNTERPANE_FLIPS="${COUNTERPANE_FLIPS:-3000}"
cargo test --locked -p counterpane --test reliability -- --nocapture --test-threads 1
