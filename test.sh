#!/bin/sh
# Sets up and runs every test: format, lints, the core, whole builds, and a real browser.
# On Debian, as root, missing packages are installed; elsewhere a sentence says what to install.
set -eu
cd "$(dirname "$0")"

have() { command -v "$1" >/dev/null 2>&1; }

[ -f "$HOME/.cargo/env" ] && . "$HOME/.cargo/env"

lacking=""
have cc || lacking="$lacking gcc libc6-dev"
have chromium || lacking="$lacking chromium"
have chromedriver || lacking="$lacking chromium-driver"
browser=wasm32-unknown-unknown
if have rustc && ! [ -d "$(rustc --print target-libdir --target $browser)" ]; then
    if ! { have rustup && rustup target add $browser >/dev/null 2>&1; }; then
        [ -d "$(/usr/bin/rustc --print sysroot 2>/dev/null)/lib/rustlib/src/rust/library/std" ] ||
            lacking="$lacking rustc-web cargo-web rust-web-src"
    fi
fi
if [ -n "$lacking" ]; then
    if have apt-get && [ "$(id -u)" = 0 ]; then
        apt-get update -q
        # shellcheck disable=SC2086
        DEBIAN_FRONTEND=noninteractive apt-get install -qy --no-install-recommends $lacking
    else
        echo "Install these and run this again:$lacking" >&2
        exit 1
    fi
fi
if ! have cargo; then
    echo "Rust 1.95 or newer is needed: install it from https://rustup.rs and run this again." >&2
    exit 1
fi

# Release throughout: one compilation serves lints, tests and the site, and a million random
# calculations take seconds instead of minutes.
cargo fmt --check
cargo clippy --release --locked --workspace --all-targets -- -D warnings
cargo test --release --locked --workspace
