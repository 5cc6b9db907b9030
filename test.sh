#!/bin/sh
# Sets up and runs every test: format, lints, documentation, the core, whole builds, and a real browser.
set -eu
cd "$(dirname "$0")"
. ./set-up.sh
browsers=""
have chromium || browsers="$browsers chromium"
have chromedriver || browsers="$browsers chromium-driver"
# Reads the codes on the bench cards, independently of what draws them.
have zbarimg || browsers="$browsers zbar-tools"
# shellcheck disable=SC2086
see_to $browsers

# Cargo does not see a file that is new among those inside the program.
touch site-builder/src/shipped.rs

# Release throughout: one compilation serves lints, tests and the site, and a million random
# calculations take seconds instead of minutes.
cargo fmt --check
cargo clippy --release --locked --workspace --all-targets -- -D warnings
# Links in the documentation lead somewhere.
RUSTDOCFLAGS="-D warnings" cargo doc --release --locked --no-deps --document-private-items \
    --package calc-wasm --package site-builder
cargo test --release --locked --workspace
